"""The same part again, from its record alone; or compensated again for the printer as it is now.

Readings, profile and sheet may have changed or gone since: none of them is read. A record keeps the
exact bodies of its print, and these are what is made again. The template may have changed its shape
since: the present design is built too and compared with the record, every difference is told, and
it can be had instead. Records of the first release keep no bodies: they are rebuilt, and what then
differs is told, never passed over.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import ExportError, FitkitError, JournalError
from fitkit.core.format import length_text, with_doubt
from fitkit.core.sizes import kind_of
from fitkit.journal.kept_template import kept_template, template_since
from fitkit.journal.plain import plain, profile_data
from fitkit.make.printing import how_to_print, metadata_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from fitkit.calibration import PrinterProfile
    from fitkit.core.finding import Finding
    from fitkit.drawings import Drawing
    from fitkit.drawings.views import Projection
    from fitkit.export import SheetPage
    from fitkit.flow.built import Built
    from fitkit.journal.records import PrintRecord
    from fitkit.parts.contract import Body, Builder, Part, Template
    from fitkit.solids.mesh import Mesh

__all__ = ["changed_profile", "compensated_again", "profile_changed", "rebuild", "reprint"]

# Key of a record's `extra`: where and how a body was split.
SPLIT = "split"
# Where the record names no bed, files are laid out for one of this size, mm.
_BED_MM = (220.0, 220.0, 250.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class AgainRow:
    """One size, drawn then and drawn now; lengths in mm."""

    name: str
    target_mm: float
    drawn_then_mm: float
    drawn_now_mm: float
    expected_then_mm: float
    expected_now_mm: float
    U95_now_mm: float

    @property
    def shift_mm(self) -> float:
        """How much larger it is drawn now, mm."""
        return self.drawn_now_mm - self.drawn_then_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CompensatedAgain:
    """A print's targets, compensated for another profile."""

    code: str
    profile: str
    rows: tuple[AgainRow, ...]
    notes: tuple[str, ...]

    @property
    def drawn(self) -> Mapping[str, float]:
        """What to draw now, mm, by fit size."""
        return {row.name: row.drawn_now_mm for row in self.rows}

    def summary(self) -> str:
        """Give the differences, a line a size."""
        lines = [f"{self.code} compensated again for profile {self.profile}:"]
        lines += [
            f"  {row.name}: wanted {length_text(row.target_mm)} mm, drawn "
            f"{length_text(row.drawn_then_mm)} mm then, {length_text(row.drawn_now_mm)} mm now "
            f"({row.shift_mm:+.3f} mm); expect "
            f"{with_doubt(row.expected_now_mm, row.U95_now_mm, 'mm')} (95 %)"
            for row in self.rows
        ]
        return "\n".join([*lines, *(f"  {note}" for note in self.notes)])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Again:
    """A part made again.

    Attributes
    ----------
    record : PrintRecord
    part : Part
    folder : Path
    files : tuple of Path
        The file to print from first.
    differences : tuple of str
        How the present design, as built now, differs from the recorded part; empty if it is the
        same, or if it was compensated again, when it is meant to differ.
    kept : bool
        True if the files hold the bodies that the record keeps and not what the present design
        builds; the differences are then those of the design that was not taken. False where both
        are the same within 1e-6.
    notes : tuple of str
    """

    record: PrintRecord
    part: Part
    folder: Path
    files: tuple[Path, ...]
    differences: tuple[str, ...]
    kept: bool
    notes: tuple[str, ...]


def rebuild(record: PrintRecord, *, drawn: Mapping[str, float] | None = None) -> Part:
    """Build a recorded part's solids.

    Parameters
    ----------
    record : PrintRecord
    drawn : mapping of fit size to mm, optional
        Other sizes than the recorded ones.

    Returns
    -------
    Part

    Raises
    ------
    FitkitError
        If the template is no longer there, or no longer takes these values.
    TrustError
        If the record keeps a template file whose text nobody has said yes to running.
    """
    from fitkit.parts import template
    from fitkit.parts.own_file import fault_of_file, template_of_file

    sizes = record.drawn if drawn is None else {**record.drawn, **drawn}
    own = kept_template(record)
    kind = template_of_file(own, title=record.template) if own else template(record.template)
    with fault_of_file(own):
        design = kind.of(**record.values)
        part = _builder(design, record).build(sizes, title=record.title)
    piece = record.sheet.get("piece")
    if not piece:
        return part
    from fitkit.parts.trial_piece import trial_piece

    layers = {
        word: float(record.profile[key])
        for word, key in (("layer_mm", "layer_height_mm"), ("first_layer_mm", "first_layer_mm"))
        if key in record.profile
    }
    return trial_piece(part, design.fit_sizes(), str(piece), **layers)


def _builder(design: Template, record: PrintRecord) -> Builder:
    """What builds a recorded part: its template, or what mirrors and splits it as it was."""
    from fitkit.parts.mirror import MirrorTemplate

    whole = MirrorTemplate(design) if record.sheet.get("mirrored") is True else design
    split = record.extra.get(SPLIT)
    if not isinstance(split, list) or not split:
        return whole
    from fitkit.parts.split import Split, SplitTemplate

    try:
        return SplitTemplate(whole, tuple(Split(**one) for one in split))
    except TypeError as error:
        raise JournalError(
            "what it says of how the part was split is not known",
            where=f"record {record.code}",
            code="make.split-unknown",
        ) from error


def profile_changed(record: PrintRecord, profile: PrinterProfile) -> bool:
    """Tell whether a profile's content differs from the one that the print was made with."""
    return profile_data(profile) != record.profile


def changed_profile(record: PrintRecord, folder: Path) -> Path | None:
    """Find the file of the profile that a print was made with, if its content has changed since.

    Parameters
    ----------
    record : PrintRecord
    folder : Path
        Where the workshop keeps its profiles; it is told by the name inside the file.

    Returns
    -------
    Path or None
        None if it is unchanged, gone, or the record holds no profile.
    """
    from fitkit.core.files import read_toml

    for path in sorted(folder.glob("*.toml")):
        try:
            content = read_toml(path)
        except (OSError, ValueError):
            continue
        if record.profile and content.get("name") == record.profile.get("name"):
            return path if plain(content) != record.profile else None
    return None


def compensated_again(record: PrintRecord, profile: PrinterProfile) -> CompensatedAgain:
    """Work out what to draw for the recorded targets on the printer as it is now.

    Parameters
    ----------
    record : PrintRecord
    profile : PrinterProfile
        Of the printer as it is now.

    Returns
    -------
    CompensatedAgain
        The sizes as drawn then and as they would be drawn now.

    Raises
    ------
    CalibrationError
        If a size cannot be made with this profile.
    """
    from fitkit.calibration.compensation import compensate
    from fitkit.stats.uncertainty import Estimate

    coat = Estimate.of("coat", record.coat_mm, record.u_coat_mm) if record.coat_mm else None
    rows, notes = [], []
    for fit in record.fits:
        size = compensate(
            Estimate.of(fit.name, fit.target_mm, fit.u_target_mm),
            profile,
            kind=fit.kind,
            axis=fit.axis,  # type: ignore[arg-type]
            coated_faces=fit.coated_faces,
            coat=coat,
            name=fit.name,
        )
        notes += [f"{fit.name}: {note}" for note in size.notes]
        rows.append(
            AgainRow(
                name=fit.name,
                target_mm=fit.target_mm,
                drawn_then_mm=fit.drawn_mm,
                drawn_now_mm=size.drawn_mm,
                expected_then_mm=fit.expected_mm,
                expected_now_mm=size.expected_mm,
                U95_now_mm=size.U95_mm,
            )
        )
    return CompensatedAgain(
        code=record.code, profile=profile.name, rows=tuple(rows), notes=tuple(notes)
    )


def reprint(
    record: PrintRecord,
    folder: Path,
    *,
    sizes: CompensatedAgain | None = None,
    kinds: Sequence[str] | None = None,
    journal: Path | None = None,
    present: bool = False,
) -> Again:
    """Make a recorded part's files again.

    Parameters
    ----------
    record : PrintRecord
        From `Journal.print_of`.
    folder : Path
        For the files, which arrive all together or not at all.
    sizes : CompensatedAgain, optional
        Draw these sizes instead of the recorded ones.
    kinds : sequence of str, optional
        Names of file formats; as the record's sheet says, if not given.
    journal : Path, optional
        The journal's folder: the exact bodies that it keeps are then taken, and a template file
        that has changed since the print is told of.
    present : bool
        Build the present design, even if the exact bodies are kept.

    Returns
    -------
    Again
        Part, files, and how the part differs from the recorded one.

    Raises
    ------
    FitkitError
        If the kept bodies are damaged, the part can no longer be built, or a file does not read
        back.
    TrustError
        If no bodies are kept, or are not wanted, and the record keeps a template file whose text
        nobody has said yes to running.
    """
    from fitkit.core.staged import settle, staged_folder
    from fitkit.export import write_files, write_page
    from fitkit.export.formats import wanted_formats
    from fitkit.flow.built import mesh_part, print_meshes
    from fitkit.journal.geometry import differences, geometry_of
    from fitkit.parts.trust import TrustError

    if sizes is not None and sizes.code != record.code:
        raise JournalError(
            f"sizes of {sizes.code} are not for {record.code}", code="make.other-sizes"
        )
    notes = []
    if journal is not None and (since := template_since(record, journal)):
        notes.append(since)
    if journal is not None:
        _look_for_shape(record, journal)
    found: tuple[str, ...] = ()
    kept: Part | None = None
    takes_kept = journal is not None and sizes is None and not present and record.bodies is not None
    now: Part | None = None
    try:
        now = rebuild(record, drawn=None if sizes is None else sizes.drawn)
    except FitkitError as error:
        # A record that was tampered with is told, and nobody's code runs unasked to compare.
        if not takes_kept or isinstance(error, JournalError | TrustError):
            raise
        notes.append(f"the design as it is now was not built to compare: {error.what}")
    if now is not None and sizes is None and record.geometry:
        found = (*differences(record.geometry, geometry_of(now)), *_sizes(record, now))
    meshed = None
    if takes_kept and journal is not None:
        # Meshed before it is written as STEP to compare: the kernel's writer touches the shape, and
        # meshes of the same part are to be those of the first files to the last bit.
        meshed = now and (mesh_part(now), print_meshes(now))
        kept = _kept_part(record, journal, unless=now)
        if kept is not None and now is not None:
            found = found or tuple(_moved(kept, now))
            # The kernel may number the faces of the same shape in another order.
            kept = kept if found else None
        meshed = None if kept is not None else meshed
    part = kept or now
    assert part is not None
    if sizes is not None:
        notes.append(f"compensated again for profile {sizes.profile}")
    elif not record.geometry:
        notes.append("the record holds no geometry to compare with")
    elif record.bodies is None:
        notes.append("the record keeps no bodies, so the part was built by the design as it is now")
    wanted = kinds or record.sheet.get("outputs", {}).get("files") or _kinds_of(record)
    notes += settle(folder.parent)
    with staged_folder(folder) as stage:
        built, meshes = meshed or (mesh_part(part), print_meshes(part))
        settings = _settings(record, built)
        paths = write_files(
            part,
            meshes,
            stage,
            bed_mm=_bed_of(record),
            kinds=wanted,
            metadata=metadata_of(
                title=record.title,
                template=record.template,
                codes=[record.code],
                profile=(sizes and sizes.profile) or _profile_name(record),
                settings=settings,
            ),
        )
        if any(one.of == "page" for one in wanted_formats(wanted)):
            names = [path.name for path in paths]
            page = replace(
                _page(record, built, names, sizes, (*notes, *found)),
                settings=settings,
                drawings=_drawings(record, part, journal) if kept is None else (),
            )
            paths += write_page(page, part, stage, kinds=wanted)
        names = [path.name for path in paths]
    return Again(
        record=record,
        part=part,
        folder=folder,
        files=tuple(folder / name for name in names),
        differences=found,
        kept=kept is not None,
        notes=tuple(notes),
    )


def _look_for_shape(record: PrintRecord, journal: Path) -> None:
    """Let a given shape be found beside the sheet that the print was made from."""
    from fitkit.core.given_file import shapes_lie_in
    from fitkit.flow.opened import SHEET_FOLDER

    named = record.sheet.get("values", {}).get("shape")
    folder = record.extra.get(SHEET_FOLDER)
    if isinstance(named, str) and isinstance(folder, str):
        shapes_lie_in((journal / folder / named).resolve().parent)


def _kept_part(record: PrintRecord, journal: Path, *, unless: Part | None) -> Part | None:
    """Lay the kept bodies of a record out as a part; None if `unless` is the same to the digit."""
    import tempfile
    from pathlib import Path

    from fitkit.export.step import step_bytes
    from fitkit.journal.geometry import differences, geometry_of
    from fitkit.journal.kept_bodies import holds_meshes, kept_meshes, kept_step
    from fitkit.parts.contract import Body, KeyDimension, Part
    from fitkit.solids.outline import read_bodies

    names = [body.name for body in record.geometry]
    turns = [tuple(record.orientation.get(name, (0, 0, 0))) for name in names]
    if holds_meshes(record):
        meshes = kept_meshes(record, journal)
        if unless and _same_meshes(unless, meshes):
            return None
        bodies = _mesh_bodies(names, meshes, turns)
    else:
        step = kept_step(record, journal)
        # The header holds the time of writing; meshes of what is built are those of the first
        # files.
        if step is None or (unless and _data(step_bytes(unless)) == _data(step)):
            return None
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "bodies.step"
            path.write_bytes(step)
            solids = read_bodies(path, most=max(len(record.geometry), 1))
        bodies = tuple(
            Body(name=name, solid=solid, print_turn=turn)
            for name, solid, turn in zip(names, solids, turns, strict=True)
        )
    kinds = {fit.name: fit.kind for fit in record.fits}
    part = Part(
        title=record.title,
        template=record.template,
        bodies=bodies,
        # Where they stand on the part is not in the record: the sheet shows their values alone.
        dimensions=tuple(
            KeyDimension(
                name=name,
                value_mm=value,
                body=names[0],
                start=(0.0, 0.0, 0.0),
                end=(value, 0.0, 0.0),
                kind=kind_of(kinds.get(name, "outside")),
            )
            for name, value in record.dimensions.items()
        ),
    )
    if unlike := differences(record.geometry, geometry_of(part)):
        raise JournalError(
            f"the kept bodies are not those of the record: {unlike[0]}",
            where=f"record {record.code}",
            code="journal.bodies-damaged",
            remedy="Ask for the present design, which is built from the record alone.",
        )
    return part


def _same_meshes(part: Part, meshes: Sequence[Mesh]) -> bool:
    import numpy as np

    from fitkit.parts.meshed import mesh_of

    now = [mesh_of(body, for_files=True) for body in part.bodies]
    return len(now) == len(meshes) and all(
        np.array_equal(one.vertices.astype("<f4"), kept.vertices.astype("<f4"))
        and np.array_equal(one.triangles, kept.triangles)
        for one, kept in zip(now, meshes, strict=True)
    )


def _mesh_bodies(
    names: Sequence[str], meshes: Sequence[Mesh], turns: Sequence[tuple[float, ...]]
) -> tuple[Body, ...]:
    from fitkit.parts.contract import Body
    from fitkit.solids.mesh_kernel import coarser, manifold_of

    return tuple(
        Body.of_mesh(name, mesh, coarse=coarser(manifold_of(mesh)), print_turn=(x, y, z))
        for name, mesh, (x, y, z) in zip(names, meshes, turns, strict=True)
    )


def _data(step: bytes) -> bytes:
    return step.partition(b"\nDATA;")[2]


def _moved(kept: Part, now: Part) -> list[str]:
    """Say where bodies of equal volume and box have their plastic elsewhere."""
    import numpy as np
    from build123d import CenterOf

    from fitkit.journal.geometry import TOLERANCE

    solids = {body.name: body.solid for body in now.bodies}
    found = []
    for body in kept.bodies:
        if body.mesh is not None:
            found.append(f"{body.name}: its triangles are not those that were kept")
        elif body.name in solids:
            was, is_now = (s.center(CenterOf.MASS) for s in (body.solid, solids[body.name]))
            moments = [np.array(s.matrix_of_inertia) for s in (body.solid, solids[body.name])]
            if (shift := (is_now - was).length) > TOLERANCE:
                found.append(f"{body.name}: its centre of mass has moved by {shift:.3g} mm")
            elif (off := np.max(np.abs(moments[1] - moments[0])) / np.max(moments[0])) > TOLERANCE:
                found.append(
                    f"{body.name}: features have moved, though its volume and centre of mass are "
                    f"as they were (moments of inertia differ by {off:.2g} of themselves)"
                )
    return found


def _bed_of(record: PrintRecord) -> tuple[float, float]:
    """Give the bed that the record names, mm; a usual one where it names none that can be."""
    try:
        width, depth = (float(length) for length in record.profile.get("bed_mm", _BED_MM)[:2])
    except (TypeError, ValueError):
        return _BED_MM[:2]
    return (width, depth) if 0 < width < 1e5 and 0 < depth < 1e5 else _BED_MM[:2]


def _profile_name(record: PrintRecord) -> str:
    return "generic" if record.profile.get("generic") else str(record.profile.get("name", ""))


def _settings(record: PrintRecord, built: Built) -> tuple[tuple[str, str], ...]:
    """Say how it is to be printed, as far as the record knows."""
    known: dict[str, float | None] = {}
    for key in ("layer_height_mm", "first_layer_mm", "nozzle_mm"):
        try:
            known[key] = float(record.profile[key])
        except (KeyError, TypeError, ValueError):
            known[key] = None
    findings = [_finding(item) for item in record.findings]
    return how_to_print(built.laid, findings, material=record.material, **known)


def _drawings(record: PrintRecord, part: Part, journal: Path | None) -> tuple[Drawing, ...]:
    """Draw the part's sizes, as the journal's workshop says.

    Kept bodies cannot be drawn so: the record does not say where their sizes lie on them.
    """
    from fitkit.core.errors import NoWorkshopError
    from fitkit.drawings import TitleBlock, drawings_of
    from fitkit.workshop import find_workshop

    projection: Projection = "first-angle"
    with suppress(NoWorkshopError):
        projection = find_workshop(journal).projection if journal else projection
    block = TitleBlock(
        title=record.title,
        code=record.code,
        material=record.material,
        printer=record.printer,
        date=record.made_at.astimezone().strftime("%Y-%m-%d"),
        projection=projection,
    )
    return drawings_of(part, block)


def _kinds_of(record: PrintRecord) -> list[str]:
    """Tell the formats of a record whose sheet does not name them, by the files that were made."""
    from fitkit.export import formats

    endings = {PurePath(file.name).suffix.lower() for file in record.files}
    kinds = [one.name for one in formats() if one.suffix in endings]
    if not kinds and record.files:
        raise ExportError(
            "none of the recorded files is of a kind that can be made again",
            where=record.code,
            code="make.no-files",
        )
    return kinds or [one.name for one in formats() if one.usual and one.of != "page"]


def _sizes(record: PrintRecord, part: Part) -> list[str]:
    """Say which key dimensions differ from the recorded ones."""
    from fitkit.journal.geometry import TOLERANCE

    now = {item.name: item.value_mm for item in part.dimensions}
    return [
        f"{name}: was {was:.6f} mm, is "
        + (f"{now[name]:.6f} mm" if name in now else "not there any more")
        for name, was in record.dimensions.items()
        if abs(now.get(name, -1.0) - was) > TOLERANCE
    ]


def _page(
    record: PrintRecord,
    built: Built,
    files: Sequence[str],
    sizes: CompensatedAgain | None,
    notes: Sequence[str],
) -> SheetPage:
    """Gather from the record what the dimensioned sheet shows."""
    from fitkit.export import SheetPage
    from fitkit.solids.picture import picture

    meshes = list(built.assembled.values())
    again = {row.name: row for row in sizes.rows} if sizes else {}
    rows = [
        fit.texts(drawn_mm=now.drawn_now_mm, expected=(now.expected_now_mm, now.U95_now_mm))
        if (now := again.get(fit.name))
        else fit.texts()
        for fit in record.fits
    ]
    return SheetPage(
        title=record.title,
        template=record.template,
        code=record.code,
        made_on=f"{record.made_at:%Y-%m-%d %H:%M %Z}, made again from its record",
        printer=record.printer or "a printer that the record does not name",
        rows=rows,
        notes=(*notes, *record.notes),
        dimensions=built.part.dimensions,
        findings=[_finding(item) for item in record.findings],
        files=files,
        provenance=(
            *(f"readings {file.name}, content {file.sha256[:12]}" for file in record.readings),
            *(f"{name} {version} at the time" for name, version in record.versions.items()),
        ),
        pictures=[("from the front, above", picture(meshes, size=(720, 540), view="iso"))],
    )


def _finding(item: Mapping[str, Any]) -> Finding:
    from dataclasses import fields

    from fitkit.core.finding import Finding

    names = {field.name for field in fields(Finding)}
    kept = {name: value for name, value in item.items() if name in names}
    return Finding(**({"check": "", "severity": "note", "text": ""} | kept))
