"""Which way up a body prints best, and why.

Six faces can lie down; each can be turned by quarters about the upright, which makes the 24 ways of
a box but changes neither overhang nor height, so six are judged (the bed check turns by itself).
Each way is given its overhang, support, height, first layer, and the arms and lugs that its layers
would cut across. Leaves out slanted ways and looks.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fitkit.checks.overhang import CONTACT_STOP_MM2, contact_area_mm2, overhangs
from fitkit.checks.snap import alike
from fitkit.checks.surface import Surface
from fitkit.core.finding import Finding
from fitkit.solids.mesh import turn_matrix

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Lug, Part, Point, SnapArm

__all__ = ["check_orientation", "ways"]

FloatArray = npt.NDArray[np.float64]
# An arm whose direction leans out of the layers by more than this is cut across by them.
_ACROSS = np.sin(np.radians(30))
# What one arm across the layers, or one body without first layer, weighs against support: as much
# as support of this share of the body's own volume. A choice of ours, no source.
_ARM_PENALTY = 0.5
_LOOSE_PENALTY = 2.0
_HEIGHT_PENALTY = 0.1
# A way must be this much better before it is proposed.
_WORTH = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to lay a body.

    Attributes
    ----------
    up : str
        Side that points up, in the body's frame as it is laid now: ``+z`` is as it lies.
    overhang_mm2, support_mm3, height_mm, contact_mm2 : float
        `support_mm3` is the volume under the overhanging faces down to the bed.
    across : tuple of str
        Arms and lugs that the layers would cut across.
    penalty : float
        What ways are ranked by; 0 is perfect.
    """

    up: str
    overhang_mm2: float
    support_mm3: float
    height_mm: float
    contact_mm2: float
    across: tuple[str, ...]
    penalty: float


def ways(
    surface: Surface, *, limit_deg: float, along: Sequence[tuple[str, Point]] = ()
) -> tuple[Way, ...]:
    """Judge the six ways, best first.

    Parameters
    ----------
    surface : Surface
        As it lies now.
    limit_deg : float, degrees
        As for `overhang.leaning`.
    along : sequence of (name, direction)
        Arms and lugs, in the frame of the surface.
    """
    volume = max(abs(surface.mesh.volume()), 1e-9)
    largest = float(surface.mesh.size.max())
    found = []
    for axis, sign in itertools.product(range(3), (1.0, -1.0)):
        laid = surface.laid(axis, sign)
        over = overhangs(laid, limit_deg=limit_deg)
        height = laid.mesh.vertices[laid.mesh.triangles[over], 2].mean(axis=1)
        support = float(-(laid.vectors[over, 2] * height).sum())
        contact = contact_area_mm2(laid)
        rise = float(surface.mesh.size[axis])
        across = tuple(
            name for name, way in along if abs(way[axis]) > _ACROSS * np.linalg.norm(way)
        )
        penalty = (
            support / volume
            + _ARM_PENALTY * len(across)
            + _LOOSE_PENALTY * (contact < CONTACT_STOP_MM2)
            + _HEIGHT_PENALTY * rise / largest
        )
        found.append(
            Way(
                up=f"{'+' if sign > 0 else '-'}{'xyz'[axis]}",
                overhang_mm2=float(laid.areas[over].sum()),
                support_mm3=support,
                height_mm=rise,
                contact_mm2=contact,
                across=across,
                penalty=penalty,
            )
        )
    return tuple(sorted(found, key=lambda way: (way.penalty, way.up != "+z")))


def check_orientation(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Propose a better way up where there is one; say that the present one is best otherwise."""
    for body in part.bodies:
        mesh = context.meshes.get(body.name)
        if mesh is None:
            continue  # the overhang check has said so
        # Arms alike weigh once, however many there are: the pieces of one lip are one reason.
        features: list[SnapArm | Lug] = [*(arm for arm, _ in alike(part.arms)), *part.lugs]
        features = [feature for feature in features if feature.body == body.name]
        turn = turn_matrix(body.print_turn)
        along = [
            (feature.name, _direction(turn @ np.asarray(feature.along)))
            for feature in features
            if feature.along is not None
        ]
        surface = Surface(mesh, 0.5 * context.layer_height_mm)
        judged = ways(surface, limit_deg=context.overhang_deg, along=along)
        best = judged[0]
        now = next(way for way in judged if way.up == "+z")
        blind = (
            " Arms or lugs of unknown direction were left out of this."
            if len(along) < len(features)
            else ""
        )
        if best is now or now.penalty - best.penalty < _WORTH:
            yield Finding(
                check="orientation",
                severity="note",
                text=f"{body.name} lies well as it is: {_reasons(now)}.{blind}",
                value=now.overhang_mm2,
                unit="mm²",
                basis="six ways up compared on the mesh",
                body=body.name,
            )
            continue
        yield Finding(
            check="orientation",
            severity="warn" if now.penalty - best.penalty > _ARM_PENALTY else "note",
            text=(
                f"{body.name} would print better with the side up that now faces "
                f"{_facing(best.up)}: {_reasons(best)}; as it lies: {_reasons(now)}.{blind}"
            ),
            value=now.overhang_mm2,
            limit=best.overhang_mm2,
            unit="mm²",
            basis="six ways up compared on the mesh",
            body=body.name,
            remedy=f"Turn it so that {best.up} points up, unless looks or a fit face forbid it.",
        )


def _direction(vector: FloatArray) -> Point:
    return float(vector[0]), float(vector[1]), float(vector[2])


def _facing(up: str) -> str:
    return f"{up} (down)" if up == "-z" else up


def _reasons(way: Way) -> str:
    reasons = [
        f"{way.overhang_mm2:.0f} mm² over air",
        f"{way.height_mm:.0f} mm high",
        f"{way.contact_mm2:.0f} mm² on the bed",
    ]
    if way.across:
        reasons.append(f"layers across {', '.join(way.across)}")
    return ", ".join(reasons)
