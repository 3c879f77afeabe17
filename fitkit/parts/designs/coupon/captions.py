"""Labels of the coupon: where each stands, and how all are sunk into their faces."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.parts.designs.coupon.practice import CAPS_MM, LABEL_DEEP_MM, SUNK_MM
from fitkit.solids.label import fitted_text
from fitkit.solids.sunk import sink

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.core.finding import Finding
    from fitkit.solids.bodies import Shape
    from fitkit.solids.profiles import Profile

__all__ = ["Caption", "labelled"]


@dataclass(frozen=True, slots=True)
class Caption:
    """A label.

    Attributes
    ----------
    text : str
    x, y : float, mm
        Its middle.
    room : float, mm
        Along the text.
    z : float, mm
        Height of the face that it is sunk into.
    turn : float, degrees
        Counter-clockwise as its reader sees it.
    deep : float, mm
        Room across the text.
    """

    text: str
    x: float
    y: float
    room: float
    z: float
    turn: float = 0.0
    deep: float = LABEL_DEEP_MM


def labelled(solid: Shape, captions: Iterable[Caption]) -> tuple[Shape, tuple[Finding, ...], float]:
    """Sink labels into a solid.

    Returns
    -------
    shape, findings, volume in mm³
        What has no room is left off with a finding; the volume is what the letters take.
    """
    by_face: dict[float, list[Profile]] = defaultdict(list)
    findings: list[Finding] = []
    for caption in captions:
        profiles, said = fitted_text(
            caption.text,
            room=(caption.room, caption.deep),
            at=(caption.x, caption.y),
            caps=CAPS_MM,
            turn=caption.turn,
            body="coupon",
        )
        by_face[caption.z] += profiles
        findings += said
    sunk = 0.0
    for z, letters in by_face.items():
        solid = sink(solid, letters, z=z, depth=SUNK_MM)
        sunk += SUNK_MM * sum(letter.area for letter in letters)
    return solid, tuple(findings), sunk
