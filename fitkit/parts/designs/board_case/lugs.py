"""Where the screw-down ears stand beside a case: clear of the cable, and of plugs if they can.

Left and right are tried first, then front and back.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import TYPE_CHECKING, Literal, NamedTuple

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import ear_mm
from fitkit.parts.designs.board_case.sizes import placed
from fitkit.parts.fit_size import drawn_mm

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.openings import Opening

__all__ = ["Ear", "lug_findings", "lug_places", "lug_reach", "lug_sizes"]

WallName = Literal["left", "right", "front", "back"]
_GRIP_MM = 2.0  # common practice, no source: how far a plug's grip stands out round it, at least


class Ear(NamedTuple):
    """One ear: the wall that it stands at, and its place along x or y, mm."""

    wall: WallName
    at: float

    @property
    def outward(self) -> tuple[float, float, float]:
        """Direction from the wall to the ear's hole."""
        return {
            "left": (-1.0, 0.0, 0.0),
            "right": (1.0, 0.0, 0.0),
            "front": (0.0, -1.0, 0.0),
            "back": (0.0, 1.0, 0.0),
        }[self.wall]

    def foot(self, form: Form) -> tuple[float, float]:
        """Place in the plane where it leaves the wall, mm."""
        x, y, _ = self.outward
        half_x, half_y = form.outside[0] / 2, form.outside[1] / 2
        return (x * half_x, self.at) if x else (self.at, y * half_y)


def lug_sizes(form: Form) -> tuple[float, float, float]:
    """Thickness, width, and reach from wall to hole at nominal sizes, mm."""
    screw = form.case.lug_screw
    return max(3.0, form.case.floor), 2 * screw + 4.0, screw + 3.0


def lug_places(form: Form) -> list[Ear]:
    """Find the walls and places of the ears.

    Raises
    ------
    PartError
        If no two walls have room for them.
    """
    case = form.case
    if not case.lugs:
        return []
    for by_plugs in (False, True):
        for pair in (("left", "right"), ("front", "back")):
            found = [_on_wall(form, wall, by_plugs=by_plugs) for wall in pair]
            if all(found):
                return [ear for ears in found for ear in _apart(form, ears)]
    raise PartError(
        f"{case.lugs} ears find no room beside the cable's shelf, the vents and the lid's screws",
        where=case.title,
        at=("lugs",),
        code="part.no-room-for-lugs",
        remedy="Move the cable along its wall, ask for two ears, or leave them out.",
    )


def lug_reach(form: Form, ear: Ear) -> float:
    """How far the hole of an ear is from its wall, mm: as its spacing is drawn."""
    fit, axis = form.drawn.lug_spacing, "x" if ear.outward[0] else "y"
    if fit is None or fit.axis != axis:
        return lug_sizes(form)[2]
    return (fit.drawn_mm - form.outside[0 if axis == "x" else 1]) / 2


def _apart(form: Form, ears: list[Ear]) -> list[Ear]:
    """Move two ears of a wall so that they are apart as drawn, about their middle."""
    fit = form.drawn.lug_spacing_along
    if fit is None or len(ears) != 2 or fit.axis != ("y" if ears[0].outward[0] else "x"):
        return ears
    middle = (ears[0].at + ears[1].at) / 2
    return [
        ear._replace(at=middle + math.copysign(fit.drawn_mm / 2, ear.at - middle)) for ear in ears
    ]


def _on_wall(form: Form, wall: str, *, by_plugs: bool) -> list[Ear]:
    """Ears of one wall, half of all; empty if they find no room."""
    width = lug_sizes(form)[1]
    side = form.outside[1 if wall in ("left", "right") else 0]
    far = max(side / 2 - form.corner - width / 2, 0.0)
    steps = [0.0, far, -far, *(s * far * i / 8 for i in range(7, 0, -1) for s in (1, -1))]
    free = [
        at
        for at in dict.fromkeys(steps)
        if not _taken(form, wall, at, width)
        and (by_plugs or not _under(form, Ear(_named(wall), at)))
    ]
    if form.case.lugs == 4 and far >= width / 2 + 0.5:
        apart = [sorted(two) for two in combinations(free, 2) if abs(two[0] - two[1]) > width + 0.5]
        if not apart:
            return []
        low, high = max(apart, key=lambda two: two[1] - two[0])
        return [Ear(_named(wall), low), Ear(_named(wall), high)]
    return [Ear(_named(wall), free[0])] if free else []


def _named(wall: str) -> WallName:
    names: dict[str, WallName] = {
        "left": "left",
        "right": "right",
        "front": "front",
        "back": "back",
    }
    return names[wall]


def _spans(form: Form, wall: str, openings: Sequence[Opening]) -> list[tuple[float, float, float]]:
    """Middle along x or y, width and lower edge of the openings in a wall, mm."""
    sign = 1 if wall in ("front", "right") else -1
    return [
        (sign * (o.box[0] + o.box[2]) / 2, o.box[2] - o.box[0], o.box[1])
        for o in openings
        if o.wall == wall
    ]


def _taken(form: Form, wall: str, at: float, width: float) -> bool:
    """Tell whether shelf, low vents or the lid's screws stand where an ear would."""
    case = form.case
    cable = case.cable
    if cable is not None and cable.wall == wall:
        middle = placed(case, "y", cable.along, form.drawn.cable_along)
        if abs(at - middle) < (width + drawn_mm(form.drawn.cable_exit) + 10.0) / 2 + 0.5:
            return True
    if wall in ("front", "back"):
        if any(abs(at - x) < (width + ear_mm(case)) / 2 + 0.5 for x in form.ears):
            return True
        thick = lug_sizes(form)[0]
        vents = [o for o in form.openings if not o.port]
        return any(
            low < thick + 0.5 and abs(at - middle) < (width + wide) / 2 + 0.5
            for middle, wide, low in _spans(form, wall, vents)
        )
    return False


def _under(form: Form, ear: Ear) -> list[str]:
    """Names of the ports whose plugs stand over an ear."""
    width = lug_sizes(form)[1]
    return [
        opening.name
        for opening in form.openings
        if opening.port and opening.name != "cable exit"
        for middle, wide, _ in _spans(form, ear.wall, [opening])
        if abs(ear.at - middle) < (width + wide) / 2 + _GRIP_MM
    ]


def lug_findings(form: Form) -> tuple[Finding, ...]:
    """Tell of plugs that stand over an ear, where the screw's driver comes from."""
    return tuple(
        Finding(
            check="build",
            severity="warn",
            text=f"The plug of {name} stands over ear {number}: its screw cannot be turned while "
            "the plug is in, and a plug with a thick grip may meet the screw's head.",
            basis="geometry of this part",
            body="tray",
            at=((*ear.foot(form), lug_sizes(form)[0]),),
            remedy="Screw the case down first, move the port, or choose two ears.",
        )
        for number, ear in enumerate(lug_places(form), start=1)
        for name in _under(form, ear)
    )
