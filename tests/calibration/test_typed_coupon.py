"""Coupon readings as people type them: names, jaws, mix-ups, and a comma in a printer's name."""

from __future__ import annotations

import csv
import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from fitkit.calibration import fit_profile
from fitkit.calibration.coupon import parse_feature
from fitkit.calibration.settings import PrintSettings, parse_item
from fitkit.core.errors import FaultList
from fitkit.readings import ReadingTable, load_instruments

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).parents[2]
INSTRUMENTS = load_instruments(ROOT / "shared/instruments/bench.toml")
with open(ROOT / "measurements/readings/coupon_petg.csv", encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


def _fit(change: Callable[[dict[str, str]], dict[str, str]]):
    rows = [row | change(row) for row in ROWS]
    return fit_profile(ReadingTable.of(rows, name="coupon.csv"), instruments=INSTRUMENTS)


PLAIN = _fit(lambda _: {})


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("H3", "hole 3"),
        ("h 2,5", "hole 2.5"),
        ("hole 3 mm", "hole 3"),
        ("Hole_3", "hole 3"),
        ("hole3", "hole 3"),
        ("hole 2,5", "hole 2.5"),
        ("hole 3.0", "hole 3"),
        ("bar_x_20", "bar x 20"),
        ("X96", "bar x 96"),
        ("X96 at bed", "bar x 96 at bed"),
        ("IX30", "inside x 30"),
        ("P8", "peg 8"),
        ("Z20", "height 20"),
        ("L6 width", "lying hole 6 width"),
        ("pocket x 14 mm by 50 mm", "pocket x 14 by 50"),
        ("diagonal 1 124", "diagonal 1 124"),
        ("hole-3", "hole 3"),
        ("3 mm hole", "hole 3"),
        ("Holes 3", "hole 3"),
        ("hole Ø 3", "hole 3"),
        ("peg diameter 8", "peg 8"),
        ("inside 75 x", "inside x 75"),
        ("X bar 20", "bar x 20"),
        ("lying hole width 6", "lying hole 6 width"),
        ("L6 h", "lying hole 6 height"),
        ("bar x 96 (bed)", "bar x 96 at bed"),
        ("pocket x 14 x 50", "pocket x 14 by 50"),
    ],
)
def test_a_name_may_be_typed_as_it_stands_on_the_coupon(typed: str, name: str) -> None:
    assert parse_feature(typed).name == name


def test_a_pocket_is_known_by_its_two_labels_together() -> None:
    from fitkit.calibration.coupon_table import _named

    def names(*typed: str) -> list[str]:
        rows = [{"feature": name, "reading": "13.8", "unit": "mm"} for name in typed]
        return _named(ReadingTable.of(rows)).frame["feature"].tolist()

    both = ["pocket x 14 by 50", "pocket y 50 by 14"]
    assert names("KX14", "ky 50") == both
    assert names("KX14") == ["KX14"]  # its walls are not known, so it is refused with the others
    assert names("KX14", "KX16", "KY50") == ["KX14", "KX16", "KY50"]


def test_names_as_typed_and_rows_without_a_mode_give_the_same_profile() -> None:
    def typed(row: dict[str, str]) -> dict[str, str]:
        name = row["feature"]
        name = name.replace("hole ", "H") if name.startswith("hole") else name.replace(" ", "_")
        return {"feature": name, "mode": "", "round": ""}

    assert _fit(typed).coef == pytest.approx(PLAIN.coef)


@pytest.mark.parametrize("mode", ["depth", "step", "outside"])
def test_a_hole_that_was_not_read_with_the_inside_jaws_is_named(mode: str) -> None:
    with pytest.raises(FaultList, match=rf"'hole 3': it was read with {mode} jaws"):
        _fit(lambda row: {"mode": mode} if row["feature"] == "hole 3" else {})


def _swap(one: str, other: str) -> Callable[[dict[str, str]], dict[str, str]]:
    names = {one: other, other: one}
    return lambda row: {"feature": names.get(row["feature"], row["feature"])}


def test_two_features_that_were_swapped_are_named_together() -> None:
    with pytest.raises(FaultList, match="It looks swapped with 'hole 3'"):
        _fit(_swap("hole 3", "hole 4"))
    notes = " ".join(_fit(_swap("hole 2.5", "hole 3")).provenance.notes)
    assert "'hole 3' and 'hole 2.5' look swapped" in notes
    assert "look swapped" not in " ".join(PLAIN.provenance.notes)


def test_a_coupon_at_another_scale_is_told() -> None:
    larger = _fit(lambda row: {"reading": f"{float(row['reading']) * 1.03:.2f}"})
    assert any("printed at 103 %" in note for note in larger.provenance.notes)


@pytest.mark.parametrize(("scale", "said"), [(1.01, "101 %"), (0.99, "99 %"), (0.98, "98 %")])
def test_a_coupon_that_is_a_little_off_in_both_axes_is_told(scale: float, said: str) -> None:
    other = _fit(lambda row: {"reading": f"{float(row['reading']) * scale:.2f}"})
    assert any(f"printed at {said}" in note for note in other.provenance.notes)
    assert not any("in the slicer?" in note for note in PLAIN.provenance.notes)


@pytest.mark.parametrize("scale", [0.95, 1.06, 0.9])
def test_a_coupon_far_off_in_all_sizes_is_refused_in_one_line_with_its_scale(scale: float) -> None:
    with pytest.raises(FaultList) as caught:
        _fit(lambda row: {"reading": f"{float(row['reading']) * scale:.2f}"})
    (fault,) = caught.value
    assert fault.code == "calibration.scaled"
    assert abs(float(re.search(r"printed at (\d+) %", str(fault))[1]) - 100 * scale) <= 1


@pytest.mark.parametrize("printer", ["Kitchen, left", "A, B, C", "plain"])
@pytest.mark.parametrize("material", ["PETG", "house blend"])
def test_a_comma_in_a_printers_name_survives(printer: str, material: str) -> None:
    settings = PrintSettings(printer=printer, material=material)
    assert parse_item(settings.item(2)) == (settings, 2)


def test_a_comma_that_was_typed_without_quotes_is_the_printers_before_a_plastic() -> None:
    settings, number = parse_item("Kitchen, left, PETG, layers 0.20 mm, print 3")
    assert (settings.printer, settings.material, number) == ("Kitchen, left", "PETG", 3)
    settings, _ = parse_item("bench printer A, PETG, blue spool, print 1")
    assert (settings.printer, settings.material) == ("bench printer A", "PETG")
