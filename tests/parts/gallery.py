"""Small named parts for everyone's tests: each built once, with its volume known by hand."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from fitkit import solids
from fitkit.parts.contract import Body, Part
from fitkit.solids import profiles as flat
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from collections.abc import Callable

    from build123d import Solid


@dataclass(frozen=True, slots=True)
class Known:
    """A solid, its volume in mm³ and its box in mm, worked out by hand."""

    solid: Solid
    volume: float
    box: tuple[float, float, float]


def block() -> Known:
    """20 x 10 x 5."""
    shape = solids.extrude(flat.rectangle(20, 10), 5)
    return Known(solids.checked(shape, "block"), 1000.0, (20.0, 10.0, 5.0))


def drilled_block() -> Known:
    """20 x 10 x 5 with an upright hole of 4."""
    plate = flat.rectangle(20, 10).with_holes(flat.circle(4))
    volume = 1000.0 - math.pi * 4 * 5
    return Known(solids.checked(solids.extrude(plate, 5), "block"), volume, (20.0, 10.0, 5.0))


def cylinder() -> Known:
    """Diameter 8, height 12."""
    shape = solids.extrude(flat.circle(8), 12)
    return Known(solids.checked(shape, "cylinder"), math.pi * 16 * 12, (8.0, 8.0, 12.0))


def ball() -> Known:
    """Diameter 10."""
    volume = 4 / 3 * math.pi * 125
    return Known(solids.checked(solids.sphere(10), "ball"), volume, (10.0, 10.0, 10.0))


def tray() -> Known:
    """40 x 30 x 10, walls and floor of 2, a boss of 6 with a blind hole of 2.5 from 8 to 3."""
    boss = Terrace(flat.circle(6).outer, 8.0, (Terrace(flat.circle(2.5).outer, 3.0),))
    inside = Terrace(flat.rectangle(36, 26).outer, 2.0, (boss,))
    shape = terraces(Terrace(flat.rectangle(40, 30).outer, 10.0, (inside,)))
    volume = 40 * 30 * 10 - 36 * 26 * 8 + math.pi * 9 * 6 - math.pi * 1.25**2 * 5
    return Known(solids.checked(shape, "tray"), volume, (40.0, 30.0, 10.0))


def ring() -> Known:
    """Washer of 20 over 10, 3 high: a solid with a handle."""
    shape = solids.extrude(flat.ring(20, 10), 3)
    return Known(solids.checked(shape, "ring"), math.pi * (100 - 25) * 3, (20.0, 20.0, 3.0))


ALL: dict[str, Callable[[], Known]] = {
    maker.__name__: cache(maker) for maker in (block, drilled_block, cylinder, ball, tray, ring)
}


def part(name: str) -> Part:
    """One of the solids as a part of one body."""
    return Part(title=name, template="gallery", bodies=(Body(name=name, solid=ALL[name]().solid),))
