"""Screw holes of templates: which size must fit, and the tools that cut them.

All that a named screw needs comes from one table (`fasteners_in_plastic`): pilot hole, depth of
thread, insert with its pocket and boss, heads. The drawn hole comes from the screw's size, the
wanted fit and the printer. A countersink has 90° and takes the table's greatest head with some room
for what printed cones lack; where the plate is too thin for it, it steps aside with a finding.
Holes that lie in the print get a 45° roof.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

from fitkit.core.finding import Finding
from fitkit.core.sizes import HOLE, HOLE_LYING
from fitkit.fits.fasteners import fastener, hold_in_plastic
from fitkit.parts.buys import countersunk
from fitkit.parts.contract import FitSize, KeyDimension, Lug
from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.forms import BED_EDGE_MM
from fitkit.solids.bodies import Shape, cut, extrude, fuse, moved, revolve, turned
from fitkit.solids.pierced import pierced
from fitkit.solids.profiles import polygon, teardrop

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.parts.contract import Buy

__all__ = [
    "SUNK_ROOM_MM",
    "Screw",
    "ScrewHoles",
    "countersink_mm",
    "drilled",
    "flat_head_mm",
    "head_mm",
    "insert_depth_mm",
    "lying_hole",
    "screw_fit",
    "screw_mm",
]

Screw = Literal["M2", "M2.5", "M3", "M4", "M5", "M6"]
SUNK_ROOM_MM = 0.8  # over the greatest countersunk head; common practice, no source
# Under an insert, for the melt that it pushes ahead and for the screw's end. Common practice, no
# source.
_UNDER_INSERT_MM = 1.0
_UNDER_HEAD_MM = 0.6  # what must be left of the plate below the cone


def screw_mm(screw: str) -> float:
    """Outer diameter of a screw's thread, mm."""
    return float(screw.removeprefix("M"))


def head_mm(screw: str) -> float:
    """Diameter at the face that a countersunk head takes, mm."""
    return hold_in_plastic(screw).sunk_head_mm + SUNK_ROOM_MM


def flat_head_mm(screw: str) -> float:
    """Diameter of the greatest head with a flat underside: pan or hexagon socket, mm.

    A screwdriver or key as thick as that comes to it.
    """
    return max(hold_in_plastic(screw).pan_head_mm, fastener(screw).head_diameter_mm)


def insert_depth_mm(length_mm: float) -> float:
    """Depth of the pocket for a heat-set insert of a length, mm."""
    return length_mm + _UNDER_INSERT_MM


def screw_fit(
    screw: str, *, name: str = "", lying: bool = False, spacing: tuple[str, ...] = ()
) -> FitSize:
    """Clearance hole of a screw as a size that must fit; named after its attribute by default.

    Parameters
    ----------
    screw : str
    name : str
    lying : bool
        The hole lies in the print.
    spacing : tuple of str
        Names of the sizes that tell how far it is from the others, in what the part is screwed to:
        its holes can be marked through the part.

    Returns
    -------
    FitSize
    """
    hole = FitSize(
        name=name,
        nominal_mm=screw_mm(screw),
        kind=HOLE_LYING if lying else HOLE,
        axis="xy",
        sense=1,
        pair="screw hole",
        behaviour="rotates freely",
    )
    return marked(hole, spacing) if spacing else hole


def marked(hole: FitSize, spacing: tuple[str, ...]) -> FitSize:
    """Say of a screw's hole how far it is from the others in what the part is screwed to.

    Parameters
    ----------
    hole : FitSize
    spacing : tuple of str
        Names of the sizes that tell it.

    Returns
    -------
    FitSize
        Whose counterparts are marked through the part.
    """
    return replace(hole, placed_by=spacing, spaced=True, counterpart="marked through")


def countersink_mm(
    *, hole: float, head: float, plate: float, body: str
) -> tuple[float, tuple[Finding, ...]]:
    """Depth of a 90° countersink for a head of a diameter, mm; 0 and a finding in too thin a plate.

    Examples
    --------
    >>> countersink_mm(hole=3.5, head=6.5, plate=3, body="panel")
    (1.5, ())
    """
    sunk = max(head - hole, 0.0) / 2
    if not sunk or plate >= sunk + _UNDER_HEAD_MM:
        return sunk, ()
    left_off = Finding(
        check="build",
        severity="note",
        text=f"The countersinks are left off: {plate:.1f} mm of plate is too thin "
        f"for a head of {head:.1f} mm.",
        value=plate,
        untold=("limit",),
        limit=sunk + _UNDER_HEAD_MM,
        unit="mm",
        basis="geometry of this part",
        body=body,
        remedy="Make the plate thicker, or use screws with a flat underside.",
    )
    return 0.0, (left_off,)


def drilled(
    shape: Shape,
    places: Iterable[tuple[float, float]],
    *,
    hole: float,
    top: float,
    bottom: float = 0.0,
    head: float = 0.0,
    edge: float = 0.0,
    lying: bool = False,
    body: str,
) -> tuple[Shape, tuple[Finding, ...]]:
    """Drill holes along z through a plate, sunk at the top for a head.

    Parameters
    ----------
    shape : kernel shape of one solid
    places : (x, y), mm
    hole, head : float, mm
        Drawn hole, and head diameter at the top face; 0 for none.
    top, bottom : float, mm
        Heights of the plate's faces.
    edge : float, mm
        Leg of a chamfer at the bottom.
    lying : bool
        The hole lies in the print, whose upper side is at -y here: it gets its roof there.
    """
    places = list(places)
    if not places:
        return shape, ()
    sunk, findings = countersink_mm(hole=hole, head=head, plate=top - bottom, body=body)

    def tools(over: float) -> list[Shape]:
        if lying:
            tool = _lying_tool(hole, sunk, top, bottom, over)
        else:
            tool = _upright_tool(hole, sunk, edge, top, bottom, over)
        return [moved(tool, x, y) for x, y in places]

    made = pierced(shape, tools(0.0), top=top, bottom=bottom)
    # Cut, the tools stand out at both ends, so that no two faces coincide.
    return (cut(shape, *tools(1.0)) if made is None else made), findings


@dataclass(frozen=True, slots=True, kw_only=True)
class ScrewHoles:
    """Like holes for countersunk screws that hold a plate to what it stands on.

    Attributes
    ----------
    screw : str
        ``M3``.
    size : FitSize or None
        Of the holes, as drawn; None where there are none.
    spots : sequence of (x, y), mm
        Their middles.
    top : float, mm
        Thickness of the plate, whose underside is at z = 0.
    body : str
    lying : bool
        The holes lie in the print: they have a roof, and no edge at the bed.
    """

    screw: str
    size: FitSize | None
    spots: Sequence[tuple[float, float]]
    top: float
    body: str
    lying: bool = False

    @property
    def head_mm(self) -> float:
        """Diameter that a head takes of the face, or the hole where that is wider, mm."""
        return max(head_mm(self.screw), drawn_mm(self.size, 0.0))

    def into(
        self, shape: Shape, spots: Iterable[tuple[float, float]] | None = None
    ) -> tuple[Shape, tuple[Finding, ...]]:
        """Drill them, sunk for the heads at the upper face.

        Parameters
        ----------
        shape : kernel shape of one solid
        spots : (x, y), mm, optional
            Their middles in the frame in which the shape is drawn, where that is another one.

        Returns
        -------
        shape, tuple of Finding
        """
        return drilled(
            shape,
            self.spots if spots is None else spots,
            hole=drawn_mm(self.size, 0.0),
            top=self.top,
            head=head_mm(self.screw),
            edge=0.0 if self.lying else BED_EDGE_MM,
            lying=self.lying,
            body=self.body,
        )

    def dimensions(
        self,
        *spacings: FitSize | None,
        along: Literal["x", "y"] = "x",
        z_mm: float | None = None,
    ) -> tuple[KeyDimension, ...]:
        """Show the first hole at the underside, and how far it is from the others.

        Parameters
        ----------
        *spacings : FitSize or None
            As drawn: along x or y the middle of the plate is half way; otherwise it is to the next
            hole.
        along : {"x", "y"}
            The direction in which the hole itself is read.
        z_mm : float, mm, optional
            Height of the face that they are read on; the underside's if not given.

        Returns
        -------
        tuple of KeyDimension
        """
        if self.size is None:
            return ()
        (x, y), low = self.spots[0], z_mm or 0.0
        z = low if self.lying or z_mm is not None else BED_EDGE_MM
        found = [KeyDimension.across(self.size, (x, y, z), along, body=self.body)]
        for one in filter(None, spacings):
            u, v = self.spots[1] if one.axis == "xy" else (-x, y) if one.axis == "x" else (x, -y)
            found.append(KeyDimension.of(one, body=self.body, start=(x, y, low), end=(u, v, low)))
        return tuple(found)

    def lugs(
        self,
        reach_mm: float | Sequence[float],
        width_mm: float,
        *,
        names: Sequence[str],
        out: Literal["x", "y", "all"] = "x",
    ) -> tuple[Lug, ...]:
        """Give the bits of plate round them as lugs, for the checks.

        Parameters
        ----------
        reach_mm : float or one a hole, mm
            From the wall that it stands out of to the hole.
        width_mm : float, mm
        names : sequence of str
            One a hole.
        out : {"x", "y", "all"}
            The direction in which they stand out of the body in the middle.

        Returns
        -------
        tuple of Lug
        """
        reaches = reach_mm if not isinstance(reach_mm, float) else [reach_mm] * len(self.spots)

        def outward(x: float, y: float) -> tuple[float, float, float]:
            if out == "all":
                return x / math.hypot(x, y), y / math.hypot(x, y), 0.0
            x, y = (x, 0.0) if out == "x" else (0.0, y)
            return (math.copysign(1.0, x), 0.0, 0.0) if x else (0.0, math.copysign(1.0, y), 0.0)

        return tuple(
            Lug(
                name=name,
                body=self.body,
                reach_mm=reach,
                width_mm=width_mm,
                thickness_mm=self.top,
                hole_mm=drawn_mm(self.size),
                at=(x, y, self.top / 2),
                along=outward(x, y),
            )
            for name, reach, (x, y) in zip(names, reaches, self.spots, strict=True)
        )

    def buys(self, why: str) -> tuple[Buy, ...]:
        """Say which screws have to be there.

        Parameters
        ----------
        why : str
            What they are for.

        Returns
        -------
        tuple of Buy
        """
        return countersunk(self.screw, len(self.spots) if self.size else 0, why)


def _upright_tool(
    hole: float, sunk: float, edge: float, top: float, bottom: float, over: float
) -> Shape:
    """Body of a round hole; it stands out by `over` at both ends."""
    r, low, high = hole / 2, bottom - over, top + over
    mouth = [(r + edge + over, low), (r, bottom + edge)] if edge else [(r, low)]
    cone = [(r, top - sunk), (r + sunk + over, high)] if sunk else [(r, high)]
    return revolve(polygon([(0, low), *mouth, *cone, (0, high)]))


def _lying_tool(hole: float, sunk: float, top: float, bottom: float, over: float) -> Shape:
    """Body of a hole with its roof at -y; it stands out by `over` at both ends."""
    r, low, drop = hole / 2, bottom - over, teardrop(hole).turned(180)
    if sunk < 0.3 * r:  # narrower than the roof, or none
        return extrude(drop, top + over - low, z=low)
    # The roof's corners are 1.15 radii out: the prism ends where the cone is wider. The cone begins
    # within the hole, so that the two share more than an edge.
    start, high = min(r / 2, _UNDER_HEAD_MM / 2), top + over
    cone = [(0, top - sunk - start), (r - start, top - sunk - start)]
    cone += [(r + sunk + over, high), (0, high)]
    return fuse(extrude(drop, top - sunk + 0.2 * r - low, z=low), revolve(polygon(cone)))


def lying_hole(
    diameter: float, length: float, *, at: tuple[float, float, float], along: Literal["x", "y"]
) -> Shape:
    """Tool for a hole along x or y from `at` in the positive direction, its roof towards +z."""
    prism = extrude(teardrop(diameter), length)
    # x=90 takes the roof from +y to +z and the prism to -y; the turn about z then aims it.
    return moved(turned(prism, x=90, z=90 if along == "x" else 180), *at)
