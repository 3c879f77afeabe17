"""Writing a part's files: one call for all wanted formats."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.export.formats import Job, wanted_formats
from fitkit.export.placing import file_name, place

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence
    from pathlib import Path

    from fitkit.export.sheet import SheetPage
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["file_name", "place", "write_files", "write_page"]


def write_files(
    part: Part,
    meshes: Mapping[str, Mesh],
    folder: Path,
    *,
    bed_mm: Sequence[float],
    kinds: Collection[str],
    metadata: Mapping[str, str],
    stem: str = "",
) -> list[Path]:
    """Write a part's bodies into a folder, in the wanted formats.

    Parameters
    ----------
    part : Part
    meshes : mapping of body name to Mesh, mm
        In print pose, as `place` takes them.
    folder : Path
        Must exist; the caller stages it.
    bed_mm : (x, y), mm
    kinds : collection of str
        Names of formats, as `fitkit.export.formats` lists them; `write_page` writes those of pages.
    metadata : mapping of str to str
        Goes into the files that have room for it.
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
    job = Job(
        part=part,
        meshes=meshes,
        folder=folder,
        stem=stem or file_name(part.title),
        bed_mm=bed_mm,
        metadata=metadata,
    )
    return [path for one in wanted_formats(kinds) if one.of != "page" for path in one.write(job)]


def write_page(
    page: SheetPage, part: Part, folder: Path, *, kinds: Collection[str], stem: str = ""
) -> list[Path]:
    """Write the page of what was made, in those of the wanted formats that are of pages.

    Parameters
    ----------
    page : SheetPage
        Names the files that `write_files` wrote.
    part : Part
    folder : Path
        Must exist; the caller stages it.
    kinds : collection of str
        Names of formats.
    stem : str
        As in `write_files`.

    Returns
    -------
    list of Path

    Raises
    ------
    InputError
        If a format is not known.
    """
    job = Job(
        part=part,
        meshes={},
        folder=folder,
        stem=stem or file_name(part.title),
        bed_mm=(),
        metadata={},
        page=page,
    )
    return [path for one in wanted_formats(kinds) if one.of == "page" for path in one.write(job)]
