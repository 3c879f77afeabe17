"""Profiles over time: bring them up to date, tell drift from chance, say when one is too old.

`update` puts the readings of an older profile and a newer one together; `compare` asks whether the
newer readings are what the older profile expects; `aged` widens and marks a profile after a change
of nozzle or spool, `aged_by` after the changes that a journal holds; `source_at` tells what an
earlier print was made with. None changes a profile in place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import TYPE_CHECKING, Protocol

import numpy as np

from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import Evidence
from fitkit.core.errors import CalibrationError
from fitkit.core.expanded import expanded
from fitkit.core.format import with_doubt
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from datetime import datetime

    from numpy.typing import NDArray

    from fitkit.calibration.effects import Source
    from fitkit.calibration.profile import PrinterProfile

__all__ = ["Change", "Drift", "aged", "aged_by", "compare", "noted", "source_at", "update"]

# How well the figures behind a drift test are known, as degrees of freedom.
_DRIFT_DF = 8.0
# Drop of the squared distance that speaks for another way to lie on the bed: 3.5 standard
# deviations of one contrast. Common practice, no source.
_CLEARLY_BETTER = 12.0


def update(old: PrinterProfile, new: PrinterProfile, *, name: str = "") -> PrinterProfile:
    """Merge two profiles of one printer and material: all readings of both in one update.

    Parameters
    ----------
    old, new : PrinterProfile
        Fitted from different prints. A generic `old` adds nothing: it is in `new` already.
    name : str
        Of the merged profile; that of `new` if empty.

    Returns
    -------
    PrinterProfile
        With the settings and the date of `new`; `new` itself, renamed, if `old` is generic.

    Raises
    ------
    CalibrationError
        If they are of different materials or printers, or disagree beyond chance: then the
        printer has changed, and the newer profile should stand alone.
    """
    _same_printer(old, new)
    if old.generic:
        return replace(new, name=name or new.name)
    if not new.generic:
        drift = compare(old, new)
        if drift.p < 0.01:
            raise CalibrationError(
                f"the two profiles differ by more than chance explains (p = {drift.p:.4f})",
                code="calibration.drifted",
                where=f"{old.name} and {new.name}",
                remedy="The printer has changed; use the newer profile alone.",
            )
    both = [one.evidence for one in (old, new) if one.evidence is not None]
    borrowed = tuple(t for t in new.provenance.borrowed if t in old.provenance.borrowed)
    return replace(
        new,
        name=name or new.name,
        # A profile of an older form kept no readings: what it says is then known beforehand.
        prior=old.prior,
        evidence=Evidence.joined(both) if both else None,
        prints=old.prints + new.prints,
        valid_mm=_span(old, new),
        provenance=replace(
            new.provenance,
            readings=(*old.provenance.readings, *new.provenance.readings),
            features=max(old.provenance.features, new.provenance.features),
            readings_count=old.provenance.readings_count + new.provenance.readings_count,
            method=f"{new.provenance.method}; merged with {old.name} ({old.provenance.made_on})",
            borrowed=borrowed,
            notes=(
                *(note for note in new.provenance.notes if not note.startswith("one print:")),
                f"rests on the readings of {old.name}, too",
            ),
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

    Parameters
    ----------
    old, new : PrinterProfile
        Of one printer and material. The newer one must hold readings, since they are what is
        compared with what the older one predicts.

    Returns
    -------
    Drift
        The chance of so large a difference without any drift, the terms, and a sentence.

    Raises
    ------
    CalibrationError
        If they are of different materials or printers, or measured nothing in common.
    """
    from scipy.special import fdtrc, stdtr

    _same_printer(old, new)
    shared = [
        i
        for i, term in enumerate(TERMS)
        if term not in old.provenance.borrowed and term not in new.provenance.borrowed
    ]
    if not shared or old.generic or new.generic or new.evidence is None:
        raise CalibrationError(
            "nothing was measured for both profiles, so they cannot be compared",
            code="calibration.nothing-shared",
            where=f"{old.name} and {new.name}",
            remedy="Compare profiles fitted to coupons of the same printer.",
        )
    # What the older profile expects of the newer coupon, held against what was read.
    expected = old.known.predict(new.evidence.sizes)
    noise = new.evidence.shared + np.diag(new.evidence.own * new.known.inflation)
    inverse = np.linalg.inv(expected.cov + noise)
    off = new.evidence.read_mm - expected.mean_mm
    # How large scatter is, is itself known from a few degrees of freedom only: F, not chi-square.
    p_all = float(fdtrc(len(off), _DRIFT_DF, off @ inverse @ off / len(off)))
    rows = []
    for i in shared:
        loads = new.evidence.sizes.loads[:, i]
        weight = float(loads @ inverse @ loads)
        shift, u_shift = float(loads @ inverse @ off) / weight, 1.0 / math.sqrt(weight)
        p = 2.0 * float(stdtr(_DRIFT_DF, -abs(shift) / u_shift))
        rows.append((tuple(TERMS)[i], shift, u_shift, p))
    worst = min(rows, key=lambda row: row[3])
    # Many terms are looked at, so the least p of one must be small enough for all (Bonferroni).
    found = p_all < 0.05 or worst[3] * len(rows) < 0.05
    unit = TERMS[worst[0]].unit
    U, _ = expanded(worst[2], _DRIFT_DF)
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
    if found:
        text += _lay_otherwise(old, new.evidence, noise, float(off @ inverse @ off))
    return Drift(p=min(p_all, worst[3] * len(rows)), rows=tuple(rows), text=text)


def _lay_otherwise(
    old: PrinterProfile, new: Evidence, noise: NDArray[np.float64], before: float
) -> str:
    """Say that the newer coupon lay otherwise on the bed, where that explains the difference."""
    from scipy.special import fdtrc

    x, y, skew = (list(TERMS).index(term) for term in ("scale_x", "scale_y", "skew"))
    for how, order in (("turned by a quarter", (y, x)), ("mirrored", (x, y))):
        loads = new.sizes.loads.copy()
        loads[:, [x, y]] = new.sizes.loads[:, order]
        loads[:, skew] *= -1.0
        expected = old.known.predict(replace(new.sizes, loads=loads))
        off = new.read_mm - expected.mean_mm
        after = float(off @ np.linalg.solve(expected.cov + noise, off))
        if before - after > _CLEARLY_BETTER and fdtrc(len(off), _DRIFT_DF, after / len(off)) > 0.05:
            return (
                f" It is explained if one of the two coupons lay {how} on the bed: the cut corner "
                "belongs to the front left."
            )
    return ""


def aged(profile: PrinterProfile, *, nozzle: str = "", spool: str = "") -> PrinterProfile:
    """Mark a profile whose nozzle or spool is no longer the one that it was made with.

    Parameters
    ----------
    nozzle, spool : str
        What is on the printer now, in the words of the journal; empty where nobody noted it.

    Returns
    -------
    PrinterProfile
        The same profile if nothing changed, otherwise one with a note for each change, whose ± are
        wider: what the readings tell of the printer as it was holds only in part.
    """
    changed = {
        word: (was, now)
        for word, was, now in (
            ("nozzle", profile.provenance.nozzle, nozzle),
            ("spool", profile.provenance.spool, spool),
        )
        if was and now and was != now
    }
    notes = [
        f"made with {word} {was!r}, now {now!r}: {_WIDER}" for word, (was, now) in changed.items()
    ]
    now = profile.now
    if "nozzle" in changed:
        now = replace(now, nozzle=nozzle)
    if "spool" in changed:
        now = replace(now, spool=spool)
    return noted(_since(profile, now), *notes)


class Change(Protocol):
    """A change to a printer, as `fitkit.journal.MachineRecord` holds it."""

    @property
    def made_at(self) -> datetime:
        """When the change was made."""

    @property
    def printer(self) -> str:
        """Name of the printer that was changed."""

    @property
    def what(self) -> str:
        """What was changed: nozzle, spool, belt, firmware."""

    @property
    def was(self) -> str:
        """What was there before the change, in words."""

    @property
    def now(self) -> str:
        """What is there since the change, in words."""


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
    notes, changes = [], tuple(changes)
    for what, mine in _of_printer(profile, changes).items():
        change = mine[-1]
        if _label(profile, what, mine, None):
            own = _words_for(profile, what)
            words = " to ".join(repr(word) for word in (change.was or own, change.now) if word)
            notes.append(
                f"made before a change of {what} on {change.made_at.date()}"
                f"{words and f', {words}'}: {_WIDER}"
            )
    return noted(_since(profile, source_at(profile, changes)), *notes)


def source_at(
    profile: PrinterProfile, changes: Iterable[Change], when: datetime | None = None
) -> Source:
    """Say what a print was made with, as far as that is not what the profile's readings were.

    Parameters
    ----------
    profile : PrinterProfile
    changes : iterable of Change
        Of any printer, in any order.
    when : datetime, optional
        When the print was made; after all changes if None.

    Returns
    -------
    Source
        Equal to that of the profile's readings while nothing had been changed. A change makes them
        differ, so that what one tells of the other is less (`posterior`), and not nothing.
    """
    if profile.generic:
        return profile.now
    spool, others = "", []
    for what, mine in sorted(_of_printer(profile, changes).items()):
        label = _label(profile, what, mine, when)
        if what == "spool":
            spool = label
        elif label:  # a new belt or other firmware may move as much as another nozzle
            others.append(label)
    now = profile.now
    # Where the coupon's day is not known, days tell nothing.
    day = float(when.date().toordinal()) if when and now.day else now.day
    return replace(now, nozzle="; ".join(others) or now.nozzle, spool=spool or now.spool, day=day)


def _of_printer(profile: PrinterProfile, changes: Iterable[Change]) -> dict[str, list[Change]]:
    """Sort the changes of the profile's printer by what was changed, each oldest first."""
    found: dict[str, list[Change]] = {}
    for change in sorted(changes, key=lambda change: change.made_at):
        if change.printer.casefold() == profile.printer.casefold():
            found.setdefault(change.what.casefold(), []).append(change)
    return found


def _words_for(profile: PrinterProfile, what: str) -> str:
    """What the profile was made with, in the maker's words; empty if nobody noted it."""
    source = profile.provenance
    return {"nozzle": source.nozzle, "spool": source.spool}.get(what, "")


def _label(
    profile: PrinterProfile, what: str, changes: Sequence[Change], when: datetime | None
) -> str:
    """Name the state at a time; empty while it is that of the profile's readings."""
    own = _words_for(profile, what)
    try:
        made_on = date.fromisoformat(profile.provenance.made_on[:10])
    except ValueError:
        if not own:
            return ""
        made_on = None
    count = sum(when is None or change.made_at <= when for change in changes)
    last = changes[count - 1] if count else None
    words = last.now if last else changes[0].was
    # On one and the same day the coupon is printed after the change: that is why it is.
    same = made_on and count == sum(change.made_at.date() <= made_on for change in changes)
    if same or (own and own == words):
        return ""
    if last:
        return f"{words} since {last.made_at.date()}"
    return f"{words} before {changes[0].made_at.date()}".strip()


_WIDER = "every ± is wider; print and measure a coupon again"


def _since(profile: PrinterProfile, now: Source) -> PrinterProfile:
    """Give the profile of the printer as it is; the same object if nothing changed."""
    return profile if now == profile.now else replace(profile, now=now)


def noted(profile: PrinterProfile, *notes: str) -> PrinterProfile:
    """Note why a profile may no longer hold, each reason once.

    Parameters
    ----------
    profile : PrinterProfile
    *notes : str
        Reasons, a full sentence each; they are repeated beside every size drawn by the profile.

    Returns
    -------
    PrinterProfile
        The same object if it has all of these notes already.
    """
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
            code="calibration.other-material",
            where=f"{old.name} and {new.name}",
            remedy="Keep a profile for each material.",
        )
    if old.printer != new.printer and not (old.generic or new.generic):
        raise CalibrationError(
            f"{old.printer!r} and {new.printer!r} are different printers",
            code="calibration.other-printer",
            where=f"{old.name} and {new.name}",
            remedy="Keep a profile for each printer.",
        )


def _span(old: PrinterProfile, new: PrinterProfile) -> Mapping[str, tuple[float, float]]:
    spans: dict[str, tuple[float, float]] = {}
    for kind in kinds():
        known = [p.valid_mm[kind] for p in (old, new) if kind in p.valid_mm and not p.generic]
        if known:
            spans[kind] = (min(s[0] for s in known), max(s[1] for s in known))
    return MappingProxyType(spans)
