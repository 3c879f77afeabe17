"""Trials from the journal, as the verdict model and the profile's drift check take them.

Nothing is copied by hand: a trial names its print, and the print's record tells pair, wanted
behaviour, size and gap. Where a size was measured on the print, the gap follows from it, its
uncertainty from jaws and object; where it was not, both are as the profile predicted.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from fitkit.core.chances import say_chance
from fitkit.core.errors import FitError, JournalError, UnitError
from fitkit.core.expanded import expanded
from fitkit.core.sizes import known_kind
from fitkit.fits.trial import VERDICTS, as_listed, counts_as_fitted
from fitkit.journal.entries import TrialEntry
from fitkit.journal.records import PrintRecord, TrialRecord
from fitkit.journal.timed import hours_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from datetime import datetime

    from fitkit.fits import Trial
    from fitkit.fits.trial import Verdict
    from fitkit.journal.entries import FitEntry
    from fitkit.journal.store import Journal

    # Standard uncertainty of a gap, and the part of it that lasts from print to print, mm.
    Doubt = tuple[float, float]
    Judged = tuple[tuple[TrialRecord, TrialEntry, "PrintRecord | None"], ...]

__all__ = [
    "DriftPoint",
    "Fitted",
    "called",
    "drift_check",
    "drift_points",
    "fitted_sizes",
    "judged_entries",
    "trial_of",
    "trials",
]

# Of a printed size read once with calipers, where no other figure is given: resolution 0.01 mm,
# accuracy ±0.03 mm taken as rectangular, some repeatability. Common practice, no source.
U_READING_MM = 0.02
# A size that is farther from the drawn one is another size, or a slip of sign or unit. Common
# practice, no source: warped and badly shrunk prints stay within it.
_NO_PRINT_MM, _NO_PRINT_SHARE = 1.0, 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftPoint:
    """One size that was printed and measured later than the coupon: predicted against found."""

    made_at: datetime
    code: str
    printer: str
    material: str
    name: str
    kind: str
    axis: str
    drawn_mm: float
    expected_mm: float
    u_print_mm: float
    measured_mm: float
    u_measured_mm: float
    basis: str
    title: str = ""
    template: str = ""
    generic: bool = False


def trials(
    journal: Journal | Judged,
    *,
    printer: str | None = None,
    material: str | None = None,
    expected: Callable[[PrintRecord, FitEntry], tuple[float, float] | None] | None = None,
    doubt: Callable[[PrintRecord, FitEntry, FitEntry | None], Doubt | None] | None = None,
) -> tuple[Trial, ...]:
    """Give every fit that was judged, oldest first.

    Parameters
    ----------
    journal : Journal, or what `judged_entries` read from one
    printer, material : str, optional
        Only those; a trial that names none counts for all.
    expected : callable of print and fit, optional
        What is expected today of a size that was not measured, and its standard uncertainty, mm, so
        that gaps measured and gaps predicted are of one mind; None for as the record has it.
    doubt : callable of print, fit and mate, optional
        How well the gap of two sizes that were not measured is known today: its standard
        uncertainty, and the part of it that the next print shares, both mm; None for as the record
        has it.

    Returns
    -------
    tuple of Trial
        Trials of sizes without pair or gap teach nothing about gaps and are left out, as are those
        that `fitkit.fits.Trial` refuses.
    """
    found = []
    for record, entry, made in _entries(journal):
        known = (
            made.printer if made else record.printer,
            made.material if made else record.material,
        )
        if any(w and k and w != k for w, k in zip((printer, material), known, strict=True)):
            continue
        if made is not None and expected is not None:
            made = _as_of_today(made, entry.name, expected)
        trial = _trial(record, entry, made, doubt)
        if trial is not None:
            found.append(trial)
    return tuple(found)


def drift_points(
    journal: Journal | Judged,
    *,
    printer: str | None = None,
    material: str | None = None,
    basis: str | None = None,
) -> tuple[DriftPoint, ...]:
    """Give every size that was measured on a print, with the prediction of the profile.

    Profiles are told apart by `PrinterProfile.basis`. Sizes measured after a coat
    are left out: they tell of the coat too.

    Parameters
    ----------
    journal : Journal or Judged
    printer, material : str, optional
        Only prints of these.
    basis : str, optional
        Only what this profile predicted.

    Returns
    -------
    tuple of DriftPoint
    """
    found = []
    for record, entry, made in _entries(journal):
        fit = _fit(made, entry.name)
        if made is None or fit is None or entry.measured_mm is None or record.finished:
            continue
        if (printer and made.printer != printer) or (material and made.material != material):
            continue
        if basis and fit.basis != basis:
            continue
        found.append(
            DriftPoint(
                made_at=made.made_at,
                code=made.code,
                printer=made.printer,
                material=made.material,
                name=entry.name,
                kind=fit.kind,
                axis=fit.axis,
                drawn_mm=fit.drawn_mm,
                expected_mm=fit.expected_mm,
                u_print_mm=fit.u_print_mm,
                measured_mm=entry.measured_mm,
                u_measured_mm=_u_measured(entry),
                basis=fit.basis,
                title=made.title,
                template=made.template,
                generic=bool(made.profile.get("generic")),
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """A size that behaved as wanted: the print's record, and the size on its way there."""

    made: PrintRecord
    fit: FitEntry


def fitted_sizes(journal: Journal | Judged, *, title: str, template: str) -> dict[str, Fitted]:
    """Find the sizes of a part that behaved as wanted when they were last judged.

    Parameters
    ----------
    journal : Journal, or what `judged_entries` read from one
    title, template : str
        The part: prints of the same title and template are the same part.

    Returns
    -------
    dict of fit name to Fitted
        Of each name the newest print that was judged counts, by its newest verdict; a name that
        was then judged otherwise is left out. A coated part that was judged bare does not count.
    """
    newest: dict[str, tuple[datetime, datetime, str, Fitted]] = {}
    for record, entry, made in _entries(journal):
        fit = _fit(made, entry.name)
        if made is None or fit is None or entry.verdict is None:
            continue
        if (made.title, made.template) != (title, template):
            continue
        if made.coat_mm and fit.coated_faces and not record.finished:
            continue
        when = (made.made_at, record.made_at, entry.verdict, Fitted(made=made, fit=fit))
        if entry.name not in newest or when[:2] >= newest[entry.name][:2]:
            newest[entry.name] = when
    return {name: last[3] for name, last in newest.items() if counts_as_fitted(last[2])}


@dataclass(frozen=True, slots=True, kw_only=True)
class DriftCheck:
    """Whether later prints agree with the profile that predicted them.

    Attributes
    ----------
    prints, sizes : int
        How many were measured.
    mean_mm : float, mm
        Mean of measured less predicted, turned round for insides and holes: plus is more plastic.
    statistic, p : float
        Of the chi-square test with `prints` degrees of freedom: the chance of so large a deviation
        if nothing has changed.
    drifted : bool
        ``p < 0.01``.
    """

    prints: int
    sizes: int
    mean_mm: float
    statistic: float
    p: float

    @property
    def drifted(self) -> bool:
        """Too far off to be chance."""
        return self.p < 0.01

    def __str__(self) -> str:
        """Give one plain sentence, with what to do."""
        way = "more" if self.mean_mm >= 0 else "less"
        found = (
            f"{self.sizes} size{'' if self.sizes == 1 else 's'} measured on {self.prints} "
            f"print{'' if self.prints == 1 else 's'} came out with "
            f"{abs(self.mean_mm):.3f} mm {way} plastic than predicted, on average (with nothing "
            f"changed, chance alone does as much in {say_chance(self.p)} of cases)"
        )
        if self.drifted:
            return f"{found}: the printer has drifted; print and measure a coupon again"
        return f"{found}: no sign of drift"


def drift_check(
    journal: Journal | Judged,
    *,
    printer: str | None = None,
    material: str | None = None,
    basis: str | None = None,
) -> DriftCheck | None:
    """Compare what was measured on prints with the prediction of their profile.

    Parameters
    ----------
    journal : Journal or Judged
    printer, material, basis : str, optional
        As `drift_points` takes them.

    Returns
    -------
    DriftCheck or None
        None if no size was measured.

    Notes
    -----
    z = (measured - predicted) / sqrt(u_print² + u_measured²). The sizes of one print share its
    deviation, so a print counts once, by the mean of its z, whose variance is 1 at most; the sum of
    their squares is compared with chi-square with a degree of freedom a print (Pearson's test).
    That errs towards no alarm.
    """
    points = drift_points(journal, printer=printer, material=material, basis=basis)
    if not points:
        return None
    from scipy.special import chdtrc

    deviations: dict[str, list[float]] = {}
    for point in points:
        u_mm = math.hypot(point.u_print_mm, point.u_measured_mm)
        z = _more_plastic_mm(point) / u_mm if u_mm else 0.0
        deviations.setdefault(point.code, []).append(z)
    statistic = sum(math.fsum(z) ** 2 / len(z) ** 2 for z in deviations.values())
    return DriftCheck(
        prints=len(deviations),
        sizes=len(points),
        mean_mm=math.fsum(map(_more_plastic_mm, points)) / len(points),
        statistic=statistic,
        p=float(chdtrc(len(deviations), statistic)),
    )


def _more_plastic_mm(point: DriftPoint) -> float:
    """Deviation, mm. Walls that print thick make outsides larger and insides smaller alike."""
    off_mm = point.measured_mm - point.expected_mm
    kind = known_kind(point.kind)  # a record may name a kind that this release does not know
    return -off_mm if kind is not None and kind.sense < 0 else off_mm


def trial_of(
    made: PrintRecord,
    verdicts: Mapping[str, str],
    *,
    measured: Mapping[str, object] | None = None,
    u_measured: object = None,
    finished: bool = False,
    took: str = "",
    notes: str = "",
    maker: str = "",
) -> TrialRecord:
    """Make the record of how a print fitted, ready for `Journal.add`.

    Parameters
    ----------
    made : PrintRecord
    verdicts : mapping of fit size to verdict
        A size is called by its name or by the mark that stands beside it on the print. A pair such
        as ``lid and rim``, or the first words of names such as ``lid``, stands for all sizes of it
        that take a gap. Case and surplus blanks do not matter.
    measured : mapping of fit size to length, optional
        As printed: an estimate, quantity or text with unit.
    u_measured : length, optional
        Standard uncertainty of all of those that bring none of their own.
    finished : bool
        True if coated before it was measured and tried.
    took : str
        How long the print took, such as ``1:35``; empty if nobody timed it.

    Returns
    -------
    TrialRecord

    Raises
    ------
    JournalError
        If the time cannot be read, the print has no such fit, two words are said of one, the
        verdict is not a verdict, or a measured size cannot be that of the one that was drawn.
    UnitError
        If a measured size cannot be read.
    """
    import difflib

    from fitkit.core.units import to_mm

    measured = _named(made, measured or {})
    known = [fit.name for fit in made.fits]
    verdicts = _spread(made, _named(made, verdicts))
    entries = []
    for name in dict.fromkeys((*verdicts, *measured)):
        if name not in known:
            near = difflib.get_close_matches(name, known, 1)
            meant = f"Did you mean {near[0]!r}? " if near else ""
            raise JournalError(
                f"{made.title!r} has no fit {name!r}",
                where=made.code,
                code="journal.no-such-fit",
                remedy=f"{meant}It has: {', '.join(map(called, made.fits)) or 'none'}.",
            )
        verdict, size = verdicts.get(name), measured.get(name)
        if verdict is not None:
            verdict = _verdict(verdict, code=made.code, name=name)
        u_mm = getattr(size, "u_mm", None)
        if size is not None and u_mm is None and u_measured is not None:
            u_mm = to_mm(u_measured)
        entries.append(
            TrialEntry(
                name=name,
                verdict=verdict,
                measured_mm=None if size is None else _measured_mm(made, name, size),
                u_measured_mm=u_mm,
            )
        )
    took_h = hours_of(took) if took else None
    if not entries and took_h is None:
        raise JournalError(
            "no size was judged or measured",
            where=made.code,
            code="journal.nothing-judged",
            remedy=f"Give a verdict for one of: {', '.join(known)}; or the time it took.",
        )
    return TrialRecord(
        of=made.code,
        fits=tuple(entries),
        printer=made.printer,
        material=made.material,
        finished=finished,
        took_h=took_h,
        notes=(notes,) if notes else (),
        maker=maker,
    )


def called(fit: FitEntry) -> str:
    """Name a size as a person finds it on the print: its name, and the mark beside it."""
    return f"{fit.name} (marked {fit.mark})" if fit.mark else fit.name


def _verdict(typed: str, *, code: str, name: str) -> Verdict:
    """Read a verdict's word."""
    import difflib

    word = as_listed(typed, VERDICTS)
    for verdict in VERDICTS:
        if verdict == word:
            return verdict
    near = difflib.get_close_matches(str(typed).casefold(), VERDICTS, 1)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise JournalError(
        f"{typed!r} is not a verdict",
        where=code,
        at=(name,),
        code="journal.not-a-verdict",
        remedy=f"{meant}There are: {', '.join(VERDICTS)}.",
    )


_Said = TypeVar("_Said")


def _named(made: PrintRecord, said: Mapping[str, _Said]) -> dict[str, _Said]:
    """Bring what is said of sizes under their names, where it was said of marks or in other case.

    What is the name or mark of no single size is left as it was typed.
    """
    found: dict[str, _Said] = {}
    for typed, value in said.items():
        plain = " ".join(typed.split()).casefold()
        names = [fit.name for fit in made.fits if fit.name.casefold() == plain]
        names = names or [fit.name for fit in made.fits if fit.mark and fit.mark == plain]
        if len(names) > 1:
            raise JournalError(
                f"{typed!r} is the mark of {len(names)} sizes: {', '.join(names)}",
                where=made.code,
                code="journal.mark-of-several",
                remedy="Say the size by its name; they are counted from the left.",
            )
        name = names[0] if names else typed
        if name in found:
            raise JournalError(
                f"{name!r} was named twice",
                where=made.code,
                code="journal.named-twice",
                remedy="Say one thing of it.",
            )
        found[name] = value
    return found


def _measured_mm(made: PrintRecord, name: str, size: object) -> float:
    """Read a size as measured; what is wrong with it is said with the fit and what was typed."""
    from fitkit.core.units import to_mm

    try:
        size_mm = to_mm(size)
    except UnitError as error:
        fault = error.placed(where=made.code, at=(name, "measured"))
        if str(size) not in fault.what:  # a part of it is wrong: tell all that was typed
            fault.what = f"{str(size)!r}: {fault.what}"
        raise fault from error
    drawn_mm = next(fit.drawn_mm for fit in made.fits if fit.name == name)
    if abs(size_mm - drawn_mm) > _NO_PRINT_MM + _NO_PRINT_SHARE * drawn_mm:
        raise JournalError(
            f"{size_mm:g} mm is typed where {drawn_mm:.2f} mm was drawn: no print is that far off",
            where=made.code,
            at=(name, "measured"),
            code="journal.measured-another-size",
            remedy="Check the decimal sign, the unit, and which size was read.",
        )
    return size_mm


def _spread(made: PrintRecord, verdicts: Mapping[str, str]) -> dict[str, str]:
    """Give a verdict on a pair, or on the first words of names, to each size meant by it."""
    names = {fit.name for fit in made.fits}
    exact = {name: verdict for name, verdict in verdicts.items() if name in names}
    spread: dict[str, str] = {}
    for name, verdict in verdicts.items():
        plain = " ".join(name.split()).casefold()
        meant = [
            fit.name
            for fit in made.fits
            if fit.sense
            and (
                (fit.pair or "").casefold() == plain
                or f"{fit.name} ".casefold().startswith(f"{plain} ")
            )
        ]
        for one in [name] if name in names or not meant else meant:
            spread[one] = verdict
    return spread | exact


def judged_entries(journal: Journal) -> Judged:
    """Read all that was tried, once for several questions, each with its print as last corrected.

    Returns
    -------
    tuple of (TrialRecord, TrialEntry, PrintRecord or None)
        Oldest first; without what a later record corrects.
    """
    return tuple(_read_entries(journal))


def _entries(journal: Journal | Judged) -> Judged:
    return journal if isinstance(journal, tuple) else judged_entries(journal)


def _read_entries(
    journal: Journal,
) -> Iterator[tuple[TrialRecord, TrialEntry, PrintRecord | None]]:
    records = journal.records(corrected=True)
    later = {record.supersedes: record for record in records if record.supersedes}
    prints = {record.code: record for record in records if isinstance(record, PrintRecord)}
    for record in records:
        if not isinstance(record, TrialRecord) or record.code in later or record.withdrawn:
            continue
        made = prints.get(record.of or "")
        for _ in range(len(later)):
            if made is None or not isinstance(newer := later.get(made.code), PrintRecord):
                break
            made = newer
        for entry in record.fits:
            yield record, entry, made


def _as_of_today(
    made: PrintRecord,
    name: str,
    expected: Callable[[PrintRecord, FitEntry], tuple[float, float] | None],
) -> PrintRecord:
    """Give a print with what is expected today of a size, and of its mate, in place of then."""
    fit = _fit(made, name)
    fits = []
    for one in made.fits:
        asked = fit is not None and one.name in (fit.name, fit.mate)
        told = expected(made, one) if asked else None
        changed = {"expected_mm": told[0], "u_print_mm": told[1]} if told else {}
        fits.append(one.model_copy(update=changed) if changed else one)
    return made.model_copy(update={"fits": tuple(fits)})


def _trial(
    record: TrialRecord,
    entry: TrialEntry,
    made: PrintRecord | None,
    doubt: Callable[[PrintRecord, FitEntry, FitEntry | None], Doubt | None] | None,
) -> Trial | None:
    from fitkit.fits.trial import Trial, allows_interference

    fit = _fit(made, entry.name)
    pair = entry.pair or (fit and fit.pair)
    behaviour = (fit and fit.wanted) or record.extra.get("behaviour", "slides")
    size_mm = entry.size_mm or (fit and (fit.nominal_mm or fit.target_mm))
    gap = _gap(record, entry, made, doubt)
    if not (entry.verdict and pair and size_mm and gap):
        return None
    gap_mm, (u_mm, u_lasting_mm) = gap
    if -expanded(u_mm)[0] <= gap_mm < 0.0 and not allows_interference(pair):
        gap_mm = 0.0  # of a pair that cannot overlap, zero is as near as the print tells it
    try:
        return Trial(
            pair=pair,
            behaviour=behaviour,
            size_mm=size_mm,
            gap_mm=gap_mm,
            u_gap_mm=u_mm,
            u_lasting_mm=min(u_lasting_mm, u_mm),
            verdict=entry.verdict,
            print_code=made.code if made else record.code,
            note=entry.note,
        )
    except FitError:  # a gap of the sheet's own names no behaviour, so there is no lesson in it
        return None


def _gap(
    record: TrialRecord,
    entry: TrialEntry,
    made: PrintRecord | None,
    doubt: Callable[[PrintRecord, FitEntry, FitEntry | None], Doubt | None] | None,
) -> tuple[float, Doubt] | None:
    """Gap of the parts that were tried, and how well it is known, mm."""
    fit = _fit(made, entry.name)
    if entry.gap_mm is not None:
        return entry.gap_mm, (0.03 if entry.u_gap_mm is None else entry.u_gap_mm, 0.0)
    if made is None or fit is None or not fit.sense:
        return None
    made_mm, u_mm = _as_printed(record, fit)
    thing_mm, u_thing_mm = fit.thing_mm, fit.u_target_mm
    mate = _fit(made, fit.mate) if fit.mate else None
    if mate is not None:  # the other half was printed too, and may have been measured
        thing_mm, u_thing_mm = _as_printed(record, mate)
    gap_mm = fit.sense * (made_mm - thing_mm)
    measured = {one.name for one in record.fits if one.measured_mm is not None}
    today = doubt(made, fit, mate) if doubt is not None else None
    if fit.name not in measured and (mate is None or mate.name not in measured):
        # Both sides share what is unknown of the printer: their doubts do not simply add.
        if today is not None:
            return gap_mm, today
        if fit.u_gap_mm is not None:
            return gap_mm, (fit.u_gap_mm, 0.0)
    u_gap_mm = math.hypot(u_mm, u_thing_mm)
    # The reading's error moves this gap and the next drawn size alike.
    return gap_mm, (u_gap_mm, min(today[1], u_gap_mm) if today is not None else 0.0)


def _as_printed(record: TrialRecord, fit: FitEntry) -> tuple[float, float]:
    """Size on the print and its standard uncertainty, mm: as measured, else as expected."""
    for entry in record.fits:
        if entry.name == fit.name and entry.measured_mm is not None:
            return entry.measured_mm, _u_measured(entry)
    return fit.expected_mm, fit.u_print_mm


def _fit(made: PrintRecord | None, name: str) -> FitEntry | None:
    return next((fit for fit in made.fits if fit.name == name), None) if made else None


def _u_measured(entry: TrialEntry) -> float:
    return U_READING_MM if entry.u_measured_mm is None else entry.u_measured_mm
