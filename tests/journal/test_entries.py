"""What records are made of: texts and numbers in bounds, kept files, sizes of other rooms."""

import hashlib
import math

import pytest
from pydantic import ValidationError

from fitkit.core.errors import JournalError
from fitkit.fits import VERDICTS
from fitkit.journal import CouponRecord
from fitkit.journal.entries import FitEntry, KeptFile, Measured, TrialEntry
from fitkit.stats import Estimate


def test_a_kept_file_is_named_and_hashed_as_it_is_on_the_disk(tmp_path):
    path = tmp_path / "readings of day 1.csv"
    path.write_bytes(b"feature,reading\n")
    kept = KeptFile.of(path)
    assert kept.sha256 == hashlib.sha256(b"feature,reading\n").hexdigest()
    assert kept.size == 16
    with pytest.raises(ValidationError, match="sha256"):
        KeptFile(name="a.csv", sha256="no hash")


def test_a_file_that_is_not_there_is_told_with_its_path(tmp_path):
    with pytest.raises(JournalError) as error:
        CouponRecord.new({}, [tmp_path / "coupon.csv"])
    assert str(error.value) == (
        f"{tmp_path / 'coupon.csv'}: cannot be read: No such file or directory. "
        "Give the path of a file that is there."
    )


def test_an_estimate_is_copied_and_unlimited_degrees_of_freedom_are_none():
    assert Measured.of(Estimate.of("length", 68.5, 0.02)).df is None
    few = Measured.of(Estimate.of("length", 68.5, 0.02, df=4))
    assert (few.value_mm, few.u_mm, few.df) == (68.5, 0.02, 4.0)


@pytest.mark.parametrize(("sense", "thing_mm"), [(1, 20.0), (-1, 20.4), (0, 20.2)])
def test_the_thing_that_a_size_fits_is_a_gap_away(sense, thing_mm):
    entry = FitEntry(
        name="lid",
        kind="inside",
        sense=sense,
        gap_mm=0.2,
        target_mm=20.2,
        drawn_mm=20.3,
        expected_mm=20.2,
        U95_mm=0.1,
    )
    assert entry.thing_mm == pytest.approx(thing_mm)


def test_a_trial_entry_holds_a_known_verdict_and_a_size_above_zero():
    assert [TrialEntry(name="lid", verdict=word).verdict for word in VERDICTS] == list(VERDICTS)
    for wrong in ({"verdict": "fine"}, {"measured_mm": 0.0}, {"gap_mm": math.nan}, {"gap": 0.1}):
        with pytest.raises(ValidationError, match=next(iter(wrong))):
            TrialEntry(name="lid", **wrong)
