"""Several sizes of one print together, against printers drawn one by one."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.joint import PrintedSize, joint, then_and_next

PROFILE = generic_profile("PETG")
HOLE, PEG = PrintedSize(8.3, "hole"), PrintedSize(7.9, "peg")
LID, RIM = PrintedSize(70.0, "outside", "x"), PrintedSize(70.0, "inside", "x")


def drawn_printers(sizes, count, *, seed=0):
    """Print the sizes on printers of the profile, each print with a line width of its own.

    Written from what the terms say in words, not from the design matrix.
    """
    rng = np.random.default_rng(seed)
    terms = dict(
        zip(
            PROFILE.terms,
            rng.multivariate_normal(PROFILE.coef, PROFILE.cov, size=count).T,
            strict=True,
        )
    )
    width = rng.normal(0.0, PROFILE.spread.print_width_mm, count)
    growth = rng.normal(0.0, PROFILE.spread.print_scale, count)
    known = PROFILE.known
    unheld = float(np.sqrt(known.weights @ known.discrepancy))
    bend = rng.normal(0.0, 0.03 * unheld, count)
    printed = []
    for size in sizes:
        n = size.drawn_mm
        scale = terms["scale_x"] if size.axis == "x" else (terms["scale_x"] + terms["scale_y"]) / 2
        own = {
            "hole": lambda n=n: -terms["hole_closing"] - terms["hole_curvature"] / n - width,
            "peg": lambda: terms["peg_offset"] + width,
            "inside": lambda: -terms["inside_closing"] - width,
            "outside": lambda: terms["outside_offset"] + width,
        }[size.kind]()
        scatter = rng.normal(0.0, PROFILE.spread.feature_mm, count)
        # What no term holds: 0.02 mm a kind, and a bend of 0.03 mm at 100 mm that all sizes share.
        beyond = rng.normal(0.0, 0.02 * unheld, count) + bend * (n / 100.0) ** 2
        printed.append(n * (1 + scale + growth) + own + scatter + beyond)
    return np.array(printed)


@pytest.mark.parametrize("sizes", [(HOLE, PEG), (RIM, LID)])
def test_a_gap_of_two_printed_sizes_is_that_of_printers_drawn_one_by_one(sizes):
    gap = joint(sizes, PROFILE).sum([1.0, -1.0])
    first, second = drawn_printers(sizes, 200_000)
    assert gap.value_mm == pytest.approx((first - second).mean(), abs=0.002)
    # The standard deviation of so many draws is known to 0.2 %.
    assert gap.u_mm == pytest.approx((first - second).std(), rel=0.01)


def test_shared_shrinkage_cancels_and_shared_line_width_adds():
    small = joint([HOLE, PEG], PROFILE)
    own = np.sqrt(np.diag(small.cov_mm2))
    # Width makes the peg larger and the hole smaller: worse than two that know nothing of another.
    between = [cause.cov for cause in small.causes if not cause.lasts][-1]
    assert between[0, 1] < 0
    large = joint([RIM, LID], PROFILE)
    assert large.sum([1.0, -1.0]).u_mm < np.hypot(*np.sqrt(np.diag(large.cov_mm2)))
    assert small.sum([1.0, -1.0]).u_mm > own.max()


@pytest.mark.parametrize("taught", [False, True])
def test_each_size_alone_is_as_it_is_predicted_alone(taught):
    learned = None
    if taught:
        found = MeasuredSize(
            kind="hole", axis="xy", drawn_mm=8.0, measured_mm=7.7, u_measured_mm=0.02,
            print_code="K7M3PXA", feature="bore",
        )  # fmt: skip
        learned = learn_sizes(PROFILE, [found])
    both = joint([HOLE, PEG], PROFILE, learned=learned)
    for i, size in enumerate((HOLE, PEG)):
        alone = both.sum(np.eye(2)[i])
        if learned is not None:
            mean, u, df = learned.predict(size.drawn_mm, kind=size.kind)
        else:
            mean, u = map(float, PROFILE.predict(size.drawn_mm, kind=size.kind))
            df = float(PROFILE.effective_df(size.drawn_mm, kind=size.kind))
        assert (alone.value_mm, alone.u_mm, alone.df) == pytest.approx((mean, u, df))


def test_measuring_one_half_of_a_print_tells_of_the_other():
    """A peg that came out thick was printed with a wide line, which closed its hole too."""
    expected = float(PROFILE.predict(7.9, kind="peg")[0])
    found = MeasuredSize(
        kind="peg", axis="xy", drawn_mm=7.9, measured_mm=expected + 0.1, u_measured_mm=0.02,
        print_code="K7M3PXA", feature="peg",
    )  # fmt: skip
    learned = learn_sizes(PROFILE, [found])
    same = joint([HOLE], PROFILE, learned=learned, print_code="K7M3PXA").sum([1.0])
    plain = joint([HOLE], PROFILE).sum([1.0])
    assert same.value_mm < plain.value_mm - 0.001


def test_what_lasts_is_less_than_the_whole_and_falls_by_measuring():
    before = joint([HOLE], PROFILE).sum([1.0])
    found = MeasuredSize(
        kind="hole", axis="xy", drawn_mm=8.3, measured_mm=8.1, u_measured_mm=0.02,
        print_code="K7M3PXA", feature="",
    )  # fmt: skip
    after = joint([HOLE], PROFILE, learned=learn_sizes(PROFILE, [found])).sum([1.0])
    assert 0 < after.u_lasting_mm < before.u_lasting_mm < before.u_mm


def test_a_measured_print_and_the_next_share_little_more_than_the_readings_error():
    """Lasting error E, fresh F, reading's R: of E + F and E, E R / (E + F + R) is left in common.

    Conditioning of normals, as in any text on it. Nothing measured, they share the whole of E.
    """
    gap, weights = [HOLE._replace(feature="bore")], [1.0]
    before = then_and_next(gap, weights, PROFILE, print_code="A")
    lasting, u_then = before[1] ** 2, before[0] ** 2
    assert before[2] == pytest.approx(lasting, rel=1e-6)
    fresh, reading = u_then - lasting, 0.02**2
    expected = float(PROFILE.predict(HOLE.drawn_mm, kind="hole")[0])
    learned = learn_sizes(
        PROFILE,
        [
            MeasuredSize(
                kind="hole", axis="xy", drawn_mm=HOLE.drawn_mm, measured_mm=expected,
                u_measured_mm=0.02, print_code="A", feature="bore",
            )
        ],
    )  # fmt: skip
    then, later, shared = then_and_next(gap, weights, PROFILE, learned=learned, print_code="A")
    # A reading just where it was expected makes large scatters unlikelier, by some tenths.
    all_mm2 = u_then + reading
    assert shared == pytest.approx(lasting * reading / all_mm2, rel=0.3)
    assert later**2 == pytest.approx(lasting * (fresh + reading) / all_mm2, rel=0.5)
    assert then == pytest.approx(0.02, rel=0.05)
    assert shared < 0.05 * lasting
