"""From a part sheet to a folder of files and a record, or to one message and nothing written."""

from __future__ import annotations

import os
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import CheckError, FaultList
from fitkit.core.files import refuse_closed_folder
from fitkit.core.plain_errors import plain_errors
from fitkit.flow import Plan, build, prepare, tried
from fitkit.flow.built import Built, mesh_part, print_meshes
from fitkit.flow.sheet import PartSheet, load_sheet
from fitkit.make.checking import check_context, checked, declared, expected_cost
from fitkit.make.page import settings_of, sheet_page
from fitkit.make.printing import metadata_of
from fitkit.make.remake import SPLIT

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.checks import CheckContext
    from fitkit.core.finding import Finding
    from fitkit.export import SheetPage
    from fitkit.journal import Journal, PrintRecord
    from fitkit.journal.entries import KeptFile
    from fitkit.parts.contract import Part

__all__ = [
    "DESPITE",
    "Made",
    "WorkedOut",
    "earlier_files",
    "make",
    "reasons_of",
    "refuse_stops",
    "told_folders",
    "worked_out",
]

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
    beside: Callable[[Part, Path], object] | None = None,
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
    beside : callable of (Part, Path), optional
        Writes more files into this folder, which come into the part's folder with all others or not
        at all, such as a form to fill.

    Returns
    -------
    Made
        Trace code, plan, part, findings, files and the record's path.

    Raises
    ------
    FitkitError
        What, where, what to do; nothing is left half written.
    """
    from fitkit.core.staged import staged_folder
    from fitkit.export import file_name, write_files, write_page
    from fitkit.flow.doubted import reading_findings
    from fitkit.journal import Journal
    from fitkit.journal.entries import file_hash

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
        refuse_stops(sheet, reading_findings(plan))
    kind = "-trial-piece" if sheet.piece else ""
    stem = f"{file_name(sheet.title)}{kind}-{code.lower()}"
    folder = Path(into) if into else sheet.made_folder / stem
    told = told_folders(journal, folder)
    done = worked_out(plan, code, despite_stops=despite_stops, despite=despite, step=step)
    replaced = earlier_files(journal, sheet.title, folder, piece=sheet.piece)
    recorded: dict[Path, str | bytes] = {}
    # Files, record and bodies appear together: no part may bear a code that the journal does not
    # know, and nothing is kept for a record that is not there.
    with staged_folder(folder, drop=replaced, arrives_with=recorded) as stage:
        step("writing files and reading them back")
        written = write_files(
            done.part,
            print_meshes(done.part),
            stage,
            bed_mm=plan.inputs.profile.bed_mm,
            kinds=sheet.outputs.files,
            metadata=_metadata(done.plan, done.built, done.findings, code),
        )
        # Its pictures go into the journal, whether or not a format of the page is wanted.
        page = done.page([file.name for file in written], step)
        written += write_page(page, done.part, stage, kinds=sheet.outputs.files)
        names = [file.name for file in written]
        hashes = {name: file_hash(stage / name) for name in names}
        step("writing the record")
        files = done.record(journal, hashes, written)
        place = next(iter(files))
        recorded |= files
        if beside:
            beside(done.part, stage)
    told += [
        f"{folder}: the files of print {earlier} were there and are replaced"
        for earlier in sorted(set(replaced.values()))
    ]
    return Made(
        code=code,
        plan=done.plan,
        part=done.part,
        findings=done.findings,
        page=page,
        folder=folder,
        files=tuple(folder / name for name in names),
        record=place,
        told=tuple(told),
    )


def told_folders(journal: Journal, folder: Path) -> list[str]:
    """Refuse a closed journal or folder, and settle what stopped programs left in them.

    Parameters
    ----------
    journal : Journal
    folder : Path
        For the files.

    Returns
    -------
    list of str
        What was settled.
    """
    from fitkit.core.staged import settle

    journal.refuse_if_closed()
    with plain_errors(folder):
        refuse_closed_folder(folder.parent)
    # The journal's plans tell what becomes of folders, so they come first.
    return [*journal.settle(), *settle(folder.parent)]


@dataclass(kw_only=True, eq=False)
class WorkedOut:
    """A part that is built and checked, before anything is written.

    Attributes
    ----------
    code : str
    plan : Plan
    drawn : mapping of size to mm
        All drawn sizes, those too that a trial piece lacks.
    built : Built
    context : CheckContext
    findings : tuple of Finding
        Worst first.
    overruled : dict of check name to reason
    """

    code: str
    plan: Plan
    drawn: Mapping[str, float]
    built: Built
    context: CheckContext
    findings: tuple[Finding, ...]
    overruled: dict[str, str]
    _page: SheetPage | None = None

    @property
    def part(self) -> Part:
        """The part itself."""
        return self.built.part

    def page(self, names: Sequence[str], step: Callable[[str], None]) -> SheetPage:
        """Give what the dimensioned sheet shows; drawn once.

        Parameters
        ----------
        names : sequence of str
            Of the files that it names.
        step : callable of str
        """
        if self._page is None:
            step("drawing the sheet")
            self._page = sheet_page(
                self.plan, self.built, self.findings, code=self.code, files=names
            )
        return self._page

    @cached_property
    def cost(self) -> dict[str, Any]:
        """Expected plastic, time, energy and price, each a low and a high figure."""
        return expected_cost(self.part, self.context)

    def record(
        self,
        journal: Journal,
        hashes: Mapping[str, str],
        written: Sequence[Path],
        **extra: Any,
    ) -> dict[Path, str | bytes]:
        """Give the files that go into the journal: the record first, then what it keeps beside it.

        That are the bodies and, if the sheet was drawn, picture and drawings for the binder.

        Parameters
        ----------
        journal : Journal
        hashes : mapping of file name to SHA-256
            Of what was made.
        written : sequence of Path
            The part's files as they lie now; its STEP file is taken if it is among them.
        **extra
            More keys of the record's `extra`.

        Returns
        -------
        dict of path to content
        """
        from fitkit.journal.kept_views import packed_views

        exact, bodies, packed = _packed(journal, self.part, written, self.code)
        record = _record(self, hashes, exact, extra)
        files: dict[Path, str | bytes] = {journal.place_of(record): record.to_json()}
        files[bodies] = packed
        if page := self._page:
            path, views = packed_views(
                journal.folder,
                code=self.code,
                picture=page.pictures[0][1] if page.pictures else None,
                drawings=page.drawings,
            )
            files[path] = views
        return files


def worked_out(
    plan: Plan,
    code: str,
    *,
    despite_stops: bool = False,
    despite: Mapping[str, str] | None = None,
    step: Callable[[str], None] = lambda text: None,
    like: WorkedOut | None = None,
) -> WorkedOut:
    """Build and check a part; nothing is written.

    Parameters
    ----------
    plan : Plan
    code : str
        Trace code.
    despite_stops : bool
        Go on even if a check says stop.
    despite : mapping of check name to reason, optional
        As `make` takes it.
    step : callable of str
    like : WorkedOut, optional
        Another copy of the same part, which differs by its code alone: its findings count for this
        one, too, unless this one's own build says something else.

    Returns
    -------
    WorkedOut

    Raises
    ------
    FaultList
        All checks that say stop and are not overruled.
    """
    step("building the solids")
    part, all_drawn = build(plan), plan.drawn
    plan = tried(plan, part)
    built = mesh_part(part)
    step("checking")
    context = check_context(plan, built)
    if like is not None and like.part.findings == part.findings:
        findings = like.findings
    else:
        findings = checked(plan, built, context)
    overruled = reasons_of(despite or {}, findings, plan.sheet.title)
    if not despite_stops:
        refuse_stops(plan.sheet, [one for one in findings if one.check not in overruled])
    return WorkedOut(
        code=code,
        plan=plan,
        drawn=all_drawn,
        built=built,
        context=context,
        findings=findings,
        overruled=overruled,
    )


def _packed(
    journal: Journal, part: Part, written: Sequence[Path], code: str
) -> tuple[KeptFile, Path, bytes]:
    """Pack the part's bodies for the journal: as STEP, or as meshes where one is of triangles."""
    from fitkit.export.step import step_bytes
    from fitkit.journal.kept_bodies import packed_bodies, packed_meshes
    from fitkit.parts.meshed import mesh_of

    if any(body.mesh is not None for body in part.bodies):
        meshes = {body.name: mesh_of(body, for_files=True) for body in part.bodies}
        return packed_meshes(journal.folder, meshes, code=code)
    return packed_bodies(journal.folder, step_bytes(part, written), code=code)


def refuse_stops(sheet: PartSheet, findings: Sequence[Finding]) -> None:
    """Refuse to go on while a finding says stop.

    Parameters
    ----------
    sheet : PartSheet
    findings : sequence of Finding

    Raises
    ------
    FaultList
        All that say stop.
    """
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
    """Give the metadata of the 3MF file."""
    profile = plan.inputs.profile
    return metadata_of(
        title=plan.sheet.title,
        template=plan.sheet.template,
        codes=[code],
        profile="generic" if profile.generic else profile.name,
        settings=settings_of(plan, built, findings),
    )


def _record(
    done: WorkedOut, hashes: Mapping[str, str], exact: KeptFile, extra: Mapping[str, Any]
) -> PrintRecord:
    from fitkit.journal import PrintRecord
    from fitkit.journal.entries import KeptTemplate

    plan = done.plan
    sheet, own = plan.sheet, plan.template_file
    printer = sheet.printer_to_draw_for
    named = (*sheet.readings_paths, sheet.instruments_file)
    return PrintRecord.new(
        code=done.code,
        title=sheet.title,
        template=plan.template,
        template_source=own and KeptTemplate.of(own, journal=sheet.journal_folder),
        sheet=sheet.content(),
        readings=[path for path in (*named, printer.profile, printer.coupon) if path],
        measured=plan.inputs.estimates,
        profile=plan.inputs.profile,
        drawn=done.drawn,
        fits=plan.rows,
        part=done.part,
        bodies=exact,
        files=hashes,
        findings=done.findings,
        cost=dict(done.cost),
        coat_mm=plan.coat.value_mm if plan.coat else 0.0,
        u_coat_mm=plan.coat.u_mm if plan.coat else 0.0,
        notes=(f"trial piece of {sheet.piece!r}",) if sheet.piece else (),
        extra=_places(sheet)
        | ({DESPITE: dict(done.overruled)} if done.overruled else {})
        | ({SPLIT: [one.content() for one in plan.split]} if plan.split else {})
        | dict(extra),
    )


def reasons_of(
    despite: Mapping[str, str], findings: tuple[Finding, ...], title: str
) -> dict[str, str]:
    """Give the reasons for which stops are overruled, each held against a stop that there is.

    Parameters
    ----------
    despite : mapping of check name to reason
    findings : tuple of Finding
    title : str
        Of the part, for messages.

    Returns
    -------
    dict

    Raises
    ------
    CheckError
        If a reason is empty, or its check stops nothing.
    """
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
