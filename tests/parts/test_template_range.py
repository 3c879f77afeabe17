"""Every template gives a valid closed solid over its whole range, or refuses by parameter."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
import trimesh
from hypothesis import HealthCheck, assume, given, settings, strategies as st

from fitkit.core.errors import FitkitError
from fitkit.parts.designs.panel import Cutout
from fitkit.parts.registry import template
from fitkit.solids.bodies import is_valid
from fitkit.solids.kernel import tessellate
from tests.parts.ranges import refused, values

if TYPE_CHECKING:
    from fitkit.parts.contract import Part, Template

TITLES = (
    "clip tray",
    "ball seat",
    "cradle",
    "panel",
    "bracket",
    "spacer",
    "hanger plate",
    "sleeve",
    "knob",
    "box lid",
    "tray insert",
)
_share = st.floats(0.2, 3.0)
_FIXED = {
    # Openings all over a panel would nearly always meet: few, small ones are drawn.
    "panel": {
        "cutouts": st.lists(
            values(
                Cutout,
                x=st.sampled_from(["-60 mm", "-30 mm", "0 mm", "30 mm", "60 mm"]),
                y=st.sampled_from(["-20 mm", "0 mm", "20 mm"]),
                width=st.integers(300, 2200).map(lambda n: f"{n / 100} mm"),
                across=st.integers(200, 2200).map(lambda n: f"{n / 100} mm"),
                around=st.integers(100, 500).map(lambda n: f"{n / 100} mm"),
                bezel=st.sampled_from(["0 mm", "0 mm", "1 mm", "2.5 mm"]),
            ),
            max_size=3,
        ),
        "length": st.integers(100, 400).map(lambda n: f"{n} mm"),
        "width": st.integers(60, 400).map(lambda n: f"{n} mm"),
    },
    "tray insert": {
        "columns": st.lists(_share, min_size=1, max_size=5),
        "rows": st.lists(_share, min_size=1, max_size=4),
        "corner_radius": st.integers(0, 800).map(lambda n: f"{n / 100} mm"),
    },
    "box lid": {"corner_radius": st.integers(0, 2000).map(lambda n: f"{n / 100} mm")},
    # Large trays only repeat what small ones have, and take seconds each.
    "clip tray": {"columns": st.integers(1, 3), "rows": st.integers(1, 2)},
}


def _holds(part: Part) -> None:
    assert part.bodies
    for body in (*part.bodies, *part.ghosts):
        assert is_valid(body.solid)
        mesh = tessellate(body.solid)
        read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
        assert read.is_watertight
        assert read.is_winding_consistent
        assert read.volume == pytest.approx(body.solid.volume, rel=0.03)
    for dimension in part.dimensions:
        assert math.dist(dimension.start, dimension.end) == pytest.approx(
            dimension.value_mm, abs=1e-6
        )
    for wall in part.walls:
        assert wall.thickness_mm > 0


def _range_of(title: str, examples: int) -> int:
    cls: type[Template] = template(title)
    built = 0

    @settings(
        max_examples=examples,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(
        typed=values(cls, **_FIXED.get(title, {})),
        shift=st.floats(-0.1, 0.4),
        label=st.sampled_from(["", "LP-7Q2"]),
    )
    def run(typed: dict[str, object], shift: float, label: str) -> None:
        nonlocal built
        try:
            chosen = cls.of(label=label, **typed)
            drawn = {f.name: f.nominal_mm + f.sense * shift for f in chosen.fit_sizes()}
            part = chosen.build(drawn)
        except FitkitError as error:
            if not refused(cls, error):
                raise
            assume(False)
        _holds(part)
        built += 1

    run()
    return built


@pytest.mark.parametrize("title", TITLES)
def test_a_few_of_the_range(title: str) -> None:
    assert _range_of(title, 8) >= 8


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES)
def test_the_whole_range(title: str) -> None:
    assert _range_of(title, 200) >= 200


@pytest.mark.parametrize("title", TITLES)
def test_fit_sizes_reach_the_part_by_name(title: str) -> None:
    chosen = template(title).of()
    fits = chosen.fit_sizes()
    if title == "panel":
        chosen = template(title).of(cutouts=[{"shape": "D"}, {"shape": "rectangle", "x": "30 mm"}])
        fits = chosen.fit_sizes()
    drawn = {fit.name: fit.nominal_mm + 0.21 for fit in fits}
    named = {d.name: d.value_mm for d in chosen.build(drawn).dimensions}
    # Where an opening stands cannot be read over it alone, so a place has no key dimension.
    places = {fit.name for fit in fits if fit.name.endswith((" x", " y"))}
    for name, value in drawn.items():
        if name not in places:
            assert named[name] == pytest.approx(value)
    fields = type(chosen).model_fields
    for fit in fits:
        if fit.of:
            assert fit.of.split(".")[0] in fields
        assert (fit.pair is None) == (fit.sense == 0)
    assert np.isfinite(list(drawn.values())).all()
