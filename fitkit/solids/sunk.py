"""Pockets and holes let into one flat face of a finished solid, face by face.

The pocket's walls and floor are faces of a prism; its rim becomes a hole in the face that it is
let into. Where boxes do not prove that the outlines lie inside that face and apart, a boolean cuts
them instead.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.solids.bodies import (
    Shape,
    cut,
    extrude,
    flat_face,
    is_valid,
    kernel_names,
    level_face,
    raw,
    solids_in,
    volume_of,
)
from fitkit.solids.faces import (
    apart,
    faces_of,
    holder,
    level_faces,
    outer_wire,
    sides_of,
    solid_of,
    wires_of,
    with_holes,
)
from fitkit.solids.profiles import above_zero

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.solids.profiles import Profile

__all__ = ["sink"]


def sink(shape: Shape, profiles: Sequence[Profile], *, z: float, depth: float) -> Shape:
    """Let pockets of a depth into the level face at z that looks up.

    Where the depth ends at a face that looks down, they become through holes (their profiles must
    then have no islands). To work on a wall, turn the body first and back afterwards; moving costs
    nothing.

    Parameters
    ----------
    shape : kernel shape of one solid
    profiles : sequence of Profile
        Apart from one another and inside the face; a profile's holes stay as islands.
    z, depth : float, mm
    """
    above_zero(depth=depth)
    if not profiles:
        return raw(shape)
    solid = solids_in(shape)[0]
    made = _sunk(solid, profiles, z, depth)
    # The kernel's full check costs ten times the construction: it is asked only where boxes do not
    # prove that the outlines lie apart.
    if made is not None and (
        apart([p.box for p in profiles]) or _holds(solid, made, profiles, depth)
    ):
        return made
    # Outlines that cross an edge or each other: the boolean copes. The tools stand out a little,
    # so that no two faces coincide.
    return cut(shape, *(extrude(p, depth + 0.1, z=z - depth) for p in profiles))


def _sunk(solid: Shape, profiles: Sequence[Profile], z: float, depth: float) -> Shape | None:
    k = kernel_names()
    kept = list(faces_of(solid))
    level = level_faces(kept)
    top = [(i, kept[i], at) for i, at, up in level if up and abs(at - z) < 1e-6]
    under = [(i, kept[i], at) for i, at, up in level if not up and abs(at - z + depth) < 1e-6]
    holed: dict[int, list[Shape]] = {}
    added: list[Shape] = []
    for profile in profiles:
        at = holder(top, profile.box)
        if at is None:
            return None
        through = holder(under, profile.box)
        if through is not None and profile.holes:
            return None
        face = flat_face(profile, z)
        prism = k.BRepPrimAPI_MakePrism(face, k.gp_Vec(0, 0, -depth))
        added += [side.Reversed() for side in sides_of(prism)]
        outer = outer_wire(prism.FirstShape())
        holed.setdefault(at, []).append(outer.Reversed())
        for wire in wires_of(prism.FirstShape().Oriented(k.TopAbs_FORWARD)):
            if not wire.IsSame(outer):
                added.append(level_face(z, [wire.Reversed()]))
        if through is None:
            added.append(prism.LastShape().Oriented(k.TopAbs_FORWARD))
        else:
            holed.setdefault(through, []).append(outer_wire(prism.LastShape()))
    for index, wires in holed.items():
        kept[index] = with_holes(kept[index], wires)
    return solid_of(kept + added)


def _holds(solid: Shape, made: Shape, profiles: Sequence[Profile], depth: float) -> bool:
    expected = volume_of(solid) - depth * sum(profile.area for profile in profiles)
    return abs(volume_of(made) - expected) < 1e-7 * expected and is_valid(made)
