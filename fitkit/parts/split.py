"""A body split in two by a plane, with a joint: for parts that are larger than the bed.

The split is a step after a part is built, as a trial piece is. Planes and joints count in the pose
in which the body is printed, so that each half prints as the whole would have: standing joints
(dovetails, along the upright) need no support. Both halves keep their place in the assembly.

- ``dovetail``: tails seen from above, in an upright plane; put together by sliding along the
  upright. Tails and sockets stand beside the middle, so that no half goes in turned round.
- ``dowels``: two bought pins of two diameters, glued; the two diameters key the halves.
- ``tongue and groove``: a tongue all along a level plane, within its walls. A notch in it
  on the front side keys the halves.

The joint's sizes are fit sizes as any other: compensated, with a gap between tail and socket.
Left out: screws across the plane, slanted planes, more than two pieces.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

import numpy as np

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.core.sizes import HOLE, HOLE_LYING, INSIDE, OUTSIDE
from fitkit.parts.contract import Body, Buy, KeyDimension
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm
from fitkit.solids.cut_plane import Along, CutPlane, best_plane, facing, fits_bed

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.sizes import Axis
    from fitkit.parts.contract import Builder, Part, Point
    from fitkit.solids.mesh import FloatArray, Mesh
    from fitkit.solids.profiles import Profile

__all__ = ["BEFORE", "Joint", "Split", "SplitTemplate", "resolved", "split_part", "split_sizes"]

Joint = Literal["dovetail", "dowels", "tongue and groove"]
BEFORE = "split: "  # of the names of its sizes
_SLANT = 0.3  # of a dovetail's side, from square: 17 degrees
_FREE_MM = 0.2  # between a tail's head, a tongue's edge or a dowel's end and the ground before it
_ROUND_MM = 1.2  # least plastic round a dowel; common practice, no source
_BESIDE_MM = 0.8  # least wall beside a tongue: two lines of a nozzle of 0.4 mm
_MOST_TAILS = 6
_KEY_MM, _KEY_AT = 6.0, 0.62  # length of a tongue's notch, and its place as a share of the width
_OFF_MIDDLE = 0.12  # of the pitch: tails stand so far beside the middle
_TIES = (0.0, 0.17, -0.17, 0.31, -0.31)  # shifts that are tried where a tail would come loose


@dataclass(frozen=True, slots=True, kw_only=True)
class Split:
    """Where and how a body is split; lengths in mm.

    Attributes
    ----------
    body : str
        Its name; empty for those that do not fit the bed.
    along : {"x", "y", "z"} or None
        Axis, as the body lies on the bed, that the plane is square to; None to be proposed.
    at_mm : float or None
        From the body's lowest point on that axis; None to be proposed.
    joint : Joint or None
        None for dovetails in an upright plane and dowels in a level one.
    tail_mm, deep_mm : float
        Width of a dovetail at its head, and how far it reaches.
    dowel_mm, dowel_length_mm : float
        The larger of the two pins; the other is 1 mm thinner.
    tongue_mm, tongue_deep_mm : float
        Thickness that a tongue has in a wall of usual thickness, and its height.
    """

    body: str = ""
    along: Along | None = None
    at_mm: float | None = None
    joint: Joint | None = None
    tail_mm: float = 14.0
    deep_mm: float = 7.0
    dowel_mm: float = 5.0
    dowel_length_mm: float = 16.0
    tongue_mm: float = 1.6
    tongue_deep_mm: float = 3.0

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left to be proposed."""
        return bool(self.body and self.along and self.at_mm is not None and self.joint)

    def content(self) -> dict[str, Any]:
        """Give it as plain data, for a record."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


@dataclass(frozen=True, kw_only=True)
class SplitSizes(SizeSet):
    """Sizes of a joint that must fit."""

    tail: FitSize | None = None
    socket: FitSize | None = None
    dowel_hole: FitSize | None = None
    thin_dowel_hole: FitSize | None = None
    tongue: FitSize | None = None
    groove: FitSize | None = None


def split_sizes(split: Split) -> SplitSizes:
    """Declare the sizes of a joint.

    Parameters
    ----------
    split : Split
        With its joint and axis.

    Returns
    -------
    SplitSizes
        Each named ``split: SIZE``.
    """
    if split.joint == "dovetail":
        across: Axis = "y" if split.along == "x" else "x"
        return SplitSizes(
            tail=FitSize(name=f"{BEFORE}tail", nominal_mm=split.tail_mm, kind=OUTSIDE, axis=across),
            socket=_goes_round(
                "socket", split.tail_mm, axis=across, pair="tab and slot", mate=f"{BEFORE}tail"
            ),
        )
    if split.joint == "tongue and groove":
        return SplitSizes(
            tongue=FitSize(name=f"{BEFORE}tongue", nominal_mm=split.tongue_mm, kind=OUTSIDE),
            groove=_goes_round(
                "groove", split.tongue_mm, pair="tab and slot", mate=f"{BEFORE}tongue"
            ),
        )

    def hole(name: str, wide: float) -> FitSize:
        return replace(
            _goes_round(name, wide, pair="peg and hole", mate=None),
            kind=HOLE if split.along == "z" else HOLE_LYING,
        )

    return SplitSizes(
        dowel_hole=hole("dowel hole", split.dowel_mm),
        thin_dowel_hole=hole("thin dowel hole", split.dowel_mm - 1.0),
    )


def _goes_round(
    name: str, nominal: float, *, pair: str, mate: str | None, axis: Any = "xy"
) -> FitSize:
    return FitSize(
        name=BEFORE + name,
        nominal_mm=nominal,
        kind=INSIDE,
        axis=axis,
        sense=1,
        pair=pair,
        behaviour="snug by hand",
        coated_faces=2,
        mate=mate,
    )


def resolved(split: Split, part: Part, bed_mm: Sequence[float] | None) -> tuple[Split, ...]:
    """Fill in what a split leaves open: body, plane, joint.

    Parameters
    ----------
    split : Split
    part : Part
        At any sizes near those that are drawn.
    bed_mm : (x, y, z), mm, or None
        The printer's; None if it is not known.

    Returns
    -------
    tuple of Split
        One for each body that is split, whole: for the one that is named, else for all that do not
        fit the bed, all by the same joint and along the same axis.

    Raises
    ------
    PartError
        If there is no such body, all bodies fit and none is named, or no single plane makes both
        halves fit.
    """
    meshes = {body.name: _laid(body)[0] for body in part.bodies}
    if split.body and split.body not in meshes:
        raise PartError(
            f"there is no body {split.body!r}",
            where=part.title,
            at=("split", "body"),
            code="split.no-body",
            remedy=f"There are: {', '.join(meshes)}.",
        )
    names = [split.body] if split.body else []
    if not names:
        names = [n for n, mesh in meshes.items() if bed_mm and not fits_bed(mesh.size, bed_mm)]
        if len(meshes) == 1:
            names = list(meshes)
        if not names:
            raise PartError(
                "each body fits the bed, and none is named",
                where=part.title,
                at=("split",),
                code="split.nothing-large",
                remedy=f"Leave [split] out, or name a body: {', '.join(meshes)}.",
            )
    found: list[Split] = []
    for name in names:
        # All are cut the same way, so that one joint's sizes count for all.
        like = found[0] if found else split
        along, at = like.along, split.at_mm
        if along is None or at is None:
            plane = _proposed(split, part.title, name, meshes[name], along, bed_mm)
            along, at = plane.along, plane.at_mm if at is None else at
        joint = like.joint or ("dowels" if along == "z" else "dovetail")
        found.append(replace(split, body=name, along=along, at_mm=at, joint=joint))
    return tuple(found)


def _proposed(
    split: Split,
    title: str,
    name: str,
    mesh: Mesh,
    along: Along | None,
    bed_mm: Sequence[float] | None,
) -> CutPlane:
    if not bed_mm:
        raise PartError(
            "the printer's profile does not name its bed, so that no plane can be proposed",
            where=title,
            at=("split",),
            code="split.no-bed",
            remedy='Add bed_mm to the profile, or give along = "x" and at = "120 mm".',
        )
    found = best_plane(mesh, bed_mm, beyond_mm=split.deep_mm + 1.0, along=along)
    if found is None:
        size = " x ".join(f"{x:.0f}" for x in mesh.size)
        raise PartError(
            f"no single plane makes both halves of {name} ({size} mm) fit a bed of "
            f"{' x '.join(f'{x:.0f}' for x in bed_mm)} mm",
            where=title,
            at=("split",),
            code="split.still-too-large",
            remedy="Make the part smaller, or use a larger printer: two cuts are not made.",
        )
    return found


class _Place(NamedTuple):
    """The body as it lies, and the plane there."""

    mesh: Mesh
    rotation: FloatArray
    shift: FloatArray
    axis: int
    at: float  # in the coordinates of the laid body

    def back(self, point: FloatArray) -> Point:
        """Take a point of the laid body to the assembly, mm."""
        x, y, z = ((np.asarray(point, float) - self.shift) @ self.rotation).tolist()
        return x, y, z

    def first(self, point: Point) -> bool:
        """Tell whether a point of the assembly is on the first half's side."""
        laid = self.rotation @ np.asarray(point, float) + self.shift
        return bool(laid[self.axis] < self.at)


def _laid(body: Body) -> tuple[Mesh, FloatArray, FloatArray]:
    from fitkit.parts.meshed import mesh_of
    from fitkit.solids.mesh import lay_flat

    return lay_flat(mesh_of(body, for_files=body.mesh is not None), body.print_turn)


class _Tools(NamedTuple):
    """What a joint adds to the first half out of the second's room, and cuts out of either."""

    tails: list[Any]
    sockets: list[Any]
    holes: list[Any]
    dimensions: list[tuple[str, int, FloatArray, FloatArray]]  # size, half, start, end
    holds_mm2: float
    buys: tuple[Buy, ...] = ()


def split_part(
    part: Part, split: Split, drawn: Mapping[str, float] | None = None, *, shown: bool = True
) -> Part:
    """Split one body of a part.

    Parameters
    ----------
    part : Part
    split : Split
        Whole, as `resolved` gives it.
    drawn : mapping of size name to mm, optional
        Of the joint, as drawn.
    shown : bool
        Whether the joint's sizes are shown as key dimensions: each once in a part.

    Returns
    -------
    Part
        With two bodies ``NAME 1`` and ``NAME 2`` in place of the one.

    Raises
    ------
    PartError
        If there is no such body, the plane misses it, the joint finds no room, or a half would come
        apart.
    """
    if split.body not in [body.name for body in part.bodies]:
        raise PartError(
            f"there is no body {split.body!r}",
            where=part.title,
            at=("split", "body"),
            code="split.no-body",
            remedy=f"There are: {', '.join(body.name for body in part.bodies)}.",
        )
    body = part.body(split.body)
    sizes = split_sizes(split).drawn(drawn, where=part.title)
    mesh, rotation, shift = _laid(body)
    axis = "xyz".index(split.along or "x")
    over = float(mesh.size[axis])
    if split.at_mm is None or not 1.0 <= split.at_mm <= over - 1.0:
        raise PartError(
            f"a plane at {split.at_mm or 0.0:g} mm along {split.along} does not cut {body.name}, "
            f"which is {over:.1f} mm long there as it lies",
            where=part.title,
            at=("split", "at"),
            code="split.misses",
            remedy=f"Give a place between 1 mm and {over - 1.0:.1f} mm.",
        )
    place = _Place(mesh, rotation, shift, axis, float(mesh.bounds[0][axis]) + split.at_mm)
    error: PartError | None = None
    for tie in _TIES if split.joint == "dovetail" else (0.0,):
        tools = _joint(split, sizes, place, part.title, tie)
        try:
            first, second = _halves(body, place, tools, part.title)
        except PartError as caught:
            error = caught
            continue
        return _with_halves(
            part, body, split, sizes if shown else None, place, tools, (first, second)
        )
    assert error is not None
    raise error


# --- the joints ----------------------------------------------------------------------------------


def _joint(split: Split, sizes: SplitSizes, place: _Place, title: str, tie: float) -> _Tools:
    if split.joint == "dovetail":
        return _dovetails(split, sizes, place, title, tie)
    if split.joint == "tongue and groove":
        return _tongue(split, sizes, place, title)
    return _dowels(split, sizes, place, title)


def _cut_frame(place: _Place) -> tuple[Any, FloatArray]:
    """The body turned so that the plane is level, and the rotation that did it."""
    from fitkit.solids.mesh_kernel import manifold_of, placed

    along: tuple[Along, ...] = ("x", "y", "z")
    turn = facing(along[place.axis])
    return placed(manifold_of(place.mesh), turn, np.zeros(3)), turn


def _no_room(title: str, what: str, remedy: str) -> PartError:
    return PartError(what, where=title, at=("split", "joint"), code="split.no-room", remedy=remedy)


def _dovetails(split: Split, sizes: SplitSizes, place: _Place, title: str, tie: float) -> _Tools:
    from fitkit.solids.bodies import extrude
    from fitkit.solids.mesh_kernel import area_of, outlines_at

    if place.axis == 2:
        raise _no_room(
            title,
            "dovetails are for upright planes, and this one is level",
            'Write joint = "dowels" or joint = "tongue and groove".',
        )
    tail, socket = drawn_mm(sizes.tail), drawn_mm(sizes.socket)
    deep = split.deep_mm
    solid, _ = _cut_frame(place)
    # In the turned frame the level axis beside the plane is u (index 0 for x, 1 for y), up is the
    # other one.
    level = 0 if place.axis == 0 else 1
    low, high = place.mesh.bounds
    across = 1 if place.axis == 0 else 0
    begin, end = float(low[across]), float(high[across])
    count = max(1, min(_MOST_TAILS, int((end - begin) / (3.0 * split.tail_mm))))
    pitch = (end - begin) / count
    if pitch < 1.4 * tail:
        raise _no_room(
            title,
            f"a dovetail of {tail:.1f} mm needs {1.4 * tail:.0f} mm across, and the body has "
            f"{end - begin:.0f} mm",
            "Make 'tail' smaller, or choose another joint.",
        )
    shift = (_OFF_MIDDLE + tie) * pitch
    most = max((pitch - tail) / 2 - 1.5, 0.3)
    shift = max(-most, min(most, shift))
    middles = [begin + (i + 0.5) * pitch + shift for i in range(count)]
    bottom, top = float(low[2]) - 1.0, float(high[2]) + 1.0

    def strip(wide: float, middle: float, at: float) -> float:
        box = [-1e4, -1e4, 1e4, 1e4]
        box[level], box[level + 2] = middle - wide / 2, middle + wide / 2
        within = (box[0], box[1], box[2], box[3])
        return area_of(outlines_at(solid, at, within=within))

    neck = tail - 2 * _SLANT * deep
    holds, kept = 0.0, []
    for middle in middles:
        at_neck = strip(neck, middle, place.at + 1e-4)
        at_head = strip(tail, middle, place.at + deep + 0.5)
        if at_neck > 4.0 and at_head > 0.5 * at_neck:
            kept.append(middle)
            holds += at_neck
    if neck < 2.0 or not kept:
        raise _no_room(
            title,
            "no dovetail finds plastic on both sides of the plane",
            "Choose another place, a smaller 'tail', or joint = \"dowels\".",
        )

    def prism(wide: float, middle: float, reach: float) -> Any:
        from fitkit.solids.profiles import polygon

        root = wide - 2 * _SLANT * reach
        points = [
            (place.at - 0.5, middle - root / 2),
            (place.at, middle - root / 2),
            (place.at + reach, middle - wide / 2),
            (place.at + reach, middle + wide / 2),
            (place.at, middle + root / 2),
            (place.at - 0.5, middle + root / 2),
        ]
        if place.axis == 1:
            points = [(b, a) for a, b in reversed(points)]
        return extrude(polygon(points), top - bottom, z=bottom)

    # A socket as much wider all along as at the head, and deeper by what the head keeps free.
    wider = socket - tail
    reach = deep + _FREE_MM
    sockets = [prism(tail + wider + 2 * _SLANT * _FREE_MM, m, reach) for m in kept]
    z = float(low[2] + high[2]) / 2
    ends = []
    for name, wide, half in (("tail", tail, 1), ("socket", socket, 2)):
        start, stop = np.empty(3), np.empty(3)
        for point, sign in ((start, -1), (stop, 1)):
            point[place.axis] = place.at + deep
            point[across] = kept[0] + sign * wide / 2
            point[2] = z
        ends.append((name, half, start, stop))
    return _Tools([prism(tail, m, deep) for m in kept], sockets, [], ends, holds)


def _dowels(split: Split, sizes: SplitSizes, place: _Place, title: str) -> _Tools:
    from fitkit.solids.bodies import extrude, moved, turned
    from fitkit.solids.mesh_kernel import outlines_at, stands_in
    from fitkit.solids.profiles import circle

    solid, turn = _cut_frame(place)
    long = split.dowel_length_mm / 2 + _FREE_MM
    wides = (drawn_mm(sizes.dowel_hole), drawn_mm(sizes.thin_dowel_hole))
    found: list[list[FloatArray]] = []
    for wide in wides:
        able = []
        # Along the rim, and further in where the body narrows beside the plane.
        inner = [
            outline
            for deeper in (0.0, 3.0, 8.0, 15.0)
            for outline in outlines_at(
                solid, place.at + 1e-4, grown_mm=-(wide / 2 + _ROUND_MM + deeper)
            )
        ]
        for outline in inner:
            for point in _along(outline):
                ring = [
                    (math.cos(a) * (wide / 2 + 0.8), math.sin(a) * (wide / 2 + 0.8))
                    for a in np.arange(0, 2 * math.pi, math.pi / 4)
                ]
                depths = (-long - 1.0, -long / 2, long / 2, long + 1.0)
                if all(
                    stands_in(solid, np.array([point[0] + x, point[1] + y, place.at + w]))
                    for w in depths
                    for x, y in ring
                ):
                    able.append(point)
        found.append(able)
    pairs = [(a, b) for a in found[0] for b in found[1]]
    apart = [float(np.linalg.norm(a - b)) for a, b in pairs]
    if not pairs or max(apart) < 2 * wides[0] + 2 * _ROUND_MM:
        raise _no_room(
            title,
            f"the cut has no room for two dowels of {split.dowel_mm:g} and {split.dowel_mm - 1:g} "
            f"mm, {split.dowel_length_mm:g} mm long, with {_ROUND_MM:g} mm of plastic round each",
            "Make 'dowel' or 'dowel_length' smaller, or choose another place or joint.",
        )
    best = max(range(len(pairs)), key=lambda i: round(apart[i], 6))
    holes, ends = [], []
    names = ("dowel hole", "thin dowel hole")
    for name, wide, (u, v) in zip(names, wides, pairs[best], strict=True):
        middle = np.array([u, v, place.at]) @ turn  # back to the laid body
        tool = extrude(circle(wide), 2 * long, z=-long)
        if place.axis == 0:
            tool = turned(tool, y=90)
        elif place.axis == 1:
            tool = turned(tool, x=90)
        holes.append(moved(tool, *middle.tolist()))
        side = np.zeros(3)
        side[(place.axis + 1) % 3] = wide / 2
        ends.append((name, 1, middle - side, middle + side))
    buys = tuple(
        Buy(
            what=f"dowel pin {d:g} mm, {split.dowel_length_mm:g} mm long",
            count=1,
            why=f"joint of {split.body}",
        )
        for d in (split.dowel_mm, split.dowel_mm - 1)
    )
    holds = math.pi / 4 * (split.dowel_mm**2 + (split.dowel_mm - 1) ** 2)
    return _Tools([], [], holes, ends, holds, buys)


def _along(outline: FloatArray) -> list[FloatArray]:
    """Points along an outline, some 40 of them."""
    following = np.roll(outline, -1, axis=0)
    steps = np.linalg.norm(following - outline, axis=1)
    total = float(steps.sum())
    found = []
    for start, end, length in zip(outline, following, steps, strict=True):
        count = max(1, math.ceil(float(length) / max(total / 40, 0.5)))
        found += [start + (end - start) * k / count for k in range(count)]
    return found


def _tongue(split: Split, sizes: SplitSizes, place: _Place, title: str) -> _Tools:
    from fitkit.solids.bodies import extrude
    from fitkit.solids.mesh_kernel import area_of, outlines_at

    if place.axis != 2:
        raise _no_room(
            title,
            "a tongue is for a level plane: in an upright one it would hang over air",
            'Write joint = "dovetail" or joint = "dowels", or along = "z".',
        )
    solid, _ = _cut_frame(place)
    deep = split.tongue_deep_mm
    more_tongue = (drawn_mm(sizes.tongue) - split.tongue_mm) / 2
    more_groove = (drawn_mm(sizes.groove) - split.tongue_mm) / 2
    inset = _BESIDE_MM
    # A notch in the tongue on the front side, and the bit of wall that fills it.
    low, high = place.mesh.bounds
    key_at = float(low[0] + _KEY_AT * (high[0] - low[0]))

    def key(wide: float) -> tuple[float, float, float, float]:
        behind = float(low[1] + high[1]) / 2
        return key_at - wide / 2, float(low[1]) - 1.0, key_at + wide / 2, behind

    level = place.at + 1e-4
    free = max(more_groove - more_tongue, 0.1)
    tongue = outlines_at(
        solid, level, grown_mm=-(inset - more_tongue), without=key(_KEY_MM + 2 * free)
    )
    groove = outlines_at(solid, level, grown_mm=-(inset - more_groove), without=key(_KEY_MM))
    # Walls lean: a groove must lie in the plastic at its ground too.
    whole = area_of(outlines_at(solid, place.at + deep + _FREE_MM))
    shared = area_of(tongue)
    least = 0.15 * area_of(outlines_at(solid, place.at + 1e-4))
    if shared < max(least, 10.0) or whole < shared:
        raise _no_room(
            title,
            f"its walls at the plane are too thin for a tongue with {inset:g} mm beside it on "
            "either side",
            "Make the walls thicker, or choose another place or joint.",
        )
    tails = [extrude(p, deep + 0.5, z=place.at - 0.5) for p in _profiles(tongue)]
    sockets = [extrude(p, deep + _FREE_MM + 0.5, z=place.at - 0.5) for p in _profiles(groove)]
    # As thick as the wall leaves it, so that no one dimension shows it.
    return _Tools(tails, sockets, [], [], shared)


def _profiles(outlines: Sequence[FloatArray]) -> list[Profile]:
    """Sort outlines into plastic with its holes."""
    from fitkit.solids.mesh_kernel import area_of
    from fitkit.solids.profiles import polygon

    outer = [one for one in outlines if area_of([one]) > 0.5]
    holes = [one for one in outlines if area_of([one]) < -0.01]
    found = []
    for one in outer:
        profile = polygon([(float(x), float(y)) for x, y in one])
        inside = [
            polygon([(float(x), float(y)) for x, y in hole[::-1]])
            for hole in holes
            if _lies_in(hole[0], one)
        ]
        found.append(profile.with_holes(*inside) if inside else profile)
    return found


def _lies_in(point: FloatArray, outline: FloatArray) -> bool:
    x, y = point
    a, b = outline, np.roll(outline, -1, axis=0)
    crosses = (a[:, 1] > y) != (b[:, 1] > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = a[:, 0] + (y - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(crosses & (x < at)) % 2)


# --- the halves ----------------------------------------------------------------------------------


def _halves(body: Body, place: _Place, tools: _Tools, title: str) -> tuple[Body, Body]:
    low, high = (corner.copy() for corner in place.mesh.bounds)
    low, high = low - 5.0, high + 5.0
    high[place.axis] = place.at
    names = (f"{body.name} 1", f"{body.name} 2")
    made = (_mesh_halves if body.mesh is not None else _exact_halves)(
        body, place, tools, (low, high), names
    )
    return made[0], made[1]


def _in_pieces(name: str, count: int) -> PartError:
    return PartError(
        f"{name} would come out as {count} pieces",
        at=("split", "at"),
        code="split.in-pieces",
        remedy="Choose another place for the plane, or another joint.",
    )


def _exact_halves(
    body: Body,
    place: _Place,
    tools: _Tools,
    box: tuple[FloatArray, FloatArray],
    names: tuple[str, str],
) -> list[Body]:
    from build123d import Solid

    from fitkit.parts.forms import box as block
    from fitkit.parts.on_shape import angles_of
    from fitkit.parts.pose import print_pose
    from fitkit.solids.bodies import common, cut, fuse, is_valid, moved, solids_in, turned

    whole = print_pose(body)
    side = block(tuple(box[0].tolist()), tuple(box[1].tolist()))
    first = common(whole, fuse(side, *tools.tails) if tools.tails else side)
    second = cut(whole, fuse(side, *tools.sockets) if tools.sockets else side)
    if tools.holes:
        first, second = cut(first, *tools.holes), cut(second, *tools.holes)
    a, b, c = angles_of(place.rotation.T)
    found = []
    for name, half in zip(names, (first, second), strict=True):
        solids = solids_in(half)
        if len(solids) != 1:
            raise _in_pieces(name, len(solids))
        if not is_valid(solids[0]):
            raise PartError(
                f"{name} did not come out as a valid solid",
                at=("split", "at"),
                code="split.not-valid",
                remedy="Move the plane by a millimetre.",
            )
        back = turned(moved(solids[0], *(-place.shift).tolist()), x=a, y=b, z=c)
        found.append(Body(name=name, solid=Solid(back), print_turn=body.print_turn))
    return found


def _mesh_halves(
    body: Body,
    place: _Place,
    tools: _Tools,
    box: tuple[FloatArray, FloatArray],
    names: tuple[str, str],
) -> list[Body]:
    from fitkit.parts.forms import box as block
    from fitkit.parts.meshed import FILE_TOLERANCE_MM
    from fitkit.solids.kernel import tessellate
    from fitkit.solids.mesh_kernel import (
        added,
        coarser,
        common_part,
        cut_out,
        manifold_of,
        mesh_from,
        pieces_of,
        placed,
    )

    def meshed(solid: Any) -> Any:
        return manifold_of(tessellate(solid, tolerance_mm=FILE_TOLERANCE_MM))

    whole = manifold_of(place.mesh)
    side = meshed(block(tuple(box[0].tolist()), tuple(box[1].tolist())))
    first = common_part(whole, added([side, *map(meshed, tools.tails)]))
    second = cut_out(whole, [side, *map(meshed, tools.sockets)])
    if tools.holes:
        holes = [meshed(hole) for hole in tools.holes]
        first, second = cut_out(first, holes), cut_out(second, holes)
    found = []
    for name, half in zip(names, (first, second), strict=True):
        pieces = [one for one in pieces_of(half) if one.volume() > 1.0]
        if len(pieces) != 1:
            raise _in_pieces(name, len(pieces))
        back = placed(half, place.rotation.T, -place.rotation.T @ place.shift)
        found.append(
            Body.of_mesh(name, mesh_from(back), coarse=coarser(back), print_turn=body.print_turn)
        )
    return found


def _with_halves(
    part: Part,
    body: Body,
    split: Split,
    sizes: SplitSizes | None,
    place: _Place,
    tools: _Tools,
    halves: tuple[Body, Body],
) -> Part:
    from fitkit.solids.mesh_kernel import area_at

    def of(point: Point) -> str:
        return halves[0 if place.first(point) else 1].name

    def moved(items: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(
            replace(one, body=of(one.at)) if one.body == body.name else one for one in items
        )

    dimensions = [
        replace(one, body=of(one.start)) if one.body == body.name else one
        for one in part.dimensions
    ]
    by_name = {fit.name: fit for fit in sizes or ()}
    for name, half, start, end in tools.dimensions if sizes else ():
        fit = by_name[BEFORE + name]
        dimensions.append(
            KeyDimension.of(
                fit, body=halves[half - 1].name, start=place.back(start), end=place.back(end)
            )
        )
    solid, _ = _cut_frame(place)
    area = area_at(solid, place.at + 1e-4)
    finding = Finding(
        check="split",
        severity="note",
        text=f"{body.name} is split along {split.along} at {split.at_mm:.1f} mm, as it lies on the "
        f"bed: {area:.0f} mm² are cut, and {tools.holds_mm2:.0f} mm² of that hold by the joint "
        f"({split.joint}). Without glue it bears no more than {_share(tools.holds_mm2, area)} of "
        "what the whole would.",
        value=tools.holds_mm2,
        limit=area,
        unit="mm²",
        basis="areas of this part; the share by area is a bound from above",
        body=halves[0].name,
        remedy="Glue the joint, and let no person's weight or pull go through it.",
    )
    found = [
        replace(one, body=halves[0].name) if one.body == body.name else one for one in part.findings
    ]
    number = [one.name for one in part.bodies].index(body.name)
    bodies = (*part.bodies[:number], *halves, *part.bodies[number + 1 :])
    return replace(
        part,
        bodies=bodies,
        dimensions=tuple(dimensions),
        walls=moved(part.walls),
        arms=moved(part.arms),
        lugs=moved(part.lugs),
        bosses=moved(part.bosses),
        vents=moved(part.vents),
        bridges=moved(part.bridges),
        findings=(*found, finding),
        buys=(*part.buys, *tools.buys),
    )


def _share(part: float, whole: float) -> str:
    return f"{100 * min(part / whole, 1.0):.0f} %" if whole > 0 else "nothing"


@dataclass(frozen=True, slots=True)
class SplitTemplate:
    """A template whose part is split: it builds as a template does."""

    template: Builder
    splits: tuple[Split, ...]

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Build the part, and split it.

        Parameters
        ----------
        drawn : mapping of size name to mm, optional
            Of the template and of the joint.
        title : str

        Returns
        -------
        Part
        """
        of_joint = {name: x for name, x in (drawn or {}).items() if name.startswith(BEFORE)}
        rest = {name: x for name, x in (drawn or {}).items() if name not in of_joint}
        part = self.template.build(rest if drawn is not None else None, title=title)
        for number, split in enumerate(self.splits):
            part = split_part(part, split, of_joint, shown=number == 0)
        return part
