"""A record opened again as the part sheet that it was printed from, ready to be changed.

The sheet in the record is used as it was. Where a file that it names has changed or gone since,
what the record holds stands in: the values as printed for the readings, the recorded profile for
the printer's. The notes name each such stand-in.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.state import laid_out, state_folder
from fitkit.flow.sheet import PrinterChoice, sheet_of
from fitkit.journal.kept_template import kept_template, template_since

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import Journal, PrintRecord

__all__ = ["SHEET_FOLDER", "opened_sheet"]

# Key of a record's `extra`: the sheet's folder, counted from the journal's.
SHEET_FOLDER = "sheet_folder"


def opened_sheet(
    record: PrintRecord, journal: Journal, *, workshop: str | Path | None = None
) -> tuple[PartSheet, tuple[str, ...]]:
    """Give the sheet that a print was made from, and what stands in for what has changed since.

    Parameters
    ----------
    record : PrintRecord
    journal : Journal
        Where the record is, and where new prints of the sheet go.
    workshop : path, optional
        A workshop named by hand.

    Returns
    -------
    sheet : PartSheet
    notes : tuple of str
        Full sentences.

    Raises
    ------
    FaultList
        If the sheet in the record cannot be read any more.
    """
    folder = _folder(record, journal)
    content: dict[str, Any] = dict(record.sheet)
    if not content:
        # The label is the trace code of that print, not of the next.
        values = {name: value for name, value in record.values.items() if value != record.code}
        content = {"title": record.title, "template": record.template, "values": _told(values)}
        if record.profile:
            content["printer"] = _recorded_printer(record)[0].model_dump(exclude_none=True)
    content["journal"] = str(journal.folder.resolve())
    sheet = sheet_of(content, path=folder / f"{record.code}.toml", workshop=workshop)
    if sheet.workshop.journal.resolve() == journal.folder.resolve():
        sheet = sheet.model_copy(update={"journal": None})
    notes = []
    own = kept_template(record)
    if own and (since := template_since(record, journal.folder)):
        sheet = sheet.holding(own)
        notes.append(f"{since[0].upper()}{since[1:]}.")
    if lost := [path for path in sheet.readings_paths if not _as_recorded(path, record)]:
        values = {name: record.values.get(name, given) for name, given in sheet.values.items()}
        gone: dict[str, Any] = {"readings": None, "item": None, "values": _told(values)}
        if sheet.things:
            gone["things"] = tuple(_told(record.values.get("things", list(sheet.things))))
        if not (sheet.instruments and sheet.path(sheet.instruments).is_file()):
            gone["instruments"] = None
        sheet = sheet.model_copy(update=gone)
        notes.append(
            f"{_names(lost)} no longer as when {record.code} was printed: the values as printed "
            "stand in for the expressions of readings."
        )
    chosen = sheet.printer_to_draw_for
    named = chosen.profile or chosen.coupon
    if named and not Path(named).is_file() and record.profile:
        printer, told = _recorded_printer(record)
        sheet = sheet.model_copy(update={"printer": printer})
        notes.append(f"{_names([Path(named)])} gone: {told}.")
    return sheet, tuple(notes)


def _folder(record: PrintRecord, journal: Journal) -> Path:
    """Where the sheet lay: as recorded, else one folder up from its journal."""
    told = record.extra.get(SHEET_FOLDER)
    if isinstance(told, str) and (folder := (journal.folder / told).resolve()).is_dir():
        return folder
    return journal.folder.resolve().parent


def _as_recorded(path: Path, record: PrintRecord) -> bool:
    """Tell whether a file is there with the content that the record knows."""
    from fitkit.journal.entries import file_hash

    known = {file.sha256 for file in record.readings}
    try:
        return file_hash(path) in known
    except OSError:
        return False


def _recorded_printer(record: PrintRecord) -> tuple[PrinterChoice, str]:
    """Give the recorded profile as a sheet takes one: by its material, or as a file of its own."""
    if record.profile.get("generic"):
        return PrinterChoice(generic=record.material), "the generic profile is used, as then"
    name = f"{record.code}-profile.toml"
    path = laid_out(state_folder() / "profiles", name, _toml(record.profile))
    return PrinterChoice(profile=str(path)), f"the profile kept in {record.code} is used"


def _told(values: Any) -> Any:
    """Leave out what was left open: a sheet says nothing of it."""
    if isinstance(values, dict):
        return {name: _told(value) for name, value in values.items() if value is not None}
    return [_told(value) for value in values] if isinstance(values, list) else values


def _toml(content: Mapping[str, Any]) -> str:
    import tomlkit

    return tomlkit.dumps(content)


def _names(paths: Iterable[Path]) -> str:
    names = [path.name for path in paths]
    return f"{', '.join(names)} {'is' if len(names) == 1 else 'are'}"
