"""From a part sheet to a folder of files and a record, or to one message and nothing written."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import CheckError, FaultList
from fitkit.core.files import plain_errors, refuse_closed_folder
from fitkit.flow import Plan, build, prepare, tried
from fitkit.flow.built import Built, mesh_part, print_meshes
from fitkit.flow.sheet import PartSheet, load_sheet
from fitkit.make.checking import check_context, checked, declared, expected_cost
from fitkit.make.page import how_to_print, sheet_page

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.export import SheetPage
    from fitkit.journal import Journal, PrintRecord
    from fitkit.journal.entries import KeptFile
    from fitkit.parts.contract import Part

__all__ = ["DESPITE", "Made", "make"]

# Key of a record's `extra`: the checks that were overruled, each with its reason.
DESPITE = "despite"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Made:
    """What `make` made.

    Attributes
    ----------
    code : str
        Trace code: on the part, in the files, in the journal.
    plan : Plan
    part : Part
    findings : tuple of Finding
        Worst first.
    page : SheetPage
        What the dimensioned sheet shows.
    folder : Path
    files : tuple of Path
        The file to print from first.
    record : Path
        The journal's record of this print.
    told : tuple of str
        What was replaced in the folder, and what a program that was stopped had left.
    """

    code: str
    plan: Plan
    part: Part
    findings: tuple[Finding, ...]
    page: SheetPage
    folder: Path
    files: tuple[Path, ...]
    record: Path
    told: tuple[str, ...] = ()


def make(
    sheet: PartSheet | str | Path,
    *,
    into: str | Path | None = None,
    despite_stops: bool = False,
    despite: Mapping[str, str] | None = None,
    workshop: str | Path | None = None,
    step: Callable[[str], None] = lambda text: None,
) -> Made:
    """Make the part of a part sheet: files, sheet, record.

    Parameters
    ----------
    sheet : PartSheet or path
    into : path, optional
        Folder for the files; if not given, ``TITLE-CODE`` in the sheet's output folder or in the
        workshop's folder ``made``.
    despite_stops : bool
        Make the files even if a check says stop.
    despite : mapping of check name to reason, optional
        Make the files though these checks say stop, because of the reason; it is kept in the
        record. Any other stop still stops.
    workshop : path, optional
        A workshop that wins over the one that the sheet belongs to; for a sheet given by its path.
    step : callable of str
        Told each step as it begins.

    Returns
    -------
    Made
        Trace code, plan, part, findings, files and the record's path.

    Raises
    ------
    FitkitError
        What, where, what to do; nothing is left half written.
    """
    from fitkit.core.staged import settle, staged_folder
    from fitkit.export import file_name, write_files
    from fitkit.export.step import step_bytes
    from fitkit.flow.doubted import reading_findings
    from fitkit.journal import Journal
    from fitkit.journal.entries import file_hash
    from fitkit.journal.kept_bodies import packed_bodies

    if not isinstance(sheet, PartSheet):
        sheet = load_sheet(sheet, workshop=workshop)
    journal = Journal(sheet.journal_folder)
    code = journal.new_code()
    sheet.workshop.refuse_if_read_only()
    step("working out sizes from the readings")
    # The kernel is not loaded meanwhile in a thread: that was 0.2 s slower in six pairs of six (one
    # lock lets one thread run Python), and a refused sheet had to wait for the load to end.
    plan = prepare(sheet, label=code)
    # A misspelt use, a closed journal and a closed folder are told before the solids take time.
    declared(sheet, plan.inputs.profile)
    if not despite_stops:
        _refuse_stops(sheet, reading_findings(plan))
    kind = "-trial-piece" if sheet.piece else ""
    stem = f"{file_name(sheet.title)}{kind}-{code.lower()}"
    folder = Path(into) if into else sheet.made_folder / stem
    journal.refuse_if_closed()
    with plain_errors(folder):
        refuse_closed_folder(folder.parent)
    # The journal's plans tell what becomes of folders, so they come first.
    told = [*journal.settle(), *settle(folder.parent)]
    step("building the solids")
    part, all_drawn = build(plan), plan.drawn
    plan = tried(plan, part)
    built = mesh_part(part)
    step("checking")
    context = check_context(plan, built)
    findings = checked(plan, built, context)
    overruled = _reasons(despite or {}, findings, sheet.title)
    if not despite_stops:
        _refuse_stops(sheet, [one for one in findings if one.check not in overruled])
    page: SheetPage | None = None

    def drawn(names: Sequence[str]) -> SheetPage:
        nonlocal page
        step("drawing the sheet")
        page = sheet_page(plan, built, findings, code=code, files=names)
        return page

    replaced = earlier_files(journal, sheet.title, folder, piece=sheet.piece)
    recorded: dict[Path, str | bytes] = {}
    # Files, record and bodies appear together: no part may bear a code that the journal does not
    # know, and nothing is kept for a record that is not there.
    with staged_folder(folder, drop=replaced, arrives_with=recorded) as stage:
        step("writing files and reading them back")
        written = write_files(
            built.part,
            print_meshes(built.part),
            stage,
            bed_mm=plan.inputs.profile.bed_mm,
            kinds=sheet.outputs.files,
            metadata=_metadata(plan, built, findings, code),
            page=drawn,
        )
        names = [file.name for file in written]
        hashes = {name: file_hash(stage / name) for name in names}
        step("writing the record")
        cost = expected_cost(built.part, context)
        exact, bodies, packed = packed_bodies(
            journal.folder, step_bytes(built.part, written), code=code
        )
        record = _record(plan, all_drawn, built, findings, code, hashes, cost, exact, overruled)
        place = journal.place_of(record)
        recorded |= {place: record.to_json(), bodies: packed}
    told += [
        f"{folder}: the files of print {earlier} were there and are replaced"
        for earlier in sorted(set(replaced.values()))
    ]
    return Made(
        code=code,
        plan=plan,
        part=built.part,
        findings=findings,
        page=page or sheet_page(plan, built, findings, code=code, files=names),
        folder=folder,
        files=tuple(folder / name for name in names),
        record=place,
        told=tuple(told),
    )


def _refuse_stops(sheet: PartSheet, findings: Sequence[Finding]) -> None:
    """Refuse to go on while a finding says stop."""
    stops = [finding for finding in findings if finding.severity == "stop"]
    if stops:
        raise FaultList(
            CheckError(
                f.text,
                where=f"{sheet.title}, {f.check}",
                code="make.stopped-by-check",
                remedy=f.remedy,
            )
            for f in stops
        )


def earlier_files(
    journal: Journal, title: str, folder: Path, *, piece: str | None = None
) -> dict[str, str]:
    """Find the files of earlier prints of a part that lie in a folder just as they were made.

    They go when a new print's files come, so that no folder holds a mixture of two prints. What has
    been changed since, or bears another title, is the user's own and stays.

    Parameters
    ----------
    journal : Journal
    title : str
        Of the part.
    folder : Path
    piece : str, optional
        Which trial piece of it is meant; its files and those of the part do not replace each other.

    Returns
    -------
    dict of file name to trace code
    """
    from fitkit.journal.entries import file_hash

    there = {path.name: path for path in folder.iterdir()} if folder.is_dir() else {}
    if not any(path.is_file() for path in there.values()):
        return {}
    found: dict[str, str] = {}
    hashes: dict[str, str] = {}
    for record in journal.prints_of(title):
        if record.sheet.get("piece") != piece:
            continue
        for file in record.files:
            path = there.get(file.name)
            if path is None or path.is_symlink() or not path.is_file():
                continue
            if file.name not in hashes:
                hashes[file.name] = file_hash(path)
            if hashes[file.name] == file.sha256:
                found[file.name] = record.code
    return found


def _metadata(plan: Plan, built: Built, findings: Sequence[Finding], code: str) -> dict[str, str]:
    """Give what the 3MF core has names for, and how to print it under names of our own."""
    from datetime import date

    from fitkit import __version__

    profile = plan.inputs.profile
    settings = how_to_print(plan, built, findings)
    told = "; ".join(f"{what}: {how}" for what, how in settings)
    return {
        "Title": plan.sheet.title,
        "Description": f"{plan.sheet.template}, trace code {code}; all lengths in mm. {told}",
        "CreationDate": date.today().isoformat(),
        "Application": f"fitkit {__version__}",
        "TraceCode": code,
        "Profile": "generic" if profile.generic else profile.name,
        **{what.title().replace(" ", ""): how for what, how in settings},
    }


def _record(
    plan: Plan,
    drawn: Mapping[str, float],
    built: Built,
    findings: tuple[Finding, ...],
    code: str,
    hashes: Mapping[str, str],
    cost: Mapping[str, Any],
    exact: KeptFile,
    overruled: Mapping[str, str],
) -> PrintRecord:
    from fitkit.journal import PrintRecord
    from fitkit.journal.entries import KeptTemplate

    sheet, own = plan.sheet, plan.template_file
    printer = sheet.printer_to_draw_for
    named = (*sheet.readings_paths, sheet.instruments_file)
    return PrintRecord.new(
        code=code,
        title=sheet.title,
        template=plan.template,
        template_source=own and KeptTemplate.of(own, journal=sheet.journal_folder),
        sheet=sheet.content(),
        readings=[path for path in (*named, printer.profile, printer.coupon) if path],
        measured=plan.inputs.estimates,
        profile=plan.inputs.profile,
        drawn=drawn,
        fits=plan.rows,
        part=built.part,
        bodies=exact,
        files=hashes,
        findings=findings,
        cost=dict(cost),
        coat_mm=plan.coat.value_mm if plan.coat else 0.0,
        u_coat_mm=plan.coat.u_mm if plan.coat else 0.0,
        notes=(f"trial piece of {sheet.piece!r}",) if sheet.piece else (),
        extra=_places(sheet) | ({DESPITE: dict(overruled)} if overruled else {}),
    )


def _reasons(
    despite: Mapping[str, str], findings: tuple[Finding, ...], title: str
) -> dict[str, str]:
    """Give the reasons for which stops are overruled, each held against a stop that there is."""
    stopping = dict.fromkeys(one.check for one in findings if one.severity == "stop")
    for check, reason in despite.items():
        if not reason.strip():
            raise CheckError(
                f"no reason is given for making it despite {check}",
                where=title,
                code="make.no-reason",
                remedy="Say why: the reason is kept in the record.",
            )
        if check not in stopping:
            known = ", ".join(map(repr, stopping)) or "none"
            raise CheckError(
                f"no check called {check!r} stops this part",
                where=title,
                code="make.no-such-stop",
                remedy=f"Checks that stop it: {known}.",
            )
    return {check: reason.strip() for check, reason in despite.items()}


def _places(sheet: PartSheet) -> dict[str, Any]:
    """Say where the sheet lies, counted from the journal, so that the record can open it again."""
    from fitkit.flow.opened import SHEET_FOLDER

    try:
        folder = os.path.relpath(sheet.folder.resolve(), sheet.journal_folder.resolve())
    except ValueError:  # on another drive
        return {}
    return {SHEET_FOLDER: Path(folder).as_posix()}
