"""Sheets at random over every template and its options: each is refused by name, or is sound.

Sound means: every body closes at the tolerance of files (trimesh), encloses what its solid does,
bodies of one part do not overlap, and what of the measured object overlaps a body at rest is told.
A size keeps its default more often than not, since sheets of random sizes alone are mostly refused.
"""

from __future__ import annotations

from itertools import combinations
from typing import Any

import numpy as np
import pytest
import trimesh

from fitkit.checks.assembly import check_assembly
from fitkit.checks.context import CheckContext
from fitkit.core.errors import FaultList, FitkitError
from fitkit.flow.built import print_meshes
from fitkit.parts.contract import FitSize, is_length, unit_of
from fitkit.parts.registry import template
from fitkit.solids.bodies import box_of, common, volume_of
from tests.parts.pairs import options

TITLES = (
    "ball seat",
    "board case",
    "box lid",
    "bracket",
    "clip tray",
    "cradle",
    "hanger plate",
    "knob",
    "panel",
    "sleeve",
    "spacer",
    "tray insert",
)
SHEETS = 167  # of each template: 2,004 in all
LABELS = ("", "K7M3PXA", "REAR LEFT\nK7M3PXA", "Größe ç ş")


def _near(rng: np.random.Generator, low: float, high: float, default: float) -> float:
    """Between the bounds, mostly within a factor of two of the default."""
    if rng.random() < 0.25 or default <= 0:
        return float(rng.uniform(low, high))
    return float(np.clip(default * 2 ** rng.uniform(-1, 1), low, high))


def _one_port(rng: np.random.Generator, length: float, width: float) -> dict[str, Any]:
    wall = str(rng.choice(["left", "right", "front", "back"]))
    along = length if wall in ("front", "back") else width
    return {
        "wall": wall,
        "along": f"{rng.uniform(8, max(along - 8, 9)):.2f} mm",
        "above": f"{rng.uniform(0, 6):.2f} mm",
        "width": f"{rng.uniform(4, 14):.2f} mm",
        "height": f"{rng.uniform(2, 8):.2f} mm",
        "depth": f"{rng.choice([-1, 0, 0.6, 1.5, 3]):g} mm",
        "shape": str(rng.choice(["rectangle", "slot", "round"])),
        "recess": f"{rng.choice([0, 0, 0, 1]):g} mm",
        "top": str(rng.choice(["auto", "auto", "open", "closed"])),
    }


def sheet(title: str, number: int) -> dict[str, Any]:
    """Values of one sheet; the same number always gives the same one."""
    rng = np.random.default_rng([number, *title.encode()])
    kind = template(title)
    row: dict[str, Any] = {"label": str(rng.choice(LABELS))}
    for name, values in options(kind, sizes=True).items():
        if rng.random() < 0.6:
            continue
        info = kind.model_fields[name]
        unit = unit_of(info.annotation, info.metadata)
        if is_length(info.annotation, info.metadata) or unit:
            low, high, default = (float(value.split()[0]) for value in values)
            row[name] = f"{_near(rng, low, high, default):.2f} {unit}"
        elif isinstance(values[-1], float):
            row[name] = round(_near(rng, *values), 2)
        elif info.annotation is int:
            row[name] = int(rng.integers(values[0], values[1] + 1))
        else:
            row[name] = values[int(rng.integers(len(values)))]
    if title == "board case":
        row |= _board(rng, row)
    if title == "panel" and rng.random() < 0.7:
        row["cutouts"] = [
            {
                "x": f"{rng.uniform(-40, 40):.2f} mm",
                "y": f"{rng.uniform(-15, 15):.2f} mm",
                "width": f"{rng.uniform(5, 24):.2f} mm",
                "shape": str(rng.choice(["round", "double D", "rectangle"])),
            }
            for _ in range(int(rng.integers(1, 4)))
        ]
    return row


def _board(rng: np.random.Generator, row: dict[str, Any]) -> dict[str, Any]:
    """Board of a size that its holes, ports, windows and cable go with."""
    length, width = rng.uniform(30, 120), rng.uniform(24, 80)
    found: dict[str, Any] = {
        "board_length": f"{length:.2f} mm",
        "board_width": f"{width:.2f} mm",
        "hole_spacing_x": f"{length - rng.uniform(7, 14):.2f} mm",
        "hole_spacing_y": f"{width - rng.uniform(7, 14):.2f} mm",
        "hole_offset_x": "0 mm",
        "hole_offset_y": "0 mm",
        "ports": [_one_port(rng, length, width) for _ in range(int(rng.integers(0, 4)))],
    }
    if rng.random() < 0.4:
        found["windows"] = [
            {
                "x": f"{rng.uniform(0, length):.2f} mm",
                "y": f"{rng.uniform(0, width):.2f} mm",
                "length": f"{rng.uniform(3, 25):.2f} mm",
                "width": f"{rng.uniform(3, 12):.2f} mm",
            }
        ]
    if rng.random() < 0.25:
        found["cable"] = {
            "wall": str(rng.choice(["left", "right"])),
            "along": f"{rng.uniform(8, width - 8):.2f} mm",
        }
    if rng.random() < 0.3:
        found["vent_area"] = f"{rng.uniform(50, 1500):.0f} mm²"
    return found


def faults(title: str, number: int) -> tuple[bool, list[str]]:
    """Whether a sheet was made, and what is wrong with it."""
    try:
        values = template(title).of(**sheet(title, number))
        # As printers draw it: every size that must let something in or through has its gap.
        part = values.build({f.name: f.plain_mm + _gap(f) for f in values.fit_sizes()})
    except FitkitError as error:
        every = error.faults if isinstance(error, FaultList) else (error,)
        odd = [str(one) for one in every if not (one.code or "").startswith("part.")]
        bad = [text for text in odd if "below" not in text and "above" not in text]
        return False, [f"is not refused by a rule: {text}" for text in bad]
    found = []
    try:
        meshes = print_meshes(part)
    except FitkitError as error:
        return True, [str(error)]
    for body in part.bodies:
        mesh = meshes[body.name]
        read = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
        volume = volume_of(body.solid)
        if not (read.is_watertight and read.is_winding_consistent):
            found.append(f"{body.name} is open")
        elif abs(read.volume - volume) > 0.01 * volume:
            found.append(f"{body.name}: mesh {read.volume:.1f} mm³, solid {volume:.1f} mm³")
    stops = {
        one.text
        for one in (*part.findings, *check_assembly(part, CheckContext(collisions=True)))
        if one.severity != "note"
    }
    for one, other in combinations(part.bodies, 2):
        if (shared := _shared(one.solid, other.solid)) > 1e-3:
            found.append(f"{one.name} and {other.name} overlap by {shared:.3f} mm³")
    for ghost in part.ghosts:
        for body in part.bodies:
            shared = _shared(ghost.solid, body.solid)
            if shared > 0.5 and not any(ghost.name in text or body.name in text for text in stops):
                found.append(f"{ghost.name} overlaps {body.name} by {shared:.2f} mm³, untold")
    return True, found


def _gap(size: FitSize) -> float:
    return -0.6 if size.pair == "heat-set insert" else 0.3 * size.sense


def _shared(one: Any, other: Any) -> float:
    (a, b), (c, d) = box_of(one), box_of(other)
    if any(a[i] > d[i] or c[i] > b[i] for i in range(3)):
        return 0.0
    return volume_of(common(one, other))


def _swept(title: str, numbers: range) -> tuple[int, list[tuple[int, list[str]]]]:
    made, bad = 0, []
    for number in numbers:
        built, wrong = faults(title, number)
        made += built
        if wrong:
            bad.append((number, wrong))
    return made, bad


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES)
def test_random_sheets_are_refused_by_name_or_sound(title: str) -> None:
    made, bad = _swept(title, range(SHEETS))
    assert bad == []
    assert made > SHEETS / 4


@pytest.mark.parametrize("title", TITLES)
def test_a_few_random_sheets_are_refused_by_name_or_sound(title: str) -> None:
    _, bad = _swept(title, range(2))
    assert bad == []
