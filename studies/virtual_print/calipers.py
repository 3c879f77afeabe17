"""Digital calipers in a person's hands: zero error, scale, flat jaws, noise, and slips."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from studies.virtual_print.shapes import Shape

__all__ = ["Calipers"]


@dataclass(frozen=True, kw_only=True)
class Calipers:
    """One pair of calipers and the person who reads them."""

    zero_mm: float
    scale: float
    flat_mm: float
    noise_mm: float
    slips: float
    rng: np.random.Generator

    @classmethod
    def drawn(cls, seed: int, *, slips: float = 0.01) -> Calipers:
        """Draw a pair."""
        rng = np.random.default_rng([seed, 23])
        return cls(
            zero_mm=rng.normal(0.0, 0.008),
            scale=rng.normal(0.0, 1e-4),
            flat_mm=rng.uniform(0.3, 0.7),
            noise_mm=rng.uniform(0.008, 0.018),
            slips=slips,
            rng=rng,
        )

    def read(self, shape: Shape, true_mm: float) -> float:
        """Read a size, mm, to 0.01 mm."""
        seen = true_mm
        if shape.sort == "bore" or (shape.sort == "lying bore" and shape.way == "x"):
            seen = math.sqrt(max(true_mm**2 - self.flat_mm**2, 0.0))
        if shape.sort in ("block", "post", "step"):
            seen -= 0.004  # plastic gives
        seen = seen * (1.0 + self.scale) + self.zero_mm + self.rng.normal(0.0, self.noise_mm)
        if self.rng.random() < self.slips:
            seen += self.rng.choice([-1.0, 1.0]) * self.rng.uniform(0.1, 1.0)
        return round(seen, 2)
