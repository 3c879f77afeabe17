"""Chains: directions, shares, bad input, and the coat that eats the gap."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from fitkit.calibration.compensation import CompensatedSize
from fitkit.core.errors import FitError
from fitkit.fits import Chain, Contributor, Span, chain_between, limits, sample_chain
from fitkit.stats import Estimate


def length(
    name: str, value: float, u: float = 0.05, *, opens: bool = True, **more: object
) -> Contributor:
    return Contributor(name=name, value_mm=value, u_mm=u, opens=opens, **more)  # type: ignore[arg-type]


CASE = Chain(
    name="air under the lid",
    contributors=(
        length("case depth", 20.0, 0.06),
        length("standoff", 4.0, 0.03, opens=False),
        length("board", 1.6, 0.02, opens=False),
        length("parts", 14.0, 0.09, opens=False),
    ),
)


def test_gap_worst_case_and_root_sum_square() -> None:
    assert CASE.gap_mm == pytest.approx(0.4)
    assert CASE.u_mm == pytest.approx(math.sqrt(0.06**2 + 0.03**2 + 0.02**2 + 0.09**2))
    assert CASE.worst_case_mm == pytest.approx((0.4 - 0.6, 0.4 + 0.6))
    low, high = CASE.root_sum_square_mm
    assert CASE.worst_case_mm[0] < low < CASE.gap_mm < high < CASE.worst_case_mm[1]


def test_shares_sum_to_one_and_the_greatest_gets_the_advice() -> None:
    shares = CASE.shares()
    assert sum(shares.values()) == pytest.approx(1.0)
    assert shares["parts"] == pytest.approx(0.0081 / 0.0130)
    assert CASE.advice().startswith("parts causes 62 % of the variance: measure it instead")
    assert "± 0.22 mm would shrink to ± 0.14 mm (95 %)" in CASE.advice()


def test_a_chain_without_spread_needs_no_advice() -> None:
    still = Chain(name="g", contributors=(length("a", 1.0, 0.0),))
    assert still.advice() == "no contributor has any spread, so there is nothing to know better"
    assert sample_chain(still, 10).p_interference == 0.0


def test_a_coat_on_both_sides_of_a_bore_eats_the_gap() -> None:
    """0.20 on the diameter, 0.08 ± 0.03 a surface, one surface round the bore: 0.04 left."""
    chain = Chain(
        name="play of the peg",
        contributors=(
            length("printed gap", 0.20, 0.0),
            length("coat", 0.08, 0.03, opens=False, times=2, origin="coat"),
        ),
    )
    assert chain.gap_mm == pytest.approx(0.04)
    assert chain.u_mm == pytest.approx(0.06)
    drawn = sample_chain(chain, 200_000, seed=1)
    # P(N(0.04, 0.06) < 0) = Phi(-2/3), closed form.
    assert drawn.p_interference == pytest.approx(0.2525, abs=4 * drawn.u_p_interference)
    assert "mask the face" in chain.advice()


def test_the_same_reading_in_two_lengths_cancels() -> None:
    zero = Estimate.of("zero error", 0.0, 0.05)
    long, short = Estimate.of("long", 30.0, 0.01) + zero, Estimate.of("short", 10.0, 0.01) + zero
    chain = Chain(
        name="difference",
        contributors=(
            Contributor.of_estimate(long, opens=True),
            Contributor.of_estimate(short, opens=False),
        ),
    )
    assert chain.u_mm == pytest.approx(math.sqrt(2) * 0.01)
    assert np.std(sample_chain(chain, 100_000).gaps_mm) == pytest.approx(
        math.sqrt(2) * 0.01, rel=0.02
    )


def test_contributors_from_every_room() -> None:
    few = Contributor.of_estimate(Estimate.of("board", 1.6, 0.02, df=3.0), opens=False)
    assert (few.shape, few.df, few.origin) == ("student t", 3.0, "reading")
    screw = Contributor.of_limits(limits("h9", "3 mm"), opens=False)
    assert screw.value_mm == pytest.approx(2.9875)
    assert screw.half_width_mm == pytest.approx(0.0125)
    pocket = CompensatedSize(
        name="pocket", kind="inside", axis="x", target_mm=10.3, u_target_mm=0.02, drawn_mm=10.4,
        expected_mm=10.31, u_print_mm=0.05, U95_mm=0.1, extrapolated=False, basis="profile",
    )  # fmt: skip
    printed = Contributor.of_compensated(pocket, opens=True)
    assert (printed.name, printed.value_mm, printed.u_mm) == ("pocket", 10.31, 0.05)


@pytest.mark.parametrize(
    ("df", "u", "shape"),
    [(99.0, 0.02, "student t"), (100.0, 0.02, "normal"), (math.inf, 0.02, "normal"),
     (math.inf, 0.0, "normal")],
)  # fmt: skip
def test_few_readings_with_a_spread_make_a_student_t(df: float, u: float, shape: str) -> None:
    board = Estimate.of("board", 1.6, u, df=df)
    part = Contributor.of_estimate(board, opens=False, times=2.0, name="boards")
    assert (part.shape, part.df, part.origin) == (shape, df, "reading")
    assert (part.name, part.times, part.opens) == ("boards", 2.0, False)
    assert (part.value_mm, part.u_mm, part.estimate) == (1.6, u, board)
    assert Contributor.of_estimate(board, opens=True).name == "board"
    assert Contributor.of_estimate(board, opens=True).factor == 1.0


def test_a_bought_part_lies_anywhere_between_its_limits() -> None:
    screw = Contributor.of_limits(limits("h9", "3 mm"), opens=False)
    assert (screw.name, screw.opens, screw.shape, screw.origin) == (
        "3 h9", False, "rectangular", "limits",
    )  # fmt: skip
    assert screw.u_mm == pytest.approx(0.025 / math.sqrt(12))
    assert Contributor.of_limits(limits("h9", "3 mm"), opens=True, name="pin").name == "pin"


def test_a_printed_size_is_named_by_its_kind_if_it_has_no_name() -> None:
    size = CompensatedSize(
        name="", kind="hole", axis="xy", target_mm=10.3, u_target_mm=0.02, drawn_mm=10.4,
        expected_mm=10.31, u_print_mm=0.05, U95_mm=0.1, extrapolated=False, basis="profile",
    )  # fmt: skip
    part = Contributor.of_compensated(size, opens=False)
    assert (part.name, part.opens, part.shape, part.origin) == ("hole", False, "normal", "print")
    assert Contributor.of_compensated(size, opens=True, name="bore").name == "bore"


@pytest.mark.parametrize(
    ("origin", "better"),
    [
        ("reading", "read it again, or with a finer instrument"),
        ("print", "print and measure a coupon of this kind of size, and calibrate"),
        ("limits", "measure the part in hand, or buy a closer grade"),
        ("coat", "measure the coat on a scrap piece, or mask the face"),
        ("stated", "measure it instead of trusting a stated tolerance"),
    ],
)
def test_the_advice_says_how_to_know_better_and_what_it_brings(origin: str, better: str) -> None:
    chain = Chain(
        name="g",
        contributors=(length("a", 5.0, 0.04, origin=origin), length("b", 4.0, 0.03, opens=False)),
    )
    # 16/25 of the variance; twice 0.05 mm would fall to twice 0.03 mm.
    assert chain.advice() == (
        f"a causes 64 % of the variance: {better}; were it known exactly, ± 0.10 mm would shrink "
        "to ± 0.06 mm (95 %)"
    )


def test_what_a_tied_contributor_would_bring_leaves_its_part_of_the_others_out() -> None:
    chain = Chain(
        name="g",
        contributors=(length("a", 5.0, 0.04), length("b", 4.0, 0.03, opens=False)),
        correlations={("b", "a"): -0.5},
    )
    matrix = chain.correlation()
    assert matrix.tolist() == [[1.0, -0.5], [-0.5, 1.0]]
    # Opposite ways, so a negative correlation adds: u² = 16 + 9 + 12 = 37 e-4; a has 16 + 6.
    assert chain.u_mm == pytest.approx(math.sqrt(37e-4))
    assert chain.shares() == pytest.approx({"a": 22 / 37, "b": 15 / 37})
    assert "± 0.12 mm would shrink to ± 0.06 mm" in chain.advice()


def test_the_band_for_95_percent_is_that_of_a_normal() -> None:
    u = math.sqrt(0.0130)
    assert CASE.root_sum_square_mm == pytest.approx((0.4 - 1.96 * u, 0.4 + 1.96 * u), abs=1e-5)


def test_the_ends_of_each_shape() -> None:
    ends = {s: length("a", 1.0, 0.1, shape=s).half_width_mm for s in
            ("normal", "student t", "rectangular", "triangular")}  # fmt: skip
    assert ends == pytest.approx(
        {"normal": 0.3, "student t": 0.3, "rectangular": 0.1732, "triangular": 0.2449}, abs=1e-4
    )


def test_a_found_chain_keeps_its_name_and_least_gap() -> None:
    spans = [Span(part=length("a", 1.0, opens=False), start="p", end="q")]
    chain = chain_between("play", "p", "q", spans, least_mm=0.2)
    assert (chain.name, chain.least_mm, chain.gap_mm) == ("play", 0.2, 1.0)
    assert chain_between("play", "q", "p", spans).gap_mm == -1.0
    assert chain_between("play", "q", "p", spans).least_mm == 0.0


def test_chances_are_counted_beyond_the_limits_not_at_them() -> None:
    still = Chain(name="g", contributors=(length("a", 1.0, 0.0),), least_mm=1.0, most_mm=1.0)
    drawn = sample_chain(still, 100)
    assert (drawn.p_interference, drawn.p_too_wide) == (0.0, 0.0)
    # No hit in a hundred draws does not mean no chance: as of one hit.
    assert drawn.u_p_interference == pytest.approx(math.sqrt(0.01 * 0.99 / 100))
    low = Chain(name="g", contributors=(length("a", 1.0, 0.0),), least_mm=1.1, most_mm=1.2)
    assert sample_chain(low, 100).p_interference == 1.0
    high = Chain(name="g", contributors=(length("a", 1.0, 0.0),), most_mm=0.9)
    assert sample_chain(high, 100).p_too_wide == 1.0


def test_a_band_leaves_equal_shares_beyond_either_end() -> None:
    drawn = sample_chain(CASE, 100_000, seed=2)
    for level in (0.5, 0.95):
        low, high = drawn.band_mm(level)
        assert np.mean(drawn.gaps_mm < low) == pytest.approx((1 - level) / 2, abs=1e-4)
        assert np.mean(drawn.gaps_mm > high) == pytest.approx((1 - level) / 2, abs=1e-4)
    assert drawn.band_mm() == drawn.band_mm(0.95)


@pytest.mark.parametrize("samples", [1, 32_768, 32_769, 70_000])
def test_as_many_gaps_as_asked_for_whole_blocks_or_not(samples: int) -> None:
    chain = Chain(name="g", contributors=(length("a", 1.0), length("b", 0.5, opens=False)))
    gaps = sample_chain(chain, samples, seed=1).gaps_mm
    assert gaps.shape == (samples,)
    # Every gap was drawn: none is left at the best value.
    assert not (gaps == chain.gap_mm).any()
    assert len(np.unique(gaps)) == samples


@pytest.mark.parametrize("tied", [False, True])
@pytest.mark.parametrize(
    ("shape", "quantile"),
    [
        # At 97.5 %, in standard deviations: normal table, ends of the shapes, t of 5 (3 tables).
        ("normal", 1.960),
        ("rectangular", 0.95 * math.sqrt(3)),
        ("triangular", (1 - math.sqrt(0.05)) * math.sqrt(6)),
        ("student t", 2.571),
    ],
)
def test_each_shape_has_its_own_tails(shape: str, quantile: float, tied: bool) -> None:
    chain = Chain(
        name="g",
        contributors=(
            length("a", 1.0, 0.1, shape=shape, df=5.0, times=2.0),
            length("b", 0.5, 1e-9, opens=False),
        ),
        correlations={("a", "b"): 0.5} if tied else {},
    )
    gaps = sample_chain(chain, 200_000, seed=4).gaps_mm - 1.5
    low, high = np.quantile(gaps, [0.025, 0.975]) / 0.2
    assert (-low, high) == pytest.approx((quantile, quantile), rel=0.02)
    assert np.quantile(gaps, [0.25, 0.5])[1] == pytest.approx(0.0, abs=0.002)


@pytest.mark.parametrize("shape", ["normal", "rectangular", "triangular", "student t"])
@pytest.mark.parametrize("tied", [False, True])
def test_every_shape_keeps_its_spread_alone_and_tied(shape: str, tied: bool) -> None:
    chain = Chain(
        name="g",
        contributors=(
            length("a", 1.0, 0.1, shape=shape, df=30.0),
            length("b", 0.5, 0.02, opens=False),
        ),
        correlations={("a", "b"): 1e-9} if tied else {},
    )
    gaps = sample_chain(chain, 200_000, seed=3).gaps_mm
    spread = 0.1 * math.sqrt(30.0 / 28.0) if shape == "student t" else 0.1
    assert np.mean(gaps) == pytest.approx(0.5, abs=0.001)
    assert np.std(gaps) == pytest.approx(math.hypot(spread, 0.02), rel=0.01)


def test_same_seed_same_gaps_and_they_cannot_be_changed() -> None:
    first, second = sample_chain(CASE, 1000, seed=5), sample_chain(CASE, 1000, seed=5)
    np.testing.assert_array_equal(first.gaps_mm, second.gaps_mm)
    with pytest.raises(ValueError, match="read-only"):
        first.gaps_mm[0] = 0.0


def test_too_wide_is_asked_only_where_a_most_is_set() -> None:
    assert sample_chain(CASE, 100).p_too_wide is None
    bounded = Chain(name="g", contributors=CASE.contributors, most_mm=0.4)
    assert sample_chain(bounded, 100_000).p_too_wide == pytest.approx(0.5, abs=0.01)


def test_a_walk_from_face_to_face_finds_directions() -> None:
    spans = [
        Span(part=length("case depth", 20.0), start="floor", end="rim"),
        Span(part=length("standoff", 4.0), start="floor", end="board under"),
        Span(part=length("board", 1.6), start="board under", end="board top"),
        Span(part=length("parts", 14.0), start="board top", end="parts top"),
        Span(part=length("plinth", 5.0), start="table", end="floor"),
    ]
    chain = chain_between("air", "parts top", "rim", spans)
    ways = {part.name: part.opens for part in chain.contributors}
    assert ways == {"parts": False, "board": False, "standoff": False, "case depth": True}
    assert chain.gap_mm == pytest.approx(0.4)


def test_a_ring_of_lengths_is_refused() -> None:
    spans = [
        Span(part=length("a", 1.0), start="p", end="q"),
        Span(part=length("b", 1.0), start="q", end="r"),
        Span(part=length("c", 2.0), start="p", end="r"),
    ]
    with pytest.raises(FitError, match=r"the lengths c, a, b form a ring.*Leave out the length"):
        chain_between("gap", "p", "r", spans)
    selfish = [Span(part=length("a", 1.0), start="p", end="p")]
    with pytest.raises(FitError, match="the lengths a form a ring"):
        chain_between("gap", "p", "p", selfish)


def test_faces_that_are_not_joined_are_named() -> None:
    spans = [Span(part=length("a", 1.0), start="p", end="q")]
    with pytest.raises(FitError, match=r"no lengths lead from 'p' to 'z'.*names: p, q"):
        chain_between("gap", "p", "z", spans)


@pytest.mark.parametrize(
    ("parts", "more", "text"),
    [
        ((), {}, "g: the chain has no contributors"),
        ((length("a", 1.0), length("a", 1.0, opens=False)), {},
         "'a' both opens and closes the gap"),
        ((length("a", 1.0), length("a", 2.0)), {}, "'a' comes twice. Say times=2"),
        ((length("a", 1.0), length("b", 1.0)), {"correlations": {("a", "z"): 0.5}},
         "Name two different ones of: a, b."),
        ((length("a", 1.0), length("b", 1.0)), {"correlations": {("a", "b"): 1.5}},
         "these correlations cannot all hold at once"),
        ((length("a", 1.0), length("b", 1.0), length("c", 1.0)),
         {"correlations": {("a", "b"): 0.9, ("b", "c"): 0.9, ("a", "c"): -0.9}},
         "these correlations cannot all hold at once"),
        ((length("a", 1.0),), {"least_mm": 0.3, "most_mm": 0.1}, "Swap the two"),
    ],
)  # fmt: skip
def test_bad_chains_are_refused(
    parts: tuple[Contributor, ...], more: dict[str, object], text: str
) -> None:
    with pytest.raises(FitError) as error:
        Chain(name="g", contributors=parts, **more)  # type: ignore[arg-type]
    assert text in str(error.value)


@pytest.mark.parametrize(
    ("more", "text"),
    [
        ({"u": -0.1}, "Give finite numbers, the uncertainty 0 mm or more"),
        ({"times": 0}, "it counts 0 times"),
        ({"shape": "square"}, "'square' is not a shape of a distribution"),
        ({"shape": "student t", "df": 0.0}, "0 degrees of freedom"),
    ],
)
def test_bad_contributors_are_refused(more: dict[str, object], text: str) -> None:
    with pytest.raises(FitError) as error:
        length("a", 1.0, **more)  # type: ignore[arg-type]
    assert text in str(error.value)


def test_no_samples_no_answer() -> None:
    with pytest.raises(FitError, match="Draw at least one"):
        sample_chain(CASE, 0)


@pytest.mark.parametrize("df", [1, 2, 4, 9])
def test_the_worst_case_of_few_readings_lies_outside_what_draws_reach_in_95_percent(df) -> None:
    few = Contributor(name="thing", value_mm=10.0, u_mm=0.02, opens=False, shape="student t", df=df)
    slot = Contributor(name="slot", value_mm=10.3, u_mm=0.01, opens=True)
    chain = Chain(name="gap", contributors=(few, slot))
    low, high = sample_chain(chain, 200_000).band_mm(0.95)
    assert chain.worst_case_mm[0] < low
    assert chain.worst_case_mm[1] > high


def test_sizes_of_one_print_share_its_line_width_in_a_chain() -> None:
    """Drawn alone, a hole and its peg look surer than they are together."""
    from fitkit.calibration import generic_profile
    from fitkit.calibration.joint import joint
    from fitkit.calibration.learned import PrintedSize
    from fitkit.fits.chain import printed_together

    sizes = joint([PrintedSize(8.3, "hole"), PrintedSize(7.9, "peg")], generic_profile("PETG"))
    parts, ties = printed_together(sizes, ["hole", "peg"], [True, False])
    chain = Chain(name="gap", contributors=parts, correlations=ties)
    gap = sizes.sum([1.0, -1.0])
    assert chain.gap_mm == pytest.approx(gap.value_mm)
    assert chain.u_mm == pytest.approx(gap.u_mm)
    assert chain.u_mm > Chain(name="gap", contributors=parts).u_mm
    # Draws are of Student's t, whose deviation is above u by sqrt(df / (df - 2)): 2 to 3 % here.
    assert sample_chain(chain, 200_000).gaps_mm.std() == pytest.approx(gap.u_mm, rel=0.04)


def test_sizes_taken_one_by_one_share_their_print_too() -> None:
    """A hole and a peg by themselves: as sure together as the printer model says, and no surer."""
    from fitkit.calibration import compensate, generic_profile
    from fitkit.calibration.joint import joint

    profile = generic_profile("PETG")
    hole = compensate("8.2 mm", profile, kind="hole", name="hole")
    peg = compensate("8 mm", profile, kind="peg", name="peg")
    assert hole.printed is not None
    assert peg.printed is not None
    known = joint([hole.printed, peg.printed], profile).sum([1.0, -1.0])
    chain = Chain(
        name="gap",
        contributors=(
            Contributor.of_compensated(hole, opens=True),
            Contributor.of_compensated(peg, opens=False),
        ),
    )
    assert chain.u_mm == pytest.approx(known.u_mm, rel=1e-9)
    assert chain.u_mm > 1.1 * math.hypot(hole.u_print_mm, peg.u_print_mm)
    # Of another printer a peg shares nothing; what is stated of a pair counts before what is known.
    other = compensate("8 mm", generic_profile("PLA"), kind="peg", name="peg")
    bought = replace(chain.contributors[1], size=other, u_mm=other.u_print_mm)
    apart = replace(chain, contributors=(chain.contributors[0], bought))
    assert apart.correlation()[0, 1] == 0.0
    stated = replace(chain, correlations={("hole", "peg"): 0.0})
    assert stated.u_mm == pytest.approx(math.hypot(hole.u_print_mm, peg.u_print_mm))


def test_a_coat_is_no_part_of_what_sizes_of_one_print_share() -> None:
    from fitkit.calibration import compensate, generic_profile
    from fitkit.stats import Estimate

    profile = generic_profile("PETG")
    coat = Estimate.of("coat", 0.1, 0.05)
    sizes = [
        compensate("60 mm", profile, kind=kind, axis="x", coated_faces=2, coat=coat, name=kind)
        for kind in ("outside", "inside")
    ]
    bare = [compensate("60 mm", profile, kind=s.kind, axis="x", name=s.name) for s in sizes]
    ties = []
    for pair in (sizes, bare):
        parts = tuple(Contributor.of_compensated(size, opens=i > 0) for i, size in enumerate(pair))
        ties.append(Chain(name="gap", contributors=parts).correlation()[0, 1])
    assert abs(ties[0]) < abs(ties[1])
