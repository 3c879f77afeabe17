"""What the notebooks need beside the rooms: a bench of their own to work on, and pictures of parts.

A lesson works on a fresh copy of the demo's readings, journal, profiles and instruments, so that it
can be run again from the top, and so that what it makes never mixes with the originals.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from PIL.Image import Image

    from fitkit.flow.sheet import PartSheet
    from fitkit.parts.contract import Part, Template

__all__ = ["fresh_bench", "made_files", "part_picture", "sheet_of"]


def fresh_bench(name: str, *, source: str | Path | None = None) -> Path:
    """Copy the demo's measurements and shared files into a folder of the lesson's own.

    Parameters
    ----------
    name : str
        Of the lesson. The folder is ``made/name`` below the current one; an older one is replaced.
    source : path, optional
        Folder that holds ``measurements`` and ``shared``; the project's own if not given.

    Returns
    -------
    Path
        The copy's ``measurements``, relative to the current folder.

    Raises
    ------
    WorkshopError
        If there is no demo to copy.
    """
    from fitkit.demo import copy_demo

    bench = Path("made") / name
    shutil.rmtree(bench, ignore_errors=True)
    return copy_demo(bench, source=source)


def made_files(folder: str | Path) -> dict[str, str]:
    """Name the files of a folder, each with what it is for, the one to print from first."""
    from fitkit.export import formats

    uses = {one.suffix: one.purpose for one in formats()} | {
        ".csv": "readings",
        ".toml": "profile of a printer, or part sheet",
        ".json": "record of the journal",
        ".svg": "label",
        ".pdf": "page for the binder",
        ".png": "picture",
    }
    # Some are known by their names.
    named = {
        "coupon_order.html": "page to print: what to read, where, with which jaws",
        "coupon_readings.csv": "a row waiting for each reading",
        "journal.html": "page of the journal, for the binder",
        "journal.pdf": "the same page as PDF",
        "tag.svg": "label for the bin",
    }
    order = list(uses)
    files = [path for path in Path(folder).iterdir() if path.suffix in uses]
    files.sort(key=lambda path: (order.index(path.suffix), path.name))
    return {path.name: named.get(path.name, uses[path.suffix]) for path in files}


def sheet_of(template: Template, *, title: str, folder: Path, **rest: Any) -> PartSheet:
    """Make a part sheet from a template with its values; `rest` are the sheet's other keys.

    The label is left to the sheet's run, which sinks the trace code in.

    Parameters
    ----------
    template : Template
        With its values.
    title : str
        The maker's name for the part.
    folder : Path
        Where the sheet lies, though it is not written.
    **rest
        Other keys of the sheet.

    Returns
    -------
    PartSheet
    """
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal.plain import typed_values

    values = typed_values(template)
    if not values["label"]:
        del values["label"]
    return PartSheet(title=title, template=template.title, values=values, folder=folder, **rest)


def part_picture(part: Part, *, view: str = "iso", size: tuple[int, int] = (800, 520)) -> Image:
    """Draw a built part's bodies in their places.

    Parameters
    ----------
    part : Part
    view : str
        One of `fitkit.solids.picture.VIEWS`.
    size : (width, height), pixels

    Returns
    -------
    PIL.Image.Image
    """
    from fitkit.parts.meshed import mesh_of
    from fitkit.solids.picture import picture

    return picture([mesh_of(body) for body in part.bodies], size=size, view=view)
