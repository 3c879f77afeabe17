"""A trial piece: of each body only what decides a fit, cut out as it stands in the part.

A long print is tried by a short one: the rim with its lip, a port with its wall, one pocket. The
piece is the finished part's own solid inside a box about the key dimension of a size that must fit,
and about that of its mate. So every face is drawn where the part has it, and what is judged on the
piece counts for the part.

The box is one of a few, from a block about the size to the whole body, that leaves one piece with
both faces of the size on it: of the first that do, the one with the least plastic. It is cut as the
body is printed, below at a whole number of layers above the bed, so that windows keep their layers.
Whether a face is there is asked of the solid: just inside of it there must be plastic, just outside
none.

Left out: how a wall bends that the part holds at more edges than the piece does.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import PartError
from fitkit.solids.bodies import (
    box_of,
    checked,
    common,
    extrude,
    is_valid,
    kernel_names,
    raw,
    solids_in,
    volume_of,
)
from fitkit.solids.mesh import turn_matrix
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.parts.contract import Body, KeyDimension, Part
    from fitkit.parts.fit_size import FitSize
    from fitkit.solids.shape import Shape

    Array = NDArray[np.float64]

__all__ = ["holds", "size_as_built", "sizes_tried", "trial_piece"]

# Plastic kept beyond the faces of a size, and to either side of the line between them, mm: a wall
# and its neighbourhood. Common practice, no source.
BEYOND_MM, BESIDE_MM = 3.5, 4.0
# Of so many pieces that would do, the one with the least plastic is taken.
_COMPARED = 4
# Kept below and above a size, mm: enough for the flare at the bed to stay away from it.
UNDER_MM = 3.0
# A face is where it is said to be if plastic begins within so much of it, mm.
NEAR_MM = (0.003, 0.02)
# A line may be shown in the face that its hole opens into; it is then asked for so much deeper, mm.
_DEEPER_MM = (0.0, 0.3, -0.3, 1.0, -1.0)


def sizes_tried(part: Part, fits: Sequence[FitSize], name: str) -> tuple[str, ...]:
    """Give the sizes that a trial of one size is about: itself and its mate.

    Parameters
    ----------
    part : Part
        As built, with its key dimensions.
    fits : sequence of FitSize
        Of its template.
    name : str
        Of a size that must fit, in any case.

    Returns
    -------
    tuple of str
        Names of fit sizes, each of which the part shows as a key dimension.

    Raises
    ------
    PartError
        If the part has no such size, or does not show where it is.
    """
    shown = {one.name for one in part.dimensions}
    able = [fit.name for fit in fits if fit.name in shown and fit.pair]
    plain = " ".join(name.split()).casefold()
    fit = next((one for one in fits if one.name.casefold() == plain), None)
    if fit is None or fit.name not in shown:
        raise PartError(
            f"no trial piece can be made of {name!r}",
            where=part.title,
            at=("piece",),
            code="part.no-such-piece",
            remedy=f"There are pieces of: {', '.join(able)}."
            if able
            else "This part has no size with a gap.",
        )
    return (fit.name, fit.mate) if fit.mate in shown and fit.mate else (fit.name,)


def trial_piece(
    part: Part,
    fits: Sequence[FitSize],
    name: str,
    *,
    layer_mm: float = 0.2,
    first_layer_mm: float = 0.2,
) -> Part:
    """Cut out of a finished part what decides one fit.

    Parameters
    ----------
    part : Part
    fits : sequence of FitSize
        Of its template, with what was given to be drawn.
    name : str
        Of the size to be tried.
    layer_mm, first_layer_mm : float, mm
        Of the print, so that a cut below lies on whole layers.

    Returns
    -------
    Part
        With the same title and template, the bodies that are needed, and the key dimensions that
        are whole on them. What checks know of walls, arms and the like stays with the whole part.

    Raises
    ------
    PartError
        If there is no such size, or no piece of a body has both of its faces.
    """
    wanted = sizes_tried(part, fits, name)
    lines = {one.name: one for one in part.dimensions}
    by_body: dict[str, list[KeyDimension]] = {}
    for one in wanted:
        by_body.setdefault(lines[one].body, []).append(lines[one])
    bodies = []
    for body in part.bodies:
        if body.name in by_body:
            solid = _cut_out(body, by_body[body.name], layer_mm, first_layer_mm, part.title)
            bodies.append(replace(body, solid=solid, insertion=None))
    kept = {body.name: raw(body.solid) for body in bodies}
    dimensions = tuple(
        one for one in part.dimensions if one.body in kept and holds(kept[one.body], one)
    )
    return replace(
        part,
        bodies=tuple(bodies),
        ghosts=(),
        dimensions=dimensions,
        walls=(),
        arms=(),
        lugs=(),
        bosses=(),
        vents=(),
        bridges=(),
        findings=(),
    )


def holds(solid: Shape, line: KeyDimension, *, near_mm: float = NEAR_MM[-1]) -> bool:
    """Tell whether a solid has both faces of a key dimension.

    Parameters
    ----------
    solid : kernel shape or Solid
    line : KeyDimension
    near_mm : float, mm
        How near to the end of the line the face must be.

    Returns
    -------
    bool
    """
    return _place_of_faces(raw(solid), line, near_mm) is not None


def _place_of_faces(solid: Shape, line: KeyDimension, near_mm: float) -> Array | None:
    """Find where beside its line a size has both faces: the shift of the line; None if nowhere."""
    along = np.array(line.end) - np.array(line.start)
    for deeper in _DEEPER_MM:
        for axis in np.argsort(np.abs(along), kind="stable")[:2] if deeper else (0,):
            shift = np.zeros(3)
            shift[axis] = deeper
            if _faces(solid, line, near_mm, shift):
                return shift
    return None


def _faces(solid: Shape, line: KeyDimension, near_mm: float, shift: Array) -> bool:
    start, end = np.array(line.start) + shift, np.array(line.end) + shift
    along = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    found = []
    for point, outwards in ((start, -along), (end, along)):
        inside = _has_plastic(solid, point - near_mm * outwards)
        outside = _has_plastic(solid, point + near_mm * outwards)
        if inside == outside:
            return False
        found.append(inside)
    return found[0] == found[1]


def _has_plastic(solid: Shape, point: Array) -> bool:
    k = kernel_names()
    asked = k.BRepClass3d_SolidClassifier(solid)
    asked.Perform(k.gp_Pnt(*map(float, point)), 1e-6)
    return bool(asked.State() == k.TopAbs_IN)


def size_as_built(solid: Shape, line: KeyDimension, *, reach_mm: float = 0.5) -> float:
    """Measure a size on a solid: from face to face along its line, by halving.

    Parameters
    ----------
    solid : kernel shape or Solid
    line : KeyDimension
        Near whose ends the faces are.
    reach_mm : float, mm
        How far from an end its face is looked for.

    Returns
    -------
    float, mm
        To a micrometre; nan where a face is not found.
    """
    shape = raw(solid)
    shift = _place_of_faces(shape, line, NEAR_MM[-1])
    if shift is None:
        return math.nan
    start, end = np.array(line.start) + shift, np.array(line.end) + shift
    along = (end - start) / float(np.linalg.norm(end - start))
    places = []
    for point, outwards in ((start, -along), (end, along)):
        low, high = -reach_mm, reach_mm
        first = _has_plastic(shape, point + low * outwards)
        if first == _has_plastic(shape, point + high * outwards):
            return math.nan
        while high - low > 2e-7:
            middle = 0.5 * (low + high)
            same = _has_plastic(shape, point + middle * outwards) == first
            low, high = (middle, high) if same else (low, middle)
        places.append(point + low * outwards)
    return float(np.linalg.norm(places[1] - places[0]))


def _cut_out(
    body: Body, lines: Sequence[KeyDimension], layer_mm: float, first_mm: float, title: str
) -> Any:
    """Cut the smallest piece of a body that has the faces of all these sizes."""
    solid = raw(body.solid)
    near = next((n for n in NEAR_MM if all(holds(solid, one, near_mm=n) for one in lines)), None)
    if near is not None:
        turn = turn_matrix(body.print_turn)
        found: list[Shape] = []
        for low, high in _boxes(solid, lines, turn, layer_mm, first_mm):
            found += [
                piece
                for piece in solids_in(common(solid, _box(low, high, turn)))
                if all(holds(piece, one, near_mm=near) for one in lines) and is_valid(piece)
            ]
            if len(found) >= _COMPARED:
                break
        if found:
            return checked(min(found, key=volume_of), body.name, proved=True)
    raise PartError(
        f"no piece of {body.name!r} has both faces of {', '.join(one.name for one in lines)}",
        where=title,
        at=("piece",),
        code="part.no-piece",
        remedy="Choose another size to try, or print the part.",
    )


def _boxes(
    solid: Shape, lines: Sequence[KeyDimension], turn: Array, layer_mm: float, first_mm: float
) -> Iterator[tuple[Array, Array]]:
    """Give boxes round the sizes as the body is printed, the least first."""
    whole = np.array(list(itertools.product(*zip(*box_of(solid), strict=True)))) @ turn.T
    bottom, top = whole.min(axis=0) - 0.01, whole.max(axis=0) + 0.01
    ends = np.array([(one.start, one.end) for one in lines]) @ turn.T
    along = int(np.abs(np.diff(ends, axis=1)).sum(axis=(0, 1)).argmax())
    choices: list[list[tuple[float, float]]] = []
    for axis in range(3):
        low, high = float(ends[:, :, axis].min()), float(ends[:, :, axis].max())
        if axis == along:
            beside = BEYOND_MM
        else:  # a round size reaches as far to its sides
            round_mm = max((0.5 * one.value_mm for one in lines if one.kind.round), default=0.0)
            beside = BESIDE_MM if round_mm == 0.0 else round_mm + BEYOND_MM
        under = UNDER_MM if axis == 2 and axis != along else beside
        near = (max(low - under, bottom[axis]), min(high + under, top[axis]))
        if axis == 2 and near[0] > bottom[axis]:
            bed = bottom[axis] + 0.01
            layers = math.floor((near[0] - bed - first_mm) / layer_mm + 1e-6)
            near = (bed + first_mm + layers * layer_mm if layers > 0 else bottom[axis], near[1])
        ways = [near]
        if axis != along:  # what crosses a strip, such as a row of slots, may part it
            for times in (1.5, 2.0, 2.5, 3.0):
                wider = near[0] - (times - 1) * beside, near[1] + (times - 1) * beside
                if axis != 2:
                    ways.append((max(wider[0], bottom[axis]), min(wider[1], top[axis])))
        if axis == 2:
            ways.append((bottom[axis], near[1]))
            ways.append((near[0], top[axis]))
        ways.append((bottom[axis], top[axis]))
        choices.append(list(dict.fromkeys(ways)))
    found = [
        (np.array([a for a, _ in box]), np.array([b for _, b in box]))
        for box in itertools.product(*choices)
    ]
    yield from sorted(found, key=lambda box: float(np.prod(box[1] - box[0])))


def _box(low: Array, high: Array, turn: Array) -> Shape:
    """Make a box of the print pose, as it stands in the assembly."""
    k = kernel_names()
    x, y, z = (high - low).tolist()
    middle = (0.5 * (low + high)).tolist()
    shape = extrude(rectangle(x, y, at=(middle[0], middle[1])), z, z=float(low[2]))
    back = k.gp_Trsf()
    rows = [value for row in turn.T for value in (*row.tolist(), 0.0)]
    back.SetValues(*rows)
    return raw(shape).Moved(k.TopLoc_Location(back))
