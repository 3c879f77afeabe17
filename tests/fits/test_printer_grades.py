"""Grades reached, against the standard's own widths."""

import math

from fitkit.calibration import generic_profile
from fitkit.fits.iso286 import tolerance_grade
from fitkit.fits.printer_grades import printer_grades


def test_a_grade_is_the_finest_that_twice_the_interval_fits_into():
    profile = generic_profile("PETG")
    found = printer_grades(profile)
    assert set(found) >= {"outside", "pocket", "hole", "peg", "height"}
    size_mm, grade = found["peg"]
    wide_mm = 2 * float(profile.U95(size_mm, kind="peg"))
    # IT15 of 6 to 10 mm is 0.58 mm, IT14 0.36 mm (ISO 286-1, table 1; from memory).
    assert math.isclose(size_mm, math.sqrt(48.0))
    assert 0.36 < wide_mm <= 0.58
    assert grade == 15 == tolerance_grade(f"{wide_mm} mm", f"{size_mm} mm")
