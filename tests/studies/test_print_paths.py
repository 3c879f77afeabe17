"""Plastic and time foretold from meshes against paths that are planned layer by layer.

The planner (`studies/print_paths.py`) cuts with trimesh and draws in and hatches with shapely; it
stands for a slicing step, and shares no code with what it checks.
"""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.checks.moves import moves_of
from fitkit.checks.print_time import TimedPrint, print_time
from fitkit.flow.built import mesh_part
from fitkit.parts import template
from studies.print_paths import Machine, planned
from tests.checks.gallery import ARCH, CHAMFERED, box, joined, prism

SETTINGS = {"line_mm": 0.4, "layer_mm": 0.2, "perimeters": 3, "infill": 0.15}
COARSE = SETTINGS | {"layer_mm": 0.4}
QUICK = {
    "block": [box(30, 20, 8)],
    "arch": [prism(ARCH, 20)],
    "wedge": [prism(CHAMFERED, 30)],
    "plate": [box(60, 40, 3.2)],
    "two bars": [joined(box(50, 6, 10), box(50, 6, 10, (0, 20, 0)))],
}
TITLES = ["board case", "clip tray", "ball seat", "cradle", "panel", "bracket", "hanger plate"]
TITLES += ["knob", "box lid", "tray insert", "sleeve"]


def machine(rng: np.random.Generator) -> Machine:
    """A printer of habits as wide apart as those of cheap and of fast ones."""
    speed = float(np.exp(rng.uniform(np.log(40), np.log(250))))
    kinds = {"outer": (0.5, 0.8), "skin": (0.7, 1.0), "infill": (0.9, 1.3), "travel": (1.5, 3.0)}
    return Machine(
        speed={"inner": speed} | {kind: rng.uniform(*ends) * speed for kind, ends in kinds.items()},
        acceleration=float(np.exp(rng.uniform(np.log(500), np.log(8000)))),
        start_s=rng.uniform(180, 500),
    )


def off_by(moves: list, paths: list, printers: int) -> np.ndarray:
    """Errors of times foretold from three timed prints, as shares of the true ones."""
    rng = np.random.default_rng(20261127)
    found = []
    for _ in range(printers):
        printer = machine(rng)
        hours = [path.hours(printer) for path in paths]
        order = rng.permutation(len(paths))
        timed = [TimedPrint(moves[i], hours[i]) for i in order[:3]]
        found += [print_time(moves[i], timed).hours / hours[i] - 1 for i in order[3:]]
    return np.abs(found)


@pytest.fixture(scope="module")
def quick():
    moves = [moves_of(meshes, **COARSE) for meshes in QUICK.values()]
    return moves, [planned(meshes, **COARSE) for meshes in QUICK.values()]


def test_plastic_is_that_of_the_planned_paths(quick) -> None:
    for moves, paths in zip(*quick, strict=True):
        assert moves.plastic_mm3 == pytest.approx(paths.plastic_mm3, rel=0.05)


def test_three_timed_prints_teach_the_time_of_others(quick) -> None:
    errors = off_by(*quick, printers=40)
    assert np.mean(errors < 0.15) >= 0.9


@pytest.mark.slow
def test_templates_plastic_and_time() -> None:
    meshes = [list(mesh_part(template(title).of().build()).laid.values()) for title in TITLES]
    moves = [moves_of(found, **SETTINGS) for found in meshes]
    paths = [planned(found, **SETTINGS) for found in meshes]
    for title, ours, theirs in zip(TITLES, moves, paths, strict=True):
        assert ours.plastic_mm3 == pytest.approx(theirs.plastic_mm3, rel=0.05), title
    assert np.mean(off_by(moves, paths, printers=60) < 0.15) >= 0.9
