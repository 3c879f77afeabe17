"""What the journal's records hold: prints, trials, coupons, changes to a machine, notes.

A record is written once. A correction is a whole new record that names the one it `supersedes`;
a verdict is a `TrialRecord` that names the print it is `of`. The models say what a file must hold
(the file edge: pydantic), made of `entries`; content of other rooms is kept as plain data, so that
a record can be read when those rooms have long changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import AfterValidator, AwareDatetime, Field, ValidationError, model_validator

from fitkit.core.errors import JournalError
from fitkit.core.models import StrictModel, faults_of
from fitkit.journal.codes import trace_code
from fitkit.journal.entries import (
    BodyGeometry,
    Code,
    Finite,
    FitEntry,
    KeptFile,
    KeptTemplate,
    Line,
    Measured,
    NotNegative,
    Photo,
    Positive,
    Text,
    TrialEntry,
)
from fitkit.journal.plain import plain, profile_data, typed_values
from fitkit.journal.versions import current_versions

if TYPE_CHECKING:
    from pathlib import Path

__all__ = [
    "SCHEMA",
    "CouponRecord",
    "MachineRecord",
    "NoteRecord",
    "PrintRecord",
    "Record",
    "TrialRecord",
]

SCHEMA = 3


def _in_utc(when: datetime) -> datetime:
    """Refuse a date that no print can have: it must be one in UTC too, and not before computers."""
    try:
        held = when.astimezone(UTC)
    except OverflowError:
        held = None
    if held is None or held.year < 1970:
        raise ValueError("the date lies before 1970 or after 9999")
    return when


def _now() -> datetime:
    return datetime.now(UTC)


class Record(StrictModel):
    """What all records hold.

    Attributes
    ----------
    code : str
        Trace code; random unless given.
    made_at : datetime with time zone
    maker : str
        Who made the record.
    notes : tuple of str
    photos : tuple of Photo
    supersedes : str or None
        Code of the record that this one corrects; `reason` says why.
    extra : dict
        Anything else worth keeping, as plain data.
    """

    schema_version: Literal[3] = Field(default=3, alias="schema")
    kind: str
    code: Code = Field(default_factory=trace_code)
    made_at: Annotated[AwareDatetime, AfterValidator(_in_utc)] = Field(default_factory=_now)
    maker: Line = ""
    notes: tuple[Text, ...] = ()
    photos: tuple[Photo, ...] = ()
    supersedes: Code | None = None
    reason: Text = ""
    extra: dict[str, Any] = Field(default_factory=dict)

    def corrected(self, reason: str, **changes: object) -> Self:
        """Make the record that corrects this one; the journal then shows that one in its place."""
        content = self.model_dump(by_alias=True) | changes
        content |= {"code": trace_code(), "made_at": _now(), "supersedes": self.code}
        return type(self).model_validate(content | {"reason": reason})

    @classmethod
    def _checked(cls, content: Mapping[str, Any]) -> Self:
        """Make the record of its fields, the first fault told in the words of an error."""
        try:
            return cls.model_validate(content)
        except ValidationError as error:
            title = content.get("title", cls.model_fields["kind"].default)
            raise faults_of(
                error, model=cls, error=JournalError, where=f"record of {title!r:.80}"
            ).faults[0] from error

    def to_json(self) -> str:
        """Write it as the text of its file."""
        return self.model_dump_json(by_alias=True, indent=1) + "\n"


class PrintRecord(Record):
    """What was printed, with all that is needed to make the same files again.

    `template`, `values` and `drawn` alone rebuild the part:
    ``template(record.template).of(**record.values).build(record.drawn, title=record.title)``;
    for a template in a file of one's own, `template_source` keeps the file's text as well.
    `bodies` names the solids that were printed, kept beside the records (`kept_bodies`): they stay
    as they are when a template changes its shape. Records of the first release have none.
    """

    kind: Literal["print"] = "print"
    title: Annotated[str, Field(min_length=1, max_length=200)]
    template: Line
    template_source: KeptTemplate | None = None
    values: dict[str, Any] = Field(default_factory=dict)
    drawn: dict[str, Finite] = Field(default_factory=dict)
    sheet: dict[str, Any] = Field(default_factory=dict)
    readings: tuple[KeptFile, ...] = ()
    measured: dict[str, Measured] = Field(default_factory=dict)
    profile: dict[str, Any] = Field(default_factory=dict)
    fits: tuple[FitEntry, ...] = ()
    coat_mm: NotNegative = 0.0
    u_coat_mm: NotNegative = 0.0
    geometry: tuple[BodyGeometry, ...] = ()
    bodies: KeptFile | None = None
    dimensions: dict[str, Finite] = Field(default_factory=dict)
    files: tuple[KeptFile, ...] = ()
    versions: dict[str, str] = Field(default_factory=dict)
    printer: Line = ""
    material: Line = ""
    spool: Line = ""
    nozzle: Line = ""
    orientation: dict[str, Any] = Field(default_factory=dict)
    findings: tuple[dict[str, Any], ...] = ()
    cost: dict[str, Any] = Field(default_factory=dict)

    @classmethod
    def new(
        cls,
        *,
        title: str,
        template: Any,
        values: Mapping[str, Any] | None = None,
        drawn: Mapping[str, float] | None = None,
        sheet: Any = None,
        readings: Iterable[str | Path | KeptFile] = (),
        measured: Mapping[str, Any] | None = None,
        profile: Any = None,
        fits: Iterable[Any] = (),
        part: Any = None,
        files: Mapping[str, str] | Iterable[str | Path | KeptFile] = (),
        findings: Iterable[Any] = (),
        versions: Mapping[str, str] | None = None,
        notes: Iterable[str] | str = (),
        **rest: Any,
    ) -> Self:
        """Make a record from what the rooms hand about.

        Parameters
        ----------
        title : str
            The maker's name for the part.
        template : Template or str
            The template with its parameters, which then need not be given as `values`; or its
            title.
        values : mapping, optional
            Parameters as `Template.of` takes them.
        drawn : mapping of fit size to mm, optional
            Taken from `fits` if not given.
        sheet : PartSheet or mapping, optional
        readings, files : paths or KeptFile
            Hashed if paths; `files` may be a mapping of name to SHA-256 too.
        measured : mapping of feature to Estimate or Measured, optional
        profile : PrinterProfile or mapping, optional
            Kept whole; gives printer, material and nozzle unless they are given.
        fits : FitRow of the flow, or FitEntry
        part : Part, optional
            As built: gives geometry, to compare a reprint with, and the way each body was laid.
        findings : Finding or mapping
        versions : mapping, optional
            Of fitkit, the kernel and Python unless given.
        notes : str or several
        **rest
            Any other field: `code`, `made_at`, `material`, `spool`, `cost`, `photos` ...

        Returns
        -------
        PrintRecord

        Raises
        ------
        JournalError
            Names the first field that cannot be kept.
        """
        if not isinstance(template, str):
            values = typed_values(template) if values is None else values
            template = template.title
        entries = tuple(f if isinstance(f, FitEntry) else FitEntry.of(f) for f in fits)
        held = profile_data(profile)
        if part is not None:
            from fitkit.journal.geometry import geometry_of

            rest.setdefault("geometry", geometry_of(part))
            rest.setdefault("dimensions", {d.name: d.value_mm for d in part.dimensions})
            rest.setdefault("orientation", {b.name: list(b.print_turn) for b in part.bodies})
        rest |= _machine(held, rest)
        rest |= {key: plain(rest[key]) for key in ("cost", "extra", "orientation") if key in rest}
        content: dict[str, Any] = dict(
            title=title,
            template=template,
            values=plain(values or {}),
            drawn=dict(drawn) if drawn is not None else {e.name: e.drawn_mm for e in entries},
            sheet=plain(sheet.content() if hasattr(sheet, "content") else sheet or {}),
            readings=tuple(_kept(item) for item in readings),
            measured={
                name: item if isinstance(item, Measured) else Measured.of(item)
                for name, item in (measured or {}).items()
            },
            profile=held,
            fits=entries,
            files=(
                tuple(KeptFile(name=name, sha256=digest) for name, digest in files.items())
                if isinstance(files, Mapping)
                else tuple(map(_kept, files))
            ),
            findings=tuple(plain(item) for item in findings),
            versions=dict(versions) if versions is not None else current_versions(template),
            notes=(notes,) if isinstance(notes, str) else tuple(notes),
            **rest,
        )
        return cls._checked(content)


class TrialRecord(Record):
    """How a print fitted: measured sizes and verdicts, each by fit size; and how long it took.

    `took_h` is the time that the printer took, h. A withdrawn trial takes the place of the record
    that it `supersedes`; it counts for nothing and keeps what had been said as history.
    """

    kind: Literal["trial"] = "trial"
    of: Code | None = None
    fits: tuple[TrialEntry, ...] = ()
    took_h: Positive | None = None
    printer: Line = ""
    material: Line = ""
    finished: bool = False
    source: Text = ""
    withdrawn: bool = False

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.fits and self.took_h is None:
            raise ValueError("a trial needs a fit that was judged or measured, or a time")
        return self


class CouponRecord(Record):
    """A calibration coupon that was printed and measured, and the profile fitted to it."""

    kind: Literal["coupon"] = "coupon"
    title: Line = "calibration coupon"
    readings: tuple[KeptFile, ...] = ()
    profile: dict[str, Any] = Field(default_factory=dict)
    printer: Line = ""
    material: Line = ""
    spool: Line = ""
    nozzle: Line = ""

    @classmethod
    def new(cls, profile: Any, readings: Iterable[str | Path] = (), **rest: Any) -> Self:
        """Make a record from a fitted profile and the readings' files.

        Parameters
        ----------
        profile : PrinterProfile or mapping
            Kept whole; gives printer, material and nozzle unless they are given.
        readings : paths
            Hashed.
        **rest
            Any other field: `code`, `made_at`, `title`, `spool`, `notes`, `photos` ...

        Returns
        -------
        CouponRecord

        Raises
        ------
        JournalError
            Names the first field that cannot be kept.
        """
        held = profile_data(profile)
        files = tuple(KeptFile.of(path) for path in readings)
        content = rest | _machine(held, rest) | {"profile": held, "readings": files}
        return cls._checked(content)


class MachineRecord(Record):
    """A change to a printer: another nozzle, spool, belt, firmware, room."""

    kind: Literal["machine"] = "machine"
    printer: Annotated[str, Field(min_length=1, max_length=200)]
    what: Annotated[str, Field(min_length=1, max_length=200)]
    was: Line = ""
    now: Line = ""


class NoteRecord(Record):
    """Words or photos that were added to another record later."""

    kind: Literal["note"] = "note"
    of: Code | None = None


def _machine(profile: Mapping[str, Any], given: Mapping[str, Any]) -> dict[str, str]:
    """Printer, material and nozzle as given, else as the profile tells."""
    nozzle_mm = profile.get("nozzle_mm")
    told = {
        "printer": str(profile.get("printer", "")),
        "material": str(profile.get("material", "")),
        "nozzle": f"{nozzle_mm} mm" if nozzle_mm else "",
    }
    return {key: given.get(key) or value for key, value in told.items()}


def _kept(item: str | Path | KeptFile) -> KeptFile:
    return item if isinstance(item, KeptFile) else KeptFile.of(item)
