"""Writing a part's files: one call for all wanted formats."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.export.formats import Job, wanted_formats
from fitkit.export.placing import file_name, place

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence
    from pathlib import Path

    from fitkit.export.sheet import SheetPage
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["file_name", "place", "write_bodies", "write_files"]


def write_files(
    part: Part,
    meshes: Mapping[str, Mesh],
    folder: Path,
    *,
    bed_mm: Sequence[float],
    kinds: Collection[str],
    metadata: Mapping[str, str],
    page: Callable[[list[str]], SheetPage] | None = None,
    stem: str = "",
) -> list[Path]:
    """Write a part's files into a folder, in the wanted formats.

    Parameters
    ----------
    part : Part
    meshes : mapping of body name to Mesh, mm
        In print pose, as `place` takes them.
    folder : Path
        Must exist; the caller stages it.
    bed_mm : (x, y), mm
    kinds : collection of str
        Names of formats, as `fitkit.export.formats` lists them.
    metadata : mapping of str to str
        Goes into the files that have room for it.
    page : function of file names, optional
        Makes the page of what was made, once the files that it names are written. It is called only
        if a format of the page is wanted; without it, such formats are left out.
    stem : str
        What the names of the files begin with; that of the part's title if empty.

    Returns
    -------
    list of Path
        In the order in which they were written: the file to print from first.

    Raises
    ------
    InputError
        If a format is not known.
    ExportError
        If a file does not read back as it was meant.
    """
    wanted = wanted_formats(kinds)
    job = Job(
        part=part,
        meshes=meshes,
        folder=folder,
        stem=stem or file_name(part.title),
        bed_mm=bed_mm,
        metadata=metadata,
    )
    written = [path for one in wanted if one.of != "page" for path in one.write(job)]
    pages = [one for one in wanted if one.of == "page"]
    if page is not None and pages:
        shown = replace(job, page=page([path.name for path in written]))
        written += [path for one in pages for path in one.write(shown)]
    return written


def write_bodies(
    part: Part,
    meshes: Mapping[str, Mesh],
    folder: Path,
    *,
    bed_mm: Sequence[float],
    kinds: Collection[str],
    metadata: Mapping[str, str],
) -> list[Path]:
    """Write a part's bodies into a folder: `write_files` without a page.

    Parameters
    ----------
    part, meshes, folder, bed_mm, kinds, metadata
        As `write_files` takes them.

    Returns
    -------
    list of Path

    Raises
    ------
    InputError, ExportError
        As `write_files` does.
    """
    return write_files(part, meshes, folder, bed_mm=bed_mm, kinds=kinds, metadata=metadata)
