"""What measured sizes teach: towards what was read, never the wrong way, and named by print."""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, strategies as st

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes, load_profile
from fitkit.calibration.model import KINDS

ROOT = Path(__file__).parents[2]
PROFILE = generic_profile("PETG")


def found(drawn_mm, off_mm, *, kind="inside", axis="xy", code="K7M3PXA", feature="", u_mm=0.02):
    expected = float(PROFILE.predict(drawn_mm, kind=kind, axis=axis)[0])
    return MeasuredSize(
        kind=kind,
        axis=axis,
        drawn_mm=drawn_mm,
        measured_mm=expected + off_mm,
        u_measured_mm=u_mm,
        print_code=code,
        feature=feature,
    )


def test_nothing_measured_teaches_nothing():
    assert learn_sizes(PROFILE, []) is None


@given(
    kind=st.sampled_from(KINDS),
    drawn=st.floats(2.5, 200.0),
    off=st.floats(-0.3, 0.3).filter(lambda x: abs(x) > 1e-6),
    other=st.floats(2.5, 200.0),
)
def test_one_measured_size_moves_its_own_and_all_of_its_kind_towards_it_and_no_farther(
    kind, drawn, off, other
):
    axis = "z" if kind == "height" else "xy"
    learned = learn_sizes(PROFILE, [found(drawn, off, kind=kind, axis=axis, feature="a")])
    if learned.slips:  # so far off that it is taken for a slip
        assert learned.bias(drawn, kind=kind, axis=axis, feature="a").mean_mm == 0.0
        return
    own = learned.bias(drawn, kind=kind, axis=axis, feature="a").mean_mm
    like = learned.bias(drawn, kind=kind, axis=axis).mean_mm
    assert 0.0 < like / off < own / off < 1.0 + 1e-9
    far = learned.bias(other, kind=kind, axis=axis).mean_mm
    assert far * off >= 0.0


@given(st.lists(st.floats(-0.15, 0.15), min_size=2, max_size=6), st.data())
def test_a_size_is_never_moved_against_its_own_readings(offs, data):
    sizes = [
        found(
            data.draw(st.floats(3.0, 90.0)),
            off,
            kind=data.draw(st.sampled_from(["inside", "outside", "hole"])),
            code=data.draw(st.sampled_from(["first", "second"])),
            feature=f"f{number}",
        )
        for number, off in enumerate(offs)
    ]
    learned = learn_sizes(PROFILE, sizes)
    for size in learned.sizes:
        off = size.measured_mm - float(PROFILE.predict(size.drawn_mm, kind=size.kind)[0])
        mean = learned.bias(size.drawn_mm, kind=size.kind, feature=size.feature).mean_mm
        assert mean * off >= -1e-15


def test_measuring_narrows_what_is_expected_and_the_prints_are_named():
    sizes = [found(30.0, -0.06, code="a", feature="x"), found(30.0, -0.05, code="b", feature="x")]
    learned = learn_sizes(PROFILE, sizes)
    plain = float(PROFILE.predict(30.0, kind="inside")[1])
    after = learned.predict(30.0, kind="inside", feature="x")
    assert after.u_mm < 0.7 * plain
    assert after.u_mm > PROFILE.spread.print_width_mm  # the next print has a deviation of its own
    bias = learned.bias(30.0, kind="inside", feature="x")
    assert set(bias.by_print) == {"a", "b"}
    assert sum(bias.by_print.values()) == pytest.approx(bias.mean_mm, rel=0.02)


def test_what_a_coupon_taught_is_no_share_of_a_print():
    # A lip and a rim measured on one print of a printer whose coupon was read before.
    calibrated = load_profile(ROOT / "shared" / "profiles" / "bench-petg.toml")
    sizes = [
        replace(one, measured_mm=read)
        for one, read in (
            (found(70.6, 0.0, kind="outside", code="a", feature="lip"), 70.62),
            (found(71.2, 0.0, kind="inside", code="a", feature="rim"), 70.83),
        )
    ]
    learned = learn_sizes(calibrated, sizes)
    bias = learned.bias(70.6, kind="outside", feature="lip")
    assert abs(bias.by_print["a"]) < 0.06
    assert bias.by_print["a"] == pytest.approx(bias.mean_mm, abs=0.01)


def test_a_slip_of_ten_millimetres_teaches_nothing_and_is_kept_to_be_told():
    slip = found(35.0, -10.0, feature="x")
    learned = learn_sizes(PROFILE, [slip, found(20.0, -0.05, feature="y")])
    assert learned.slips == (slip,)
    assert abs(learned.bias(35.0, kind="inside", feature="x").mean_mm) < 0.1


def test_a_print_known_by_its_other_sizes_is_told_more_closely_than_the_next():
    learned = learn_sizes(PROFILE, [found(30.0, -0.06, code="a", feature="x")])
    same = learned.predict(12.0, kind="inside", feature="y", print_code="a")
    later = learned.predict(12.0, kind="inside", feature="y")
    assert same.u_mm < later.u_mm
    assert same.printed_mm < later.printed_mm  # the print's own wide line is in it


def test_a_calibrated_profile_moves_less_than_a_generic_one():
    prior = replace(PROFILE.prior, cov=PROFILE.prior.cov * 0.01, tail_df=1e9)
    sure = replace(PROFILE, prior=prior, generic=False)
    bias = [
        learn_sizes(profile, [found(30.0, -0.06)]).bias(30.0, kind="inside").mean_mm
        for profile in (PROFILE, sure)
    ]
    assert bias[0] < 1.3 * bias[1] < 0.0


def test_what_two_prints_say_alike_is_no_slip_however_far_off():
    """Printed again and as far off again, it is the printer, and the drawing moves."""
    first = found(35.0, -1.6, feature="x", code="A")
    assert learn_sizes(PROFILE, [first]).slips == (first,)
    again = [first, found(35.0, -1.56, feature="x", code="B")]
    learned = learn_sizes(PROFILE, again)
    assert learned.slips == ()
    assert learned.bias(35.0, kind=first.kind, axis=first.axis, feature="x").mean_mm < -0.3
    other = [first, found(35.0, 1.6, feature="x", code="B")]
    assert set(learn_sizes(PROFILE, other).slips) == set(other)
