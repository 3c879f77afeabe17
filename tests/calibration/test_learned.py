"""What measured sizes teach: the update against a library's, and never the wrong way."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, strategies as st
from scipy.stats import multivariate_normal

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.learned import DISCREPANCY_MM, FADE, LASTING_SHARE, U_CALIPERS_MM
from fitkit.calibration.model import KINDS

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
    assert 0.0 < like / off < own / off < 1.0
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
    for size, off in zip(learned.sizes, learned.residual_mm, strict=True):
        mean = learned.bias(size.drawn_mm, kind=size.kind, feature=size.feature).mean_mm
        assert mean * off >= -1e-15


def test_the_update_is_that_of_a_joint_normal_distribution():
    """Against the definition: the density of new and old errors together, at its greatest."""
    sizes = [
        found(30.0, -0.08, code="a", feature="x"),
        found(12.0, -0.03, code="a", feature="y"),
        found(30.4, -0.06, code="b", feature="x", u_mm=0.03),
    ]
    learned = learn_sizes(PROFILE, sizes)
    n = np.array([33.0, 30.0, 12.0, 30.4])
    cov = np.zeros((4, 4))
    at = {term: i for i, term in enumerate(PROFILE.terms)}
    scale = PROFILE.cov[at["scale_x"], at["scale_x"]]  # the same for x and y, wholly correlated
    cov += scale * np.outer(n, n) + PROFILE.cov[at["inside_closing"], at["inside_closing"]]
    ratio = np.log(n)[:, None] - np.log(n)
    cov += DISCREPANCY_MM**2 * np.exp(-((ratio / FADE) ** 2) / 2)
    feature = np.array(["x", "x", "y", "x"])
    spread = PROFILE.spread
    cov += LASTING_SHARE * spread.feature_mm**2 * (feature[:, None] == feature)
    code = np.array(["", "a", "a", "b"])
    same = (code[:, None] == code) & (code != "")[:, None]
    cov += same * (spread.print_width_mm**2 + spread.print_scale**2 * np.outer(n, n))
    cov += np.diag([0.0, *(3 * [(1 - LASTING_SHARE) * spread.feature_mm**2])])
    shared = np.array([0.0, *(3 * [U_CALIPERS_MM])])
    cov += np.outer(shared, shared) + np.diag(np.array([0.0, 0.02, 0.02, 0.03]) ** 2 - shared**2)
    joint = multivariate_normal(np.zeros(4), cov)
    new = np.linspace(-0.12, 0.02, 140_001)
    points = np.column_stack([new, np.broadcast_to(learned.residual_mm, (len(new), 3))])
    best = new[joint.logpdf(points).argmax()]
    assert learned.bias(33.0, kind="inside", feature="x").mean_mm == pytest.approx(best, abs=2e-6)


def test_measuring_narrows_what_is_expected_and_the_prints_are_named():
    sizes = [found(30.0, -0.06, code="a", feature="x"), found(30.0, -0.05, code="b", feature="x")]
    learned = learn_sizes(PROFILE, sizes)
    plain = float(PROFILE.predict(30.0, kind="inside")[1])
    after = learned.predict(30.0, kind="inside", feature="x")
    assert after.u_mm < 0.7 * plain
    assert after.u_mm > PROFILE.spread.print_width_mm  # the next print has a deviation of its own
    bias = learned.bias(30.0, kind="inside", feature="x")
    assert set(bias.by_print) == {"a", "b"}
    assert sum(bias.by_print.values()) == pytest.approx(bias.mean_mm)


def test_sizes_that_quarrel_with_the_profile_widen_what_is_expected():
    calm = [found(n, 0.0, code=str(n)) for n in (10.0, 20.0, 40.0)]
    wild = [found(n, off, code=str(n)) for n, off in ((10.0, 0.2), (20.0, -0.2), (40.0, 0.2))]
    agreed, quarrelled = (learn_sizes(PROFILE, sizes) for sizes in (calm, wild))
    assert agreed.widen == 1.0
    assert quarrelled.widen > 2.0
    u = [one.predict(20.0, kind="inside").u_mm for one in (agreed, quarrelled)]
    assert u[1] > 1.4 * u[0]


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
    spread = replace(PROFILE.spread, prints=2)
    sure = replace(PROFILE, cov=PROFILE.cov * 0.01, spread=spread, df=30.0, generic=False)
    bias = [
        learn_sizes(profile, [found(30.0, -0.06)]).bias(30.0, kind="inside").mean_mm
        for profile in (PROFILE, sure)
    ]
    assert bias[0] < 2 * bias[1] < 0.0
