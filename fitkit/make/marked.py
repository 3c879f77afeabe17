"""A picture of a print with its fits marked: what a trial form shows beside the verdicts.

The part is built from its record, its bodies are lifted apart, and each size that was to fit gets
its line, and a number beside it that lies on no other number.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from fitkit.journal.records import PrintRecord
    from fitkit.parts.contract import Template
    from fitkit.solids.mesh import FloatArray

__all__ = ["Mark", "Marked", "marked_picture", "own_kind"]

SIZE_PX = (640, 460)
_RADIUS_PX = 12.0
_BETWEEN_PX = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """Where a size lies on the picture, px from its upper left corner.

    Attributes
    ----------
    name : str
        Of the fit.
    start, end : (x, y), px
        Ends of its line.
    at : (x, y), px
        Middle of its number.
    """

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    at: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Marked:
    """The picture as PNG, and its marks in the order of the record's fits."""

    png: bytes
    size: tuple[int, int]
    marks: tuple[Mark, ...]


def marked_picture(record: PrintRecord, kind: type[Template] | None = None) -> Marked:
    """Draw a print with its fits marked.

    Parameters
    ----------
    record : PrintRecord
    kind : Template class, optional
        Of a notebook, which no other process knows.

    Returns
    -------
    Marked

    Raises
    ------
    FitkitError
        As `fitkit.make.remake.rebuild`.
    """
    from fitkit.flow.built import mesh_part
    from fitkit.make.page import lifted_apart
    from fitkit.make.remake import rebuild
    from fitkit.parts import register
    from fitkit.solids.picture import on_picture, picture

    if kind is not None:
        register(kind)
    part = rebuild(record)
    apart = lifted_apart(mesh_part(part).assembled)
    meshes = [mesh for mesh, _ in apart.values()]
    image = picture(meshes, size=SIZE_PX)
    stream = io.BytesIO()
    image.save(stream, "PNG", optimize=True)
    dimensions = {one.name: one for one in part.dimensions if one.body in apart}
    found = [dimensions[fit.name] for fit in record.fits if fit.name in dimensions]
    points = np.array(
        [
            np.add(point, (0.0, 0.0, apart[one.body][1]))
            for one in found
            for point in (one.start, one.end)
        ]
    ).reshape(-1, 3)
    ends = on_picture(meshes, points, size=SIZE_PX).reshape(-1, 2, 2)
    places = _apart(ends)
    marks = tuple(
        Mark(name=one.name, start=_pair(line[0]), end=_pair(line[1]), at=_pair(place))
        for one, line, place in zip(found, ends, places, strict=True)
    )
    return Marked(png=stream.getvalue(), size=SIZE_PX, marks=marks)


def own_kind(title: str) -> type[Template] | None:
    """Give a template that a notebook registered, to hand it to another process; else None.

    Parameters
    ----------
    title : str

    Returns
    -------
    Template class or None
    """
    from fitkit.core.errors import FitkitError
    from fitkit.parts import template

    try:
        kind = template(title)
    except FitkitError:
        return None
    return None if kind.__module__.split(".")[0] == "fitkit" else kind


def _apart(ends: FloatArray) -> list[FloatArray]:
    """Put each number at its line's middle or as near to it as others leave room."""
    placed: list[FloatArray] = []
    low, high = np.full(2, _RADIUS_PX + 1), np.subtract(SIZE_PX, _RADIUS_PX + 1)
    least = 2 * _RADIUS_PX + _BETWEEN_PX
    for line in ends:
        middle = line.mean(axis=0)
        tries = [middle] + [
            middle + out * np.array([math.cos(turn), math.sin(turn)])
            for out in np.arange(least, 30 * least, least / 2)
            for turn in np.linspace(-math.pi / 2, 1.5 * math.pi, 16, endpoint=False)
        ]
        inside = (spot for spot in tries if np.all(spot >= low) and np.all(spot <= high))
        free = (
            spot
            for spot in inside
            if all(float(np.hypot(*(spot - other))) >= least for other in placed)
        )
        placed.append(next(free, middle))
    return placed


def _pair(point: FloatArray) -> tuple[float, float]:
    return round(float(point[0]), 1), round(float(point[1]), 1)
