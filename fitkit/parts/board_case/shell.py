"""Stepped bodies with their chamfer at the bed, kept while what they are made of stays the same."""

from __future__ import annotations

import math
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

from fitkit.checks.finding import Finding
from fitkit.parts.board_case.practice import FOOT_MM
from fitkit.parts.solids import Shape, chamfer, edges, extrude, volume_of
from fitkit.parts.terraces import Terrace, terraces

if TYPE_CHECKING:
    from fitkit.parts.contract import Point
    from fitkit.parts.profiles import Profile

__all__ = ["footed", "stepped"]


@lru_cache(maxsize=32)
def stepped(root: Terrace, name: str) -> tuple[Shape, tuple[Finding, ...], float]:
    """Stepped solid with its chamfer at the bed; cached, since most changes leave it as it is."""
    shape = terraces(root)
    # The root is built first, so its own edges are those of the outer wire at the bed; holes
    # through the floor keep their edges.
    inner = [region.outline.box for region in root.inner]

    def on_outline(low: Point, high: Point) -> bool:
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        return not any(b[0] <= middle[0] <= b[2] and b[1] <= middle[1] <= b[3] for b in inner)

    picked = edges(shape, z=0.0, where=on_outline)
    whole = root.volume()
    made, said = chamfer(
        shape,
        picked,
        FOOT_MM,
        name="Chamfer at the bed",
        body=name,
        before=whole,
        analyse=False,
    )
    left = volume_of(made)
    # A chamfer takes half its leg squared along the outline; anything else is a shape gone wrong.
    outline = root.outline.points()
    around = sum(math.dist(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))
    if not said and not 0 < whole - left < FOOT_MM**2 * around:
        return shape, (_foot_left_off("Chamfer at the bed", name),), whole
    return made, said, left


def footed(profile: Profile, height: float, what: str) -> tuple[Shape, tuple[Finding, ...]]:
    """Extrude with a chamfer at the bed, along holes too; without it, in words, where it fails."""
    plain = extrude(profile, height)
    name = f"Chamfer at the bed of the {what}"
    made, said = chamfer(plain, edges(plain, z=0.0), FOOT_MM, name=name, body="tray")
    around = sum(
        math.dist(a, b)
        for loop in (profile.outer, *profile.holes)
        for a, b in pairwise([*loop.points(), loop.points()[0]])
    )
    taken = profile.area * height - volume_of(made)
    if said or 0 < taken < FOOT_MM**2 * around:
        return made, said
    return plain, (_foot_left_off(name, "tray"),)


def _foot_left_off(name: str, body: str) -> Finding:
    return Finding(
        check="build",
        severity="note",
        text=f"{name} of {FOOT_MM:.1f} mm cannot be made here and is left off.",
        value=FOOT_MM,
        unit="mm",
        basis="geometry of this part",
        body=body,
        remedy="Let the first layer be drawn in by the slicer instead.",
    )
