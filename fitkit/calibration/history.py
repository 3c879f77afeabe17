"""Profiles over time: bring them up to date, tell drift from chance, say when one is too old.

`update` weighs an older profile with a newer one as two measurements of the same printer (normal
Bayes); `compare` asks whether the difference between two is larger than its uncertainty; `aged`
marks a profile after a change of nozzle or spool, `aged_by` after the changes that a journal
holds. None changes a profile in place.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

import numpy as np

from fitkit.calibration.model import TERMS
from fitkit.core.errors import CalibrationError
from fitkit.core.expanded import expanded
from fitkit.core.format import with_doubt
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from datetime import datetime

    from numpy.typing import NDArray

    from fitkit.calibration.profile import PrinterProfile

__all__ = ["Change", "Drift", "aged", "aged_by", "compare", "noted", "update"]


def update(old: PrinterProfile, new: PrinterProfile, *, name: str = "") -> PrinterProfile:
    """Merge two profiles of one printer and material, each weighted by what it knows.

    Parameters
    ----------
    old, new : PrinterProfile
        Fitted from different prints; a generic `old` serves as prior knowledge.
    name : str
        Of the merged profile; that of `new` if empty.

    Raises
    ------
    CalibrationError
        If they are of different materials or printers, or disagree beyond chance: then the
        printer has changed, and the newer profile should stand alone.
    """
    _same_printer(old, new)
    if not old.generic and not new.generic:
        drift = compare(old, new)
        if drift.p < 0.01:
            raise CalibrationError(
                f"the two profiles differ beyond chance (p = {drift.p:.4f})",
                where=f"{old.name} and {new.name}",
                remedy="The printer has changed; use the newer profile alone.",
            )
    measured = [t for t in TERMS if t not in new.provenance.borrowed]
    first, second = _covariance(old), _covariance(new)
    gain = first @ np.linalg.pinv(first + second, hermitian=True, rcond=1e-12)
    coef = old.coef + gain @ (new.coef - old.coef)
    cov = (np.eye(len(coef)) - gain) @ first
    prints = old.spread.prints + new.spread.prints
    df = old.spread.print_df + new.spread.print_df - (4.0 if prints > new.spread.prints else 0.0)
    pooled = replace(
        new.spread,
        print_width_mm=_pool(old, new, "print_width_mm"),
        print_scale=_pool(old, new, "print_scale"),
        feature_mm=_pool(old, new, "feature_mm"),
        prints=prints,
        print_df=max(df, new.spread.print_df),
    )
    # The prints' own part is held by `spread` again, so it is taken out of the covariance.
    within = _floored(cov - _between(pooled.print_width_mm, pooled.print_scale, prints))
    borrowed = tuple(
        t for t in new.provenance.borrowed if old.generic or t in old.provenance.borrowed
    )
    return replace(
        new,
        name=name or new.name,
        coef=coef,
        cov=within,
        df=old.df + new.df if np.isfinite(old.df + new.df) else new.df,
        spread=pooled,
        valid_mm=_span(old, new),
        provenance=replace(
            new.provenance,
            readings=(*old.provenance.readings, *new.provenance.readings),
            features=max(old.provenance.features, new.provenance.features),
            readings_count=old.provenance.readings_count + new.provenance.readings_count,
            method=f"{new.provenance.method}; merged with {old.name} ({old.provenance.made_on})",
            borrowed=borrowed,
            notes=(*new.provenance.notes, f"{len(measured)} terms measured anew"),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drift:
    """Difference of two profiles, held against its uncertainty.

    Attributes
    ----------
    p : float
        Chance of so large a difference if nothing had changed (all shared terms together).
    rows : tuple of (term, difference, standard uncertainty, p)
        A row a term that both measured; mm, or fractions for scales.
    text : str
        The answer in one sentence.
    """

    p: float
    rows: tuple[tuple[str, float, float, float], ...]
    text: str


def compare(old: PrinterProfile, new: PrinterProfile) -> Drift:
    """Ask whether a printer has drifted: whether two profiles differ beyond their uncertainty.

    Raises
    ------
    CalibrationError
        If they are of different materials or printers, or measured nothing in common.
    """
    from scipy.special import stdtr
    from scipy.stats import f

    _same_printer(old, new)
    shared = [
        i
        for i, term in enumerate(TERMS)
        if term not in old.provenance.borrowed and term not in new.provenance.borrowed
    ]
    both = _covariance(old) + _covariance(new)
    shared = [i for i in shared if both[i, i] > 0]
    if not shared or old.generic or new.generic:
        raise CalibrationError(
            "the two profiles measured nothing in common",
            where=f"{old.name} and {new.name}",
            remedy="Compare profiles fitted to coupons of the same printer.",
        )
    change = (new.coef - old.coef)[shared]
    cov = both[np.ix_(shared, shared)]
    rank = int(np.linalg.matrix_rank(_correlation(cov), tol=1e-6, hermitian=True))
    distance = float(change @ np.linalg.pinv(cov, hermitian=True, rcond=1e-12) @ change)
    df = min(old.spread.print_df, new.spread.print_df)
    p_all = float(f.sf(distance / rank, rank, df))
    u = np.sqrt(np.diag(cov))
    p_each = 2.0 * stdtr(df, -np.abs(change) / u)
    rows = tuple(
        (tuple(TERMS)[i], float(d), float(s), float(p))
        for i, d, s, p in zip(shared, change, u, p_each, strict=True)
    )
    worst = min(rows, key=lambda row: row[3])
    # Many terms are looked at, so the least p of one must be small enough for all (Bonferroni).
    found = p_all < 0.05 or worst[3] * len(rows) < 0.05
    unit = TERMS[worst[0]].unit
    U, _ = expanded(worst[2], df)
    amount = (
        with_doubt(100 * worst[1], 100 * U, "%", sign=True)
        if unit == "mm/mm"
        else with_doubt(worst[1], U, unit, sign=True)
    )
    text = (
        f"The printer has drifted (p = {min(p_all, worst[3] * len(rows)):.3f}); most in "
        f"{worst[0].replace('_', ' ')}: {amount} (95 %)."
        if found
        else f"No drift beyond chance (p = {p_all:.2f}); largest in "
        f"{worst[0].replace('_', ' ')}: {amount} (95 %)."
    )
    return Drift(p=min(p_all, worst[3] * len(rows)), rows=rows, text=text)


def aged(profile: PrinterProfile, *, nozzle: str = "", spool: str = "") -> PrinterProfile:
    """Mark a profile whose nozzle or spool is no longer the one that it was made with.

    Parameters
    ----------
    nozzle, spool : str
        What is on the printer now, in the words of the journal; empty where nobody noted it.

    Returns
    -------
    PrinterProfile
        The same profile if nothing changed, otherwise one with a note for each change.
    """
    notes = [
        f"made with {word} {was!r}, now {now!r}: print and measure a coupon again"
        for word, was, now in (
            ("nozzle", profile.provenance.nozzle, nozzle),
            ("spool", profile.provenance.spool, spool),
        )
        if was and now and was != now
    ]
    return noted(profile, *notes)


class Change(Protocol):
    """A change to a printer, as `fitkit.journal.MachineRecord` holds it."""

    @property
    def made_at(self) -> datetime:
        """When."""

    @property
    def printer(self) -> str:
        """Whose."""

    @property
    def what(self) -> str:
        """Nozzle, spool, belt, firmware."""

    @property
    def was(self) -> str:
        """Before, in words."""

    @property
    def now(self) -> str:
        """Since, in words."""


def aged_by(profile: PrinterProfile, changes: Iterable[Change]) -> PrinterProfile:
    """Mark a profile that was made before its printer was changed.

    Parameters
    ----------
    profile : PrinterProfile
    changes : iterable of Change
        Of any printer, in any order; the latest of each kind (nozzle, spool, belt, ...) counts.

    Returns
    -------
    PrinterProfile
        The same profile if nothing changed after the day that it was made, or if what changed is
        again what it was made with. A profile without a date is held against the words for nozzle
        and spool that it was made with, where it has them. A generic profile never ages.
    """
    if profile.generic:
        return profile
    mine = profile.printer.casefold()
    latest = {
        change.what.casefold(): change
        for change in sorted(changes, key=lambda change: change.made_at)
        if change.printer.casefold() == mine
    }
    source = profile.provenance
    made_with = {"nozzle": source.nozzle, "spool": source.spool}
    try:
        made_on = date.fromisoformat(source.made_on[:10])
    except ValueError:
        made_on = None
    notes = []
    for what, change in latest.items():
        own = made_with.get(what, "")
        if own and own == change.now:
            continue
        day = change.made_at.date()
        # On one and the same day the coupon is printed after the change: that is why it is.
        if made_on and day <= made_on:
            continue
        if made_on or own:
            words = " to ".join(repr(word) for word in (change.was or own, change.now) if word)
            notes.append(
                f"made before a change of {what} on {day}{words and f', {words}'}: print and "
                "measure a coupon again"
            )
    return noted(profile, *notes)


def noted(profile: PrinterProfile, *notes: str) -> PrinterProfile:
    """Note why a profile may no longer hold, each reason once; the same if all are there."""
    new = tuple(note for note in notes if note not in profile.provenance.notes)
    if not new:
        return profile
    source = profile.provenance
    provenance = replace(source, notes=(*source.notes, *new), aged=(*source.aged, *new))
    return replace(profile, provenance=provenance)


def _same_printer(old: PrinterProfile, new: PrinterProfile) -> None:
    if old.material.casefold() != new.material.casefold():
        raise CalibrationError(
            f"{old.material} and {new.material} are different materials",
            where=f"{old.name} and {new.name}",
            remedy="Keep a profile for each material.",
        )
    if old.printer != new.printer and not (old.generic or new.generic):
        raise CalibrationError(
            f"{old.printer!r} and {new.printer!r} are different printers",
            where=f"{old.name} and {new.name}",
            remedy="Keep a profile for each printer.",
        )


def _between(width_mm: float, scale: float, prints: int) -> NDArray[np.float64]:
    """Covariance of the coefficients from prints' own widths and scales, for a mean of prints."""
    if not prints:
        return np.zeros((len(TERMS), len(TERMS)))
    # A closing is counted positive, so a wider line raises every term that goes with the width.
    width_lift = np.array([float(term.varies == "width") for term in TERMS.values()])
    scale_lift = np.array([float(term.varies == "scale") for term in TERMS.values()])
    both = width_mm**2 * np.outer(width_lift, width_lift)
    both += scale**2 * np.outer(scale_lift, scale_lift)
    return np.asarray(both / prints)


def _covariance(profile: PrinterProfile) -> NDArray[np.float64]:
    spread = profile.spread
    return profile.cov + _between(spread.print_width_mm, spread.print_scale, spread.prints)


def _pool(old: PrinterProfile, new: PrinterProfile, name: str) -> float:
    if old.generic:
        return float(getattr(new.spread, name))
    weights = np.array([old.spread.print_df, new.spread.print_df])
    squares = np.array([getattr(old.spread, name), getattr(new.spread, name)]) ** 2
    return float(np.sqrt(weights @ squares / weights.sum()))


def _floored(cov: NDArray[np.float64]) -> NDArray[np.float64]:
    """Nearest covariance without negative variances."""
    values, vectors = np.linalg.eigh(0.5 * (cov + cov.T))
    return np.asarray((vectors * np.maximum(values, 0.0)) @ vectors.T)


def _correlation(cov: NDArray[np.float64]) -> NDArray[np.float64]:
    root = np.sqrt(np.diag(cov))
    return np.asarray(cov / np.outer(root, root))


def _span(old: PrinterProfile, new: PrinterProfile) -> Mapping[str, tuple[float, float]]:
    spans: dict[str, tuple[float, float]] = {}
    for kind in kinds():
        known = [p.valid_mm[kind] for p in (old, new) if kind in p.valid_mm and not p.generic]
        if known:
            spans[kind] = (min(s[0] for s in known), max(s[1] for s in known))
    return MappingProxyType(spans)
