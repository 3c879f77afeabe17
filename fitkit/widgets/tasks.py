"""What the build process is asked to do for a panel, as functions that travel there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Self

from fitkit.core.errors import FitkitError
from fitkit.widgets.scene import build_scene

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from fitkit.checks import CheckContext
    from fitkit.core.finding import Finding
    from fitkit.flow import Plan
    from fitkit.flow.sheet import PartSheet
    from fitkit.parts.contract import Part, Template
    from fitkit.solids.mesh import Mesh

__all__ = ["SheetChecks", "Written", "build_scene", "make_files", "write_plain"]


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


def make_files(sheet: PartSheet, kind: type[Template], *, report: Callable[[str], None]) -> Written:
    """Make a sheet's files and its record, whose path is given last."""
    from fitkit.make import make

    _know(kind, sheet)
    made = make(sheet, step=report)
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
