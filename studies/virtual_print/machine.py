"""A filament printer made of a few causes, with prints that differ from each other.

The causes: the line is wider or narrower than sliced (moves every wall that it makes), the part
shrinks, the line on the inside of a curve is dragged inwards, the first layer is pressed, layers
are whole, roofs sag, and, on odd machines, what the package's docstring lists.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from studies.virtual_print.shapes import Shape

__all__ = ["LAYER_MM", "Machine", "machines"]

LAYER_MM = 0.2


@dataclass(frozen=True, kw_only=True)
class Machine:
    """Habits of one printer; lengths in mm, shrinkage as fractions."""

    odd: bool
    seed: int
    wide: float = 0.0
    shrink: tuple[float, float, float] = (0.0, 0.0, 0.0)
    rounding: float = 0.0
    post_short: float = 0.0
    drag: float = 0.0
    pressed: float = 0.0
    tall: float = 0.0
    sag: float = 0.0
    lying_sag: float = 0.0
    night_wide: float = 0.02
    night_shrink: float = 0.0003
    night_tall: float = 0.02
    rough: float = 0.015
    # Of odd machines only.
    hole_log: float = 0.0
    bend: float = 0.0
    slope: tuple[float, float] = (0.0, 0.0)
    bow: float = 0.0
    pocket_less: float = 0.0
    seam: float = 0.0
    drift: float = 0.0
    lasting: dict[str, float] = field(default_factory=dict)

    def printed(
        self, shapes: Sequence[Shape], *, night: int, since: int | None = None
    ) -> list[float]:
        """Print a part: true sizes in mm, at 20 °C.

        Parameters
        ----------
        shapes : sequence of Shape
        night : int
            Number of the print; each has deviations of its own.
        since : int, optional
            How many prints the machine has drifted over; as many as `night` says if not given.
        """
        rng = np.random.default_rng([self.seed, 7, night])
        wide = (
            self.wide
            + rng.normal(0.0, self.night_wide)
            + self.drift * (night if since is None else since)
        )
        shrink = rng.normal(0.0, self.night_shrink)
        tall = self.tall + rng.normal(0.0, self.night_tall)
        pressed = self.pressed + rng.normal(0.0, 0.02)
        found = []
        for shape in shapes:
            own = rng.normal(0.0, self.rough) + self._lasting(shape)
            along = {"x": 0, "y": 1, "z": 2}[shape.way]
            kept = 1.0 + self.shrink[along] + shrink
            found.append(self._one(shape, wide, kept, tall, pressed) + own)
        return found

    def _lasting(self, shape: Shape) -> float:
        """What comes out the same in each print of the feature: where its corners and seam lie."""
        mark = sum(ord(sign) * (at + 1) for at, sign in enumerate(shape.name))
        return float(np.random.default_rng([self.seed, 11, mark]).normal(0.0, 0.01))

    def _one(self, shape: Shape, wide: float, kept: float, tall: float, pressed: float) -> float:
        local = wide + self.slope[0] * shape.at[0] + self.slope[1] * shape.at[1]
        n = shape.mm
        long = kept * n + self.bend * (n / 100.0) ** 2
        match shape.sort:
            case "block":
                return long + local - self.rounding + (pressed if shape.at_bed else 0.0)
            case "post":
                return long + local - self.rounding - self.post_short + self.seam
            case "gap":
                return long - local + self._bowed(shape)
            case "pocket":
                return long - local + self.pocket_less + self._bowed(shape)
            case "bore":
                return long - local - self._dragged(n) - self.seam
            case "flat":
                round_side = -0.5 * (local + self._dragged(n) + self.seam)
                return long + round_side - 0.5 * (local - self.pocket_less)
            case "lying bore" if shape.way == "z":
                return long - self.lying_sag
            case "lying bore":
                return long - local - 0.5 * self._dragged(n)
            case "step":
                layers = round(n / LAYER_MM)
                return kept * layers * LAYER_MM + tall
            case "window":
                # A layer is open where the middle of it lies between floor and roof.
                first = math.floor(shape.floor_mm / LAYER_MM + 0.5)
                last = math.floor((shape.floor_mm + n) / LAYER_MM + 0.5)
                return kept * (last - first) * LAYER_MM - self.sag
        return long  # a pitch

    def _dragged(self, n: float) -> float:
        if self.hole_log:
            return self.hole_log * max(math.log(16.0 / max(n, 0.5)), -0.3)
        return self.drag / n

    def _bowed(self, shape: Shape) -> float:
        """How far long thin walls spring apart, both together."""
        if not shape.wall_mm:
            return 0.0
        return self.bow * (shape.wall_long_mm / 50.0) ** 2 * min(2.0 / shape.wall_mm, 2.0)


def machines(count: int, *, odd: bool, seed: int = 1) -> list[Machine]:
    """Draw machines of one class."""
    rng = np.random.default_rng([seed, int(odd)])
    found = []
    for number in range(count):
        common = rng.normal(-0.003, 0.002)
        habits: dict[str, object] = {
            "wide": rng.normal(0.08, 0.06),
            "shrink": tuple(common + rng.normal(0.0, s) for s in (0.0004, 0.0004, 0.001)),
            "rounding": rng.normal(0.08, 0.05),
            "post_short": rng.normal(0.06, 0.05),
            "drag": rng.uniform(0.3, 1.2),
            "pressed": rng.uniform(0.1, 0.4),
            "tall": rng.normal(0.03, 0.05),
            "sag": rng.uniform(0.02, 0.22),
            "lying_sag": rng.uniform(0.15, 0.45),
        }
        if odd:
            habits |= {
                "hole_log": rng.uniform(0.08, 0.22),
                "bend": rng.normal(0.0, 0.05),
                "slope": tuple(rng.normal(0.0, 0.015, 2)),
                "bow": rng.normal(0.04, 0.05),
                "pocket_less": rng.normal(0.03, 0.04),
                "seam": rng.uniform(0.0, 0.05),
                "drift": rng.normal(0.0, 0.002),
                "rough": rng.uniform(0.012, 0.028),
                "night_wide": rng.uniform(0.012, 0.032),
            }
        found.append(Machine(odd=odd, seed=1000 * seed + 2 * number + odd, **habits))  # type: ignore[arg-type]
    return found
