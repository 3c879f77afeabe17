"""A sheet that says what the thing was made of brings warm readings to 20 °C."""

from __future__ import annotations

import pytest

from fitkit.core.errors import SheetError
from fitkit.flow import PartSheet
from fitkit.flow.plan import read_inputs
from fitkit.flow.sheet import load_sheet, save_sheet


@pytest.fixture
def sheet(tmp_path):
    rows = "".join(f"bar,outside,{size},mm,45 °C\n" for size in ("100.22", "100.23", "100.24"))
    text = "feature,mode,reading,unit,temperature\n" + rows
    (tmp_path / "bar.csv").write_text(text, encoding="utf-8")

    def made(**more):
        return PartSheet(
            title="bar holder", template="spacer", readings="bar.csv",
            printer={"generic": "PETG"}, folder=tmp_path, **more,
        )  # fmt: skip

    return made


def test_a_coefficient_of_ones_own_is_used(sheet):
    thing = {"material": "bar", "per_k": 9e-5, "u_per_k": 1e-5}
    bar = read_inputs(sheet(object=thing)).estimates["bar"]
    assert bar.value_mm == pytest.approx(100.23 / (1 + 9e-5 * 25))
    row = next(row for row in bar.budget if row.name == "bar: expansion per K")
    assert (row.value, row.u, row.source.unit) == pytest.approx((9e-5, 1e-5, "/K"))
    assert any(note.startswith("read at 45 °C: -0.225 mm") for note in bar.notes)


def test_a_printed_plastic_is_known_by_its_name(sheet):
    bar = read_inputs(sheet(object={"material": "petg"})).estimates["bar"]
    assert bar.value_mm == pytest.approx(100.23 / (1 + 6.5e-5 * 25))


def test_without_it_the_temperature_is_not_acted_on_and_that_is_said(sheet):
    bar = read_inputs(sheet()).estimates["bar"]
    assert bar.value_mm == pytest.approx(100.23)
    assert any("no coefficient of expansion" in note for note in bar.notes)


def test_an_unknown_material_is_refused_with_what_to_do(sheet):
    with pytest.raises(SheetError, match=r"known of 'glass'.*Give per_k.*one of: PLA, PETG"):
        read_inputs(sheet(object={"material": "glass"}))


def test_it_is_kept_when_the_sheet_is_saved(sheet, tmp_path):
    save_sheet(sheet(object={"material": "PETG"}), tmp_path / "bar.toml")
    assert "[object]" in (tmp_path / "bar.toml").read_text(encoding="utf-8")
    assert load_sheet(tmp_path / "bar.toml").thing.material == "PETG"
