"""Ways of choosing what to draw: as wanted, one scale, by hand from 14 readings, and fitkit's own.

A way learns from readings of coupons and prints, and is then asked for drawn sizes; fitkit's also
says what it expects, with a ±.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol

import numpy as np

from fitkit.calibration.effects import SizeAt, Sizes
from fitkit.calibration.posterior import Evidence, learn
from fitkit.calibration.prior import learned_prior
from studies.virtual_print.machine import LAYER_MM
from studies.virtual_print.shapes import Shape

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.calibration.posterior import Knowledge
    from studies.virtual_print.calipers import Calipers
    from studies.virtual_print.machine import Machine

__all__ = [
    "COUPON",
    "LONG",
    "ByHand",
    "Fitkit",
    "None_",
    "OneScale",
    "Way",
    "coupon_read",
    "evidence_of",
]


def _c(name: str, sort: str, mm: float, way: str = "x", **more: object) -> Shape:
    return Shape(name=name, sort=sort, mm=mm, way=way, **more)  # type: ignore[arg-type]


# The short coupon: what `fitkit.calibration.coupon.short_coupon` has, in a machine's terms.
COUPON: tuple[Shape, ...] = (
    _c("bar x 10", "block", 10.0),
    _c("bar x 96", "block", 96.0),
    _c("bar y 30", "block", 30.0, "y"),
    _c("bar y 96", "block", 96.0, "y"),
    _c("tab 3", "block", 3.0),
    _c("bar x 96 at bed", "block", 96.0, at_bed=True),
    _c("peg 5", "post", 5.0, at=(-0.6, 0.2)),
    _c("peg 14", "post", 14.0, at=(0.6, 0.2)),
    _c("height 4", "step", 4.0, "z"),
    _c("height 20", "step", 20.0, "z"),
    _c("slot 3", "gap", 3.0, at=(0.2, -0.6)),
    _c("slot 12", "gap", 12.0, at=(0.3, -0.6)),
    _c("inside y 75", "gap", 75.0, "y"),
    _c("pocket x 14", "pocket", 14.0, wall_mm=2.0, wall_long_mm=50.0, at=(-0.5, 0.0)),
    _c("pocket y 50", "pocket", 50.0, "y", wall_mm=2.0, wall_long_mm=14.0, at=(-0.5, 0.0)),
    _c("hole 3", "bore", 3.0, at=(0.1, 0.6)),
    _c("hole 5", "bore", 5.0, at=(0.3, 0.6)),
    _c("hole 10", "bore", 10.0, at=(0.5, 0.6)),
    _c("hole 16", "bore", 16.0, at=(0.7, 0.6)),
    _c("bridge 4", "window", 4.0, "z", floor_mm=4.0),
    _c("lying hole 6 width", "lying bore", 6.0),
    _c("lying hole 6 height", "lying bore", 6.0, "z"),
)
# The long coupon of twice the features, each read twice: what was asked for before.
LONG: tuple[Shape, ...] = (
    *(_c(f"bar {way} {n:g}", "block", n, way) for way in "xy" for n in (10.0, 30.0, 50.0, 96.0)),
    *(_c(f"bar {way} 96 at bed", "block", 96.0, way, at_bed=True) for way in "xy"),
    *(_c(f"tab {n:g}", "block", n) for n in (2.0, 5.0)),
    *(_c(f"peg {n:g}", "post", n, at=(-0.6, 0.2)) for n in (4.0, 8.0, 14.0)),
    *(_c(f"height {n:g}", "step", n, "z") for n in (4.0, 8.0, 12.0, 20.0)),
    *(_c(f"slot {n:g}", "gap", n, at=(0.2, -0.6)) for n in (3.0, 6.0, 12.0)),
    *(_c(f"inside {way} {n:g}", "gap", n, way) for way in "xy" for n in (30.0, 75.0)),
    *(_c(f"hole {n:g}", "bore", n, at=(0.5, 0.6)) for n in (2.5, 3.0, 4.0, 6.0, 10.0, 16.0)),
    *(_c(f"lying hole {n:g} width", "lying bore", n) for n in (4.0, 6.0, 10.0)),
    *(_c(f"lying hole {n:g} height", "lying bore", n, "z") for n in (4.0, 6.0, 10.0)),
)
# These carry a term alone, so they are read twice at once.
TWICE = ("pocket x 14", "height 4", "height 20", "bridge 4")
_JAWS_MM, _U_JAWS_MM = 0.5, 0.1
_OWN_MM2 = 0.015**2 + 0.01**2 / 12.0
_U_ZERO_MM, _U_SCALE = 0.012, 1.5e-4


class Way(Protocol):
    """A way of choosing what to draw."""

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """Give drawn sizes in mm for shapes drawn at their targets."""


def coupon_read(
    machine: Machine, calipers: Calipers, *, night: int, shapes: Sequence[Shape] = COUPON
) -> tuple[list[tuple[Shape, float]], dict[str, tuple[Shape, float]]]:
    """Print a coupon and read it: readings, and the true sizes for reading again."""
    true = dict(zip([s.name for s in shapes], machine.printed(shapes, night=night), strict=True))
    known = {shape.name: (shape, true[shape.name]) for shape in shapes}
    twice = shapes if shapes is LONG else [shape for shape in shapes if shape.name in TWICE]
    order = [*shapes, *twice]
    return [(shape, calipers.read(shape, true[shape.name])) for shape in order], known


@dataclass
class None_:
    """Draw what is wanted."""

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """As wanted; heights to whole layers."""
        return [_layers(shape, shape.mm) for shape in wanted]


@dataclass
class OneScale:
    """One factor from a cube of 20 mm."""

    factor: float = 1.0

    @classmethod
    def learned(cls, machine: Machine, calipers: Calipers) -> OneScale:
        """Read a cube along its three directions."""
        cube = [_c(f"cube {w}", "step" if w == "z" else "block", 20.0, w) for w in "xyz"]
        true = machine.printed(cube, night=0)
        read = [calipers.read(s, t) for s, t in zip(cube, true, strict=True)]
        return cls(float(np.mean(read)) / 20.0)

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """Each size over the factor."""
        return [_layers(shape, shape.mm / self.factor) for shape in wanted]


_HAND = (
    *(_c(f"hand {w} {n}", "block", n, w) for w in "xy" for n in (20.0, 90.0)),
    _c("hand post", "post", 8.0),
    _c("hand pocket", "pocket", 10.0),
    *(_c(f"hand gap {n}", "gap", n) for n in (6.0, 30.0)),
    *(_c(f"hand bore {n}", "bore", n) for n in (3.0, 5.0, 8.0, 12.0)),
    *(_c(f"hand step {n}", "step", n, "z") for n in (4.0, 20.0)),
)


@dataclass
class ByHand:
    """What a careful maker does: a scale from long bars, an offset for each kind of size."""

    scale: float
    offset: dict[str, float]

    @classmethod
    def learned(cls, machine: Machine, calipers: Calipers) -> ByHand:
        """Fourteen readings on one print."""
        true = machine.printed(_HAND, night=0)
        read = {s.name: calipers.read(s, t) for s, t in zip(_HAND, true, strict=True)}
        steps = [(read[f"hand {w} 90.0"] - read[f"hand {w} 20.0"]) / 70.0 for w in "xy"]
        scale = float(np.mean(steps))
        kinds: dict[str, list[float]] = {}
        for shape in _HAND:
            got = cls.true_of(shape, read[shape.name])
            factor = 1.0 if shape.sort == "step" else scale
            kind = {"pocket": "inside", "gap": "inside"}.get(shape.sort, shape.sort)
            kinds.setdefault(kind, []).append(got - factor * shape.mm)
        return cls(scale, {kind: float(np.mean(found)) for kind, found in kinds.items()})

    @staticmethod
    def true_of(shape: Shape, read_mm: float) -> float:
        """Allow for flat jaws in a round hole."""
        return math.hypot(read_mm, _JAWS_MM) if shape.sort == "bore" else read_mm

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """Offset taken off, then the scale; a flat is drawn as a pocket, a window as wanted."""
        drawn = []
        for shape in wanted:
            kind = {"pocket": "inside", "gap": "inside", "flat": "inside"}.get(
                shape.sort, shape.sort
            )
            if shape.sort == "window":
                drawn.append(_layers(shape, shape.mm))
                continue
            factor = 1.0 if shape.sort == "step" else self.scale
            drawn.append(_layers(shape, (shape.mm - self.offset.get(kind, 0.0)) / factor))
        return drawn


@dataclass
class Fitkit:
    """fitkit's model: the learned prior, and whatever was read.

    Attributes
    ----------
    read : list of (shape, reading mm, print code, part)
        Part is ``coupon`` or the name of the part.
    """

    read: list[tuple[Shape, float, str, str]] = field(default_factory=list)
    again: int = 0
    _known: tuple[int, Knowledge] | None = None

    def learn_coupon(
        self,
        machine: Machine,
        calipers: Calipers,
        *,
        night: int,
        shapes: Sequence[Shape] = COUPON,
    ) -> None:
        """Print and read a coupon, and read once more what is doubted."""
        readings, known = coupon_read(machine, calipers, night=night, shapes=shapes)
        code = f"coupon {night}"
        self.read += [(shape, mm, code, "coupon") for shape, mm in readings]
        _, errors = self.knowledge().left_out()
        for name in dict.fromkeys(
            shape.name
            for (shape, _, own, _), z in zip(self.read, errors, strict=True)
            if own == code and abs(z) > 1.5
        ):
            shape, true = known[name]
            self.read.append((shape, calipers.read(shape, true), code, "coupon"))
            self.again += 1

    def learn_print(
        self,
        part: str,
        drawn: Sequence[Shape],
        true: Sequence[float],
        calipers: Calipers,
        *,
        code: str,
    ) -> None:
        """Read the sizes of a printed part, each once."""
        self.read += [
            (shape, calipers.read(shape, mm), code, part)
            for shape, mm in zip(drawn, true, strict=True)
        ]

    def knowledge(self) -> Knowledge:
        """Give what is known so far."""
        if self._known is None or self._known[0] != len(self.read):
            found = learn(learned_prior(), evidence_of(self.read) if self.read else None)
            self._known = len(self.read), found
        return self._known[1]

    def draw(self, wanted: Sequence[Shape], part: str) -> list[float]:
        """Draw so that what is expected is what is wanted."""
        known = self.knowledge()
        target = np.array([shape.mm for shape in wanted])
        drawn = target.copy()
        for _ in range(3):
            drawn = drawn + target - known.predict(_sizes(wanted, drawn, part)).mean_mm
        return [_layers(shape, mm) for shape, mm in zip(wanted, drawn, strict=True)]

    def expected(
        self, wanted: Sequence[Shape], drawn: Sequence[float], part: str
    ) -> tuple[list[float], list[float]]:
        """Expected sizes and their U95, mm."""
        found = self.knowledge().predict(_sizes(wanted, drawn, part))
        return found.mean_mm.tolist(), found.U95_mm.tolist()


def _layers(shape: Shape, mm: float) -> float:
    if shape.sort in ("step", "window"):
        return round(mm / LAYER_MM) * LAYER_MM
    return mm


_KINDS = {
    "block": "outside",
    "post": "peg",
    "gap": "inside",
    "pocket": "pocket",
    "bore": "hole",
    "flat": "d_bore",
    "lying bore": "hole_lying",
    "step": "height",
    "window": "inside",
    "pitch": "centres",
}


def _sizes(shapes: Sequence[Shape], drawn: Sequence[float], part: str, code: str = "") -> Sizes:
    return Sizes.of(_size(shape, mm, part, code) for shape, mm in zip(shapes, drawn, strict=True))


def _size(shape: Shape, mm: float, part: str, code: str) -> SizeAt:
    return SizeAt(
        kind=_KINDS[shape.sort],
        axis=shape.way if shape.sort not in ("bore", "post", "flat") else "xy",
        drawn_mm=mm,
        wall_mm=shape.wall_long_mm if shape.wall_mm else 0.0,
        place="bed" if shape.at_bed else "mid",
        print_code=code,
        feature=f"{part}: {shape.name}",
    )


def evidence_of(read: Sequence[tuple[Shape, float, str, str]]) -> Evidence:
    """Make evidence of readings, corrected as those of described calipers are."""
    sizes = Sizes.of(_size(shape, shape.mm, part, code) for shape, _, code, part in read)
    seen = np.array([mm for _, mm, _, _ in read])
    bores = np.array([shape.sort == "bore" for shape, *_ in read])
    jaws = np.where(bores, _JAWS_MM / np.maximum(seen, 1.0), 0.0)
    seen = np.where(bores, np.sqrt(seen**2 + _JAWS_MM**2), seen)
    shared = np.full((len(read), len(read)), _U_ZERO_MM**2)
    shared += _U_SCALE**2 * np.outer(seen, seen) + _U_JAWS_MM**2 * np.outer(jaws, jaws)
    return Evidence(
        sizes=sizes,
        read_mm=seen,
        own=np.full(len(read), _OWN_MM2),
        shared=shared,
        coupon=np.array([part == "coupon" for *_, part in read]),
    )
