"""Filled areas of an SVG drawing as flat outlines.

Paths, circles, ellipses, rectangles and polygons count by what they fill, in the order in which
they are drawn: white areas take away from what lies below them. Curves become straight sides.
Lines without a filled area, letters, pictures and parts of other files are refused by name.

A file from somebody else can do no harm: document types and entities are refused before anything
reads it, nothing is loaded from elsewhere, and its size is bounded.
"""

from __future__ import annotations

import io
import math
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.core.errors import PartError
from fitkit.core.given_file import content_of, embedded, name_of

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.solids.profiles import Profile

__all__ = ["read_svg", "thin_share"]

_MOST_BYTES = 2_000_000
_MOST_POINTS = 20_000
_OFF_CURVE = 1e-3  # how far a side may leave its curve, as a share of the drawing's width
_STEPS = 200  # of a curve, at most
_PAPER = 0.9  # lightness from which a fill takes away


def read_svg(file: str | Path, *, width_mm: float) -> tuple[Profile, ...]:
    """Read the filled areas of an SVG drawing, as its reader sees them.

    Parameters
    ----------
    file : str or Path
        Path, or content that `given_file.embedded` took in.
    width_mm : float, mm
        Over all that is filled.

    Returns
    -------
    tuple of Profile
        Apart from one another, their box's middle at the origin, y upwards.

    Raises
    ------
    PartError
        If the file cannot be read, is not safe, fills nothing, or holds what has no filled area.
    """
    return _read(embedded(str(file)), width_mm)


@lru_cache(maxsize=16)
def _read(content: str, width_mm: float) -> tuple[Profile, ...]:
    from fitkit.solids.mesh_kernel import area_of, flat_sum, profiles_of

    where = name_of(content) or None
    if not content:
        raise PartError(
            "no file is named", where=where, code="svg.no-file", remedy="Name an SVG file."
        )
    areas = _areas(_safe(content_of(content), where), where)
    count = sum(len(ring) for rings, _, _ in areas for ring in rings)
    if count > _MOST_POINTS:
        raise PartError(
            f"it has {count} corners, and {_MOST_POINTS} are the most",
            where=where,
            code="svg.too-fine",
            remedy="Simplify its paths in the drawing program.",
        )
    outlines = flat_sum(areas)
    if not outlines or area_of(outlines) <= 0:
        raise PartError(
            "it fills no area",
            where=where,
            code="svg.nothing-filled",
            remedy="Give its shapes a fill; turn lines into paths in the drawing program.",
        )
    low = np.min([ring.min(axis=0) for ring in outlines], axis=0)
    high = np.max([ring.max(axis=0) for ring in outlines], axis=0)
    factor = width_mm / float(high[0] - low[0])
    middle = (low + high) / 2
    return tuple(profiles_of([(ring - middle) * factor for ring in outlines]))


def _safe(data: bytes, where: str | None) -> bytes:
    """Refuse what an XML file of somebody else could do to whoever reads it."""
    from defusedxml import DefusedXmlException  # type: ignore[import-untyped] # ships no types
    from defusedxml.ElementTree import (  # type: ignore[import-untyped] # ships no types
        ParseError,
        fromstring,
    )

    if len(data) > _MOST_BYTES:
        raise PartError(
            f"it has {len(data) / 1e6:.1f} MB, and {_MOST_BYTES / 1e6:.0f} MB are the most",
            where=where,
            code="svg.too-large",
            remedy="Simplify the drawing.",
        )
    try:
        root = fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as error:
        raise PartError(
            "it declares entities, which are not read",
            where=where,
            code="svg.not-safe",
            remedy="Save it as plain SVG.",
        ) from error
    except (ParseError, ValueError) as error:
        raise PartError(
            "this is not an SVG file that can be read",
            where=where,
            code="svg.not-svg",
            remedy="Save it as plain SVG again.",
        ) from error
    tags = {str(element.tag).rpartition("}")[2] for element in root.iter()}
    if str(root.tag).rpartition("}")[2] != "svg":
        raise PartError(
            "this is not an SVG file that can be read",
            where=where,
            code="svg.not-svg",
            remedy="Save it as plain SVG again.",
        )
    words = {"text": "letters", "image": "a picture", "foreignObject": "foreign content",
             "use": "copies of other parts", "script": "a script"}  # fmt: skip
    for tag, word in words.items():
        if tag in tags:
            raise PartError(
                f"it holds {word}, which have no filled area of their own",
                where=where,
                code="svg.no-area",
                remedy="Turn all into plain paths in the drawing program, and save it again.",
            )
    return data


def _areas(data: bytes, where: str | None) -> list[tuple[list[Any], bool, bool]]:
    """Closed rings of each filled shape; whether its fill goes by even and odd, and takes away."""
    import svgelements  # type: ignore[import-untyped] # ships no types

    try:
        drawing = svgelements.SVG.parse(io.BytesIO(data), reify=True, ppi=25.4)
        shapes = [one for one in drawing.elements() if isinstance(one, svgelements.Shape)]
        found, lines = [], 0
        span = max((abs(x) for one in shapes for x in _box(one)), default=1.0) or 1.0
        for one in shapes:
            if one.values.get("visibility") == "hidden" or one.values.get("display") == "none":
                continue
            fill = one.fill
            if fill is None or fill.value is None or fill.opacity == 0:
                lines += 1
                continue
            path = svgelements.Path(one)
            rings = [_ring(sub, _OFF_CURVE * span) for sub in path.as_subpaths()]
            rings = [ring for ring in rings if len(ring) > 2]
            rule = str(one.values.get("fill-rule", "nonzero")) == "evenodd"
            light = (0.2126 * fill.red + 0.7152 * fill.green + 0.0722 * fill.blue) / 255
            if rings:
                found.append((rings, rule, light > _PAPER))
    except (
        ValueError,
        TypeError,
        AttributeError,
        IndexError,
        KeyError,
        ZeroDivisionError,
    ) as error:
        raise PartError(
            "its shapes cannot be read",
            where=where,
            code="svg.not-svg",
            remedy="Save it as plain SVG again.",
        ) from error
    if lines and not found:
        raise PartError(
            "it has lines without a filled area",
            where=where,
            code="svg.nothing-filled",
            remedy="Give its shapes a fill; turn lines into paths in the drawing program.",
        )
    return found


def _box(shape: Any) -> tuple[float, ...]:
    return tuple(map(float, shape.bbox() or (0.0, 0.0, 0.0, 0.0)))


def _ring(path: Any, off: float) -> Any:
    """Corners of one closed part of a path, y upwards."""
    points: list[tuple[float, float]] = []
    for segment in path:
        kind = type(segment).__name__
        if kind == "Move":
            points.append((segment.end.x, segment.end.y))
            continue
        if segment.end is None:
            continue
        steps = 1
        if kind not in ("Line", "Close"):
            # A chord leaves a curve by its step squared over 8 times the second derivative, which
            # is not above that of a circle through what the curve spans.
            box = segment.bbox()
            over = math.hypot(box[2] - box[0], box[3] - box[1])
            steps = min(_STEPS, max(4, math.ceil(math.pi / 2 * math.sqrt(over / (2 * off)))))
        for k in range(1, steps + 1):
            at = segment.point(k / steps)
            points.append((float(at.x), float(at.y)))
    ring = np.array([(x, -y) for x, y in points])
    keep = np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > 1e-9
    return ring[keep]


def thin_share(profiles: tuple[Profile, ...], least_mm: float) -> float:
    """Share of some outlines' area that is thinner than a printed line.

    Parameters
    ----------
    profiles : tuple of Profile
        Of straight sides.
    least_mm : float, mm

    Returns
    -------
    float
        0 to 1.
    """
    from fitkit.solids.mesh_kernel import opened_area

    rings = [
        np.array([corner[:2] for corner in loop.corners])
        for profile in profiles
        for loop in (profile.outer, *(hole.reversed() for hole in profile.holes))
    ]
    whole = sum(profile.area for profile in profiles)
    return max(0.0, 1.0 - opened_area(rings, least_mm) / whole)
