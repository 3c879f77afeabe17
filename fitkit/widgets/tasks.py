"""What the build process is asked to do for a panel, as functions that travel there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from fitkit.widgets.scene import build_scene

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.flow.sheet import PartSheet
    from fitkit.parts.contract import Part, Template

__all__ = ["SheetChecks", "Written", "build_scene", "make_files", "write_plain"]


class Written(NamedTuple):
    """What was written: the trace code (empty without a record), paths, what else to know."""

    code: str
    files: list[str]
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SheetChecks:
    """All checks of a sheet's part, worked out from the sheet again where they run.

    Estimates do not travel between processes, so the sheet does.
    """

    sheet: PartSheet
    kind: type[Template]

    def __call__(self, part: Part) -> Sequence[Finding]:
        """Check a built part."""
        from fitkit.flow import prepare
        from fitkit.flow.built import mesh_part
        from fitkit.make.checking import check

        _know(self.kind, self.sheet)
        return check(prepare(self.sheet), mesh_part(part))


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
