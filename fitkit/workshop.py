"""The workshop: the folder of a person's journal, profiles and instruments, and their habits.

A workshop is a folder with a file ``workshop.toml``. Whatever needs a place or a habit that the
part sheet does not name takes it from there. The nearest workshop counts: that of the sheet's
folder or of a folder above it, then that of the current folder or of one above it, then the one
that the environment variable FITKIT_WORKSHOP names. A workshop named by hand wins over all.

A folder of the first release has no such file; its sheet, readings and journal lie side by side.
It goes on working: `Workshop.beside` stands for it, and says so in `note`.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal

from pydantic import Field, model_validator

from fitkit.core.errors import FitkitError, NoWorkshopError, WorkshopError
from fitkit.core.files import create_atomic, make_folder
from fitkit.core.models import StrictModel, load_model
from fitkit.core.plain_errors import plain_errors
from fitkit.core.staged import settle
from fitkit.core.typed import command

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "FILE_NAME",
    "PrinterChoice",
    "Workshop",
    "WorkshopFile",
    "begin_workshop",
    "find_workshop",
    "load_workshop",
]

FILE_NAME = "workshop.toml"
VARIABLE = "FITKIT_WORKSHOP"
# A workshop file is half a page; more is a mistake or an attack.
MAX_BYTES = 100_000


class PrinterChoice(StrictModel):
    """Which printer's behaviour to draw for: exactly one of profile, coupon, generic.

    Attributes
    ----------
    profile : str or None
        A profile file.
    coupon : str or None
        A file of coupon readings, to be fitted now.
    generic : str or None
        A material whose open records stand in where nothing has been measured.
    """

    profile: str | None = None
    coupon: str | None = None
    generic: str | None = None

    @model_validator(mode="after")
    def _just_one(self) -> PrinterChoice:
        given = [n for n in ("profile", "coupon", "generic") if getattr(self, n) is not None]
        if len(given) != 1:
            raise ValueError(
                f"{' and '.join(given) or 'none'} given; name just one of profile, coupon, generic"
            )
        return self


class _Habits(StrictModel):
    """What a person does every time.

    Attributes
    ----------
    repeats : int
        Readings of each feature that a new readings file leaves room for.
    handling : str
        What a part is put to where its sheet says nothing.
    decimal : {".", ","} or None
        Decimal sign of tables that show none.
    unit : {"mm", "cm", "in"} or None
        Unit of bare numbers in tables that name none; without it they are refused.
    projection : {"first-angle", "third-angle"}
        How the views of a drawing lie.
    """

    repeats: int = Field(default=3, ge=1, le=20)
    handling: str = Field(default="touched", min_length=1)
    decimal: Literal[".", ","] | None = None
    unit: Literal["mm", "cm", "in"] | None = None
    projection: Literal["first-angle", "third-angle"] = "first-angle"


class WorkshopFile(StrictModel):
    """Content of a workshop file; paths count from its folder.

    Attributes
    ----------
    schema_version : int
        Form of the file.
    title : str
        Name of the workshop.
    journal : str
        Folder of the records: each print, and how it fitted.
    profiles : str
        Folder of the printers' profiles.
    instruments : str
        File of your calipers and other instruments.
    materials : str
        Folder of spools of your own.
    made : str
        Folder of the files to print.
    read_only : bool
        Whether it is an original to be copied, into which nothing is written.
    prices : dict
        Keys of a part sheet's ``[prices]``, where a sheet gives none.
    """

    schema_version: Literal[1] = Field(default=1, alias="schema")
    title: str = Field(default="", max_length=80)
    journal: str = Field(default="journal", min_length=1)
    profiles: str = Field(default="profiles", min_length=1)
    instruments: str = Field(default="instruments.toml", min_length=1)
    materials: str = Field(default="materials", min_length=1)
    made: str = Field(default="made", min_length=1)
    read_only: bool = False
    habits: _Habits = _Habits()
    printer: PrinterChoice = PrinterChoice(generic="PETG")
    prices: dict[str, Any] = Field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Workshop:
    """Where things lie, and what the person does every time; all paths are absolute.

    Attributes
    ----------
    root : Path
        The workshop's folder.
    declared : bool
        Whether a workshop file says so; False for a folder of the first release.
    title : str
    journal, profiles, materials, made : Path
        Folders of the records, the printers' profiles, the materials of one's own, and the files
        made.
    instruments : Path
        File of the instruments; it may not be there yet.
    read_only : bool
        Whether the workshop is an original to be copied, into which nothing is written.
    repeats : int
        Readings of each feature that a new readings file leaves room for.
    handling : str
        What a part is put to where its sheet says nothing, as in the sheet's ``use``.
    decimal : {".", ","} or None
        Decimal sign of tables that show none; None: found from the table.
    unit : {"mm", "cm", "in"} or None
        Unit of bare numbers in tables that name none; None: such numbers are refused.
    projection : {"first-angle", "third-angle"}
        How the views of a drawing lie.
    printer : PrinterChoice
        The printer to draw for where a sheet names none.
    prices : mapping
        Currency, tariff and the like where a sheet gives none.
    inside : Path or None
        Folder of another workshop round this one, if there is one.
    """

    root: Path
    declared: bool = True
    title: str = ""
    journal: Path
    profiles: Path
    instruments: Path
    materials: Path
    made: Path
    read_only: bool = False
    repeats: int = 3
    handling: str = "touched"
    decimal: Literal[".", ","] | None = None
    unit: Literal["mm", "cm", "in"] | None = None
    projection: Literal["first-angle", "third-angle"] = "first-angle"
    printer: PrinterChoice = field(default=PrinterChoice(generic="PETG"))
    prices: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    inside: Path | None = None

    @classmethod
    def beside(cls, folder: str | Path) -> Workshop:
        """Stand for a folder of the first release, whose journal lies beside its sheets.

        Files go to ``made`` in the current folder, as they did then.
        """
        root = Path(folder).resolve()
        return cls(
            root=root,
            declared=False,
            journal=root / "journal",
            profiles=root / "profiles",
            instruments=root / "instruments.toml",
            materials=root / "materials",
            made=Path("made").resolve(),
        )

    @property
    def note(self) -> str:
        """What a person should know of how this workshop was found; empty if nothing."""
        if not self.declared:
            return (
                f"No {FILE_NAME} was found in {self.root} or above it, so the journal is taken to "
                f"be {self.journal}. To make that folder a workshop, type: "
                f"{command('begin', str(self.root))}"
            )
        if self.inside:
            return f"The workshop {self.root} is used; it lies inside the workshop {self.inside}."
        return ""

    def profile_file(self, name: str) -> Path:
        """Path of a profile of this workshop, by its file's name with or without ``.toml``."""
        return _named(self.profiles, name)

    def material_file(self, name: str) -> Path:
        """Path of a material of this workshop, by its file's name with or without ``.toml``."""
        return _named(self.materials, name)

    def refuse_if_read_only(self) -> None:
        """Refuse to write into a workshop that is an original.

        Raises
        ------
        WorkshopError
            With the command that makes a copy to work in.
        """
        if self.read_only:
            raise WorkshopError(
                "this workshop is read-only",
                where=str(self.root / FILE_NAME),
                code="workshop.read-only",
                remedy=f"Make a copy to work in: {command('demo', 'FOLDER')}. Or take the line "
                "'read_only = true' out of that file.",
            )


def find_workshop(near: str | Path | None = None, *, named: str | Path | None = None) -> Workshop:
    """Find the workshop that counts here.

    Parameters
    ----------
    near : path, optional
        Folder of the part sheet or file in hand; it and the folders above it are looked at first.
    named : path, optional
        A workshop's folder or file, named by hand: it wins over all.

    Returns
    -------
    Workshop
        A folder of the first release, which has a ``journal`` beside its sheets and no workshop
        file, is given with `declared` False.

    Raises
    ------
    NoWorkshopError
        If there is none: the message says how to begin one.
    WorkshopError
        If the named one is not there, or its file cannot be read.
    FaultList
        All faults of a workshop file.
    """
    if named is not None:
        return _at(Path(named), said="--workshop")
    starts = [Path.cwd()] if near is None else [Path(near), Path.cwd()]
    for start in starts:
        if found := _upwards(start):
            return load_workshop(found)
    if variable := os.environ.get(VARIABLE):
        return _at(Path(variable), said=VARIABLE)
    for start in starts:
        if (start / "journal").is_dir():
            return Workshop.beside(start)
    below = sorted(p.parent for depth in ("*", "*/*") for p in Path().glob(f"{depth}/{FILE_NAME}"))
    raise NoWorkshopError(
        "this folder belongs to no workshop",
        where=str(starts[0].resolve()),
        code="workshop.none",
        remedy=f"There is one below it: add '--workshop {below[0]}'."
        if below
        else f"{_how_to_begin()} Or name one with --workshop or {VARIABLE}.",
    )


def workshop_of(folder: str | Path, *, named: str | Path | None = None) -> Workshop:
    """Find the workshop of a part sheet's folder; without one, the folder itself stands in."""
    try:
        return find_workshop(folder, named=named)
    except NoWorkshopError:
        return Workshop.beside(folder)


def nearest(beside: Path, kept: Path) -> Path:
    """Choose between a file beside whoever names it and one that the workshop keeps."""
    return kept if kept.exists() and not beside.exists() else beside


def load_workshop(path: str | Path) -> Workshop:
    """Read a workshop file.

    Raises
    ------
    WorkshopError
        If it cannot be read or is not TOML.
    FaultList
        All its keys at fault.
    """
    path = Path(path).resolve()
    file = load_model(
        path, WorkshopFile, kind_of_file="workshop file", error=WorkshopError, max_bytes=MAX_BYTES
    )
    root = path.parent
    around = _upwards(root.parent)
    return Workshop(
        root=root,
        title=file.title or root.name,
        journal=(root / file.journal).resolve(),
        profiles=(root / file.profiles).resolve(),
        instruments=(root / file.instruments).resolve(),
        materials=(root / file.materials).resolve(),
        made=(root / file.made).resolve(),
        read_only=file.read_only,
        repeats=file.habits.repeats,
        handling=file.habits.handling,
        decimal=file.habits.decimal,
        unit=file.habits.unit,
        projection=file.habits.projection,
        printer=file.printer,
        prices=MappingProxyType(file.prices),
        inside=around.parent if around else None,
    )


def begin_workshop(folder: str | Path, *, title: str = "") -> Workshop:
    """Make a folder a workshop: write its workshop file and make its journal's folder.

    Parameters
    ----------
    folder : path
        It is made if it is not there.
    title : str
        Of the workshop; it may be empty.

    Returns
    -------
    Workshop

    Raises
    ------
    WorkshopError
        If it is one already.
    ExportError
        If the file cannot be written.
    """
    root = Path(folder)
    settle(root)
    try:
        path = create_atomic(root / FILE_NAME, _TEXT.format(title=_quoted(title)))
    except FileExistsError:
        raise WorkshopError(
            "this folder is a workshop already",
            where=str(root.resolve()),
            code="workshop.taken",
            remedy=f"Change its file {FILE_NAME}, or choose another folder.",
        ) from None
    try:
        with plain_errors(root):
            make_folder(root / "journal")
    except FitkitError:
        path.unlink()  # a full disk: it can be begun again
        raise
    return load_workshop(path)


_TEXT = """\
# This folder is a workshop: parts below it keep their records, profiles and instruments here.
# Every line may be left out; then the value that stands here is used. Paths count from this folder.
schema = 1
title = {title}
journal = "journal"               # a record of each print, and how it fitted
profiles = "profiles"             # what your printers do to sizes, from coupons
instruments = "instruments.toml"  # your calipers
materials = "materials"           # spools of your own
made = "made"                     # files to print

[habits]
repeats = 3                       # readings of each feature
handling = "touched"              # or: decor only, handled, rough hands
# decimal = ","                   # the sign in your tables, if they do not show it
# unit = "mm"                     # of numbers in your tables without one; else they do not count
projection = "first-angle"        # how views lie in drawings; or: third-angle

[printer]                         # for sheets that name no printer
generic = "PETG"                  # after a coupon: profile = "NAME.toml" in the folder of profiles

# [prices]
# currency = "EUR"
# per_kwh = 0.32
"""


def _how_to_begin() -> str:
    return f"Begin one with: {command('new', 'NAME OF THE PART')}, or: {command('begin')}."


def _quoted(title: str) -> str:
    import tomlkit

    return tomlkit.item(title).as_string()


def _upwards(start: Path) -> Path | None:
    """Find the workshop file of a folder or of the nearest folder above it."""
    start = start.resolve()
    for folder in (start, *start.parents):
        if (folder / FILE_NAME).is_file():
            return folder / FILE_NAME
    return None


def _at(path: Path, *, said: str) -> Workshop:
    file = path if path.name == FILE_NAME else path / FILE_NAME
    if not file.is_file():
        raise WorkshopError(
            f"{str(path)!r} is not a workshop: it has no file {FILE_NAME}",
            where=said,
            code="workshop.not-one",
            remedy=_how_to_begin(),
        )
    return load_workshop(file)


def _named(folder: Path, name: str) -> Path:
    return folder / (name if name.endswith(".toml") else f"{name}.toml")
