"""What the build process is asked to do for a panel, as functions that travel there."""

from __future__ import annotations

import copy
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Self

from fitkit.core.errors import FitkitError
from fitkit.export.scene import build_scene

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from fitkit.checks import CheckContext
    from fitkit.core.finding import Finding
    from fitkit.flow import Plan
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import PrintRecord
    from fitkit.parts.contract import Part, Template
    from fitkit.solids.mesh import FloatArray, Mesh
    from fitkit.widgets.draft import Piece
    from fitkit.widgets.sources import TemplateSource

__all__ = [
    "SheetChecks",
    "Slider",
    "Written",
    "build_scene",
    "draw_ahead",
    "edges_of_prints",
    "make_files",
    "make_trial_piece",
    "write_plain",
]


class Written(NamedTuple):
    """What was written: the trace code (empty without a record), paths, what else to know."""

    code: str
    files: list[str]
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetChecks:
    """All checks of a sheet's part, for the process that builds it.

    Estimates do not travel between processes: what the checks need of them is gathered before, as
    plain numbers.

    Attributes
    ----------
    findings : tuple of Finding
        What is known before anything is built.
    context : CheckContext or None
        Without meshes; None if it could not be gathered.
    error : FitkitError or None
        Why not.
    """

    findings: tuple[Finding, ...] = ()
    context: CheckContext | None = None
    error: FitkitError | None = None

    @classmethod
    def of(cls, plan: Plan) -> Self:
        """Gather what is needed from a solved sheet."""
        from fitkit.make.checking import context_before, known_before

        try:
            return cls(findings=known_before(plan), context=context_before(plan))
        except FitkitError as error:
            return cls(error=error)

    def __call__(self, part: Part, meshes: Mapping[str, Mesh]) -> Iterator[tuple[Finding, ...]]:
        """Check a built part, the cheapest checks first.

        Parameters
        ----------
        part : Part
        meshes : mapping of name to Mesh
            Of bodies and ghosts, in the assembly.

        Yields
        ------
        tuple of Finding
            The next ones that were found.

        Raises
        ------
        FitkitError
            If what the checks need could not be gathered.
        """
        from fitkit.checks import in_turn
        from fitkit.flow.built import mesh_part
        from fitkit.make.checking import with_meshes

        if self.error is not None:
            raise self.error
        if self.context is None:
            return
        yield self.findings
        yield from in_turn(part, with_meshes(self.context, mesh_part(part, meshes)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Slider:
    """A slider of a panel, for the process that draws its values ahead.

    Attributes
    ----------
    source : PartSheet or TemplateSource
        Readings are read again there: estimates do not travel between processes.
    kind : type of Template
    values : mapping
        As typed, of all parameters.
    path : str
    at, steps : int and tuple of float
        Its values in the unit of the field, and where it stands among them.
    bed_mm : (x, y), mm, or None
    """

    source: PartSheet | TemplateSource
    kind: type[Template]
    values: Mapping[str, Any]
    path: str
    at: int
    steps: tuple[float, ...]
    bed_mm: Sequence[float] | None


def draw_ahead(slider: Slider, *, report: Callable[[Piece], None]) -> None:
    """Give the shapes of a slider's values, the nearest first."""
    from fitkit.widgets.draft import pieces
    from fitkit.widgets.panel_model import PanelModel
    from fitkit.widgets.sources import SheetSource, TemplateSource

    _stand_back()
    source: SheetSource | TemplateSource
    if isinstance(slider.source, TemplateSource):
        source = slider.source
    else:
        _know(slider.kind, slider.source)
        source = SheetSource(slider.source)
    model = PanelModel(source)
    model.values = copy.deepcopy(dict(slider.values))

    def build(value: float) -> Part | None:
        if not model.set(slider.path, f"{value:g}", dragging=True) or model.solved is None:
            return None
        try:
            return model.solved.builder.build(dict(model.solved.drawn), title=model.solved.title)
        except Exception:  # the kernel's own errors are many: what cannot be built is not drawn
            return None

    for piece in pieces(build, slider.steps, slider.at, bed_mm=slider.bed_mm):
        report(piece)


def _stand_back() -> None:
    """Let the process that builds what was typed go first."""
    if hasattr(os, "setpriority"):
        os.setpriority(os.PRIO_PROCESS, 0, 5)


def edges_of_prints(records: Sequence[PrintRecord], kind: type[Template]) -> list[list[FloatArray]]:
    """Build prints again and give the drawn edges of each one's bodies."""
    from fitkit.make.remake import rebuild
    from fitkit.parts import register
    from fitkit.parts.meshed import mesh_of
    from fitkit.solids.mesh import feature_edges

    if kind.__module__.split(".")[0] != "fitkit":
        register(kind)
    return [
        [feature_edges(mesh_of(body)).astype("<f4") for body in rebuild(record).bodies]
        for record in records
    ]


def make_files(sheet: PartSheet, kind: type[Template], *, report: Callable[[str], None]) -> Written:
    """Make a sheet's files and its record, whose path is given last."""
    from fitkit.make import make

    _know(kind, sheet)
    made = make(sheet, step=report)
    files = [*map(str, made.files), f"{made.record} (the record of this print)"]
    return Written(made.code, files, made.told)


def make_trial_piece(
    sheet: PartSheet, kind: type[Template], size: str, *, report: Callable[[str], None]
) -> Written:
    """Make the piece of a sheet's part that decides a fit, and its record."""
    from fitkit.make.pieces import make_piece

    _know(kind, sheet)
    made = make_piece(sheet, size, step=report)
    files = [*map(str, made.files), f"{made.record} (the record of this print)"]
    return Written(made.code, files, made.told)


def write_plain(
    template: Template,
    drawn: Mapping[str, float],
    title: str,
    bed_mm: Sequence[float],
    folder: str,
    *,
    report: Callable[[str], None],
) -> Written:
    """Write a template's files without a sheet: no record, so no trace code."""
    from fitkit.core.staged import staged_folder
    from fitkit.export import usual_formats, write_files
    from fitkit.flow.built import mesh_part

    report("building the solids")
    built = mesh_part(template.build(drawn, title=title))
    report("writing files and reading them back")
    with staged_folder(folder) as stage:
        written = write_files(
            built.part,
            built.laid,
            stage,
            bed_mm=bed_mm,
            kinds=usual_formats(),
            metadata={"Title": title},
        )
        names = [path.name for path in written]
    return Written("", [str(Path(folder) / name) for name in names])


def _know(kind: type[Template], sheet: PartSheet) -> None:
    """Make a notebook's own template known here, under its title; let a template file run here.

    The panel that asks for it has run the file's text, so somebody has said yes to it.
    """
    from fitkit.parts import register
    from fitkit.parts.trust import allow

    if own := sheet.template_text():
        allow(own.sha256)
    if kind.__module__.split(".")[0] != "fitkit":
        register(kind)
