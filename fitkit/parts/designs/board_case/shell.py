"""Stepped bodies with their chamfer at the bed, kept while what they are made of stays the same."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.parts.designs.board_case.practice import FOOT_MM
from fitkit.solids.bodies import Shape, smaller_note
from fitkit.solids.terraces import Terrace, terraces

if TYPE_CHECKING:
    from fitkit.core.finding import Finding
    from fitkit.solids.profiles import Profile

__all__ = ["footed", "stepped"]


@lru_cache(maxsize=32)
def stepped(
    root: Terrace, name: str, what: str = "Chamfer at the bed"
) -> tuple[Shape, tuple[Finding, ...], float]:
    """Build a stepped solid with a chamfer at the bed; without it, in words, where it fails.

    Cached, since most changes leave it as it is.

    Returns
    -------
    shape, findings, volume in mm³
        The volume is worked out from the outlines.
    """
    foot = replace(root, edge=FOOT_MM)
    try:
        return terraces(foot), (), foot.volume()
    except PartError:
        plain = _without_edges(root)
        return terraces(plain), (smaller_note(what, FOOT_MM, 0.0, body=name),), plain.volume()


def footed(profile: Profile, height: float, what: str) -> tuple[Shape, tuple[Finding, ...]]:
    """Raise a profile with a chamfer at the bed, along holes too; without it where it fails."""
    holes = tuple(Terrace(hole, 0.0, edge=FOOT_MM) for hole in profile.holes)
    root = Terrace(profile.outer, height, holes)
    return stepped(root, "tray", f"Chamfer at the bed of the {what}")[:2]


def _without_edges(root: Terrace) -> Terrace:
    return replace(root, edge=0.0, inner=tuple(replace(t, edge=0.0) for t in root.inner))
