"""The gap to aim for, and the chance that the first print then behaves as wanted."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from fitkit.core.errors import FitError
from fitkit.core.expanded import expanded
from fitkit.fits.interference import most_interference_mm
from fitkit.fits.trial import VERDICTS
from fitkit.fits.verdicts import learn

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fitkit.fits.trial import Trial
    from fitkit.fits.verdicts import VerdictModel

__all__ = ["GapChoice", "choose_gap", "clashes_text", "contradiction", "contradictions"]

# How well a calibrated print keeps its gap, 1 sd: common practice, no source.
U_NEXT_GAP_MM = 0.04
# Pairs of which one side is a printed bore or pocket that a press stretches.
_PRESSED = ("peg and hole", "tab and slot", "ball and seat", "object in pocket")
# A best gap so far from common practice is doubted, mm: common practice, no source.
_FAR_MM = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class GapChoice:
    """The gap to aim for.

    Attributes
    ----------
    pair, behaviour : str
    gap_mm : float, mm
        As printed and finished; positive is clearance, on the full size.
    low_mm, high_mm : float, mm
        Band of gaps that should still behave as wanted: its expected edges.
    best_mm : pair of floats, mm
        90 % credible band of the best gap itself; it narrows with every trial.
    p_wanted : float
        Expected chance that the first print behaves as wanted.
    basis : str
        ``prior: common practice, no source ...`` or ``12 trials on this printer``.
    notes : tuple of str
    """

    pair: str
    behaviour: str
    gap_mm: float
    low_mm: float
    high_mm: float
    p_wanted: float
    basis: str
    best_mm: tuple[float, float] | None = None
    notes: tuple[str, ...] = ()


def choose_gap(
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    trials: Iterable[Trial] = (),
    u_gap_mm: float = U_NEXT_GAP_MM,
    df: float = math.inf,
    u_lasting_mm: float = 0.0,
    most_strain: float | None = None,
    wall_mm: float = 0.0,
) -> GapChoice:
    """Choose the gap that is likeliest to behave as wanted.

    Parameters
    ----------
    pair, behaviour : str
        From `PAIRS` and `BEHAVIOURS`.
    size_mm : float, mm
        Nominal size: diameter, or width over the fitting faces.
    trials : iterable of Trial
        All of one printer and material; trials of other pairs and sizes count too, for less.
    u_gap_mm : float, mm
        Standard uncertainty with which the next print keeps its gap: of both sides together.
    df : float
        Its degrees of freedom.
    u_lasting_mm : float, mm
        The part of `u_gap_mm` that is the same at every print of the part. Once trials of such
        gaps are known, only the rest is a doubt about the next print.
    most_strain : float, optional
        What the plastic bears at the edge of a bore, as a fraction; interference stops there.
    wall_mm : float, mm
        Wall round the bore; 0 where it is not known, which counts as thin.

    Returns
    -------
    GapChoice

    Raises
    ------
    FitError
        If the pair or behaviour is unknown, the pair cannot behave so, or a number is no size.

    Examples
    --------
    >>> choice = choose_gap("peg and hole", "slides", size_mm=10.0)
    >>> round(choice.gap_mm, 2), choice.basis
    (0.22, 'prior: common practice, no source (printed on printed, both round)')
    """
    if not (math.isfinite(u_gap_mm) and u_gap_mm >= 0):
        raise FitError(f"u_gap_mm is {u_gap_mm:g}", code="fits.u-gap", remedy="Give 0 mm or more.")
    if not 0 <= u_lasting_mm <= u_gap_mm * (1 + 1e-9):
        raise FitError(
            f"u_lasting_mm is {u_lasting_mm:g} of a u_gap_mm of {u_gap_mm:g}",
            code="fits.u-lasting",
            remedy="Give 0 mm or more, and no more than u_gap_mm.",
        )
    if not df > 0:
        raise FitError(
            f"{df:g} degrees of freedom", code="fits.df", remedy="Give a number above 0."
        )
    # A tenth of a micrometre changes no gap; rounded, the same question is answered once.
    return _chosen(
        pair,
        behaviour,
        size_mm,
        tuple(trials),
        round(u_gap_mm, 4),
        round(df, 2),
        round(u_lasting_mm, 4),
        None if most_strain is None or pair not in _PRESSED else most_strain,
        wall_mm,
    )


# A panel asks again for every fit at each change of one parameter.
@lru_cache(maxsize=512)
def _chosen(
    pair: str,
    behaviour: str,
    size_mm: float,
    trials: tuple[Trial, ...],
    u_gap_mm: float,
    df: float,
    u_lasting_mm: float,
    most_strain: float | None,
    wall_mm: float,
) -> GapChoice:
    model = learn(pair, behaviour, size_mm=size_mm, trials=trials, u_lasting_mm=u_lasting_mm)
    u_fresh_mm = math.sqrt(max(u_gap_mm**2 - u_lasting_mm**2, 0.0))
    gap, p_wanted = model.best_gap_mm(u_gap_mm=u_fresh_mm, df=df)
    notes = []
    if most_strain is not None:
        most_mm = most_interference_mm(size_mm, strain=most_strain, wall_mm=wall_mm)
        if gap < -most_mm:
            wall = f"with a wall of {wall_mm:.2f} mm" if wall_mm else "with a thin wall"
            notes.append(
                f"an interference of {-gap:.2f} mm would behave best, but {most_mm:.2f} mm is all "
                f"that the plastic bears in a bore of {size_mm:.2f} mm {wall} "
                f"(strain {100 * most_strain:.1f} %)"
            )
            gap = -most_mm
            p_wanted = float(model.p_wanted(gap, u_gap_mm=u_fresh_mm, df=df)[0])
    low, high = model.wanted_band_mm
    count = len(model.trials)
    return GapChoice(
        pair=pair,
        behaviour=behaviour,
        gap_mm=gap,
        low_mm=min(low, gap),
        high_mm=max(high, gap),
        best_mm=model.best_gap_band_mm(0.9),
        p_wanted=p_wanted,
        basis=f"{count} trial{'s' if count > 1 else ''} on this printer"
        if count
        else f"prior: {model.prior.basis}",
        notes=(*notes, *_notes(model, gap)),
    )


def _notes(model: VerdictModel, gap_mm: float) -> Iterator[str]:
    """Say what a careful person would want to know of this choice."""
    if not model.trials:
        yield "this printer has no trials yet, so the gap is that of common practice"
        return
    own = [t for t in model.trials if (t.pair, t.behaviour) == (model.pair, model.behaviour)]
    if not own:
        yield f"no trial of '{model.pair}' that {_shall(model.behaviour)}: learned from other fits"
    elif not any(0.5 <= t.size_mm / model.size_mm <= 2.0 for t in own):
        sizes = ", ".join(f"{size:g}" for size in sorted({t.size_mm for t in own}))
        yield f"no trial near {model.size_mm:g} mm: carried over from {sizes} mm"
    elif not min(t.gap_mm for t in own) <= gap_mm <= max(t.gap_mm for t in own):
        yield "beyond the gaps tried so far: the next trial may well change it"
    if clashes := clashes_text(own, model.size_mm):
        yield clashes
    if abs(gap_mm - model.prior.gap_mm) > _FAR_MM:
        yield (
            f"far from common practice ({model.prior.gap_mm:.2f} mm): check that the trials' gaps "
            "are as printed, over the full size, with clearance positive"
        )


def clashes_text(trials: Iterable[Trial], size_mm: float) -> str:
    """Name all like trials that contradict each other; empty if none do.

    Parameters
    ----------
    trials : iterable of Trial
        Of one pair and behaviour.
    size_mm : float, mm
        Only trials of about this size count.

    Returns
    -------
    str
    """
    clashes = contradictions(trials, size_mm=size_mm)
    if not clashes:
        return ""
    named = "; ".join(_clash(tighter, looser) for tighter, looser in clashes)
    both = "both" if len(clashes) == 1 else "these"
    return f"trials contradict each other: {named}; measure {both} gaps again"


def contradiction(trials: Iterable[Trial], *, size_mm: float) -> tuple[Trial, Trial] | None:
    """Find the worst pair of like trials in which the larger gap had the tighter verdict.

    Parameters
    ----------
    trials, size_mm
        As `contradictions` takes them.

    Returns
    -------
    (tighter, looser) or None
        The first that `contradictions` gives; None if no trials contradict each other.
    """
    return next(iter(contradictions(trials, size_mm=size_mm)), None)


def contradictions(trials: Iterable[Trial], *, size_mm: float) -> tuple[tuple[Trial, Trial], ...]:
    """Find every pair of like trials in which the larger gap had the tighter verdict.

    Parameters
    ----------
    trials : iterable of Trial
        Of one pair and behaviour.
    size_mm : float, mm
        Only trials of about this size count.

    Returns
    -------
    tuple of (tighter, looser)
        The worst first. Gaps that differ by less than their uncertainty at 95 % do not contradict;
        what both share of it does not count.
    """
    like = [t for t in trials if abs(math.log2(t.size_mm / size_mm)) < 0.25]
    found: dict[tuple[Trial, Trial], float] = {}
    for tighter in like:
        for looser in like:
            excess = tighter.gap_mm - looser.gap_mm
            alike = (tighter.u_lasting_mm > 0) == (looser.u_lasting_mm > 0)
            u_mm = [t.u_fresh_mm if alike else t.u_gap_mm for t in (tighter, looser)]
            excess -= expanded(math.hypot(*u_mm))[0]
            if VERDICTS.index(tighter.verdict) < VERDICTS.index(looser.verdict) and excess > 0:
                found[tighter, looser] = excess
    return tuple(sorted(found, key=lambda both: -found[both]))


def _clash(tighter: Trial, looser: Trial) -> str:
    codes = [f" ({t.print_code})" if t.print_code else "" for t in (tighter, looser)]
    return (
        f"{tighter.verdict} at {tighter.gap_mm:.2f} mm{codes[0]}, but "
        f"{looser.verdict} at {looser.gap_mm:.2f} mm{codes[1]}"
    )


def _shall(behaviour: str) -> str:
    verbs = {"rotates freely", "slides"}
    return behaviour if behaviour in verbs else f"shall be {behaviour}"
