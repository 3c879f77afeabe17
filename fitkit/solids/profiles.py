"""Flat outlines as plain numbers: what a part is drawn from before it gets a height.

A `Loop` is a closed run of corners; the side from one corner to the next is straight, or an arc
given by its bulge (the tangent of a quarter of the arc's angle, positive to the left: the way in
which DXF polylines carry arcs). A `Profile` is one outer loop with holes as inner loops, so that a
plate with forty holes is one extrusion and no boolean. Areas and boxes are exact, by the formulas
of polygons and circle segments, which lets a built solid be held against its numbers.

No kernel here, and no curves beyond lines and arcs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = [
    "Loop",
    "Profile",
    "above_zero",
    "capsule",
    "circle",
    "d_shape",
    "double_d",
    "hexagon",
    "polygon",
    "rectangle",
    "ring",
    "roof",
    "teardrop",
]

Point2 = tuple[float, float]
QUARTER = math.tan(math.pi / 8)  # bulge of a quarter circle


def above_zero(**sizes: float) -> None:
    """Refuse sizes that no solid can have, before the kernel sees them.

    Raises
    ------
    PartError
        Names the first size that is not above zero, with its value.

    Examples
    --------
    >>> above_zero(height=-5.0)
    Traceback (most recent call last):
    fitkit.core.errors.PartError: height: -5 mm is not above 0 mm. Give a larger value.
    """
    for name, value in sizes.items():
        if not 0 < value < math.inf:
            raise PartError(
                f"{value:g} mm is not above 0 mm",
                where=name.replace("_", " "),
                code="profile.not-above-zero",
                remedy="Give a larger value.",
            )


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed outline: corners (x, y, bulge), counter-clockwise.

    Attributes
    ----------
    corners : tuple of (x, y, bulge)
        mm, mm, and the bulge of the side that leaves the corner: 0 straight, 1 a half circle to
        the left of the chord, as seen in the direction of travel on its right side.
    """

    corners: tuple[tuple[float, float, float], ...]

    @property
    def signed_area(self) -> float:
        """Area, mm²; negative if the corners run clockwise."""
        total = 0.0
        for (x, y, bulge), (u, v, _) in self.sides():
            total += 0.5 * (x * v - u * y)
            if bulge:
                angle = 4 * math.atan(bulge)
                radius = math.hypot(u - x, v - y) / (2 * math.sin(angle / 2))
                total += 0.5 * radius * radius * (angle - math.sin(angle))
        return total

    @property
    def length(self) -> float:
        """Length of the way round, mm."""
        total = 0.0
        for (x, y, bulge), (u, v, _) in self.sides():
            # An arc's half angle over its sine, times the chord.
            half = 2 * math.atan(abs(bulge))
            total += math.hypot(u - x, v - y) * (half / math.sin(half) if bulge else 1.0)
        return total

    @property
    def is_circle(self) -> bool:
        """Whether it is one full circle (two half-circle sides)."""
        ends = self.corners
        return len(ends) == 2 and abs(ends[0][2] - 1) < 1e-12 and abs(ends[1][2] - 1) < 1e-12

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Lowest x and y, highest x and y, mm, arcs included."""
        xs, ys = [], []
        for (x, y, bulge), (u, v, _) in self.sides():
            xs.append(x)
            ys.append(y)
            if bulge:
                cx, cy, radius = arc_centre((x, y), (u, v), bulge)
                start = math.atan2(y - cy, x - cx)
                sweep = 4 * math.atan(bulge)
                for quarter in range(-8, 9):
                    turn = (quarter * math.pi / 2 - start) / sweep
                    if 0 < turn < 1:
                        xs.append(cx + radius * math.cos(quarter * math.pi / 2))
                        ys.append(cy + radius * math.sin(quarter * math.pi / 2))
        return min(xs), min(ys), max(xs), max(ys)

    def sides(self) -> Iterable[tuple[tuple[float, float, float], tuple[float, float, float]]]:
        """Each corner with the next."""
        return zip(self.corners, self.corners[1:] + self.corners[:1], strict=True)

    def moved(self, x: float = 0.0, y: float = 0.0) -> Loop:
        """Shift by x and y, mm.

        Parameters
        ----------
        x, y : float, mm

        Returns
        -------
        Loop
            With the same bulges, in the same order.
        """
        return Loop(tuple((a + x, b + y, bulge) for a, b, bulge in self.corners))

    def turned(self, degrees: float) -> Loop:
        """Turn counter-clockwise about the origin."""
        cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return Loop(tuple((a * cos - b * sin, a * sin + b * cos, k) for a, b, k in self.corners))

    def reversed(self) -> Loop:
        """Run the same outline the other way round."""
        bulges = [-k for _, _, k in self.corners]
        points = [(x, y) for x, y, _ in self.corners]
        n = len(points)
        return Loop(tuple((*points[n - 1 - i], bulges[(n - 2 - i) % n]) for i in range(n)))

    def mirrored(self) -> Loop:
        """Mirror in the y axis (x changes sign), still counter-clockwise."""
        return Loop(tuple((-x, y, -k) for x, y, k in self.corners)).reversed()

    def points(self, chord_error_mm: float = 0.02) -> list[Point2]:
        """Give a polygon that follows the arcs within a chord error, mm."""
        path: list[Point2] = []
        for (x, y, bulge), (u, v, _) in self.sides():
            path.append((x, y))
            if not bulge:
                continue
            cx, cy, radius = arc_centre((x, y), (u, v), bulge)
            sweep = 4 * math.atan(bulge)
            step = 2 * math.acos(max(0.0, 1 - chord_error_mm / max(radius, chord_error_mm)))
            count = max(2, math.ceil(abs(sweep) / step))
            start = math.atan2(y - cy, x - cx)
            for i in range(1, count):
                angle = start + sweep * i / count
                path.append((cx + radius * math.cos(angle), cy + radius * math.sin(angle)))
        return path


def arc_centre(start: Point2, end: Point2, bulge: float) -> tuple[float, float, float]:
    """Centre x, y and radius of the arc from start to end with a bulge, mm."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    shift = (1 - bulge * bulge) / (4 * bulge)
    cx, cy = (start[0] + end[0]) / 2 - dy * shift, (start[1] + end[1]) / 2 + dx * shift
    return cx, cy, math.hypot(start[0] - cx, start[1] - cy)


@dataclass(frozen=True, slots=True)
class Profile:
    """One outer loop and any number of holes in it.

    Examples
    --------
    >>> plate = rectangle(20, 10, radius=2).with_holes(circle(3, at=(5, 0)))
    >>> round(plate.area, 3), plate.box
    (189.498, (-10.0, -5.0, 10.0, 5.0))
    """

    outer: Loop
    holes: tuple[Loop, ...] = ()

    @property
    def area(self) -> float:
        """Area without the holes, mm²."""
        return self.outer.signed_area - sum(hole.signed_area for hole in self.holes)

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Lowest x and y, highest x and y, mm."""
        return self.outer.box

    def with_holes(self, *holes: Profile | Loop) -> Profile:
        """Take holes out; they must lie inside and apart, which the built solid is checked for."""
        loops = tuple(hole.outer if isinstance(hole, Profile) else hole for hole in holes)
        return Profile(self.outer, self.holes + loops)

    def moved(self, x: float = 0.0, y: float = 0.0) -> Profile:
        """Shift by x and y, mm.

        Parameters
        ----------
        x, y : float, mm

        Returns
        -------
        Profile
            With its holes.
        """
        return Profile(self.outer.moved(x, y), tuple(hole.moved(x, y) for hole in self.holes))

    def turned(self, degrees: float) -> Profile:
        """Turn counter-clockwise about the origin."""
        return Profile(self.outer.turned(degrees), tuple(h.turned(degrees) for h in self.holes))

    def mirrored(self) -> Profile:
        """Mirror in the y axis (x changes sign)."""
        return Profile(self.outer.mirrored(), tuple(hole.mirrored() for hole in self.holes))

    def filled(self) -> Profile:
        """Close the holes."""
        return Profile(self.outer)


def polygon(points: Sequence[Point2]) -> Profile:
    """Straight-sided outline through points in either direction, mm.

    Raises
    ------
    PartError
        If there are fewer than three points or they enclose nothing.
    """
    loop = Loop(tuple((x, y, 0.0) for x, y in points))
    area = loop.signed_area
    if len(points) < 3 or abs(area) < 1e-9:
        raise PartError(
            f"{len(points)} points enclose no area",
            where="outline",
            code="profile.no-area",
            remedy="Give a closed outline.",
        )
    return Profile(loop if area > 0 else loop.reversed())


def rectangle(
    length: float, width: float, *, radius: float = 0.0, at: Point2 = (0.0, 0.0)
) -> Profile:
    """Rectangle about a centre, its corners rounded if asked.

    Parameters
    ----------
    length, width : float, mm
        Along x and along y.
    radius : float, mm
        Of all four corners; 0 leaves them sharp. Half the shorter side or more is drawn as the
        round-ended shape that it then is.
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile

    Raises
    ------
    PartError
        If a side is not above zero or the radius is negative.
    """
    above_zero(length=length, width=width)
    if radius < 0:
        raise PartError(
            f"{radius:g} mm is below 0 mm",
            where="corner radius",
            code="profile.below-zero",
            remedy="Give 0.",
        )
    a, b, r = length / 2, width / 2, radius
    if r < 1e-6:
        corners = [(-a, -b, 0.0), (a, -b, 0.0), (a, b, 0.0), (-a, b, 0.0)]
        return Profile(Loop(tuple(corners)).moved(*at))
    if r >= min(a, b) - 1e-6:
        if abs(a - b) < 1e-6:
            return circle(length, at=at)
        return capsule(length, width, at=at) if a > b else capsule(width, length, turn=90, at=at)
    corners = [
        (-a + r, -b, 0.0),
        (a - r, -b, QUARTER),
        (a, -b + r, 0.0),
        (a, b - r, QUARTER),
        (a - r, b, 0.0),
        (-a + r, b, QUARTER),
        (-a, b - r, 0.0),
        (-a, -b + r, QUARTER),
    ]
    return Profile(Loop(tuple(corners)).moved(*at))


def circle(diameter: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Full circle of a diameter, mm.

    Parameters
    ----------
    diameter : float, mm
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile
        Of two half circles, which the kernel gets as one round edge.
    """
    above_zero(diameter=diameter)
    r, (x, y) = diameter / 2, at
    return Profile(Loop(((x - r, y, 1.0), (x + r, y, 1.0))))


def ring(outer: float, inner: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Circle with a concentric hole.

    Parameters
    ----------
    outer, inner : float, mm
        Diameters.
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile

    Raises
    ------
    PartError
        If the hole is not smaller than the circle.
    """
    if inner >= outer:
        raise PartError(
            f"bore {inner:g} mm is not below the outer {outer:g} mm",
            where="ring",
            code="profile.bore",
            remedy="Make the bore smaller or the outside larger.",
        )
    return circle(outer, at=at).with_holes(circle(inner, at=at))


def capsule(length: float, width: float, *, turn: float = 0.0, at: Point2 = (0.0, 0.0)) -> Profile:
    """Slot with round ends.

    Parameters
    ----------
    length : float, mm
        Over all. No longer than the width, it is drawn as a circle of the width.
    width : float, mm
    turn : float, degrees
        Of the long way, counter-clockwise from x.
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile
    """
    above_zero(length=length, width=width)
    if length <= width + 1e-9:
        return circle(width, at=at)
    a, r = (length - width) / 2, width / 2
    loop = Loop(((-a, -r, 0.0), (a, -r, 1.0), (a, r, 0.0), (-a, r, 1.0)))
    return Profile(loop.turned(turn).moved(*at))


def d_shape(diameter: float, across: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Circle with one flat on the +x side.

    Parameters
    ----------
    diameter : float, mm
    across : float, mm
        From the flat to the far round, as calipers read a D-shaped shaft.
    at : (x, y), mm
        Centre of the circle.

    Returns
    -------
    Profile

    Raises
    ------
    PartError
        Unless `across` lies between zero and the diameter.
    """
    _check_flat(diameter, across)
    r = diameter / 2
    x = across - r
    y = math.sqrt(max(r * r - x * x, 0.0))
    # From the flat's upper end round the far side to its lower end.
    sweep = 2 * math.pi - 2 * math.atan2(y, x)
    # An arc beyond three quarters of a turn has a large bulge; two halves stay well conditioned.
    half = math.tan(sweep / 8)
    return Profile(Loop(((x, -y, 0.0), (x, y, half), (-r, 0.0, half))).moved(*at))


def double_d(diameter: float, across: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Circle with two parallel flats at ±x.

    Parameters
    ----------
    diameter : float, mm
    across : float, mm
        From flat to flat.
    at : (x, y), mm
        Centre of the circle.

    Returns
    -------
    Profile

    Raises
    ------
    PartError
        Unless `across` lies between zero and the diameter.
    """
    _check_flat(diameter, across)
    r, x = diameter / 2, across / 2
    y = math.sqrt(r * r - x * x)
    bulge = math.tan((math.pi - 2 * math.atan2(y, x)) / 4)
    return Profile(Loop(((x, -y, 0.0), (x, y, bulge), (-x, y, 0.0), (-x, -y, bulge))).moved(*at))


def _check_flat(diameter: float, across: float) -> None:
    above_zero(diameter=diameter, across=across)
    if across >= diameter:
        raise PartError(
            f"{across:g} mm over the flat is not below the diameter {diameter:g} mm",
            where="D shape",
            code="profile.flat",
            remedy="Measure from the flat to the round side, or draw a circle.",
        )


def hexagon(across: float, *, turn: float = 0.0, at: Point2 = (0.0, 0.0)) -> Profile:
    """Regular hexagon.

    Parameters
    ----------
    across : float, mm
        Across flats; across corners is 1.155 times as much.
    turn : float, degrees
        Counter-clockwise; at 0 two flats face ±y.
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile
    """
    above_zero(across=across)
    r = across / math.sqrt(3)
    points = [(r * math.cos(k * math.pi / 3), r * math.sin(k * math.pi / 3)) for k in range(6)]
    return Profile(polygon(points).outer.turned(turn).moved(*at))


def teardrop(diameter: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Round hole that prints lying, +y up in the print: 45° roof, cut flat at the round's top.

    The point is cut off one layer-height-free step above the circle: at 1.1 radii, so that the
    bridge over it is short and a shaft still touches only the round part.

    Parameters
    ----------
    diameter : float, mm
        Of the round part.
    at : (x, y), mm
        Centre of the round part.

    Returns
    -------
    Profile
        As wide as the circle, from one radius below its centre to 1.1 radii above.
    """
    above_zero(diameter=diameter)
    r = diameter / 2
    c, top = r / math.sqrt(2), 1.1 * r
    half = r * math.sqrt(2) - top  # half width of the 45° roof at the cut
    bulge = math.tan(math.radians(135) / 4)
    # The lower 270° as two arcs, then up the roof and over its flat.
    loop = Loop(
        ((-c, c, bulge), (0.0, -r, bulge), (c, c, 0.0), (half, top, 0.0), (-half, top, 0.0))
    )
    return Profile(loop.moved(*at))


def roof(width: float, height: float, *, at: Point2 = (0.0, 0.0)) -> Profile:
    """Upright rectangle with its upper corners cut at 45° by a quarter of the shorter side.

    For openings in an upright wall, +y up: the bridge over the top is shorter than the opening.

    Parameters
    ----------
    width, height : float, mm
        Over all, along x and y.
    at : (x, y), mm
        Its centre.

    Returns
    -------
    Profile
    """
    above_zero(width=width, height=height)
    a, b, c = width / 2, height / 2, min(width, height) / 4
    points = [(-a, -b), (a, -b), (a, b - c), (a - c, b), (-a + c, b), (-a, b - c)]
    return polygon([(x + at[0], y + at[1]) for x, y in points])
