"""Kinds of size, as printers err on them, and the axes along which they lie."""

from __future__ import annotations

from typing import Literal

__all__ = ["Axis", "SizeKind"]

Axis = Literal["x", "y", "z", "xy"]
SizeKind = Literal[
    "outside",  # over two outer faces
    "inside",  # between two faces of a slot or pocket
    "hole",  # round hole, axis upright in the print
    "hole_lying",  # round hole, axis in the layer plane
    "peg",  # round pin, axis upright
    "centres",  # between two like features: offsets cancel, shrinkage stays
    "height",  # along z, in whole layers
]
