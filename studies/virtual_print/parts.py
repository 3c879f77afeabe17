"""The seven parts that are printed, and how far a size may be off before its fit is not as wanted.

Half bands: a snug fit bears 0.07 mm, one that slides 0.13 mm, a screw hole or a window 0.20 mm,
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from studies.virtual_print.shapes import Shape

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["PARTS", "Wanted"]

SNUG, SLIDES, FREE = 0.07, 0.13, 0.20


@dataclass(frozen=True)
class Wanted:
    """A size that a part must have: the shape drawn at its target, and how far it may be off."""

    shape: Shape
    half_mm: float


def _w(name: str, sort: str, mm: float, half: float, **more: object) -> Wanted:
    return Wanted(Shape(name=name, sort=sort, mm=mm, **more), half)  # type: ignore[arg-type]


PARTS: Mapping[str, tuple[Wanted, ...]] = {
    "panel": (
        _w("cut-out width", "pocket", 36.2, SLIDES, way="x", at=(0.3, 0.0)),
        _w("cut-out height", "pocket", 24.2, SLIDES, way="y", at=(0.3, 0.0)),
        _w("round cut-out", "bore", 22.3, SLIDES, at=(-0.4, 0.2)),
        _w("screw hole", "bore", 3.4, FREE, at=(0.8, 0.8)),
        _w("holes apart", "pitch", 80.0, FREE),
    ),
    "board case": (
        _w("pocket length", "pocket", 70.4, SLIDES, way="x", wall_mm=2.4, wall_long_mm=50.0),
        _w("pocket width", "pocket", 50.4, SLIDES, way="y", wall_mm=2.4, wall_long_mm=70.0),
        _w("screw core", "bore", 2.6, SNUG, at=(0.5, 0.4)),
        _w("posts apart", "pitch", 58.0, SLIDES, way="x"),
        _w("port width", "pocket", 9.4, FREE, way="x", at=(0.0, -0.5)),
        _w("port height", "window", 3.6, FREE, way="z", floor_mm=6.4, at=(0.0, -0.5)),
        _w("second port height", "window", 5.2, FREE, way="z", floor_mm=7.2, at=(0.4, -0.5)),
        _w("rim length", "block", 69.9, SLIDES, way="x"),
        _w("rim width", "block", 49.9, SLIDES, way="y"),
    ),
    "clip tray": (
        _w("channel", "pocket", 16.3, SNUG, way="x", wall_mm=2.0, wall_long_mm=60.0),
        _w("rib gap", "gap", 5.2, SLIDES, way="y"),
        _w("length", "block", 68.0, FREE, way="y"),
    ),
    "ball seat": (
        _w("seat", "bore", 25.2, SLIDES, at=(0.1, 0.1)),
        _w("foot", "post", 12.0, SLIDES),
        _w("tall", "step", 18.0, FREE, way="z"),
    ),
    "knob": (
        _w("shaft", "bore", 6.1, SNUG),
        _w("flat", "flat", 4.6, SNUG),
        _w("skirt", "post", 28.0, FREE),
    ),
    "sleeve": (
        _w("inner", "bore", 20.2, SLIDES),
        _w("outer", "post", 25.8, SLIDES),
        _w("long", "step", 30.0, FREE, way="z"),
    ),
    "box lid": (
        _w("lid length", "block", 99.7, SLIDES, way="x"),
        _w("lid width", "block", 59.7, SLIDES, way="y"),
        _w("lip gap", "pocket", 2.4, FREE, way="x"),
        _w("lid height", "step", 12.0, FREE, way="z"),
    ),
}
