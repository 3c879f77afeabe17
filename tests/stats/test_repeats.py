"""How many repeats a wanted U takes, beside its formula and Student's t."""

from __future__ import annotations

import math

import pytest
from scipy.stats import t

from fitkit.stats import repeats_needed


@pytest.mark.parametrize("s", [0.01, 0.02, 0.05])
@pytest.mark.parametrize("df", [2, 9.7, 40])
@pytest.mark.parametrize("other", [0.0, 0.004])
def test_repeats_needed_are_the_fewest_whose_interval_is_small_enough(s, df, other) -> None:
    def U(n: int) -> float:
        own, all_of_it = s**2 / n, s**2 / n + other**2
        effective = df * (all_of_it / own) ** 2  # Welch and Satterthwaite, one term with df
        return float(t.ppf(0.975, effective) * math.sqrt(all_of_it))

    n = repeats_needed(s, df, wanted_U_mm=0.02, other_u_mm=other)
    assert U(n) <= 0.02
    assert n == 1 or U(n - 1) > 0.02


def test_no_more_repeats_are_looked_for_than_told() -> None:
    assert repeats_needed(1.0, 1e9, wanted_U_mm=1.96 / math.sqrt(50), most=51) == 50
    with pytest.raises(ValueError, match="no number of repeats up to 49 gives"):
        repeats_needed(1.0, 1e9, wanted_U_mm=1.96 / math.sqrt(50), most=49)
    assert repeats_needed(1.0, 1e9, wanted_U_mm=1.96 / math.sqrt(999.9)) == 1000
    # Less than one degree of freedom counts as one, for which t is 12.7.
    assert repeats_needed(0.01, 0.5, wanted_U_mm=0.128) == 1
    assert repeats_needed(0.01, 0.5, wanted_U_mm=0.126) == 2
