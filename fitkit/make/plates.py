"""Several parts, each in so many copies, on as few plates as are found: one 3MF a plate.

Each copy is a part of its own, with its trace code sunk into it and a record as from `make`. Bodies
that are alike in all copies, such as a lid without a label, are one object of the 3MF with several
instances. Parts that are drawn for different printers, materials, nozzles or layers never share a
plate. All files and records appear together, or none.

Left out: nesting one body in another one's hollow, and printing one body after the other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from fitkit.core.errors import FaultList, FitkitError, SheetError
from fitkit.core.tables import harmless, table_text
from fitkit.flow.built import print_meshes
from fitkit.flow.plan import read_inputs, solve
from fitkit.flow.sheet import PartSheet, load_sheet
from fitkit.make.one import (
    WorkedOut,
    earlier_files,
    reasons_of,
    refuse_stops,
    told_folders,
    worked_out,
)
from fitkit.make.page import settings_of
from fitkit.make.printing import metadata_of

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.export import Instance, PlacedMesh
    from fitkit.flow.plan import Inputs
    from fitkit.journal import Journal
    from fitkit.parts.contract import Buy
    from fitkit.solids.mesh import Mesh
    from fitkit.solids.plate import Spot

__all__ = ["BUYS_FILE", "LIST_FILE", "Plated", "PlatedPart", "make_plates"]

BUYS_FILE, LIST_FILE = "things-to-buy.csv", "plates.csv"
MOST_COPIES = 500
# Figures of a part's cost that add up over a job.
_SUMS = ("grams", "metres", "hours", "kwh", "price")


@dataclass(frozen=True, slots=True, kw_only=True)
class PlatedPart:
    """One copy of a part on the plates.

    Attributes
    ----------
    code : str
        Trace code.
    title : str
    record : Path
        The journal's record of this print.
    plates : dict of body name to int
        Number of the plate that the body lies on, from 1.
    """

    code: str
    title: str
    record: Path
    plates: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plated:
    """What `make_plates` made.

    Attributes
    ----------
    folder : Path
    plates : tuple of Path
        The files to print from.
    files : tuple of Path
        All others: lists, sheets.
    parts : tuple of PlatedPart
        In the order of the sheets.
    findings : dict of title to tuple of Finding
        Those of the first copy.
    buys : tuple of Buy
        Summed over all parts.
    cost : dict
        Low and high sums of grams, metres, hours, kwh and price, those that are known of all parts;
        and the currency.
    without_cost : tuple of str
        Titles of parts of which no cost is known.
    told : tuple of str
        What was replaced in the folder, and what a program that was stopped had left.
    """

    folder: Path
    plates: tuple[Path, ...]
    files: tuple[Path, ...]
    parts: tuple[PlatedPart, ...]
    findings: dict[str, tuple[Finding, ...]]
    buys: tuple[Buy, ...]
    cost: dict[str, Any]
    without_cost: tuple[str, ...]
    told: tuple[str, ...] = ()

    @property
    def record_folder(self) -> Path:
        """The journal that has the records."""
        return self.parts[0].record.parent


class _Piece(NamedTuple):
    """A body to be laid on a plate."""

    part: int
    body: str
    mesh: Mesh


class _Laid(NamedTuple):
    """A plate: its bodies and where they lie."""

    pieces: tuple[_Piece, ...]
    spots: tuple[Spot, ...]


def make_plates(
    sheets: Sequence[PartSheet | str | Path],
    *,
    copies: int = 1,
    title: str = "plates",
    into: str | Path | None = None,
    despite: Mapping[str, str] | None = None,
    workshop: str | Path | None = None,
    marks: Sequence[Mapping[str, str]] = (),
    step: Callable[[str], None] = lambda text: None,
) -> Plated:
    """Make several parts on as few plates as are found.

    Parameters
    ----------
    sheets : sequence of PartSheet or path
        One that is named twice is made twice.
    copies : int
        Of each.
    title : str
        Of the job: its folder is called after it.
    into : path, optional
        Folder for the files; ``TITLE-CODE`` beside other made files if not given.
    despite : mapping of check name to reason, optional
        As `fitkit.make.make` takes it: a check that stops one of the parts.
    workshop : path, optional
        A workshop that wins over the one that the sheets belong to.
    marks : sequence of mappings, optional
        More keys of each part's record's `extra`, in the order of the parts.
    step : callable of str
        Told each step as it begins.

    Returns
    -------
    Plated

    Raises
    ------
    FaultList
        All that is wrong with the sheets, and every check that stops one of them; nothing is
        written then.
    SheetError
        If there is no sheet, there are too many copies, or the sheets have different journals.
    """
    from fitkit.core.staged import staged_folder
    from fitkit.export import file_name
    from fitkit.parts.buys import summed

    found = _loaded(sheets, workshop)
    _refuse_count(len(found), copies)
    journal = _journal(found)
    found[0].workshop.refuse_if_read_only()
    codes = _codes(journal, len(found) * copies)
    folder = Path(into) if into else found[0].made_folder / f"{file_name(title)}-{codes[0].lower()}"
    told = told_folders(journal, folder)
    done = _all_worked_out(found, copies, codes, despite or {}, step)
    step("laying the plates")
    laid = _laid_out(done)
    names = _names(laid, done)
    replaced: dict[str, str] = {}
    for one in {part.plan.sheet.title: part for part in done}.values():
        replaced |= earlier_files(journal, one.plan.sheet.title, folder)
    recorded: dict[Path, str | bytes] = {}
    with staged_folder(folder, drop=replaced, arrives_with=recorded) as stage:
        step("writing the plates and reading them back")
        for number, (plate, name) in enumerate(zip(laid, names, strict=True), start=1):
            _write_plate(stage / name, plate, done, f"{title}: plate {number} of {len(laid)}")
        own = [_own_files(part, stage, step) for part in done]
        step("writing the records")
        parts = []
        for number, part in enumerate(done):
            on = {
                piece.body: at
                for at, plate in enumerate(laid, start=1)
                for piece in plate.pieces
                if piece.part == number
            }
            mark = marks[number] if marks else {}
            files = _record(part, on, names, own[number], stage, journal, mark)
            parts.append(
                PlatedPart(
                    code=part.code,
                    title=part.plan.sheet.title,
                    record=next(iter(files)),
                    plates=on,
                )
            )
            recorded |= files
        buys = summed(
            replace(buy, why=f"{part.plan.sheet.title}{buy.why and ': '}{buy.why}")
            for part in done
            for buy in part.part.buys
        )
        lists = {LIST_FILE: _list(parts, names), BUYS_FILE: _buys_list(buys)}
        for name, text in lists.items():
            (stage / name).write_text(text, encoding="utf-8", newline="")
    told += [
        f"{folder}: the files of print {earlier} were there and are replaced"
        for earlier in sorted(set(replaced.values()))
    ]
    cost, without = _cost(done)
    return Plated(
        folder=folder,
        plates=tuple(folder / name for name in names),
        files=tuple(
            folder / name for name in (*lists, *(path.name for paths in own for path in paths))
        ),
        parts=tuple(parts),
        findings={part.plan.sheet.title: part.findings for part in reversed(done)},
        buys=buys,
        cost=cost,
        without_cost=without,
        told=tuple(told),
    )


# --- before anything is written ------------------------------------------------------------------


def _loaded(
    sheets: Sequence[PartSheet | str | Path], workshop: str | Path | None
) -> list[PartSheet]:
    """Load the sheets, each once; all that is wrong is told at once."""
    known: dict[str, PartSheet] = {}
    found: list[PartSheet] = []
    faults: list[FitkitError] = []
    for sheet in sheets:
        if isinstance(sheet, PartSheet):
            found.append(sheet)
            continue
        try:
            if str(sheet) not in known:
                known[str(sheet)] = load_sheet(sheet, workshop=workshop)
            found.append(known[str(sheet)])
        except FitkitError as error:
            faults += _single(error)
    if faults:
        raise FaultList(faults)
    for one in found:
        if one.piece is not None:
            raise SheetError(
                "a trial piece is made by itself",
                where=one.title,
                code="plates.trial-piece",
                remedy="Use the command 'trial-piece', and name the part's own sheet here.",
            )
    return found


def _single(error: FitkitError) -> list[FitkitError]:
    return list(error.faults) if isinstance(error, FaultList) else [error]


def _refuse_count(sheets: int, copies: int) -> None:
    if not sheets:
        raise SheetError(
            "there is nothing to make",
            code="plates.no-sheets",
            remedy="Name one part sheet or more.",
        )
    if not 1 <= copies <= MOST_COPIES or sheets * copies > MOST_COPIES:
        raise SheetError(
            f"{sheets} sheets in {copies} copies each are no job of 1 to {MOST_COPIES} parts",
            code="plates.too-many",
            remedy="Make several jobs of it, or give another number of copies.",
        )


def _journal(sheets: Sequence[PartSheet]) -> Journal:
    """Open the one journal of all sheets: their records appear together, or none does."""
    from fitkit.journal import Journal

    folders = {sheet.journal_folder.resolve(): sheet.title for sheet in reversed(sheets)}
    if len(folders) > 1:
        said = "; ".join(f"{title}: {folder}" for folder, title in folders.items())
        raise SheetError(
            f"the sheets keep their records in different journals ({said})",
            code="plates.several-journals",
            remedy="Make a job of the sheets of one workshop, or name it by --workshop.",
        )
    return Journal(sheets[0].journal_folder)


def _codes(journal: Journal, count: int) -> list[str]:
    codes: dict[str, None] = {}
    while len(codes) < count:
        codes[journal.new_code()] = None
    return list(codes)


def _all_worked_out(
    sheets: Sequence[PartSheet],
    copies: int,
    codes: Sequence[str],
    despite: Mapping[str, str],
    step: Callable[[str], None],
) -> list[WorkedOut]:
    """Build and check every copy; what is wrong with any of the sheets is told at once."""
    from fitkit.flow.doubted import reading_findings
    from fitkit.make.checking import declared

    faults: list[FitkitError] = []
    inputs: dict[int, Inputs] = {}
    for sheet in {id(one): one for one in sheets}.values():
        step(f"working out sizes of {sheet.title} from the readings")
        try:
            inputs[id(sheet)] = read_inputs(sheet)
            plan = solve(sheet, inputs[id(sheet)], label=codes[0])
            declared(sheet, plan.inputs.profile)
            refuse_stops(sheet, reading_findings(plan))
        except FitkitError as error:
            faults += _single(error)
    if faults:
        raise FaultList(faults)
    done: list[WorkedOut] = []
    first: dict[int, WorkedOut] = {}
    refused: set[int] = set()
    for number, code in enumerate(codes):
        sheet = sheets[number // copies]
        if id(sheet) in refused:
            continue
        step(f"building and checking {sheet.title} {code}")
        try:
            plan = solve(sheet, inputs[id(sheet)], label=code)
            one = worked_out(plan, code, despite_stops=True, like=first.get(id(sheet)))
            _overrule(one, despite)
        except FitkitError as error:
            refused.add(id(sheet))
            faults += _single(error)
            continue
        first.setdefault(id(sheet), one)
        done.append(one)
    if faults:
        raise FaultList(faults)
    every = tuple(finding for one in first.values() for finding in one.findings)
    reasons_of(despite, every, ", ".join(one.plan.sheet.title for one in first.values()))
    return done


def _overrule(one: WorkedOut, despite: Mapping[str, str]) -> None:
    """Take those reasons that concern this part, and refuse its other stops."""
    stopping = {found.check for found in one.findings if found.severity == "stop"}
    mine = {check: why for check, why in despite.items() if check in stopping}
    one.overruled = reasons_of(mine, one.findings, one.plan.sheet.title)
    refuse_stops(
        one.plan.sheet, [found for found in one.findings if found.check not in one.overruled]
    )


# --- the plates ----------------------------------------------------------------------------------


def _machine(part: WorkedOut) -> tuple[str, ...]:
    """What parts on one plate must share: printer, material, nozzle, layers, bed."""
    profile = part.plan.inputs.profile
    bed = "x".join(f"{length:g}" for length in profile.bed_mm)
    return (
        profile.material,
        profile.printer,
        f"{profile.nozzle_mm:g} mm nozzle",
        f"{profile.layer_height_mm:g} mm layers",
        f"bed {bed}",
    )


def _laid_out(done: Sequence[WorkedOut]) -> list[_Laid]:
    """Lay all bodies on plates, those of one machine and material together."""
    from fitkit.solids.plate import fewest_plates
    from fitkit.solids.turns import MARGIN_MM

    groups: dict[tuple[str, ...], list[int]] = {}
    for number, part in enumerate(done):
        groups.setdefault(_machine(part), []).append(number)
    laid = []
    for numbers in groups.values():
        bed = done[numbers[0]].plan.inputs.profile.bed_mm[:2]
        pieces = [
            _Piece(number, body, _fitted(mesh, bed))
            for number in numbers
            for body, mesh in print_meshes(done[number].part).items()
        ]
        boxes = [tuple(piece.mesh.size[:2]) for piece in pieces]
        laid += [
            _Laid(tuple(pieces[spot.member] for spot in plate), plate)
            for plate in fewest_plates(boxes, bed, margin_mm=MARGIN_MM)
        ]
    return laid


def _fitted(mesh: Mesh, bed_mm: Sequence[float]) -> Mesh:
    """Turn a body that fits its bed neither way by quarters as the files of one part do."""
    from fitkit.solids.mesh import turn_matrix
    from fitkit.solids.turns import turns_on_bed

    (turn,) = turns_on_bed([mesh], bed_mm)
    if turn % 90 == 0:
        return mesh
    return mesh.moved(turn_matrix((0.0, 0.0, float(turn))), np.zeros(3))


def _names(laid: Sequence[_Laid], done: Sequence[WorkedOut]) -> list[str]:
    """Name each plate's file by its number, and by what tells several machines apart."""
    from fitkit.export import file_name

    machines = [_machine(done[plate.pieces[0].part]) for plate in laid]
    differ = [k for k in range(len(machines[0])) if len({one[k] for one in machines}) > 1]
    found = []
    for number, machine in enumerate(machines, start=1):
        told = "".join(f"-{file_name(machine[k])}" for k in differ)
        found.append(f"plate-{number}{told}.3mf")
    return found


def _write_plate(path: Path, plate: _Laid, done: Sequence[WorkedOut], title: str) -> None:
    """Write one plate: bodies with the same mesh are one object."""
    from fitkit.export import Instance, PlacedMesh, write_plate

    objects: list[PlacedMesh] = []
    alike: dict[tuple[str, str, bytes], int] = {}
    owners: dict[int, list[str]] = {}
    instances: list[Instance] = []
    for piece, spot in zip(plate.pieces, plate.spots, strict=True):
        part = done[piece.part]
        low = piece.mesh.bounds[0]
        mesh = piece.mesh.moved(np.eye(3), -low)
        key = (part.plan.sheet.title, piece.body, mesh.vertices.tobytes())
        if key not in alike:
            alike[key] = len(objects)
            objects.append(PlacedMesh(piece.body, mesh))
        number = alike[key]
        owners.setdefault(number, []).append(part.code)
        # A quarter turn about the corner leaves the box at negative x.
        x = spot.x + (float(mesh.size[1]) if spot.turned else 0.0)
        instances.append(Instance(number, part.code, 90 if spot.turned else 0, (x, spot.y, 0.0)))
    titles = {alike[key]: key[0] for key in alike}
    named = [
        PlacedMesh(
            f"{titles[n]} {owners[n][0]}, {thing.name}"
            if len(owners[n]) == 1
            else f"{titles[n]}, {thing.name}",
            thing.mesh,
        )
        for n, thing in enumerate(objects)
    ]
    codes = list(dict.fromkeys(done[piece.part].code for piece in plate.pieces))
    parts = {done[piece.part].plan.sheet.title: done[piece.part] for piece in plate.pieces}
    profile = done[plate.pieces[0].part].plan.inputs.profile
    write_plate(
        path,
        named,
        instances,
        metadata_of(
            title=title,
            template="",
            codes=codes,
            profile="generic" if profile.generic else profile.name,
            settings=_settings(parts),
        ),
    )


def _settings(parts: Mapping[str, WorkedOut]) -> list[tuple[str, str]]:
    """Say how a plate is to be printed: what differs from part to part with the part's title."""
    told: dict[str, dict[str, str]] = {}
    for title, one in parts.items():
        for what, how in settings_of(one.plan, one.built, one.findings):
            told.setdefault(what, {})[title] = how
    return [
        (
            what,
            next(iter(by.values()))
            if len(set(by.values())) == 1
            else "; ".join(f"{title}: {how}" for title, how in by.items()),
        )
        for what, by in told.items()
    ]


# --- files, records, lists -----------------------------------------------------------------------


def _own_files(part: WorkedOut, stage: Path, step: Callable[[str], None]) -> list[Path]:
    """Write the files of a part besides the plates: its sheet, and its solids if wanted."""
    from fitkit.export import file_name, write_files, write_page

    stem = f"{file_name(part.plan.sheet.title)}-{part.code.lower()}"
    kinds = [kind for kind in part.plan.sheet.outputs.files if kind not in ("3mf", "stl")]
    written = write_files(
        part.part,
        {},
        stage,
        bed_mm=part.plan.inputs.profile.bed_mm,
        kinds=kinds,
        metadata={},
        stem=stem,
    )
    page = part.page([path.name for path in written], step)
    return written + write_page(page, part.part, stage, kinds=kinds, stem=stem)


def _record(
    part: WorkedOut,
    on: Mapping[str, int],
    names: Sequence[str],
    own: Sequence[Path],
    stage: Path,
    journal: Journal,
    mark: Mapping[str, str],
) -> dict[Path, str | bytes]:
    """Give a copy's record with the plates that its bodies lie on."""
    from fitkit.journal.entries import file_hash

    files = [*(names[at - 1] for at in sorted(set(on.values()))), *(path.name for path in own)]
    hashes = {name: file_hash(stage / name) for name in files}
    return part.record(
        journal, hashes, own, plates={body: names[at - 1] for body, at in on.items()}, **mark
    )


def _list(parts: Sequence[PlatedPart], names: Sequence[str]) -> str:
    rows: list[tuple[str, ...]] = [("plate", "trace code", "part", "body")]
    lines = sorted(
        (at, number, part.code, part.title, body)
        for number, part in enumerate(parts)
        for body, at in part.plates.items()
    )
    for at, _, code, title, body in lines:
        rows.append(tuple(map(harmless, (names[at - 1], code, title, body))))
    return table_text(rows)


def _buys_list(buys: Sequence[Buy]) -> str:
    rows: list[tuple[str, ...]] = [("count", "what", "for")]
    rows += [(str(buy.count), harmless(buy.what), harmless(buy.why)) for buy in buys]
    return table_text(rows)


def _cost(done: Sequence[WorkedOut]) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Add up what the parts cost: low figures and high ones, since they err the same way."""
    known = [part.cost for part in done if part.cost]
    without = dict.fromkeys(part.plan.sheet.title for part in done if not part.cost)
    found: dict[str, Any] = {}
    currencies = {one.get("currency") for one in known}
    for name in _SUMS:
        if name == "price" and len(currencies) != 1:
            continue  # of some parts it is not known, or coins differ
        if known and all(name in one for one in known):
            low, high = (sum(one[name][k] for one in known) for k in (0, 1))
            found[name] = (low, high)
    if "price" in found:
        found["currency"] = currencies.pop()
    return found, tuple(without)
