"""What the journal's records are made of: texts and numbers within bounds, files, sizes, verdicts.

Each entry is a model of its part of a record's file (the file edge: pydantic); those that other
rooms bring are copied from their objects by `of`. Lengths are in mm.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import AfterValidator, Field

from fitkit.core.errors import JournalError
from fitkit.core.format import FitTexts, fit_texts
from fitkit.core.models import StrictModel
from fitkit.fits.trial import Verdict  # noqa: TC001 (pydantic reads it)
from fitkit.journal.codes import valid_trace_code
from fitkit.journal.names import safe_name, sanitised

if TYPE_CHECKING:
    from fitkit.parts.trust import TemplateFile

__all__ = [
    "BodyGeometry",
    "Code",
    "Finite",
    "FitEntry",
    "KeptFile",
    "KeptTemplate",
    "Line",
    "Measured",
    "NotNegative",
    "Photo",
    "Positive",
    "Text",
    "TrialEntry",
    "file_hash",
]


def _checked_code(code: str) -> str:
    if not valid_trace_code(code):
        raise ValueError(f"{code!r} is not a trace code")
    return code


Code = Annotated[str, AfterValidator(_checked_code)]
FileName = Annotated[str, AfterValidator(safe_name)]
Sha256 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Finite = Annotated[float, Field(allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
Line = Annotated[str, Field(max_length=200)]
Text = Annotated[str, Field(max_length=20_000)]


class KeptFile(StrictModel):
    """A file's name and the hash of its content: read for the record, or made with it."""

    name: FileName
    sha256: Sha256
    size: Annotated[int, Field(ge=0)] | None = None

    @classmethod
    def of(cls, path: str | Path) -> Self:
        """Take name, hash and size of a file on the disk.

        Raises
        ------
        JournalError
            If it cannot be read.
        """
        path = Path(path)
        try:
            digest, size = file_hash(path), path.stat().st_size
        except OSError as error:
            raise JournalError(
                f"cannot be read: {error.strerror}",
                file=path,
                code="journal.file-unreadable",
                remedy="Give the path of a file that is there.",
            ) from error
        return cls(name=sanitised(path.name), sha256=digest, size=size)


class KeptTemplate(StrictModel):
    """The text of a template file that a print was made by, so that it can be made again.

    `place` is where the file lay, counted from the journal's folder; empty if that cannot be said.
    """

    name: FileName
    sha256: Sha256
    text: Annotated[str, Field(max_length=200_000)]
    place: Annotated[str, Field(max_length=1000)] = ""

    @classmethod
    def of(cls, file: TemplateFile, *, journal: Path) -> Self:
        """Take in a template file as it was run."""
        place = ""
        if file.path is not None:
            with suppress(ValueError):  # on another drive
                place = Path(os.path.relpath(file.path, journal.resolve())).as_posix()
        name = sanitised(file.name)
        return cls(name=name, sha256=file.sha256, text=file.text, place=place[:1000])


class Photo(StrictModel):
    """A picture kept in the journal's photo folder, under the hash of its content."""

    name: FileName
    thumbnail: FileName
    sha256: Sha256
    caption: Line = ""


class Measured(StrictModel):
    """A feature's estimate as it was used, mm; `df` is None where it is unlimited."""

    value_mm: Finite
    u_mm: NotNegative
    df: Positive | None = None
    notes: tuple[Text, ...] = ()

    @classmethod
    def of(cls, estimate: Any) -> Self:
        """Copy an `Estimate`."""
        df = float(estimate.df)
        return cls(
            value_mm=estimate.value_mm,
            u_mm=estimate.u_mm,
            df=df if 0 < df < 1e12 else None,
            notes=estimate.notes,
        )


class FitEntry(StrictModel):
    """One size that had to fit, on its way from the object to the print; lengths in mm.

    `sense` is +1 where the printed face goes round the thing, -1 where it goes into it, 0 where the
    size takes no gap; a positive `gap_mm` is clearance on the full size. `mark` is what stands on
    the print beside it; `mate` names the size of the same print that it is tried with.
    `u_gap_mm` is how well the gap was known before it was tried, of both sides together.
    """

    name: Line
    pair: Line | None = None
    wanted: Line = ""
    kind: Line
    axis: Line = "xy"
    sense: Literal[-1, 0, 1] = 0
    mark: Line = ""
    mate: Line | None = None
    coated_faces: Literal[0, 1, 2] = 0
    nominal_mm: Finite | None = None
    measured_mm: Finite | None = None
    u_measured_mm: NotNegative | None = None
    U95_measured_mm: NotNegative | None = None
    gap_mm: Finite = 0.0
    target_mm: Finite
    u_target_mm: NotNegative = 0.0
    drawn_mm: Finite
    expected_mm: Finite
    u_print_mm: NotNegative = 0.0
    u_gap_mm: NotNegative | None = None
    U95_mm: NotNegative
    extrapolated: bool = False
    basis: Text = ""
    notes: tuple[Text, ...] = ()

    @property
    def thing_mm(self) -> float:
        """Size of the thing that it fits, mm."""
        return self.target_mm - self.sense * self.gap_mm

    def texts(
        self, *, drawn_mm: float | None = None, expected: tuple[float, float] | None = None
    ) -> FitTexts:
        """Write the row as every table shows it.

        Parameters
        ----------
        drawn_mm : float, mm, optional
            Drawn size in place of the recorded one, as where it was compensated again.
        expected : pair of (value, U95), mm, optional
            What to expect of that.

        Returns
        -------
        FitTexts
        """
        return fit_texts(
            self.name,
            measured=None if self.measured_mm is None else (self.measured_mm, self.U95_measured_mm),
            gap_mm=self.gap_mm if self.sense else None,
            target_mm=self.target_mm,
            drawn_mm=self.drawn_mm if drawn_mm is None else drawn_mm,
            expected=expected or (self.expected_mm, self.U95_mm),
            wanted=self.wanted,
        )

    @classmethod
    def of(cls, row: Any) -> Self:
        """Copy a row of the flow (`fitkit.flow.FitRow`)."""
        fit, size, measured = row.fit, row.size, row.measured
        return cls(
            name=fit.name,
            pair=fit.pair,
            wanted=row.wanted,
            kind=size.kind,
            axis=size.axis,
            sense=fit.sense,
            mark=fit.mark,
            mate=fit.mate,
            coated_faces=fit.coated_faces,
            nominal_mm=fit.nominal_mm,
            measured_mm=None if measured is None else measured.value_mm,
            u_measured_mm=None if measured is None else measured.u_mm,
            U95_measured_mm=None if measured is None else measured.U95_mm,
            gap_mm=row.gap_mm,
            target_mm=size.target_mm,
            u_target_mm=size.u_target_mm,
            drawn_mm=size.drawn_mm,
            expected_mm=size.expected_mm,
            u_print_mm=size.u_print_mm,
            u_gap_mm=None if row.doubt is None else row.doubt.u_mm,
            U95_mm=size.U95_mm,
            extrapolated=size.extrapolated,
            basis=size.basis,
            notes=(*(() if row.gap is None else row.gap.notes), *size.notes),
        )


class BodyGeometry(StrictModel):
    """What a reprint is compared with: a body's volume (mm³), bounding box and area, mm."""

    name: Line
    volume_mm3: NotNegative
    low_mm: tuple[Finite, Finite, Finite]
    high_mm: tuple[Finite, Finite, Finite]
    area_mm2: NotNegative


class TrialEntry(StrictModel):
    """How one fit of a print turned out.

    `measured_mm` is the size as printed, None if it was not measured. `pair`, `size_mm`, `gap_mm`
    describe a fit that no print record tells of.
    """

    name: Line
    verdict: Verdict | None = None
    measured_mm: Positive | None = None
    u_measured_mm: NotNegative | None = None
    pair: Line | None = None
    size_mm: Positive | None = None
    gap_mm: Finite | None = None
    u_gap_mm: NotNegative | None = None
    note: Text = ""


def file_hash(path: str | Path) -> str:
    """SHA-256 of a file's content, as hex digits."""
    with Path(path).open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
