"""Files of every earlier form are read, from copies that were stored when the form was new.

The name of a stored file ends in the number of its form. Records of the journal are stored in
``tests/data/journal``, and tested with their migration. A form that is changed leaves a copy here
first; no copy is ever changed.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from fitkit.calibration import fit_profile, load_profile
from fitkit.calibration.profile_file import SCHEMA
from fitkit.checks.material import load_material
from fitkit.core.errors import FaultList
from fitkit.flow import load_sheet, prepare
from fitkit.readings import ReadingTable, load_instruments
from fitkit.stats import estimates
from fitkit.workshop import load_workshop

EARLIER = Path(__file__).parent / "data" / "earlier"


def test_every_form_of_a_profile_is_stored():
    forms = {
        int(match.group(1))
        for path in EARLIER.glob("profile-*.toml")
        if (match := re.search(r"^schema = (\d+)", path.read_text("utf-8"), re.M))
    }
    assert forms == set(range(1, SCHEMA + 1))


@pytest.mark.parametrize("path", sorted(EARLIER.glob("profile-*.toml")), ids=lambda p: p.stem)
def test_a_profile_is_read_and_says_what_the_same_printer_does(path):
    """The demo's printer shrinks by 0.2 to 0.5 % and closes holes, in every form of its file."""
    from fitkit.calibration import compensate

    profile = load_profile(path)
    bar = compensate("96 mm", profile, kind="outside")
    hole = compensate("5 mm", profile, kind="hole")
    assert bar.drawn_mm > 96.0
    assert 5.05 < hole.drawn_mm < 5.5


@pytest.fixture
def bench(tmp_path):
    """A bench of that time, for the sheet of the sound board."""
    for folder in ("measurements/readings", "shared/instruments", "shared/materials"):
        (tmp_path / folder).mkdir(parents=True)
    for stored, place in (
        ("readings-1.csv", "measurements/readings/sound_board.csv"),
        ("coupon-1.csv", "measurements/readings/coupon_petg.csv"),
        ("instruments-1.toml", "shared/instruments/bench.toml"),
        ("material-1.toml", "shared/materials/petg.toml"),
    ):
        shutil.copy(EARLIER / stored, tmp_path / place)
    return tmp_path / "measurements"


@pytest.mark.parametrize("path", sorted(EARLIER.glob("sheet-*.toml")), ids=lambda p: p.stem)
def test_a_sheet_is_read_and_worked_out(path, bench):
    plan = prepare(load_sheet(shutil.copy(path, bench / "sound_board.toml")))
    assert plan.row("pocket length").measured.value_mm == pytest.approx(68.01, abs=0.05)


def test_a_sheet_from_before_areas_had_units_is_told_what_to_write(bench):
    """Sizes without a unit were never right; the message says how the old line is written now."""
    sheet = load_sheet(shutil.copy(EARLIER / "refused-sheet-1.toml", bench / "sound_board.toml"))
    with pytest.raises(FaultList) as caught:
        prepare(sheet)
    (fault,) = caught.value.faults
    assert fault.at == ("vent_area",)
    assert "240 mm²" in fault.remedy


def test_readings_of_the_first_form_give_the_sizes_that_they_gave():
    table = ReadingTable.read(EARLIER / "readings-1.csv")
    found = estimates(table, instruments=load_instruments(EARLIER / "instruments-1.toml"))
    # 68.00 68.01 68.02 67.98 68.03, zero error of the file's calipers taken off.
    assert found["board length"].value_mm == pytest.approx(68.01, abs=0.03)


def test_coupon_readings_of_the_first_form_are_fitted():
    table = ReadingTable.read(EARLIER / "coupon-1.csv")
    instruments = load_instruments(EARLIER / "instruments-1.toml")
    assert fit_profile(table, instruments=instruments).provenance.readings_count > 20


def test_a_material_and_a_workshop_of_the_first_form_are_read(tmp_path):
    assert load_material(EARLIER / "material-1.toml").polymer == "PETG"
    shutil.copy(EARLIER / "workshop-1.toml", tmp_path / "workshop.toml")
    assert load_workshop(tmp_path / "workshop.toml").read_only
