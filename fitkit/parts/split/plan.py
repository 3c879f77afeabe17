"""Where and how a body is split, and the joint's sizes that must fit."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, Literal

from fitkit.core.sizes import HOLE, HOLE_LYING, INSIDE, OUTSIDE
from fitkit.fits.fasteners import hold_in_plastic
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.solids.cut_plane import Along  # noqa: TC001

if TYPE_CHECKING:
    from fitkit.core.sizes import Axis
    from fitkit.parts.screws import Screw

__all__ = ["BEFORE", "Joint", "Split", "SplitSizes", "split_sizes"]

Joint = Literal["dovetail", "dowels", "tongue and groove"]
BEFORE = "split: "  # of the names of its sizes


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
    screw : str or None
        ``M3``: two screws across the plane besides the joint; None for none.
    screw_into : {"plastic", "insert"}
        What they go into.
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
    screw: Screw | None = None
    screw_into: Literal["plastic", "insert"] = "plastic"

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
    screw_hole: FitSize | None = None
    screw_pilot: FitSize | None = None
    screw_insert_hole: FitSize | None = None


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
    screws = _screws(split)
    if split.joint == "dovetail":
        across: Axis = "y" if split.along == "x" else "x"
        return SplitSizes(
            **screws,
            tail=FitSize(name=f"{BEFORE}tail", nominal_mm=split.tail_mm, kind=OUTSIDE, axis=across),
            socket=goes_round(
                "socket", split.tail_mm, axis=across, pair="tab and slot", mate=f"{BEFORE}tail"
            ),
        )
    if split.joint == "tongue and groove":
        return SplitSizes(
            **screws,
            tongue=FitSize(name=f"{BEFORE}tongue", nominal_mm=split.tongue_mm, kind=OUTSIDE),
            groove=goes_round(
                "groove", split.tongue_mm, pair="tab and slot", mate=f"{BEFORE}tongue"
            ),
        )

    def hole(name: str, wide: float) -> FitSize:
        return replace(
            goes_round(name, wide, pair="peg and hole", mate=None),
            kind=HOLE if split.along == "z" else HOLE_LYING,
        )

    return SplitSizes(
        **screws,
        dowel_hole=hole("dowel hole", split.dowel_mm),
        thin_dowel_hole=hole("thin dowel hole", split.dowel_mm - 1.0),
    )


def _screws(split: Split) -> dict[str, FitSize]:
    """Sizes of the screws across the plane, if there are any; their holes lie in the print."""
    if split.screw is None:
        return {}
    from fitkit.parts.screws import screw_fit

    hold = hold_in_plastic(split.screw)
    found = {"screw_hole": screw_fit(split.screw, name=f"{BEFORE}screw hole", lying=True)}
    if split.screw_into == "plastic":
        found["screw_pilot"] = FitSize(
            name=f"{BEFORE}screw pilot", nominal_mm=hold.pilot_mm, kind=HOLE_LYING
        )
    else:
        found["screw_insert_hole"] = FitSize(
            name=f"{BEFORE}screw insert hole",
            nominal_mm=hold.insert_knurl_mm,
            kind=HOLE_LYING,
            sense=1,
            pair="heat-set insert",
            behaviour="press by tool",
        )
    return found


def goes_round(
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
