"""What is known of a gap before any trial: a band for each kind of pair and wanted behaviour.

The figures are `gap_priors.csv` (common practice, no source). They are stated at one size and grow
with the cube root of the size, as the tolerance unit of ISO 286-1 does in its leading term;
interference that melts in (heat-set inserts) follows the same rule for want of a better.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from fitkit.core.errors import FitError
from fitkit.data import load_table
from fitkit.fits.trial import BEHAVIOURS, PAIRS, check_size, one_of

__all__ = ["GapPrior", "behaviours_of", "gap_prior", "stated_size_mm"]


@dataclass(frozen=True, slots=True, kw_only=True)
class GapPrior:
    """The band of gaps to expect, mm, at one size.

    Attributes
    ----------
    gap_mm : float
        Middle of the band.
    half_width_mm : float
        It behaves as wanted so far either way.
    zone_mm : float
        How much further ``tight`` and ``loose`` reach before ``will not go`` and ``rattles``.
    basis : str
    """

    gap_mm: float
    half_width_mm: float
    zone_mm: float
    basis: str


@cache
def _bands() -> dict[tuple[str, str], tuple[float, float, float, float, str]]:
    table = load_table("gap_priors")
    return {
        (row["pair"], row["behaviour"]): (
            row["size_mm"],
            row["gap_mm"],
            row["half_width_mm"],
            row["zone_mm"],
            f"{table.source.partition(';')[0]} ({row['basis']})",
        )
        for row in table.frame.to_dict("records")
    }


def behaviours_of(pair: str) -> tuple[str, ...]:
    """Behaviours that a kind of pair can have."""
    one_of(pair, PAIRS, "kind of pair")
    return tuple(word for word in BEHAVIOURS if (pair, word) in _bands())


def stated_size_mm(pair: str, behaviour: str) -> float:
    """Size for which the table states the band of a pair and a behaviour that it can have."""
    return _bands()[pair, behaviour][0]


def gap_prior(pair: str, behaviour: str, size_mm: float) -> GapPrior:
    """Give the band of gaps to expect before any trial.

    Parameters
    ----------
    pair, behaviour : str
        From `PAIRS` and `BEHAVIOURS`.
    size_mm : float, mm
        Nominal size; the band grows with its cube root.

    Returns
    -------
    GapPrior

    Raises
    ------
    FitError
        If the pair or behaviour is unknown, the pair cannot behave so, or the size is no size.

    Examples
    --------
    >>> gap_prior("peg and hole", "slides", 10.0).gap_mm
    0.22
    """
    one_of(pair, PAIRS, "kind of pair")
    one_of(behaviour, BEHAVIOURS, "behaviour")
    check_size(size_mm, where=pair)
    band = _bands().get((pair, behaviour))
    if band is None:
        raise FitError(
            f"the behaviour {behaviour!r} is not known for the pair {pair!r}",
            code="fits.behaviour-of-pair",
            remedy=f"It can be: {', '.join(behaviours_of(pair))}.",
        )
    at_mm, gap, half_width, zone, basis = band
    growth = (size_mm / at_mm) ** (1.0 / 3.0)
    return GapPrior(
        gap_mm=gap * growth,
        half_width_mm=half_width * growth,
        zone_mm=zone * growth,
        basis=basis,
    )
