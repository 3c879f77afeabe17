"""What earlier prints of the journal teach a sheet: sizes measured, sizes that fitted, verdicts."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

from fitkit.core.sizes import kind_of, known_kind
from fitkit.core.units import show

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from fitkit.calibration import Learned, MeasuredSize, PrinterProfile
    from fitkit.calibration.effects import Source
    from fitkit.calibration.history import Change
    from fitkit.calibration.joint import Joint
    from fitkit.checks.print_time import TimedPrint
    from fitkit.fits import Trial
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import FitEntry, Fitted, Journal, PrintRecord
    from fitkit.journal.files import Damage
    from fitkit.journal.judged import DriftPoint, Judged
    from fitkit.parts.contract import FitSize
    from fitkit.stats import Estimate

__all__ = ["Earlier", "changes", "earlier_prints", "feature_of"]

# Half of the last place of usual calipers: a size that moved by less is the same reading.
SAME_MM = 0.005


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Earlier:
    """What earlier prints teach.

    Attributes
    ----------
    trials : tuple of Trial
        Verdicts, for the choice of gaps.
    learned : Learned or None
        Sizes measured on prints, for the drawn sizes.
    fitted : mapping of fit name to Fitted
        Sizes of this part that behaved as wanted when last judged.
    nozzle_since : datetime or None
        When the printer's nozzle was changed last; prints before it teach less, and what fitted
        before it is drawn again.
    timed : tuple of TimedPrint
        Prints of this printer whose time was written down.
    damaged : tuple of Damage
        Records that could not be read, and so taught nothing.
    doubts : tuple of str
        What is doubtful about records that count, a sentence each.
    """

    trials: Sequence[Trial] = ()
    learned: Learned | None = None
    fitted: Mapping[str, Fitted] = field(default_factory=lambda: MappingProxyType({}))
    nozzle_since: datetime | None = None
    timed: Sequence[TimedPrint] = ()
    damaged: tuple[Damage, ...] = ()
    doubts: tuple[str, ...] = ()


def feature_of(title: str, template: str, name: str) -> str:
    """Name one feature of one part, the same at each reprint."""
    return "\n".join((title, template, name))


def earlier_prints(
    sheet: PartSheet, profile: PrinterProfile, journal: Journal, judged: Judged
) -> Earlier:
    """Gather what the prints of a journal teach about a sheet's part.

    Parameters
    ----------
    sheet : PartSheet
    profile : PrinterProfile
    journal : Journal
    judged : tuple
        What `fitkit.journal.judged_entries` read from it.
    """
    from fitkit.calibration import learn_sizes, source_at
    from fitkit.calibration.joint import PrintedSize, joint, then_and_next
    from fitkit.flow.doubt import gap_doubt_then
    from fitkit.journal import drift_points, fitted_sizes, trials
    from fitkit.journal.timed import timed_prints

    machine = tuple(journal.records("machine"))
    points = drift_points(judged, material=profile.material)
    learned = learn_sizes(
        profile,
        [
            _measured(p, profile, source_at(profile, machine, p.made_at))
            for p in points
            if _teaches(p, profile)
        ],
    )

    def asked(made: PrintRecord, fit: FitEntry) -> PrintedSize:
        return PrintedSize(
            fit.drawn_mm,
            fit.kind,
            fit.axis,  # type: ignore[arg-type]  # a record keeps it as text
            feature_of(made.title, made.template, fit.name),
        )

    def known(made: PrintRecord, *fits: FitEntry) -> bool:
        """Tell whether today's profile predicts these sizes of a print."""
        if not _same_printer(profile, made.printer, made.profile):
            return False
        # A record may be of a release that knew other kinds.
        return all(known_kind(fit.kind) is not None for fit in fits)

    def of_print(sizes: list[PrintedSize], made: PrintRecord) -> Joint:
        """What sizes of a print came out at, by what was on the printer then."""
        source = source_at(profile, machine, made.made_at)
        return joint(sizes, profile, learned=learned, print_code=made.code, source=source)

    def expected(made: PrintRecord, fit: FitEntry) -> tuple[float, float] | None:
        if not known(made, fit) or (learned is None and fit.basis == profile.basis):
            return None
        size = of_print([asked(made, fit)], made).sum([1.0])
        kind = known_kind(fit.kind)  # as the template named it
        coat_mm = (kind.sense if kind else 0) * fit.coated_faces * made.coat_mm
        return size.value_mm + coat_mm, size.u_mm

    def doubt(
        made: PrintRecord, fit: FitEntry, mate: FitEntry | None
    ) -> tuple[float, float] | None:
        sides = [fit] if mate is None else [fit, mate]
        if not known(made, *sides):
            return None
        u_then, u_next, shared = then_and_next(
            [asked(made, side) for side in sides],
            [1.0, -1.0][: len(sides)],
            profile,
            learned=learned,
            print_code=made.code,
            source=source_at(profile, machine, made.made_at),
        )
        u_thing_mm = fit.u_target_mm if mate is None else 0.0
        return gap_doubt_then(u_then, u_next, shared, u_thing_mm)

    printer = None if profile.generic else profile.printer
    return Earlier(
        trials=trials(
            judged,
            printer=printer,
            material=profile.material,
            expected=expected,
            doubt=doubt,
        ),
        learned=learned,
        fitted=(
            fitted_sizes(judged, title=sheet.title, template=sheet.template)
            if sheet.keep_fitted
            else {}
        ),
        nozzle_since=_nozzle_since(machine, profile),
        timed=timed_prints(journal, printer=profile.printer),
        damaged=journal.damaged,
        doubts=journal.doubts,
    )


def changes(
    was: Fitted,
    *,
    fit: FitSize,
    thing: Estimate,
    wanted: str,
    gap_mm: float,
    profile: PrinterProfile,
    coat: Estimate | None,
    nozzle_since: datetime | None,
) -> list[str]:
    """Say what has changed since a size fitted; empty if it can be kept.

    Parameters
    ----------
    was : Fitted
    fit, thing, wanted, gap_mm, profile, coat
        As they are now; `gap_mm` counts only where it is the sheet's own.
    nozzle_since : datetime or None
        See `Earlier`.
    """
    made, old = was.made, was.fit
    found = []
    if abs(old.thing_mm - thing.value_mm) > SAME_MM:
        found.append(f"the size to fit was {show(old.thing_mm)} and is {show(thing.value_mm)}")
    if (old.pair, old.sense, old.coated_faces) != (fit.pair, fit.sense, fit.coated_faces):
        found.append("the template draws this size otherwise")
    if old.wanted != wanted:
        found.append(f"wanted was {old.wanted!r} and is {wanted!r}")
    elif wanted == "gap of the sheet" and abs(old.gap_mm - gap_mm) > SAME_MM:
        found.append(f"the sheet's gap was {show(old.gap_mm)} and is {show(gap_mm)}")
    for word, then, now in (
        ("printer", made.printer, profile.printer),
        ("material", made.material, profile.material),
    ):
        if then.casefold() != now.casefold():
            found.append(f"the {word} was {then!r} and is {now!r}")
    nozzle_mm = made.profile.get("nozzle_mm", profile.nozzle_mm)
    if nozzle_mm != profile.nozzle_mm:
        found.append(f"the nozzle was {nozzle_mm:g} mm and is {profile.nozzle_mm:g} mm")
    elif nozzle_since and made.made_at < nozzle_since:
        found.append(f"the nozzle was changed on {nozzle_since.date()}")
    layer_mm = made.profile.get("layer_height_mm", profile.layer_height_mm)
    if old.axis == "z" and layer_mm != profile.layer_height_mm:
        found.append(f"layers were {layer_mm:g} mm and are {profile.layer_height_mm:g} mm")
    coat_mm = coat.value_mm if coat else 0.0
    if fit.coated_faces and abs(made.coat_mm - coat_mm) > SAME_MM:
        found.append(f"the coat was {show(made.coat_mm)} and is {show(coat_mm)}")
    return found


def _nozzle_since(machine: Sequence[Change], profile: PrinterProfile) -> datetime | None:
    if profile.generic:
        return None
    mine = profile.printer.casefold()
    days = [
        change.made_at
        for change in machine
        if change.printer.casefold() == mine and change.what.casefold() == "nozzle"
    ]
    return max(days, default=None)


def _teaches(point: DriftPoint, profile: PrinterProfile) -> bool:
    # A record may be of a release that knew other kinds.
    known = known_kind(point.kind) is not None
    return known and _same_printer(profile, point.printer, {"generic": point.generic})


def _same_printer(profile: PrinterProfile, printer: str, was: Mapping[str, object]) -> bool:
    """Tell whether a print was made on the profile's printer.

    A generic profile has no printer of its own: what was printed with one teaches it.
    """
    if profile.generic:
        return bool(was.get("generic"))
    return printer.casefold() == profile.printer.casefold()


def _measured(point: DriftPoint, profile: PrinterProfile, source: Source) -> MeasuredSize:
    from fitkit.calibration import MeasuredSize

    kind = kind_of(point.kind)
    # Of an opening in an upright wall a record does not tell whether it is whole layers.
    window = point.axis == "z" and not kind.round and not kind.layered
    return MeasuredSize(
        kind=kind,
        axis=point.axis,  # type: ignore[arg-type]
        drawn_mm=point.drawn_mm,
        measured_mm=point.measured_mm,
        u_measured_mm=point.u_measured_mm,
        print_code=point.code,
        feature=feature_of(point.title, point.template, point.name),
        step_mm=profile.layer_height_mm if window else 0.0,
        source=source,
    )
