"""A printer whose every habit is known: draws coupons, parts and readings from it.

Written from the physics again, not from fitkit's design matrix, so that a slip in one of the two
shows. Lives in tests only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Habits of a printer; lengths in mm, scales as fractions."""

    scale_x: float = -0.0028
    scale_y: float = -0.0032
    scale_z: float = -0.0015
    outside: float = 0.11
    peg: float = 0.15
    inside: float = 0.13
    hole: float = 0.17
    hole_curve: float = 0.22
    lying_width: float = 0.12
    lying_height: float = 0.31
    height: float = 0.03
    flare: float = 0.28
    skew: float = 0.0009
    pocket: float = 0.02
    bow: float = 0.03
    sag: float = 0.12
    print_width: float = 0.0
    print_scale: float = 0.0
    feature: float = 0.02
    reading: float = 0.012
    resolution: float = 0.01

    def mean(self, drawn, kind, axis="xy", place="mid", diagonal=0, wall=0.0):
        """Mean printed size over all prints."""
        n = np.asarray(drawn, float)
        along = {
            "x": self.scale_x,
            "y": self.scale_y,
            "z": self.scale_z,
            "xy": 0.5 * (self.scale_x + self.scale_y),
        }["z" if kind == "height" else axis]
        size = n * (1 + along)
        if kind == "outside":
            size = size + self.outside + (self.flare if place == "bed" else 0)
        elif kind == "peg":
            size = size + self.peg
        elif kind in ("inside", "pocket") and axis == "z":
            size = size - self.sag
        elif kind == "inside":
            size = size - self.inside
        elif kind == "pocket":
            size = size - self.inside - self.pocket - self.bow * np.minimum((wall / 50) ** 2, 2.0)
        elif kind == "hole":
            size = size - self.hole - self.hole_curve / n
        elif kind == "hole_lying":
            size = size - (self.lying_height if axis == "z" else self.lying_width)
        elif kind == "height":
            size = size + self.height
        if diagonal:
            size = size + 0.5 * diagonal * self.skew * n
        return size


SENSE = {"outside": 1, "peg": 1, "inside": -1, "pocket": -1, "hole": -1, "hole_lying": -1}


def truth_drawn(rng, **fixed):
    """A printer drawn at random from those that a bench may have."""
    common = rng.uniform(-0.005, -0.001)
    values = {
        "scale_x": common + rng.normal(0, 0.0004),
        "scale_y": common + rng.normal(0, 0.0004),
        "scale_z": common + rng.normal(0, 0.0008),
        "outside": rng.uniform(0.0, 0.2),
        "inside": rng.uniform(0.0, 0.25),
        "hole": rng.uniform(0.05, 0.3),
        "hole_curve": rng.uniform(0.0, 0.4),
        "lying_width": rng.uniform(0.0, 0.25),
        "lying_height": rng.uniform(0.1, 0.5),
        "height": rng.uniform(-0.1, 0.1),
        "flare": rng.uniform(0.1, 0.5),
        "skew": rng.normal(0, 0.001),
        "pocket": rng.normal(0, 0.03),
        "bow": rng.normal(0, 0.03),
        "sag": rng.uniform(0.0, 0.2),
        "feature": rng.uniform(0.01, 0.03),
    }
    values["peg"] = values["outside"] + rng.normal(0, 0.03)
    return Truth(**(values | fixed))


def printed_means(truth, features):
    """Mean printed sizes of coupon features."""
    return np.array(
        [truth.mean(f.drawn_mm, f.kind, f.axis, f.place, f.diagonal, f.wall_mm) for f in features],
        float,
    )


def print_once(truth, features, rng):
    """One print's true sizes: its own line width and scale, and each feature's scatter."""
    width = rng.normal(0, truth.print_width) if truth.print_width else 0.0
    scale = rng.normal(0, truth.print_scale) if truth.print_scale else 0.0
    sense = np.array([SENSE.get(f.kind, 0) if f.axis != "z" else 0 for f in features])
    drawn = np.array([f.drawn_mm for f in features])
    scatter = rng.normal(0, truth.feature, len(features))
    return printed_means(truth, features) + sense * width + drawn * scale + scatter


def read(truth, sizes, rng, repeats=3):
    """Readings of each size, shape (features, repeats), as the display shows them."""
    noise = rng.normal(0, truth.reading, (len(sizes), repeats))
    shown = sizes[:, None] + noise
    return np.round(shown / truth.resolution) * truth.resolution
