"""Words and numbers of a trial, and what is refused in plain words."""

from __future__ import annotations

from typing import Any

import pytest

from fitkit.core.errors import FitError
from fitkit.fits import BEHAVIOURS, PAIRS, VERDICTS, Trial, behaviours_of, gap_prior


def trial(**changes: Any) -> Trial:
    values: dict[str, Any] = {
        "pair": "peg and hole",
        "behaviour": "slides",
        "size_mm": 8.0,
        "gap_mm": 0.2,
        "verdict": "as wanted",
    }
    return Trial(**(values | changes))


def test_words_are_those_of_the_contract() -> None:
    assert len(PAIRS) == 8
    assert "object in pocket" in PAIRS
    assert BEHAVIOURS[0] == "rotates freely"
    assert VERDICTS == ("will not go", "tight", "as wanted", "loose", "rattles")


def test_equal_trials_are_equal_and_can_be_kept_in_sets() -> None:
    assert len({trial(), trial(), trial(gap_mm=0.3)}) == 2


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"verdict": "loos"}, "'loos' is not a verdict. Did you mean 'loose'? There are: "
         "will not go, tight, as wanted, loose, rattles."),
        ({"pair": "screwhole"}, "Did you mean 'screw hole'?"),
        ({"behaviour": "glides"}, "'glides' is not a behaviour."),
        ({"size_mm": 0.0}, "the size is 0 mm"),
        ({"gap_mm": float("nan")}, "the gap is nan mm"),
        ({"u_gap_mm": -0.1}, "Give 0 mm or more."),
        ({"pair": "screw hole", "gap_mm": -0.1}, "interference, which a screw hole cannot have"),
        ({"pair": "snap pocket", "gap_mm": -0.1}, "Check the sign"),
    ],
)  # fmt: skip
def test_a_bad_trial_is_refused_in_plain_words(changes: dict[str, Any], text: str) -> None:
    with pytest.raises(FitError) as error:
        trial(**changes)
    assert text in str(error.value)


def test_a_trial_names_its_print_in_the_message() -> None:
    with pytest.raises(FitError, match=r"^trial K7Q2: "):
        trial(print_code="K7Q2", verdict="fine")


def test_a_peg_may_be_pressed() -> None:
    assert trial(gap_mm=-0.1).gap_mm == -0.1


@pytest.mark.parametrize("pair", PAIRS)
def test_every_pair_has_bands_that_tighten_from_behaviour_to_behaviour(pair: str) -> None:
    gaps = [gap_prior(pair, behaviour, 12.0).gap_mm for behaviour in behaviours_of(pair)]
    assert len(gaps) >= 3
    assert gaps == sorted(gaps, reverse=True)


def test_a_pair_refuses_what_it_cannot_do() -> None:
    with pytest.raises(
        FitError,
        match=r"the behaviour 'press by tool' is not known for the pair 'screw hole'.*slides",
    ):
        gap_prior("screw hole", "press by tool", 3.0)


def test_larger_fits_get_larger_gaps() -> None:
    small, large = (gap_prior("lid and rim", "slides", size) for size in (20.0, 160.0))
    assert large.gap_mm == pytest.approx(2.0 * small.gap_mm)
    assert large.basis.startswith("common practice, no source")
