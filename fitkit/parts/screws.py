"""Screw holes of templates: which size must fit, and the tools that cut them.

The drawn hole comes from the screw's size, the wanted fit and the printer. A countersink has 90°
and takes a head of about 2.1 screw diameters (common practice, no source); where the plate is too
thin for it, it steps aside with a finding. Holes that lie in the print get a 45° roof.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from fitkit.checks.finding import Finding
from fitkit.parts.contract import FitSize
from fitkit.parts.profiles import polygon, teardrop
from fitkit.parts.solids import Shape, extrude, moved, revolve, turned

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "Screw",
    "countersink_mm",
    "head_mm",
    "lying_hole",
    "screw_fit",
    "screw_holes",
    "screw_mm",
]

Screw = Literal["M2", "M2.5", "M3", "M4", "M5", "M6"]
_HEAD = 2.1  # countersunk head over screw diameter
_UNDER_HEAD_MM = 0.6  # what must be left of the plate below the cone


def screw_mm(screw: str) -> float:
    """Outer diameter of a screw's thread, mm."""
    return float(screw.removeprefix("M"))


def head_mm(screw: str) -> float:
    """Diameter that a countersunk head takes, mm."""
    return _HEAD * screw_mm(screw)


def screw_fit(name: str, screw: str, *, lying: bool = False) -> FitSize:
    """Clearance hole of a screw as a size that must fit."""
    return FitSize(
        name=name,
        nominal_mm=screw_mm(screw),
        kind="hole_lying" if lying else "hole",
        axis="xy",
        sense=1,
        pair="screw hole",
        behaviour="rotates freely",
    )


def countersink_mm(
    *, hole: float, head: float, plate: float, body: str
) -> tuple[float, tuple[Finding, ...]]:
    """Depth of a 90° countersink for a head of a diameter, mm; 0 and a finding in too thin a plate.

    Examples
    --------
    >>> countersink_mm(hole=3.4, head=6.4, plate=3, body="panel")
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
        limit=sunk + _UNDER_HEAD_MM,
        unit="mm",
        basis="geometry of this part",
        body=body,
        remedy="Make the plate thicker, or use screws with a flat underside.",
    )
    return 0.0, (left_off,)


def screw_holes(
    places: Iterable[tuple[float, float]],
    *,
    hole: float,
    top: float,
    bottom: float = 0.0,
    head: float = 0.0,
    body: str,
) -> tuple[list[Shape], tuple[Finding, ...]]:
    """Tools for upright holes through a plate from `bottom` to `top`, sunk at the top for a head.

    Parameters
    ----------
    places : (x, y), mm
    hole, head : float, mm
        Drawn hole, and head diameter at the top face; 0 for none.
    """
    places = list(places)
    if not places:
        return [], ()
    r, big = hole / 2, head / 2
    sunk, findings = countersink_mm(hole=hole, head=head, plate=top - bottom, body=body)
    low, high = bottom - 1.0, top + 1.0
    if sunk > 0:
        line = [(0, low), (r, low), (r, top - sunk), (big + 1.0, high), (0, high)]
    else:
        line = [(0, low), (r, low), (r, high), (0, high)]
    tool = revolve(polygon(line))
    return [moved(tool, x, y) for x, y in places], findings


def lying_hole(
    diameter: float, length: float, *, at: tuple[float, float, float], along: Literal["x", "y"]
) -> Shape:
    """Tool for a hole along x or y from `at` in the positive direction, its roof towards +z."""
    prism = extrude(teardrop(diameter), length)
    # x=90 takes the roof from +y to +z and the prism to -y; the turn about z then aims it.
    return moved(turned(prism, x=90, z=90 if along == "x" else 180), *at)
