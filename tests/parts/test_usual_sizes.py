"""Nobody is refused, or stopped, for a value that they have not given.

Things of random size are held with everything else as it comes, and what is made is checked in each
material with known figures, on a printer that nobody has calibrated.
"""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, Any

import pytest

from fitkit.checks import CheckContext, run_checks
from fitkit.checks.material import published_material
from fitkit.core.errors import FaultList
from fitkit.data import load_table
from fitkit.flow import build, load_sheet, mesh_part, prepare
from fitkit.make.checking import check
from fitkit.parts.carriers.plate import MountingPlate
from fitkit.parts.holders.cell import CellInSaddles
from fitkit.parts.registry import template

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from fitkit.parts.contract import Part

MATERIALS = ("ABS", "PETG", "PLA", "nylon")
Values = dict[str, Any]


def _mm(value: float) -> str:
    return f"{value:.2f} mm"


def _between(draw: random.Random, low: float, high: float) -> str:
    return _mm(low * (high / low) ** draw.random())


def _block(draw: random.Random) -> Values:
    return {
        "body_length": _between(draw, 12, 60),
        "body_width": _between(draw, 7, 35),
        "body_height": _between(draw, 6, 30),
        "columns": draw.randint(1, 4),
    }


def _cell(draw: random.Random) -> Values:
    return {"diameter": _between(draw, 6, 60), "body_length": _between(draw, 24, 90)}


def _screw_head(draw: random.Random) -> Values:
    shank = draw.uniform(3, 6)
    head = shank * draw.uniform(1.7, 2.2) + 1.0
    return {"shank": _mm(shank), "head": _mm(head), "count": draw.choice([1, 2])}


def _board(draw: random.Random) -> Values:
    long, wide, edge = draw.uniform(34, 110), draw.uniform(30, 70), draw.uniform(2.6, 5)
    return {
        "board_length": _mm(long),
        "board_width": _mm(wide),
        "hole_spacing_x": _mm(long - 2 * edge),
        "hole_spacing_y": _mm(wide - 2 * edge),
        "standoff": draw.choice(["screw", "heat-set", "snap-post"]),
        "lid_fixing": draw.choice(["rim", "snap"]),
    }


def _ball(draw: random.Random) -> Values:
    return {"ball": _between(draw, 12, 80), "style": draw.choice(["cup", "arms"])}


MEASURED: dict[str, Callable[[random.Random], Values]] = {
    "clip tray": _block,
    "cradle": _cell,
    "hanger plate": _screw_head,
    "board case": _board,
    "ball seat": _ball,
}


def _sheet(path: Path, title: str, values: Values, material: str) -> Path:
    lines = "\n".join(
        f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}"
        for key, value in values.items()
    )
    path.write_text(
        f'schema = 1\ntitle = "as it comes"\ntemplate = "{title}"\n'
        f'[printer]\ngeneric = "{material}"\n[use]\nmaterial = "{material}"\n[values]\n{lines}\n',
        encoding="utf-8",
    )
    return path


def _stops(sheet: Path) -> list[str]:
    plan = prepare(load_sheet(sheet))
    return [f.text for f in check(plan, mesh_part(build(plan))) if f.severity == "stop"]


def _swept(title: str, numbers: range, folder: Path) -> dict[int, list[str]]:
    wrong = {}
    for number in numbers:
        values = MEASURED[title](random.Random(f"{title} {number}"))
        sheet = _sheet(folder / f"{number}.toml", title, values, MATERIALS[number % 4])
        try:
            found = _stops(sheet)
        except FaultList as faults:
            found = [str(fault) for fault in faults.faults]
        if found:
            wrong[number] = found
    return wrong


@pytest.mark.parametrize("title", MEASURED)
def test_a_thing_of_any_size_is_held_with_all_else_as_it_comes(title: str, tmp_path: Path) -> None:
    assert _swept(title, range(4), tmp_path) == {}


@pytest.mark.slow
@pytest.mark.parametrize("title", MEASURED)
def test_many_things_of_any_size_are_held_with_all_else_as_it_comes(
    title: str, tmp_path: Path
) -> None:
    assert _swept(title, range(4, 60), tmp_path) == {}


@pytest.mark.parametrize(
    ("values", "names"),
    [
        ({"hold": "arms"}, "wall"),  # for a body of 7 mm: no wall bears it
        ({"grip": "0.4 mm"}, "wall"),  # who gives a grip wants arms
    ],
)
def test_what_somebody_asks_for_is_told_where_it_does_not_go(values: Values, names: str) -> None:
    with pytest.raises(FaultList, match=f"cradle, {names}"):
        template("cradle").of(diameter="7 mm", **values).build()


def _arm_findings(part: Part, material: str) -> list[str]:
    found = run_checks(part, CheckContext(material=published_material(material)))
    return [f.severity for f in found if f.check == "snap arms" and "strain" in f.text]


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("diameter", [8, 10.5, 14, 17, 18.5, 21, 26, 34, 60])
def test_saddles_get_arms_where_they_last_in_each_material(diameter: float, material: str) -> None:
    """Layers lie across these arms: they are judged by the layer factor and for repeated use."""
    cell = {"name": "cell", "held": "round cell in saddles", "diameter": _mm(diameter)}
    plate = MountingPlate.of(things=[cell])
    part = plate.build()
    severities = _arm_findings(part, material)
    assert set(severities) <= {"note"}
    rests = any("rests" in f.text for f in part.findings)
    assert rests == (not part.arms)
    assert bool(part.arms) == (diameter > 18)


@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("diameter", [8, 12, 14, 18.5, 26, 60])
def test_a_cradle_gets_arms_where_they_last_in_each_material(
    diameter: float, material: str
) -> None:
    part = template("cradle").of(diameter=_mm(diameter), length="40 mm").build()
    assert set(_arm_findings(part, material)) <= {"note"}
    assert bool(part.arms) == (diameter > 11)


def test_the_strain_that_is_planned_for_is_what_the_table_bears() -> None:
    """The least over the table's materials of strain x repeated x across the layers."""
    frame = load_table("materials").frame.set_index(["material", "property"])["low"].astype(float)
    common = frame["any"]

    def low(material: str, name: str) -> float:
        return float(frame[material].get(name, common.get(name)))

    least = min(
        low(m, "snap_strain") * low(m, "repeated_factor") * low(m, "layer_factor")
        for m in MATERIALS
    )
    from fitkit.parts.designs.board_case.practice import ARM_STRAIN
    from fitkit.parts.holders import cell

    assert least == pytest.approx(0.36, abs=0.001)
    assert least + 1e-9 >= cell._STRAIN == pytest.approx(100 * ARM_STRAIN)
    lying = min(low(m, "snap_strain") * low(m, "repeated_factor") for m in MATERIALS)
    assert lying + 1e-9 >= template("cradle").of().strain == template("clip tray").of().strain


def test_arms_of_a_saddle_are_as_given_where_they_are_given() -> None:
    held = {"wall": 2.0, "grip": 0.4, "hold": "arms", "name": "cell"}
    asked = CellInSaddles.model_construct(diameter=18.5, **held)
    assert asked.grasp == ("arms", 2.0, 0.4)
