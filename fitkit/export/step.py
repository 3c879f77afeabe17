"""STEP for exchange with other CAD: exact solids with their names, in assembly position, mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.errors import ExportError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fitkit.parts.contract import Body

__all__ = ["write_step"]


def write_step(path: Path, bodies: Sequence[Body], title: str) -> None:
    """Write the bodies as one assembly.

    Raises
    ------
    ExportError
        If the kernel could not write the file.
    """
    from build123d import Compound, Unit, export_step

    children = []
    for body in bodies:
        copy = body.solid.moved(_nowhere())
        copy.label = body.name
        children.append(copy)
    assembly = Compound(label=title, children=children)
    try:
        written = export_step(assembly, str(path), unit=Unit.MM)
    except RuntimeError:  # how it tells of a full disk
        written = False
    if not written:
        raise ExportError(
            "this file cannot be written",
            where=path.name,
            code="export.not-written",
            remedy="Check that the disk has room and that you may write in the folder.",
        )


def _nowhere() -> object:
    """A move by nothing: a copy that shares the shape, so that naming it leaves the part alone."""
    from build123d import Location

    return Location()
