"""Sleeve and adapter: joins two round things of measured diameters, with a 45° taper between.

Each end goes over its thing (its inside fits) or into it (its outside fits). The first end can be
slit and drawn together by a screw through two ears. It prints standing on the first end; the taper
is never flatter than 45°, and the clamp screw's hole has a 45° roof.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple

from fitkit.core.sizes import HOLE, PEG
from fitkit.parts.buys import flat_headed, nuts
from fitkit.parts.contract import (
    Body,
    Buy,
    FitSize,
    KeyDimension,
    Length,
    Part,
    Template,
    Wall,
    size,
)
from fitkit.parts.fit_size import SizeSet, drawn_mm, holding
from fitkit.parts.forms import BED_EDGE_MM, Rules, choice, side_text
from fitkit.parts.measuring import FromReadings, Measuring, Reading, UsedWhen
from fitkit.parts.screws import Screw, flat_head_mm, screw_fit, screw_mm
from fitkit.solids.bodies import Shape, checked, extrude, fuse, revolve, turned
from fitkit.solids.profiles import Loop, Profile, circle, polygon, teardrop
from fitkit.solids.sunk import sink
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from collections.abc import Mapping


__all__ = ["Sleeve", "sleeve_form"]

_EAR_MM = 4.0  # thickness of a clamp ear


class SleeveForm(NamedTuple):
    """Radii and heights of a sleeve, mm: inside and outside of both ends, the taper between."""

    first_in: float
    first_out: float
    second_in: float
    second_out: float
    low: float
    high: float
    top: float


def sleeve_form(
    first: float,
    second: float,
    *,
    first_over: bool,
    second_over: bool,
    wall: float,
    lengths: tuple[float, float],
) -> SleeveForm:
    """Lay out a sleeve; its taper is as high as the larger radius step, at least the wall.

    Examples
    --------
    >>> sleeve_form(20, 30, first_over=True, second_over=False, wall=2, lengths=(15, 10))[:4]
    (10.0, 12.0, 13.0, 15.0)
    """
    a, b = first / 2, second / 2
    ends = (a, a + wall) if first_over else (a - wall, a)
    others = (b, b + wall) if second_over else (b - wall, b)
    step = max(abs(others[0] - ends[0]), abs(others[1] - ends[1]))
    rise = max(step, wall) if step > 1e-6 else 0.0
    return SleeveForm(*ends, *others, lengths[0], lengths[0] + rise, lengths[0] + rise + lengths[1])


@dataclass(frozen=True, kw_only=True)
class SleeveSizes(SizeSet):
    """Sizes of a sleeve that must fit."""

    first: FitSize
    second: FitSize
    clamp_hole: FitSize | None = None


class Sleeve(Template):
    """Adapter between two diameters."""

    title: ClassVar[str] = "sleeve"
    summary: ClassVar[str] = "Sleeve or adapter between two measured diameters, with a slit clamp."
    measuring: ClassVar[Measuring] = Measuring(
        readings=(
            Reading(
                feature="first thing",
                round=True,
                note="over what the first end goes over, at two places a quarter turn apart",
            ),
            Reading(
                feature="first bore",
                mode="inside",
                round=True,
                note="inside jaws in what the first end goes into, turned to the largest reading",
            ),
            Reading(
                feature="second thing",
                round=True,
                note="over what the second end goes over, at two places a quarter turn apart",
            ),
            Reading(
                feature="second bore",
                mode="inside",
                round=True,
                note="inside jaws in what the second end goes into, turned to the largest reading",
            ),
        ),
        sizes=(
            FromReadings(parameter="first", text="first_thing", when={"first_fit": ("over",)}),
            FromReadings(parameter="first", text="first_bore", when={"first_fit": ("into",)}),
            FromReadings(parameter="second", text="second_thing", when={"second_fit": ("over",)}),
            FromReadings(parameter="second", text="second_bore", when={"second_fit": ("into",)}),
        ),
        often=("first_length", "second_length", "clamp", "label"),
    )
    used_when: ClassVar[UsedWhen] = {"slit": {"clamp": (True,)}, "screw": {"clamp": (True,)}}

    first: Length = size(
        "20 mm", low="4 mm", high="120 mm", measured=True, help="Diameter at the first end."
    )
    first_fit: Literal["over", "into"] = choice("over", "Goes over or into the first thing.")
    first_length: Length = size("18 mm", low="4 mm", high="120 mm", help="Of the first end.")
    second: Length = size(
        "28 mm", low="4 mm", high="120 mm", measured=True, help="Diameter at the second end."
    )
    second_fit: Literal["over", "into"] = choice("into", "Goes over or into the second thing.")
    second_length: Length = size("15 mm", low="4 mm", high="120 mm", help="Of the second end.")
    wall: Length = size("2.4 mm", low="1.2 mm", high="8 mm", help="Wall of both ends.")
    clamp: bool = choice(False, "Slit the first end and draw it together by a screw.", "Clamp")
    slit: Length = size("2 mm", low="1 mm", high="6 mm", help="Width of the slit.", group="Clamp")
    screw: Screw = choice("M3", "Screw through the ears.", "Clamp")

    def must_fit(self) -> SleeveSizes:
        """Declare the two diameters, and the clamp's hole."""

        def end(value: float, of: str, fit: str) -> FitSize:
            over = fit == "over"
            return holding(value, of, HOLE if over else PEG, pair="peg and hole")

        return SleeveSizes(
            first=end(self.first, "first", self.first_fit),
            second=end(self.second, "second", self.second_fit),
            clamp_hole=screw_fit(self.screw, lying=True) if self.clamp else None,
        )

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the sleeve, standing on its first end."""
        sizes = self.must_fit().drawn(drawn, where=self.title)
        form = sleeve_form(
            sizes.first.drawn_mm,
            sizes.second.drawn_mm,
            first_over=self.first_fit == "over",
            second_over=self.second_fit == "over",
            wall=self.wall,
            lengths=(self.first_length, self.second_length),
        )
        hole = drawn_mm(sizes.clamp_hole, 0.0)
        self._refuse(form, hole)
        f, body = form, "sleeve"
        shape, volume = self._clamped(form, hole) if self.clamp else _turned(form, edge=BED_EDGE_MM)
        shape = checked(shape, body, volume=volume)
        # On the outside of an end that goes over its thing, if there is one: it rubs nowhere.
        ends = [(f.first_out, 0.0, f.low), (f.second_out, f.high, f.top)]
        overs = [
            e
            for e, fit in zip(ends, (self.first_fit, self.second_fit), strict=True)
            if fit == "over"
        ]
        radius, low, high = max(overs or ends, key=lambda end: end[2] - end[1])
        shape, said = side_text(
            shape,
            self.label,
            radius=radius,
            low=low,
            high=high,
            body=body,
            round_deg=120.0 if self.clamp else 300.0,  # beside the clamp's ears
        )

        def key(end: FitSize, z: float) -> KeyDimension:
            return KeyDimension.across(end, (0, 0.0, z), "y", body=body)

        dimensions = [
            key(sizes.first, f.low / 2),
            key(sizes.second, (f.high + f.top) / 2),
        ]
        if sizes.clamp_hole:
            middle = (self._clamp_places(f, hole)[0], self.slit / 2, f.low / 2)
            dimensions.append(
                KeyDimension.of(
                    sizes.clamp_hole,
                    body=body,
                    start=(middle[0] - hole / 2, *middle[1:]),
                    end=(middle[0] + hole / 2, *middle[1:]),
                )
            )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name=body, solid=checked(shape, body, proved=not self.label)),),
            ghosts=self._ghosts(form),
            dimensions=tuple(dimensions),
            walls=(
                Wall(
                    name="wall",
                    body=body,
                    thickness_mm=self.wall,
                    at=(0, (f.first_in + f.first_out) / 2, f.low / 2),
                ),
            ),
            findings=said,
            buys=self._buys(),
        )

    def _clamped(self, form: SleeveForm, hole: float) -> tuple[Shape, float]:
        """First end as a slit ring with ears, pierced by the screw, below what is turned."""
        x, reach = self._clamp_places(form, hole)
        ring = clamp_section(form.first_in, form.first_out, slit=self.slit, reach=reach)
        root = Terrace(ring.outer, form.low, edge=BED_EDGE_MM)
        # Laid over, the ears' faces are level: the hole goes through one ear, then the other. Their
        # y then looks down the print, and the hole's roof away from it.
        pierced, near = turned(terraces(root), x=90), self.slit / 2
        screw = teardrop(hole).turned(180).moved(x, -form.low / 2)
        for z in (near + _EAR_MM, -near):
            pierced = sink(pierced, [screw], z=z, depth=_EAR_MM)
        above, volume = _turned(form, low=form.low)
        volume += root.volume() - 2 * _EAR_MM * screw.area
        return fuse(turned(pierced, x=-90), above, touching=True), volume

    def _clamp_places(self, form: SleeveForm, hole: float) -> tuple[float, float]:
        """Distance of the clamp's screw from the axis, and how far its ears reach, mm."""
        head = flat_head_mm(self.screw)
        x = form.first_out + head / 2 + 0.5
        return x, x + hole / 2 + 0.5

    def _buys(self) -> tuple[Buy, ...]:
        if not self.clamp:
            return ()
        through = 2 * _EAR_MM + self.slit + screw_mm(self.screw)  # a nut is about as thick
        return (
            *flat_headed(self.screw, 1, "clamp", least_mm=through),
            *nuts(self.screw, 1, "clamp"),
        )

    def _ghosts(self, form: SleeveForm) -> tuple[Body, ...]:
        """What goes in; a thing that the sleeve goes into would hide it."""
        ghosts = []
        for name, value, fit, z, long in (
            ("first", self.first, self.first_fit, -self.first_length, 2 * self.first_length),
            ("second", self.second, self.second_fit, form.high, 2 * self.second_length),
        ):
            if fit == "over":
                solid = checked(extrude(circle(value), long - 0.01, z=z), name, proved=True)
                ghosts.append(Body(name=f"{name} thing", solid=solid))
        return tuple(ghosts)

    def _refuse(self, form: SleeveForm, hole: float) -> None:
        rules = Rules(self.title)
        for name, value, radius in (
            ("first", self.first, form.first_in),
            ("second", self.second, form.second_in),
        ):
            rules.at_least(
                name, value, value - 2 * radius + 1.6, "bore of the sleeve", wall=self.wall
            )
        if self.clamp:
            if self.first_fit == "into":
                rules.at_most("slit", self.slit, 0.0, "clamp on an end inside")
            rules.at_least(
                "first_length", self.first_length, hole + 5.0, "clamp screw in the sleeve"
            )
            rules.at_most("slit", self.slit, 0.5 * form.first_in, "slit of the sleeve")
            rules.at_least(
                "first", 2 * form.first_out, self.slit + 2 * _EAR_MM + 1.0, "ears of the sleeve"
            )
        rules.refuse()


def clamp_section(inner: float, outer: float, *, slit: float, reach: float) -> Profile:
    """Ring between two radii, slit along +x between two ears that reach to x = `reach`, mm.

    Examples
    --------
    >>> ring = clamp_section(10.0, 12.0, slit=2.0, reach=20.0)
    >>> [round(mm, 6) for mm in ring.box], len(ring.outer.corners)
    ([-12.0, -12.0, 20.0, 12.0], 10)
    """
    near, far = slit / 2, slit / 2 + _EAR_MM
    root, mouth = math.asin(far / outer), math.asin(near / inner)
    x, u = outer * math.cos(root), inner * math.cos(mouth)
    # Round the outside and back round the bore, each in two arcs, for they pass half a turn.
    out, back = math.tan((math.pi - root) / 4), -math.tan((math.pi - mouth) / 4)
    corners = [
        (reach, near, 0.0),
        (reach, far, 0.0),
        (x, far, out),
        (-outer, 0.0, out),
        (x, -far, 0.0),
        (reach, -far, 0.0),
        (reach, -near, 0.0),
        (u, -near, back),
        (-inner, 0.0, back),
        (u, near, 0.0),
    ]
    return Profile(Loop(tuple(corners)))


def _turned(form: SleeveForm, *, low: float = 0.0, edge: float = 0.0) -> tuple[Shape, float]:
    """Turn a sleeve from a height up, with a chamfer there, and its volume, mm³."""

    def line(first: float, second: float, inwards: float) -> list[tuple[float, float]]:
        taper = [(first, form.low), (second, form.high)] if form.high > form.low else []
        points = [(first - inwards, low), (first, low + edge), *taper, (second, form.top)]
        return list(dict.fromkeys(points))  # without an edge, or above it, some are the same

    outside = line(form.first_out, form.second_out, edge)
    inside = line(form.first_in, form.second_in, -edge)
    volume = _turned_volume(outside) - _turned_volume(inside)
    return revolve(polygon([*outside, *reversed(inside)])), volume


def _turned_volume(points: list[tuple[float, float]]) -> float:
    """Volume under a line of (radius, height) turned about the axis: cones stacked."""
    total = 0.0
    for (a, low), (b, high) in pairwise(points):
        total += math.pi * (high - low) * (a * a + a * b + b * b) / 3
    return total
