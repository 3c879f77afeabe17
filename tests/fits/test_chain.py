"""Chains: directions, shares, bad input, and the coat that eats the gap."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitkit.compensate import CompensatedSize
from fitkit.errors import FitError
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
    assert CASE.advice().startswith("parts causes 62% of the variance: measure it instead")
    assert "± 0.23 mm would shrink to ± 0.14 mm" in CASE.advice()


def test_a_chain_without_spread_needs_no_advice() -> None:
    still = Chain(name="g", contributors=(length("a", 1.0, 0.0),))
    assert still.advice() == "no contributor has any spread: nothing to know better"
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
    drawn = chain.sample(200_000, seed=1)
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
    assert np.std(chain.sample(100_000).gaps_mm) == pytest.approx(math.sqrt(2) * 0.01, rel=0.02)


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
    gaps = chain.sample(200_000, seed=3).gaps_mm
    spread = 0.1 * math.sqrt(30.0 / 28.0) if shape == "student t" else 0.1
    assert np.mean(gaps) == pytest.approx(0.5, abs=0.001)
    assert np.std(gaps) == pytest.approx(math.hypot(spread, 0.02), rel=0.01)


def test_same_seed_same_gaps_and_they_cannot_be_changed() -> None:
    first, second = CASE.sample(1000, seed=5), CASE.sample(1000, seed=5)
    np.testing.assert_array_equal(first.gaps_mm, second.gaps_mm)
    with pytest.raises(ValueError, match="read-only"):
        first.gaps_mm[0] = 0.0


def test_too_wide_is_asked_only_where_a_most_is_set() -> None:
    assert CASE.sample(100).p_too_wide is None
    bounded = Chain(name="g", contributors=CASE.contributors, most_mm=0.4)
    assert bounded.sample(100_000).p_too_wide == pytest.approx(0.5, abs=0.01)


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
        ((), {}, "g: a chain without contributors"),
        ((length("a", 1.0), length("a", 1.0, opens=False)), {},
         "'a' both opens and closes the gap"),
        ((length("a", 1.0), length("a", 2.0)), {}, "'a' comes twice. Say times=2"),
        ((length("a", 1.0), length("b", 1.0)), {"correlations": {("a", "z"): 0.5}},
         "a correlation of 'a' with 'z'. Name two of: a, b."),
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
        ({"shape": "square"}, "'square' is no shape of a distribution"),
        ({"shape": "student t", "df": 0.0}, "0 degrees of freedom"),
    ],
)
def test_bad_contributors_are_refused(more: dict[str, object], text: str) -> None:
    with pytest.raises(FitError) as error:
        length("a", 1.0, **more)  # type: ignore[arg-type]
    assert text in str(error.value)


def test_no_samples_no_answer() -> None:
    with pytest.raises(FitError, match="Draw at least one"):
        CASE.sample(0)
