"""The table of file formats: for each its name, its suffix, what it is for, and its writer.

Sheets, reprints, panel and lessons ask this table and hold no list of their own. A format is of
`meshes` in print pose, of the exact `solids`, or of the `page` that shows what was made; it is
added by a row in `_SHIPPED`, or from outside by `register_format`.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import InputError
from fitkit.export.placing import file_name, place

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Mapping, Sequence
    from pathlib import Path

    from fitkit.export.sheet import SheetPage
    from fitkit.export.threemf import PlacedMesh
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["Format", "Job", "format_named", "formats", "register_format", "usual_formats"]

Of = Literal["meshes", "solids", "page"]


@dataclass(frozen=True, kw_only=True)
class Job:
    """What a writer is given.

    Attributes
    ----------
    part : Part
        Its bodies are the exact solids, in assembly position, mm.
    meshes : mapping of body name to Mesh, mm
        In print pose.
    folder : Path
        Where to write; it exists.
    stem : str
        What the names of the files begin with.
    bed_mm : (x, y), mm
    metadata : mapping of str to str
        Title, trace code, material and the like.
    page : SheetPage or None
        What was made, for formats of the page.
    """

    part: Part
    meshes: Mapping[str, Mesh]
    folder: Path
    stem: str
    bed_mm: Sequence[float]
    metadata: Mapping[str, str]
    page: SheetPage | None = None

    @cached_property
    def plates(self) -> list[list[PlacedMesh]]:
        """The meshes as they lie on the bed, a list a plate."""
        return place(self.meshes, self.bed_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Format:
    """A file format.

    Attributes
    ----------
    name : str
        What a sheet's ``files`` call it.
    suffix : str
        Of its files, with the point, in small letters.
    purpose : str
        What the file is for, in a few words.
    of : {"meshes", "solids", "page"}
        What it holds. A page is written after the rest, and names the other files.
    write : function of a Job
        Writes one file or more into the job's folder and gives their paths.
    usual : bool
        Whether a sheet that names no files gets it.
    """

    name: str
    suffix: str
    purpose: str
    of: Of
    write: Callable[[Job], list[Path]]
    usual: bool = False


def _plates(job: Job) -> list[Path]:
    from fitkit.export.threemf import write_3mf

    written = []
    for number, bodies in enumerate(job.plates, start=1):
        end = "" if len(job.plates) == 1 else f"-plate{number}"
        path = job.folder / f"{job.stem}{end}.3mf"
        write_3mf(path, bodies, job.metadata)
        written.append(path)
    return written


def _assembly(job: Job) -> list[Path]:
    from fitkit.export.step import write_step

    if any(body.mesh is not None for body in job.part.bodies):
        return []  # triangles have no exact faces
    path = job.folder / f"{job.stem}.step"
    write_step(path, job.part.bodies, job.part.title)
    return [path]


def _bodies(job: Job) -> list[Path]:
    from fitkit.export.stl import write_stl

    written = []
    for name, mesh in job.meshes.items():
        path = job.folder / f"{job.stem}-{file_name(name)}.stl"
        write_stl(path, mesh, f"{job.part.title}, {name}")
        written.append(path)
    return written


def _page(job: Job) -> list[Path]:
    from fitkit.export.sheet import render_sheet

    if job.page is None:
        return []
    path = job.folder / f"{job.stem}.html"
    path.write_text(render_sheet(job.page), encoding="utf-8")
    return [path]


def _drawn(job: Job) -> list[Path]:
    from fitkit.drawings import write_pdf

    if job.page is None or not job.page.drawings:
        return []
    path = job.folder / f"{job.stem}-drawing.pdf"
    write_pdf(path, job.page.drawings, title=f"{job.page.title} {job.page.code}")
    return [path]


def _lines(job: Job) -> list[Path]:
    from fitkit.drawings import write_dxf

    written = []
    for drawing in job.page.drawings if job.page else ():
        path = job.folder / f"{job.stem}-{file_name(drawing.body)}.dxf"
        write_dxf(path, drawing)
        written.append(path)
    return written


def _view(job: Job) -> list[Path]:
    from fitkit.export.view import view_page

    if job.page is None:
        return []
    path = job.folder / f"{job.stem}-view.htm"
    text = view_page(job.part, bed_mm=job.bed_mm, code=job.page.code, made_on=job.page.made_on)
    path.write_text(text, encoding="utf-8")
    return [path]


# In the order in which files are written and shown: the one to print from first.
_SHIPPED = (
    Format(
        name="3mf",
        suffix=".3mf",
        purpose="print from this: mm, names, trace code",
        of="meshes",
        write=_plates,
        usual=True,
    ),
    Format(
        name="step",
        suffix=".step",
        purpose="exact solids, for other drawing programs",
        of="solids",
        write=_assembly,
        usual=True,
    ),
    Format(
        name="stl",
        suffix=".stl",
        purpose="mesh without units, for old slicers; mm",
        of="meshes",
        write=_bodies,
        usual=True,
    ),
    Format(
        name="sheet",
        suffix=".html",
        purpose="page to read or print: sizes, drawings, findings, pictures",
        of="page",
        write=_page,
        usual=True,
    ),
    Format(
        name="drawing",
        suffix=".pdf",
        purpose="dimensioned drawings at true size, a page for each body",
        of="page",
        write=_drawn,
    ),
    Format(
        name="dxf",
        suffix=".dxf",
        purpose="the same drawings as lines, for other drawing programs; mm",
        of="page",
        write=_lines,
    ),
    Format(
        name="view",
        suffix=".htm",
        purpose="page to share: the part turned, cut and measured in any browser, without a net",
        of="page",
        write=_view,
    ),
)
_known = {one.name: one for one in _SHIPPED}


def register_format(one: Format) -> Format:
    """Add a format for as long as this process lives; one of the same name is replaced.

    Raises
    ------
    InputError
        If its suffix is not a point with small letters and digits behind it.
    """
    if not (one.suffix.startswith(".") and one.suffix[1:].isalnum() and one.suffix.islower()):
        raise InputError(
            f"the suffix {one.suffix!r} of the format {one.name!r} is not a file ending",
            code="export.suffix",
            remedy="Write a point, then small letters and digits, such as '.txt'.",
        )
    _known[one.name] = one
    return one


def formats() -> tuple[Format, ...]:
    """All formats, the shipped ones first."""
    return tuple(_known.values())


def usual_formats() -> tuple[str, ...]:
    """Names of the formats that a sheet gets which names no files."""
    return tuple(one.name for one in _known.values() if one.usual)


def format_named(name: str) -> Format:
    """Find a format by its name.

    Raises
    ------
    InputError
        If there is none; the message lists those that there are.
    """
    if name in _known:
        return _known[name]
    near = difflib.get_close_matches(str(name), _known, 1)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise InputError(
        f"{name!r} is not a file format",
        code="export.no-such-format",
        remedy=f"{meant}There are: {', '.join(_known)}.",
    )


def wanted_formats(names: Collection[str]) -> list[Format]:
    """Find formats by their names, in the order of the table, each once.

    Raises
    ------
    InputError
        If there is none of a name.
    """
    wanted = {format_named(name).name for name in names}
    return [one for one in _known.values() if one.name in wanted]
