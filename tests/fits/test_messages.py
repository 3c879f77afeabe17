"""Each refusal of this room as the user reads it, whole: where, what, and what to do."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from fitkit.core.errors import FitError
from fitkit.fits import (
    Chain,
    Contributor,
    Span,
    Trial,
    behaviours_of,
    chain_between,
    choose_gap,
    clearance_hole_mm,
    fastener,
    gap_prior,
    limits,
    next_ladder,
    pattern_fit,
    standard_fit,
)
from fitkit.fits.chain_sample import sample_chain

if TYPE_CHECKING:
    from collections.abc import Callable

PAIRS = (
    "There are: peg and hole, tab and slot, lid and rim, snap pocket, screw hole, heat-set insert, "
    "ball and seat, object in pocket."
)
BEHAVIOURS = (
    "There are: rotates freely, slides, snug by hand, press by tool, permanent interference."
)
ANY_LENGTH = Contributor(name="rim", value_mm=1.0, u_mm=0.1, opens=True)
GOOD = Trial(
    pair="peg and hole", behaviour="slides", size_mm=8.0, gap_mm=0.2, verdict="tight",
    print_code="K7Q2",
)  # fmt: skip


def told(act: Callable[[], object]) -> str:
    with pytest.raises(FitError) as error:
        act()
    return str(error.value)


def contributor(**more: object) -> Callable[[], object]:
    return lambda: replace(ANY_LENGTH, **more)  # type: ignore[arg-type]


def chain(*parts: Contributor, **more: object) -> Callable[[], object]:
    return lambda: Chain(name="lid", contributors=parts, **more)  # type: ignore[arg-type]


def trial(**more: object) -> Callable[[], object]:
    return lambda: replace(GOOD, **more)  # type: ignore[arg-type]


def pattern(**more: object) -> Callable[[], object]:
    given: dict[str, object] = {
        "holes_mm": [(0, 0), (9, 0)],
        "screws_mm": [(0, 0), (9, 0)],
        "hole_mm": 3.4,
        "screw_mm": 3.0,
    }
    return lambda: pattern_fit(**(given | more))  # type: ignore[arg-type]


LENGTHS = [
    Span(part=ANY_LENGTH, start="floor", end="rim"),
    Span(part=replace(ANY_LENGTH, name="board"), start="floor", end="board top"),
]
LIP = replace(ANY_LENGTH, name="lip")
IMPOSSIBLE = (
    "lid: these correlations cannot all hold at once. Each lies from -1 to 1, and two lengths tied "
    "to a third are tied together."
)
BAD_PATTERN = "Give a hole to each screw, at least two, each as (x, y)."
BAD_DIAMETER = "Give diameters above 0 and at least one sample."
NO_SIZE = "Give the nominal size, a number above 0 mm."
NO_GAP = "Give a finite number of millimetres."


def unmatched(holes: int, screws: int) -> str:
    return f"{holes} holes cannot be matched with {screws} screws. {BAD_PATTERN}"


def untried(hole: str, screw: str, samples: int = 10_000) -> str:
    tried = f"a hole of {hole} mm for a screw of {screw} mm cannot be tried"
    return f"{tried} with {samples} samples. {BAD_DIAMETER}"


@pytest.mark.parametrize(
    ("act", "message"),
    [
        (contributor(value_mm=float("nan")),
         "contributor 'rim': its value is nan mm and its standard uncertainty 0.1 mm. "
         "Give finite numbers, the uncertainty 0 mm or more."),
        (contributor(u_mm=float("inf")),
         "contributor 'rim': its value is 1 mm and its standard uncertainty inf mm. "
         "Give finite numbers, the uncertainty 0 mm or more."),
        (contributor(u_mm=-0.1),
         "contributor 'rim': its value is 1 mm and its standard uncertainty -0.1 mm. "
         "Give finite numbers, the uncertainty 0 mm or more."),
        (contributor(times=0),
         "contributor 'rim': it counts 0 times. "
         "Give a number above 0; say with `opens` which way it works."),
        (contributor(times=float("inf")),
         "contributor 'rim': it counts inf times. "
         "Give a number above 0; say with `opens` which way it works."),
        (contributor(shape="square"),
         "contributor 'rim': 'square' is not a shape of a distribution that a chain knows. "
         "It knows: normal, rectangular, triangular, student t."),
        (contributor(shape="student t", df=0.0),
         "contributor 'rim': it has 0 degrees of freedom. Give a number above 0."),
        (chain(), "lid: the chain has no contributors. Name at least one length."),
        (chain(ANY_LENGTH, replace(ANY_LENGTH, opens=False)),
         "lid: 'rim' both opens and closes the gap. "
         "Give it one direction; two different lengths need two names."),
        (chain(ANY_LENGTH, replace(ANY_LENGTH, value_mm=2.0)),
         "lid: 'rim' comes twice. Say times=2 if the same length counts twice, or rename one."),
        (chain(ANY_LENGTH, least_mm=0.3, most_mm=0.1),
         "lid: the gap is to be at least 0.3 mm and at most 0.1 mm. Swap the two."),
        (chain(ANY_LENGTH, LIP, correlations={("rim", "lap"): 0.5}),
         "lid: a correlation of 'rim' with 'lap' cannot be used. "
         "Name two different ones of: rim, lip."),
        (chain(ANY_LENGTH, LIP, correlations={("lap", "rim"): 0.5}),
         "lid: a correlation of 'lap' with 'rim' cannot be used. "
         "Name two different ones of: rim, lip."),
        (chain(ANY_LENGTH, LIP, correlations={("rim", "rim"): 0.5}),
         "lid: a correlation of 'rim' with 'rim' cannot be used. "
         "Name two different ones of: rim, lip."),
        (chain(ANY_LENGTH, LIP, correlations={("rim", "lip"): 1.01}), IMPOSSIBLE),
        (chain(ANY_LENGTH, LIP, replace(LIP, name="seal"), correlations={
            ("rim", "lip"): 0.8, ("lip", "seal"): 0.8, ("rim", "seal"): 0.2}), IMPOSSIBLE),
        (lambda: chain_between("play", "rim", "table", LENGTHS),
         "play: no lengths lead from 'rim' to 'table'. "
         "Check the faces' names: board top, floor, rim."),
        (lambda: chain_between("play", "floor", "rim", [*LENGTHS, LENGTHS[0]]),
         "play: the lengths rim, rim form a ring: each depends on the others. "
         "Leave out the length that follows from the rest."),
        (lambda: sample_chain(Chain(name="lid", contributors=(ANY_LENGTH,)), 0),
         "lid: 0 samples cannot be drawn. Draw at least one."),
        (lambda: choose_gap("peg and hole", "slides", size_mm=8.0, u_gap_mm=-0.01),
         "u_gap_mm is -0.01. Give 0 mm or more."),
        (lambda: next_ladder("peg and hole", "slides", size_mm=8.0, specimens=0),
         "a ladder cannot have 0 specimens. Ask for 1 to 12."),
        (lambda: next_ladder("peg and hole", "slides", size_mm=8.0, specimens=13),
         "a ladder cannot have 13 specimens. Ask for 1 to 12."),
        (lambda: clearance_hole_mm("M3", "snug"),  # type: ignore[arg-type]
         "'snug' is not a series of clearance holes. There are: fine, medium, coarse."),
        (lambda: fastener("M7"),
         "the table has no thread 'M7'. It has: M1.6, M2, M2.5, M3, M4, M5, M6, M8, M10, M12."),
        (lambda: fastener("3 mm"),
         "the table has no thread '3 mm'. It has: M1.6, M2, M2.5, M3, M4, M5, M6, M8, M10, M12."),
        (lambda: limits("t7", "25 mm"),
         "'t7' is not a tolerance class of the tables. Write a letter and a grade, as H7; letters: "
         "a, b, c, d, e, f, g, h, js, k, m, n, p, r, s, u."),
        (lambda: limits("H19", "25 mm"),
         "IT19 is not a standard tolerance grade. Take IT1 to IT18."),
        (lambda: limits("H7", "501 mm"),
         "501 mm lies outside the sizes of ISO 286 that are kept here. "
         "Give a size over 0 mm and up to 500 mm."),
        (lambda: limits("K9", "25 mm"),
         "ISO 286 does not define K9 for sizes over 3 mm. Take K8 or finer, or JS."),
        (lambda: standard_fit("g6/H7", "25 mm"),
         "'g6/H7' is not a standard fit. Write the hole first, then the shaft, as H7/g6."),
        (pattern(holes_mm=[(0, 0)]), unmatched(1, 2)),
        (pattern(holes_mm=[(0, 0)], screws_mm=[(0, 0)]), unmatched(1, 1)),
        (pattern(holes_mm=[0, 9], screws_mm=[0, 9]), unmatched(2, 2)),
        (pattern(holes_mm=[(0, 0, 0), (9, 0, 0)], screws_mm=[(0, 0, 0), (9, 0, 0)]),
         unmatched(2, 2)),
        (pattern(hole_mm=0), untried("0", "3")),
        (pattern(screw_mm=0),
         untried("3.4", "0")),
        (pattern(hole_mm=float("inf")),
         untried("inf", "3")),
        (pattern(screw_mm=float("nan")),
         untried("3.4", "nan")),
        (pattern(samples=0), untried("3.4", "3", 0)),
        (pattern(u_scale=-0.001), "an uncertainty is below 0. Give 0 or more."),
        (lambda: gap_prior("screw hole", "permanent interference", 3.0),
         "the behaviour 'permanent interference' is not known for the pair 'screw hole'. "
         "It can be: "
         + ", ".join(behaviours_of("screw hole")) + "."),
        (lambda: gap_prior("peg and hole", "slides", -1.0),
         "peg and hole: the size is -1 mm. Give the nominal size, a number above 0 mm."),
        (lambda: gap_prior("peg in hole", "slides", 3.0),
         f"'peg in hole' is not a kind of pair. Did you mean 'peg and hole'? {PAIRS}"),
        (lambda: behaviours_of("hinge"), f"'hinge' is not a kind of pair. {PAIRS}"),
        (lambda: gap_prior("peg and hole", "glides", 3.0),
         f"'glides' is not a behaviour. Did you mean 'slides'? {BEHAVIOURS}"),
        (trial(pair="hinge"), f"trial K7Q2: 'hinge' is not a kind of pair. {PAIRS}"),
        (trial(behaviour="wobbles", print_code=""),
         f"trial: 'wobbles' is not a behaviour. {BEHAVIOURS}"),
        (trial(verdict="rattle"),
         "trial K7Q2: 'rattle' is not a verdict. Did you mean 'rattles'? "
         "There are: will not go, tight, as wanted, loose, rattles."),
        (trial(size_mm=0.0), f"trial K7Q2: the size is 0 mm. {NO_SIZE}"),
        (trial(size_mm=float("inf")),
         "trial K7Q2: the size is inf mm. Give the nominal size, a number above 0 mm."),
        (trial(gap_mm=float("nan")), f"trial K7Q2: the gap is nan mm. {NO_GAP}"),
        (trial(pair="screw hole", gap_mm=-0.1),
         "trial K7Q2: a gap of -0.1 mm is interference, which a screw hole cannot have. "
         "If the screw shall form its own thread, use a pilot hole instead."),
        (trial(pair="snap pocket", gap_mm=-0.1),
         "trial K7Q2: a gap of -0.1 mm is interference, which a snap pocket cannot have. "
         "Check the sign: a pocket is larger than its catch."),
        (trial(u_gap_mm=-0.01),
         "trial K7Q2: the gap's standard uncertainty is -0.01 mm. Give 0 mm or more."),
        (trial(u_gap_mm=float("inf")),
         "trial K7Q2: the gap's standard uncertainty is inf mm. Give 0 mm or more."),
    ],
)  # fmt: skip
def test_a_refusal_reads(act: Callable[[], object], message: str) -> None:
    assert told(act) == message


@pytest.mark.parametrize(
    "act",
    [
        contributor(u_mm=0.0),
        contributor(shape="student t", df=0.5),
        chain(ANY_LENGTH, least_mm=0.2, most_mm=0.2),
        chain(ANY_LENGTH, LIP, correlations={("rim", "lip"): -1.0}),
        trial(u_gap_mm=0.0),
        trial(pair="screw hole", gap_mm=0.0),
        trial(gap_mm=-0.1),
        pattern(samples=1),
        lambda: limits("K9", "3 mm"),
        lambda: limits("K8", "25 mm"),
        lambda: fastener(" M2.5 "),
        lambda: choose_gap("peg and hole", "slides", size_mm=8.0, u_gap_mm=0.0),
        lambda: next_ladder("peg and hole", "slides", size_mm=8.0, specimens=12),
    ],
)
def test_the_last_value_that_is_allowed_is_allowed(act: Callable[[], object]) -> None:
    assert act() is not None
