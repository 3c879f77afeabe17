"""What is wrong with a drawing: words over words, lines through words, anything off the page.

`untrue` measures a drawing's sizes again on the solid, by means that the drawing does not use:
distances of points from the solid, and levels of its corners and of the middles of its arcs.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
from build123d import Compound, Edge, GeomType, Solid, Vertex

from fitkit.drawings.elements import Box, Circle, Line, Words, box_of, words_corners

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.drawings import Drawing
    from fitkit.parts.contract import Body, KeyDimension

MARGIN_MM = 8.0
EXACT_MM = 1e-3


def words_box(words: Words) -> Box:
    (left, low), (right, high) = words_corners(words)
    return Box(left, low, right, high)


def faults(drawing: Drawing) -> list[str]:
    """Give what a draughtsman would send back."""
    found = []
    width, height = drawing.size_mm
    frame = Box(MARGIN_MM - 0.01, MARGIN_MM - 0.01, width - MARGIN_MM + 0.01,
                height - MARGIN_MM + 0.01)  # fmt: skip
    for one in drawing.elements:
        box = box_of([one])
        if (
            box.left < frame.left
            or box.low < frame.low
            or box.right > frame.right
            or box.high > frame.high
        ):
            found.append(f"outside the frame: {one}")
    words = [one for one in drawing.elements if isinstance(one, Words)]
    for a, b in itertools.combinations(words, 2):
        if words_box(a).meets(words_box(b)):
            found.append(f"{a.text!r} lies on {b.text!r}")
    strokes = [
        piece
        for one in drawing.elements
        if isinstance(one, Line) and one.kind in ("dimension", "cut") and not one.filled
        for piece in itertools.pairwise(one.points)
    ]
    sizes = {(one.words.text) for placed in drawing.placed.values() for one in placed}
    found += [
        f"a line passes through {one.text!r}"
        for one in words
        if one.text in sizes and any(words_box(one).crossed_by(*piece) for piece in strokes)
    ]
    assert all(isinstance(one, Line | Circle | Words) for one in drawing.elements)
    return found


def said(drawings: Sequence[Drawing]) -> int:
    """How many key dimensions of the part are written on its drawings."""
    return sum(
        len(one.shown.name.split(", "))
        for drawing in drawings
        for placed in drawing.placed.values()
        for one in placed
        if not one.shown.name.startswith("overall ")
    )


def untrue(drawing: Drawing, body: Body, dimensions: Sequence[KeyDimension]) -> Iterator[str]:
    """Measure what is drawn again on the solid, and give what does not agree to 0.001 mm."""
    solid = body.solid if isinstance(body.solid, Solid) else Solid(body.solid)
    skin = Compound(solid.shells())  # a point inside is as wrong as one outside
    corners = np.array([[v.X, v.Y, v.Z] for v in solid.vertices()])
    arcs = [e for e in solid.edges() if e.geom_type == GeomType.CIRCLE]
    middles = np.array([tuple(e.arc_center) for e in arcs]).reshape(-1, 3)
    radii = np.array([e.radius for e in arcs])
    box = solid.bounding_box(optimal=True)
    half = np.array([(a + b) / 2 for a, b in zip(box.min, box.max, strict=True)])
    extent = dict(zip(("length", "width", "height"), tuple(box.size), strict=True))
    sizes = {one.name: one for one in dimensions if one.body == body.name}
    for placed in drawing.placed.values():
        for one in placed:
            shown = one.shown
            if not one.words.text.endswith(f"{shown.value_mm:.2f}"):
                yield f"{shown.name}: written {one.words.text}"
            if abs(math.dist(shown.start, shown.end) - shown.value_mm) > EXACT_MM:
                yield f"{shown.name}: its lines are not as far apart"
            if shown.name.startswith("overall "):
                if abs(extent[shown.name.removeprefix("overall ")] - shown.value_mm) > EXACT_MM:
                    yield f"{shown.name}: the solid has {extent}"
                continue
            for name in shown.name.split(", "):
                key = sizes[name]
                if abs(key.value_mm - shown.value_mm) > EXACT_MM:
                    yield f"{name}: {key.value_mm} is drawn as {shown.value_mm}"
                if shown.circles:
                    if np.abs(2 * radii - shown.value_mm).min(initial=9.0) > EXACT_MM:
                        yield f"{name}: no circle of the solid is so wide"
                    continue
                if key.kind.round and _round_corners(corners, key) >= 3:
                    continue
                way = np.subtract(key.end, key.start) / key.value_mm
                levels = np.concatenate(
                    [corners @ way, middles @ way, _farthest(arcs, way), [half @ way]]
                )
                for point in (key.start, key.end):
                    level = np.abs(levels - np.dot(point, way)).min()
                    if min(level, skin.distance_to(Vertex(*point))) <= EXACT_MM:
                        continue
                    if key.kind.name != "centres" or not _amid(solid, point, way, box):
                        yield f"{name}: nothing of the solid is level with {point}"


def _round_corners(corners: np.ndarray, key: KeyDimension) -> int:
    """How many corners, such as the tips of a spline, lie on the circle of a round size."""
    middle = (np.array(key.start) + key.end) / 2
    way = np.subtract(key.end, key.start)
    found = 0
    for axis in range(3):
        if abs(way[axis]) < 1e-9:
            off = np.delete(corners - middle, axis, axis=1)
            on = np.abs(2 * np.hypot(*off.T) - key.value_mm) < EXACT_MM
            found = max(found, int(on.sum()))
    return found


def _farthest(arcs: Sequence[Edge], way: np.ndarray) -> np.ndarray:
    """Levels that arcs reach along a direction, at points that they have."""
    found = [
        float(spot @ way)
        for arc in arcs
        for sign in (1.0, -1.0)
        for spot in [np.array(tuple(arc.arc_center)) + sign * arc.radius * way]
        if arc.distance_to(Vertex(*spot)) < 1e-6
    ]
    return np.array(found)


def _amid(solid: Solid, point: tuple[float, float, float], way: np.ndarray, box) -> bool:
    """Tell whether a point is in the middle of an opening: as far from its wall either way."""
    from OCP.gp import gp_Dir, gp_Lin, gp_Pnt
    from OCP.IntCurvesFace import IntCurvesFace_ShapeIntersector

    at = np.array(point, float)
    for axis, (low, high) in enumerate(zip(box.min, box.max, strict=True)):
        # Off the outer face, so that the ray does not run in it.
        at[axis] += 0.3 * (abs(at[axis] - low) < 1e-6) - 0.3 * (abs(at[axis] - high) < 1e-6)
    ray = IntCurvesFace_ShapeIntersector()
    ray.Load(solid.wrapped, 1e-7)
    far = []
    for sign in (1.0, -1.0):
        line = gp_Lin(gp_Pnt(*at), gp_Dir(*(sign * way)))
        ray.PerformNearest(line, 0.0, 1e6)
        far.append(ray.WParameter(1) if ray.NbPnt() else math.inf)
    return abs(far[0] - far[1]) < 2 * EXACT_MM
