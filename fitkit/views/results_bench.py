"""What commands say with ``--json`` that write at the bench: readings, profiles, records, pages."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pydantic import Field

from fitkit.views.result_base import Model, Result, number, paths_said

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd

    from fitkit.calibration import PrinterProfile
    from fitkit.checks import Material
    from fitkit.journal.inspection import Inspected
    from fitkit.journal.spreadsheet import BroughtIn
    from fitkit.readings import Instrument
    from fitkit.readings.cable import Sent
    from fitkit.readings.checks import Check
    from fitkit.readings.waiting import Filled

__all__ = [
    "BroughtInResult",
    "CalibrateResult",
    "CheckedResult",
    "DecidedResult",
    "FittedResult",
    "HeardResult",
    "MaterialResult",
    "RecordedResult",
    "SizeRead",
    "WrittenResult",
]


class WrittenResult(Result):
    """Files that were written: `begin`, `binder`, `inspection`, `share` and `tag`."""

    files: list[str]
    notes: list[str] = Field(description="What differs or was put in order.")
    then: list[str] = Field(description="Commands to type next.")

    @classmethod
    def of(
        cls, files: Sequence[Path], *, notes: Sequence[str] = (), then: Sequence[str] = ()
    ) -> WrittenResult:
        """Say what was written.

        Parameters
        ----------
        files : sequence of path
        notes, then : sequence of str

        Returns
        -------
        WrittenResult
        """
        return cls(files=paths_said(files), notes=list(notes), then=list(then))


class RecordedResult(Result):
    """A record that the journal has now: `broke`, `changed`, `note` and `withdraw`."""

    code: str = Field(description="Code of the record itself.")
    record: str = Field(description="Path of the record in the journal.")
    said: list[str]


class SizeRead(Model):
    """A size of a print as it was read, mm."""

    name: str
    value_mm: float
    u_mm: float
    U95_mm: float
    expected_mm: float
    U95_expected_mm: float
    as_expected: bool
    conformity: str | None = Field(description="By ISO 14253-1; null where no limits were given.")

    @classmethod
    def of(cls, one: Inspected) -> SizeRead:
        """Say how a size was read."""
        return cls(
            name=one.name,
            value_mm=one.value_mm,
            u_mm=one.u_mm,
            U95_mm=one.U95_read_mm,
            expected_mm=one.expected_mm,
            U95_expected_mm=one.U95_mm,
            as_expected=one.as_expected,
            conformity=one.conformity,
        )


class FittedResult(Result):
    """How a print fitted, as it was written down: `fitted`."""

    code: str = Field(description="Code of the record of this trial.")
    of: str = Field(description="Trace code of the print.")
    record: str
    verdicts: dict[str, str]
    sizes: list[SizeRead] = Field(description="Those of a filled inspection sheet.")


class BroughtInResult(Result):
    """Trials of a spreadsheet that the journal has now: `bring-in`."""

    added: int
    known: int = Field(description="How many were there before.")

    @classmethod
    def of(cls, brought: BroughtIn) -> BroughtInResult:
        """Say how many."""
        return cls(added=brought.added, known=brought.known)


class TermOfPrinter(Model):
    """One thing that a printer does to sizes; mm, or a fraction for scales."""

    term: str
    says: str
    value: float
    u: float
    unit: str
    measured: bool = Field(description="False where other printers alone teach it.")


class GradeReached(Model):
    """The finest ISO 286 grade that 95 % of sizes of a kind reach, at a usual size."""

    kind: str
    size_mm: float
    grade: int | None = Field(description="Null beyond IT18.")


class CalibrateResult(Result):
    """A printer's profile, as fitted from a coupon: `calibrate`."""

    file: str
    name: str
    printer: str
    material: str
    prints: int
    readings: int
    terms: list[TermOfPrinter]
    reaches: list[GradeReached]
    verdict: str
    rests_on: str
    next: list[str] = Field(description="What to measure next for the greatest gain.")
    instruments: list[str]
    notes: list[str]

    @classmethod
    def of(
        cls, profile: PrinterProfile, path: Path, *, unread: Sequence[str] = ()
    ) -> CalibrateResult:
        """Say what was fitted.

        Parameters
        ----------
        profile : PrinterProfile
        path : path
            Where it was saved.
        unread : sequence of str
            Profiles of the workshop that could not be read.

        Returns
        -------
        CalibrateResult
        """
        from fitkit.calibration.model import TERMS
        from fitkit.calibration.next_reading import proposals, rests_on
        from fitkit.fits.printer_grades import printer_grades

        came = profile.provenance
        return cls(
            file=str(path),
            name=profile.name,
            printer=profile.printer,
            material=profile.material,
            prints=profile.prints,
            readings=came.readings_count,
            terms=[
                TermOfPrinter(
                    term=term,
                    says=TERMS[term].says,
                    value=profile.value(term)[0],
                    u=profile.value(term)[1],
                    unit=TERMS[term].unit,
                    measured=not (profile.generic or term in came.borrowed),
                )
                for term in profile.terms
            ],
            reaches=[
                GradeReached(kind=kind, size_mm=size_mm, grade=grade)
                for kind, (size_mm, grade) in printer_grades(profile).items()
            ],
            verdict=came.verdict,
            rests_on=rests_on(profile),
            next=[str(one) for one in proposals(profile)],
            instruments=list(came.instruments),
            notes=[*unread, *came.notes],
        )


class DecidedResult(Result):
    """What was decided on a reading: `decide`."""

    file: str
    row: int
    feature: str
    reading: str = Field(description="As it was typed.")
    decision: str
    because: str
    counts: bool

    @classmethod
    def of(cls, file: Path, mine: pd.Series, decision: str, because: str) -> DecidedResult:
        """Say what became of the reading.

        Parameters
        ----------
        file : path
        mine : Series
            The reading's row of a table.
        decision, because : str

        Returns
        -------
        DecidedResult
        """
        return cls(
            file=str(file),
            row=int(mine["row"]),
            feature=str(mine["feature"]),
            reading=str(mine["reading"]),
            decision=decision,
            because=because,
            counts=bool(mine["counts"]),
        )


class CheckedResult(Result):
    """What calipers showed of a known length: `check-calipers`."""

    file: str
    instrument: str
    length_mm: float
    shown_mm: float = Field(description="Mean of the readings.")
    zero_mm: float
    error_mm: float = Field(description="How much too large they read, their zero taken off.")
    u_error_mm: float
    limit_of_error_mm: float
    within: bool = Field(description="Whether the error is within the limit, its doubt counted.")
    checks: int = Field(description="How many checks the file has of them now.")

    @classmethod
    def of(cls, file: Path, one: Instrument, check: Check, *, within: bool) -> CheckedResult:
        """Say what was found.

        Parameters
        ----------
        file : path
        one : Instrument
        check : Check
        within : bool

        Returns
        -------
        CheckedResult
        """
        return cls(
            file=str(file),
            instrument=one.name,
            length_mm=check.length_mm,
            shown_mm=check.shown_mm,
            zero_mm=check.zero_mm,
            error_mm=check.error_mm,
            u_error_mm=check.u_mm(one.resolution_mm),
            limit_of_error_mm=one.mpe_mm,
            within=within,
            checks=len(one.checks),
        )


class HeardResult(Result):
    """A reading that came over a cable, a line of JSON for each: `listen`."""

    number: str = Field(description="As the display shows it.")
    unit: str = Field(description="mm or in; empty if the line does not say it.")
    changed_from: str = Field(description="The unit before, where it changed in mid-series.")
    feature: str | None = Field(description="Null where no file is filled.")
    repeat: int | None
    of: int | None
    left: int | None = Field(description="Rows of the file that still wait.")

    @classmethod
    def heard(cls, sent: Sent, filled: Filled | None, *, changed_from: str = "") -> HeardResult:
        """Say what came, and which row has it now.

        Parameters
        ----------
        sent : Sent
        filled : Filled or None
        changed_from : str

        Returns
        -------
        HeardResult
        """
        return cls(
            number=sent.number,
            unit=sent.unit,
            changed_from=changed_from,
            feature=filled and filled.feature,
            repeat=filled and filled.repeat,
            of=filled and filled.of,
            left=filled and filled.left,
        )


class PropertyFound(Model):
    """A property of a material as a range."""

    name: str
    low: float | None
    high: float | None
    source: str


class MaterialResult(Result):
    """What test strips tell of a spool: `material`."""

    file: str
    name: str
    polymer: str
    properties: list[PropertyFound]
    use: str = Field(description="What a sheet's [use] says as material.")

    @classmethod
    def of(cls, found: Material, path: Path) -> MaterialResult:
        """Say what was worked out.

        Parameters
        ----------
        found : Material
        path : path
            Where it is kept.

        Returns
        -------
        MaterialResult
        """
        return cls(
            file=str(path),
            name=found.name,
            polymer=found.polymer,
            properties=[
                PropertyFound(
                    name=key, low=number(span.low), high=number(span.high), source=span.source
                )
                for key, span in found.properties.items()
            ],
            use=path.name,
        )
