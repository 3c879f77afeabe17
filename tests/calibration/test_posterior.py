"""The one update of all evidence: against other ways to work it out, and the trade's laws."""

from dataclasses import replace

import numpy as np
import pytest

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.effects import SizeAt, Sizes, Source
from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import Evidence, learn
from fitkit.calibration.prior import Prior, learned_prior

PRIOR = learned_prior()
COUPON = [
    *(SizeAt(kind="outside", axis=a, drawn_mm=n) for a in "xy" for n in (10.0, 40.0, 96.0)),
    *(SizeAt(kind="peg", drawn_mm=n) for n in (5.0, 14.0)),
    *(SizeAt(kind="inside", axis="x", drawn_mm=n) for n in (3.0, 12.0, 50.0)),
    *(SizeAt(kind="hole", drawn_mm=n) for n in (3.0, 5.0, 10.0, 16.0)),
    *(SizeAt(kind="height", axis="z", drawn_mm=n) for n in (4.0, 20.0)),
]


def evidence(sizes, error_mm, *, code="1", own=0.015, shared=0.01, coupon=True, source=None):
    sizes = [
        replace(s, print_code=code, feature=s.feature or f"f{i}", source=source or s.source)
        for i, s in enumerate(sizes)
    ]
    laid = Sizes.of(sizes)
    count = len(sizes)
    return Evidence(
        sizes=laid,
        read_mm=laid.drawn + np.broadcast_to(error_mm, count),
        own=np.full(count, own**2),
        shared=np.full((count, count), shared**2),
        coupon=np.full(count, coupon),
    )


def habits(sizes, seed=0, **terms):
    """Errors of sizes on a printer with these terms, all others at the prior's mean."""
    b = PRIOR.mean.copy()
    for name, value in terms.items():
        b[list(TERMS).index(name)] = value
    noise = np.random.default_rng(seed).normal(0.0, 0.015, len(sizes))
    return Sizes.of(sizes).loads @ b + noise


def u_at(known, *sizes):
    return known.predict(Sizes.of(sizes)).U95_mm


HOLE = SizeAt(kind="hole", drawn_mm=8.0)


def test_one_reading_of_one_term_is_the_weighted_mean_of_prior_and_reading():
    # Everything but the height offset known, a tail that never strays: the textbook's two normals.
    cov = np.zeros_like(PRIOR.cov)
    at = list(TERMS).index("height_offset")
    cov[at, at] = 0.1**2
    prior = Prior(mean=np.zeros(len(TERMS)), cov=cov, tail_df=1e9)
    step = SizeAt(kind="height", axis="z", drawn_mm=10.0)
    known = learn(prior, evidence([step], 0.08, own=0.02, shared=0.0))
    mean, found = known.terms()
    # Discrepancy, bend at 10 mm, peculiarity, scatter, the print's height and scale, the reading,
    # the last raised or lowered as Student's t has it.
    weights = []
    for tail, d, p, s, w in zip(
        known.tail, known.discrepancy, known.between, known.scatter, known.weights, strict=True
    ):
        unheld, own = 0.02**2 + (0.03 * 0.01) ** 2, 0.012**2 + 0.015**2
        noise = d * unheld + p * (0.02**2 + 0.003**2) + s * own
        # One reading near the prior's mean is raised or lowered alike at all points, nearly.
        noise += 0.02**2 * known.inflation[0]
        weights.append(w * tail * 0.01 / (tail * 0.01 + noise))
    assert mean[at] == pytest.approx(0.08 * sum(weights), rel=2e-3)
    assert 0.0 < found[at, at] < 0.1**2


def test_a_coupon_narrows_every_kind_that_it_has():
    bare, known = learn(PRIOR), learn(PRIOR, evidence(COUPON, habits(COUPON)))
    for size in COUPON:
        new = replace(size, drawn_mm=size.drawn_mm * 1.1)
        assert u_at(known, new)[0] < 0.6 * u_at(bare, new)[0]


def test_what_no_term_holds_is_not_averaged_out_by_more_coupons():
    beyond = SizeAt(kind="hole", drawn_mm=60.0)
    one = evidence(COUPON, habits(COUPON))
    many = Evidence.joined(
        [evidence(COUPON, habits(COUPON, seed), code=str(seed)) for seed in range(6)]
    )
    # The longest hole read is 16 mm: of the discrepancy at 60 mm it tells a sixth of the variance.
    lasting_mm = 1.96 * 0.02 * np.sqrt(1.0 - np.exp(-((np.log(60.0 / 16.0)) ** 2)))
    fresh_mm = 1.96 * np.hypot(0.015, 0.02)
    assert u_at(learn(PRIOR, one), beyond)[0] > u_at(learn(PRIOR, many), beyond)[0]
    assert u_at(learn(PRIOR, many), beyond)[0] > np.hypot(lasting_mm, fresh_mm)


def test_the_interval_grows_beyond_the_sizes_read():
    known = learn(PRIOR, evidence(COUPON, habits(COUPON)))
    found = u_at(
        known, *(SizeAt(kind="outside", axis="x", drawn_mm=n) for n in (60.0, 120.0, 240.0))
    )
    assert found[0] < found[1] < found[2]


def test_heights_own_their_print():
    step = SizeAt(kind="height", axis="z", drawn_mm=10.0)
    known = learn(PRIOR, evidence(COUPON, habits(COUPON)))
    # The first layer is set again at each print, by 0.02 mm; 1.96 of both coupon's and part's.
    assert u_at(known, step)[0] > 1.96 * 0.02


def test_a_closed_pocket_is_less_sure_than_a_gap_between_ribs_until_one_is_read():
    gap = SizeAt(kind="inside", axis="x", drawn_mm=14.0)
    pocket = replace(gap, kind="pocket", wall_mm=50.0)
    known = learn(PRIOR, evidence(COUPON, habits(COUPON)))
    assert u_at(known, pocket)[0] > 1.4 * u_at(known, gap)[0]
    more = [*COUPON, pocket, pocket]
    better = learn(PRIOR, evidence(more, habits(more)))
    assert u_at(better, pocket)[0] < 0.75 * u_at(known, pocket)[0]


def test_a_window_does_not_follow_the_line_width():
    window = Sizes.of([SizeAt(kind="inside", axis="z", drawn_mm=4.0)])
    wide = learn(PRIOR, evidence(COUPON, habits(COUPON, inside_closing=0.35))).predict(window)
    usual = learn(PRIOR, evidence(COUPON, habits(COUPON))).predict(window)
    assert wide.mean_mm == pytest.approx(usual.mean_mm, abs=0.02)


def test_unknown_layers_are_in_the_interval_of_a_window():
    window = SizeAt(kind="inside", axis="z", drawn_mm=4.0)
    known = learn(PRIOR, evidence(COUPON, habits(COUPON)))
    whole, unknown = u_at(known, window, replace(window, step_mm=0.3))
    assert unknown**2 - whole**2 == pytest.approx(1.96**2 * 1.3 * 0.3**2 / 12.0, rel=0.15)


def test_a_d_bore_lies_between_hole_and_pocket():
    known = learn(PRIOR, evidence(COUPON, habits(COUPON, hole_closing=0.3, inside_closing=0.0)))
    hole, flat, pocket = known.predict(
        Sizes.of(SizeAt(kind=kind, axis="x", drawn_mm=5.0) for kind in ("hole", "d_bore", "pocket"))
    ).mean_mm
    assert flat == pytest.approx(0.5 * (hole + pocket), abs=0.003)


@pytest.mark.parametrize("slip_mm", [0.3, 1.0, -0.5])
@pytest.mark.parametrize("row", [0, 2, 7, 9, 12])
def test_a_slip_is_doubted_and_after_reading_again_moves_no_term_by_a_third(row, slip_mm):
    clean = habits(COUPON)
    slipped = clean.copy()
    slipped[row] += slip_mm
    first = learn(PRIOR, evidence(COUPON, slipped))
    _, z = first.left_out()
    assert abs(z[row]) > 1.5
    # Read once more, rightly, as every doubted reading is.
    more = [replace(s, feature=f"f{i}") for i, s in enumerate([*COUPON])] + [
        replace(COUPON[row], feature=f"f{row}")
    ]
    again = learn(PRIOR, evidence(more, [*slipped, clean[row]]))
    good = learn(PRIOR, evidence(more, [*clean, clean[row]]))
    (moved, cov), (right, _) = again.terms(), good.terms()
    assert np.all(np.abs(moved - right) <= np.sqrt(np.diag(cov)) / 3.0)


def test_a_clean_coupon_asks_for_few_readings_again():
    asked = [
        np.sum(np.abs(learn(PRIOR, evidence(COUPON, habits(COUPON, seed))).left_out()[1]) > 1.5)
        for seed in range(30)
    ]
    assert np.mean(asked) < 2.5


def test_a_zero_error_shows_as_an_error_common_to_all_readings():
    known = learn(PRIOR, evidence(COUPON, habits(COUPON) + 0.3))
    error, u = known.common_error()
    assert error > 3.0 * u
    clean, u = learn(PRIOR, evidence(COUPON, habits(COUPON))).common_error()
    assert abs(clean) < 3.0 * u


def test_a_coupon_at_103_percent_shows_as_a_strange_scale():
    scaled = habits(COUPON) + 0.03 * Sizes.of(COUPON).drawn
    strange = learn(PRIOR, evidence(COUPON, scaled)).strangeness()
    assert strange[list(TERMS).index("scale_x")] > 4.0


def test_another_printer_of_the_workshop_tells_something_but_not_all():
    same = evidence(COUPON, habits(COUPON, hole_closing=0.3), source=Source(printer="a"))
    hole = replace(HOLE, source=Source(printer="b"))
    own, other, bare = (
        u_at(learn(PRIOR, same), replace(HOLE, source=Source(printer="a"))),
        u_at(learn(PRIOR, same), hole),
        u_at(learn(PRIOR), hole),
    )
    assert own[0] < other[0] < bare[0]


def test_a_measured_size_is_carried_to_its_own_reprint_most():
    coupon = evidence(COUPON, habits(COUPON))
    part = evidence([replace(HOLE, feature="seat")], -0.5, code="2", coupon=False)
    known = learn(PRIOR, Evidence.joined([coupon, part]))
    before = learn(PRIOR, coupon).predict(Sizes.of([HOLE])).mean_mm[0]
    itself, other = known.predict(
        Sizes.of([replace(HOLE, feature="seat"), replace(HOLE, feature="another")])
    ).mean_mm
    assert itself < other < before


def test_sizes_of_one_print_go_together():
    known = learn(PRIOR, evidence(COUPON, habits(COUPON)))
    found = known.predict(
        Sizes.of([SizeAt(kind="hole", drawn_mm=8.0), SizeAt(kind="peg", drawn_mm=8.0)])
    )
    # A wider line makes the peg larger and the hole smaller.
    assert found.cov[0, 1] < 0.0
    assert np.all(np.linalg.eigvalsh(found.cov) > 0.0)


def test_the_interval_of_the_mixture_holds_95_percent_of_draws():
    found = learn(PRIOR, evidence(COUPON, habits(COUPON))).predict(Sizes.of([HOLE]))
    rng = np.random.default_rng(5)
    which = rng.choice(len(found.weights), 200_000, p=found.weights)
    draws = rng.normal(found.means[which, 0], np.sqrt(found.covs[which, 0, 0]))
    held = np.mean(np.abs(draws - found.mean_mm[0]) <= found.U95_mm[0])
    assert held == pytest.approx(0.95, abs=0.002)


def test_many_readings_are_learned_from():
    parts = [
        evidence(COUPON, habits(COUPON, seed), code=str(seed), coupon=False) for seed in range(20)
    ]
    known = learn(PRIOR, Evidence.joined(parts))
    assert len(known.inflation) == 20 * len(COUPON)
    assert u_at(known, HOLE)[0] < u_at(learn(PRIOR, parts[0]), HOLE)[0]


def test_sizes_whose_own_error_is_nothing_beside_the_calipers_are_learned_from():
    """Read as well as the calipers allow: all of their doubt is shared, none is their own."""
    profile = generic_profile("PETG")
    expected = float(profile.predict(30.0, kind="pocket")[0])
    sizes = [
        MeasuredSize(
            kind="pocket", axis="xy", drawn_mm=30.0, measured_mm=expected - 0.1,
            u_measured_mm=0.01, print_code="K7M3PXA", feature=name,
        )
        for name in ("one", "two")
    ]  # fmt: skip
    learned = learn_sizes(profile, sizes)
    assert np.isfinite(learned.taught.known.weights).all()
    assert -0.1 < learned.bias(30.0, kind="pocket", feature="one").mean_mm < -0.05


def test_more_readings_than_the_grid_bears_still_settle_scatter_and_slips():
    """Two hundred readings: the newest weigh the grid, all of them count."""
    sizes = [SizeAt(kind="hole", drawn_mm=3.0 + 0.05 * i) for i in range(200)]
    rng = np.random.default_rng(3)
    off = -0.25 + rng.normal(0.0, 0.02, len(sizes))
    off[7] += 1.0
    known = learn(PRIOR, evidence(sizes, off, own=0.015, shared=0.0))
    assert len(known.weights) == 1
    assert known.inflation[7] > 50.0
    assert np.median(known.inflation) < 2.0
    mean = known.predict(Sizes.of([SizeAt(kind="hole", drawn_mm=8.0)])).mean_mm[0]
    assert mean == pytest.approx(7.75, abs=0.02)
