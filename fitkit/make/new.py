"""A new part from nothing: what to read, a part sheet that uses it, and a notebook to work in."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from fitkit.core.errors import SheetError
from fitkit.export.bodies import file_name

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Template

__all__ = ["new_part", "offers"]

MOST_LETTERS = 80  # of a title, as in a part sheet


class Offer(NamedTuple):
    """A template to start with: its title, what it is for, and a picture of it if one is there.

    `ordered_by` is the command that makes it, where that is another than `new`.
    """

    title: str
    summary: str
    picture: Path | None
    ordered_by: str


def offers() -> tuple[Offer, ...]:
    """List the templates that there are."""
    import fitkit
    from fitkit.parts import templates
    from fitkit.parts.registry import known_carriers

    # In a checkout the pictures lie beside the package; an installed one comes without them.
    pictures = Path(fitkit.__file__).parent.parent / "docs" / "pictures"
    found = []
    for title, kind in {**templates(), **known_carriers()}.items():
        picture = pictures / f"template-{file_name(title)}.png"
        shown = picture if picture.is_file() else None
        found.append(Offer(title, kind.summary, shown, kind.ordered_by))
    return tuple(found)


def new_part(
    title: str,
    *,
    template: str = "board case",
    folder: str | Path = ".",
    choices: Mapping[str, object] | None = None,
    holds: Mapping[str, str] | None = None,
    workshop: str | Path | None = None,
) -> tuple[Path, ...]:
    """Write the files that a new part starts from: all of them, or none.

    The readings file asks for what calipers can read and the chosen variant needs; the sheet turns
    it into parameters. A folder that belongs to no workshop becomes one.

    Parameters
    ----------
    title : str
        The maker's name for the part.
    template : str
        Title of the template that it starts with; the sheet can name another later.
    folder : path
        Where the part sheet goes; readings go to ``readings`` below it.
    choices : mapping of parameter to value, optional
        Parameters chosen now, such as ``standoff``; they decide which features are asked for. A
        text is read as a part sheet would hold it: ``2``, ``true``, ``heat-set``, ``3 mm``.
    holds : mapping of name to title, optional
        Of a carrier (``case``, ``plate``): each thing that it holds, and how.
    workshop : path, optional
        A workshop that wins over the one that the folder belongs to. Its instruments file, of
        which the readings name the first, is made to be filled in if it is not there.

    Returns
    -------
    tuple of Path
        Readings file, part sheet, notebook; then the instruments file and the workshop file, where
        they were made.

    Raises
    ------
    SheetError
        If one of the files is there already, the title cannot be one, or the template is made by
        another command: nothing is written then.
    PartError, FaultList
        If there is no such template, or the choices are not its own.
    WorkshopError
        If the workshop is not there, cannot be used, or is read-only.
    """
    from fitkit.core.errors import NoWorkshopError
    from fitkit.core.staged import settle
    from fitkit.make.new_texts import INSTRUMENTS, notebook_text, readings_text, sheet_text
    from fitkit.make.new_things import chosen_things, things_readings, things_sheet
    from fitkit.parts import template as find_template
    from fitkit.parts.carrier import Carrier
    from fitkit.readings.instruments import name_for_readings
    from fitkit.workshop import Workshop, find_workshop

    kind = find_template(template)
    _refuse(title, kind)
    measuring = kind.how_measured()
    values, variant = _chosen(kind, choices or {})
    things = None
    if issubclass(kind, Carrier):
        things = chosen_things(kind, holds or {})
    elif holds:
        raise SheetError(
            "it holds no list of things",
            where=f"template {kind.title!r}",
            code="make.no-carrier",
            remedy="Take the template case or plate.",
        )
    sizes = [
        one
        for one in measuring.sizes_of(variant)
        if not values.keys() & {one.parameter, *one.spares}
    ]
    stem, folder = file_name(title).replace("-", "_"), Path(folder)
    settle(folder)
    begin = False
    try:
        home = find_workshop(folder, named=workshop)
    except NoWorkshopError:
        home, begin = Workshop.beside(folder), True
    home.refuse_if_read_only()
    instrument = name_for_readings(home.instruments)
    common: dict[str, Any] = {
        "values": values,
        "readings": f"readings/{stem}.csv",
        "generic": home.printer.generic or "PETG",
        "handling": home.handling,
    }
    if things is None:
        asked = measuring.readings_of(*sizes)
        readings = readings_text(title, asked, repeats=home.repeats, instrument=instrument)
        sheet = sheet_text(title, kind, measuring, sizes, **common)
    else:
        readings = things_readings(things, repeats=home.repeats, instrument=instrument)
        sheet = things_sheet(title, kind, things, **common)
    notebook = notebook_text(
        title,
        stem,
        instruments=_seen_from(folder, home.instruments),
        workshop="" if workshop is None else _seen_from(folder, Path(workshop)),
    )
    contents = {
        folder / "readings" / f"{stem}.csv": readings,
        folder / f"{stem}.toml": sheet,
        folder / f"{stem}.ipynb": notebook,
    }
    for path in contents:
        if path.exists():
            raise _taken(path)
    shared = {}
    if not home.instruments.exists():
        shared[folder / "instruments.toml" if begin else home.instruments] = INSTRUMENTS
    return _create_all(contents, shared, begin=folder if begin else None)


def _seen_from(folder: Path, path: Path) -> str:
    return Path(os.path.relpath(path, folder)).as_posix()


def _refuse(title: str, kind: type[Template]) -> None:
    from fitkit.core.typed import command

    if not title.strip() or len(title) > MOST_LETTERS:
        raise SheetError(
            f"a title has 1 to {MOST_LETTERS} letters; this one has {len(title.strip())}",
            where="title",
            code="make.title-length",
            remedy="Give the part a short name.",
        )
    if kind.ordered_by:
        raise SheetError(
            "it is not measured, so it has no readings to start from",
            where=f"template {kind.title!r}",
            code="make.not-measured",
            remedy=f"Make it with {command(kind.ordered_by)!r}.",
        )


def _chosen(kind: type[Template], choices: Mapping[str, object]) -> tuple[dict[str, Any], Template]:
    """Give the parameters that the sheet sets itself, and the variant that they make.

    What decides which features are needed is written out even where it is the template's default.
    """
    measuring = kind.how_measured()
    given = {name: _value(value) for name, value in choices.items()}
    started = {
        name: [dict(row) for row in value] if isinstance(value, (list, tuple)) else value
        for name, value in measuring.starts_with.items()
    }
    variant = kind.of(**(started | given))
    deciding = dict.fromkeys(name for one in measuring.sizes for name in one.when)
    decided = {name: getattr(variant, name) for name in deciding}
    return decided | started | given, variant


def _value(typed: object) -> object:
    """Read a value as a part sheet would hold it; what is not TOML is a text."""
    import tomllib

    if not isinstance(typed, str):
        return typed
    try:
        return tomllib.loads(f"value = {typed}")["value"]
    except tomllib.TOMLDecodeError:
        return typed


def _taken(path: Path) -> SheetError:
    return SheetError(
        "is there already",
        file=path,
        code="make.sheet-taken",
        remedy="Choose another name, or move it away.",
    )


def _create_all(
    contents: Mapping[Path, str], shared: Mapping[Path, str], *, begin: Path | None
) -> tuple[Path, ...]:
    """Create new files, and make a folder a workshop, or leave nothing behind."""
    from fitkit.core.files import create_atomic
    from fitkit.core.staged import create_together
    from fitkit.workshop import FILE_NAME, begin_workshop

    paths = [*contents, *shared, *([begin / "journal" / "record"] if begin else [])]
    folders = {above for path in paths for above in path.parents if not above.exists()}
    made: list[Path] = []
    try:
        # What all parts share comes first: it is in no part's way if the rest does not come.
        if begin:
            begin_workshop(begin)
            made.append(begin / FILE_NAME)
        for path in shared:
            with suppress(FileExistsError):  # another part has made it meanwhile
                made.append(create_atomic(path, shared[path]))
        try:
            parts = create_together(contents)
        except FileExistsError as error:  # taken since we looked
            raise _taken(Path(str(error.filename2 or error.filename))) from None
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        for above in sorted(folders, key=lambda one: len(one.parts), reverse=True):
            with suppress(OSError):  # someone else's files may lie there by now
                above.rmdir()
        raise
    # The workshop file is named last.
    return (*parts, *reversed(made))
