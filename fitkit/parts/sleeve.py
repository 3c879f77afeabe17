"""Sleeve and adapter: joins two round things of measured diameters, with a 45° taper between.

Each end goes over its thing (its inside fits) or into it (its outside fits). The first end can be
slit and drawn together by a screw through two ears. It prints standing on the first end; the taper
is never flatter than 45°, and the clamp screw's hole has a 45° roof.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar, Literal, NamedTuple

from fitkit.parts.contract import (
    Body,
    FitSize,
    KeyDimension,
    Length,
    Part,
    SizeKind,
    Template,
    Wall,
    size,
)
from fitkit.parts.forms import Rules, bed_edge, box, choice, side_text
from fitkit.parts.profiles import circle, polygon
from fitkit.parts.screws import Screw, lying_hole, screw_fit, screw_mm
from fitkit.parts.solids import checked, cut, extrude, fuse, revolve

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Sleeve", "SleeveForm", "sleeve_form"]

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


class Sleeve(Template):
    """Adapter between two diameters."""

    title: ClassVar[str] = "sleeve"
    summary: ClassVar[str] = "Sleeve or adapter between two measured diameters, with a slit clamp."

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

    def fit_sizes(self) -> tuple[FitSize, ...]:
        """Name the two diameters, and the clamp's hole."""

        def end(name: str, value: float, fit: str) -> FitSize:
            over = fit == "over"
            return FitSize(
                name=name,
                nominal_mm=value,
                of=name,
                kind="hole" if over else "peg",
                sense=1 if over else -1,
                pair="peg and hole",
                behaviour="slides",
                coated_faces=2,
            )

        fits = (
            end("first", self.first, self.first_fit),
            end("second", self.second, self.second_fit),
        )
        return (*fits, screw_fit("clamp hole", self.screw, lying=True)) if self.clamp else fits

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the sleeve, standing on its first end."""
        sizes = self.drawn_sizes(drawn)
        form = sleeve_form(
            sizes["first"],
            sizes["second"],
            first_over=self.first_fit == "over",
            second_over=self.second_fit == "over",
            wall=self.wall,
            lengths=(self.first_length, self.second_length),
        )
        hole = sizes.get("clamp hole", 0.0)
        self._refuse(form, hole)
        f, body = form, "sleeve"
        levels = [0.0, f.low, f.high, f.top] if f.high > f.low else [0.0, f.top]
        outs = [f.first_out, f.first_out, f.second_out, f.second_out]
        ins = [f.first_in, f.first_in, f.second_in, f.second_in]
        if len(levels) == 2:
            outs, ins = outs[:2], ins[:2]
        right, left = list(zip(outs, levels, strict=True)), list(zip(ins, levels, strict=True))
        volume = _turned_volume(right) - _turned_volume(left)
        section = polygon([*right, *reversed(left)])
        tube = checked(revolve(section), body, volume=volume, proved=True)
        shape, findings = bed_edge(tube, body=body, before=volume)
        reach = 0.0
        if self.clamp:
            head = 2 * screw_mm(self.screw)
            reach = f.first_out + hole / 2 + head / 2 + 1.0
            half = self.slit / 2 + _EAR_MM
            ears = box((0.0, -half, 0.0), (reach, half, f.low))
            # The ears reach to the axis, so that they meet the wall in full; the bore is then cut.
            ears = cut(ears, extrude(circle(2 * (f.first_in + f.first_out) / 2), f.low + 2, z=-1))
            shape = fuse(shape, ears)
            at = (f.first_out + head / 2 + 0.5, -half - 1.0, f.low / 2)
            shape = cut(
                shape,
                box((0.0, -self.slit / 2, -1.0), (reach + 1, self.slit / 2, f.low)),
                lying_hole(hole, 2 * half + 2, at=at, along="y"),
            )
        # On the outside of an end that goes over its thing, if there is one: it rubs nowhere.
        ends = [(f.first_out, 0.0, f.low), (f.second_out, f.high, f.top)]
        overs = [
            e
            for e, fit in zip(ends, (self.first_fit, self.second_fit), strict=True)
            if fit == "over"
        ]
        radius, low, high = max(overs or ends, key=lambda end: end[2] - end[1])
        shape, said = side_text(shape, self.label, radius=radius, low=low, high=high, body=body)

        def key(name: str, fit: str, z: float) -> KeyDimension:
            r = sizes[name] / 2
            kind: SizeKind = "hole" if fit == "over" else "peg"
            return KeyDimension(
                name=name, value_mm=2 * r, body=body, start=(0, -r, z), end=(0, r, z), kind=kind
            )

        dimensions = [
            key("first", self.first_fit, f.low / 2),
            key("second", self.second_fit, (f.high + f.top) / 2),
        ]
        if self.clamp:
            middle = (f.first_out + screw_mm(self.screw) + 0.5, self.slit / 2, f.low / 2)
            dimensions.append(
                KeyDimension(
                    name="clamp hole",
                    value_mm=hole,
                    body=body,
                    start=(middle[0] - hole / 2, *middle[1:]),
                    end=(middle[0] + hole / 2, *middle[1:]),
                    kind="hole_lying",
                )
            )
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name=body, solid=checked(shape, body)),),
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
            findings=(*findings, *said),
        )

    def _ghosts(self, form: SleeveForm) -> tuple[Body, ...]:
        """What goes in; a thing that the sleeve goes into would hide it."""
        ghosts = []
        for name, value, fit, z, long in (
            ("first", self.first, self.first_fit, -self.first_length, 2 * self.first_length),
            ("second", self.second, self.second_fit, form.high, 2 * self.second_length),
        ):
            if fit == "over":
                solid = checked(extrude(circle(value), long - 0.01, z=z), name)
                ghosts.append(Body(name=f"{name} thing", solid=solid))
        return tuple(ghosts)

    def _refuse(self, form: SleeveForm, hole: float) -> None:
        rules = Rules(self.title)
        for name, value, radius in (
            ("first", self.first, form.first_in),
            ("second", self.second, form.second_in),
        ):
            rules.at_least(
                name,
                value,
                value - 2 * radius + 1.6,
                f"walls of {self.wall:.2f} mm leave no bore",
                "Make the wall thinner.",
            )
        if self.clamp:
            if self.first_fit == "into":
                rules.at_most(
                    "slit",
                    self.slit,
                    0.0,
                    "an end that goes into something has no room for clamp ears",
                    "Set clamp to false, or let the first end go over.",
                )
            rules.at_least(
                "first_length",
                self.first_length,
                hole + 5.0,
                "the clamp screw needs material above and below",
                "Make the first end longer, or the screw smaller.",
            )
            rules.at_most(
                "slit",
                self.slit,
                0.5 * form.first_in,
                "the slit would open half the bore",
                "Make it narrower.",
            )
            rules.at_least(
                "first",
                2 * form.first_out,
                self.slit + 2 * _EAR_MM + 1.0,
                "the clamp's ears would be wider than the sleeve",
                "Set clamp to false for so thin a thing.",
            )
        rules.refuse()


def _turned_volume(points: list[tuple[float, float]]) -> float:
    """Volume under a line of (radius, height) turned about the axis: cones stacked."""
    total = 0.0
    for (a, low), (b, high) in pairwise(points):
        total += math.pi * (high - low) * (a * a + a * b + b * b) / 3
    return total
