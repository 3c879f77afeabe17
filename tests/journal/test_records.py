"""Records made from what other rooms hand about: the printer's profile, and what cannot be kept."""

from dataclasses import replace

import pytest

from fitkit.calibration import generic_profile
from fitkit.core.errors import JournalError
from fitkit.journal import CouponRecord, PrintRecord

PROFILE = replace(generic_profile("PETG"), printer="bench printer A", nozzle_mm=0.6)


def coupon(profile, **rest):
    return CouponRecord.new(profile, **rest)


def printed(profile, **rest):
    content = {"title": "shim", "template": "spacer"} | rest
    return PrintRecord.new(profile=profile, versions={}, **content)


@pytest.mark.parametrize("new", [coupon, printed])
def test_printer_material_and_nozzle_come_from_the_profile_unless_given(new):
    told = new(PROFILE)
    assert (told.printer, told.material, told.nozzle) == ("bench printer A", "PETG", "0.6 mm")
    given = new(PROFILE, printer="the other", nozzle="0.4 mm, brass", material="")
    assert (given.printer, given.material, given.nozzle) == ("the other", "PETG", "0.4 mm, brass")
    assert new({"name": "by hand"}).nozzle == ""


@pytest.mark.parametrize(
    ("new", "title"), [(coupon, "coupon"), (printed, "shim")], ids=["coupon", "print"]
)
def test_what_cannot_be_kept_is_told_in_one_message(new, title):
    with pytest.raises(JournalError) as error:
        new(PROFILE, spool=7)
    said = f"record of {title!r}, spool: 7 is not a text. Put it between quotes."
    assert str(error.value) == said
    with pytest.raises(JournalError) as error:
        new(PROFILE, title="test cube", colour="red")
    assert error.value.where == "record of 'test cube', colour"
    assert error.value.code == "key.unknown"
