"""A tongue all along a level plane, within its walls; a notch on the front side keys the halves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.fit_size import drawn_mm
from fitkit.parts.split.place import Place, Tools, cut_frame, no_room

if TYPE_CHECKING:
    from fitkit.parts.split.plan import Split, SplitSizes

__all__ = ["tongue_and_groove"]

_FREE_MM = 0.2
_BESIDE_MM = 0.8  # least wall beside a tongue: two lines of a nozzle of 0.4 mm
_KEY_MM, _KEY_AT = 6.0, 0.62  # length of a tongue's notch, and its place as a share of the width


def tongue_and_groove(split: Split, sizes: SplitSizes, place: Place, title: str) -> Tools:
    """Give a tongue and its groove along the walls of a level cut.

    Parameters
    ----------
    split : Split
    sizes : SplitSizes
        As drawn.
    place : Place
    title : str
        Of the part, for messages.

    Returns
    -------
    Tools

    Raises
    ------
    PartError
        If the joint finds no room in this plane.
    """
    from fitkit.solids.bodies import extrude
    from fitkit.solids.mesh_kernel import area_of, outlines_at, profiles_of

    if place.axis != 2:
        raise no_room(
            title,
            "a tongue is for a level plane: in an upright one it would hang over air",
            'Write joint = "dovetail" or joint = "dowels", or along = "z".',
        )
    solid, _ = cut_frame(place)
    deep = split.tongue_deep_mm
    more_tongue = (drawn_mm(sizes.tongue) - split.tongue_mm) / 2
    more_groove = (drawn_mm(sizes.groove) - split.tongue_mm) / 2
    inset = _BESIDE_MM
    # A notch in the tongue on the front side, and the bit of wall that fills it.
    low, high = place.mesh.bounds
    key_at = float(low[0] + _KEY_AT * (high[0] - low[0]))

    def key(wide: float) -> tuple[float, float, float, float]:
        behind = float(low[1] + high[1]) / 2
        return key_at - wide / 2, float(low[1]) - 1.0, key_at + wide / 2, behind

    level = place.at + 1e-4
    free = max(more_groove - more_tongue, 0.1)
    tongue = outlines_at(
        solid, level, grown_mm=-(inset - more_tongue), without=key(_KEY_MM + 2 * free)
    )
    groove = outlines_at(solid, level, grown_mm=-(inset - more_groove), without=key(_KEY_MM))
    # Walls lean: a groove must lie in the plastic at its ground too.
    whole = area_of(outlines_at(solid, place.at + deep + _FREE_MM))
    shared = area_of(tongue)
    least = 0.15 * area_of(outlines_at(solid, place.at + 1e-4))
    if shared < max(least, 10.0) or whole < shared:
        raise no_room(
            title,
            f"its walls at the plane are too thin for a tongue with {inset:g} mm beside it on "
            "either side",
            "Make the walls thicker, or choose another place or joint.",
        )
    tails = [extrude(p, deep + 0.5, z=place.at - 0.5) for p in profiles_of(tongue, least_mm2=0.5)]
    sockets = [
        extrude(p, deep + _FREE_MM + 0.5, z=place.at - 0.5)
        for p in profiles_of(groove, least_mm2=0.5)
    ]
    # As thick as the wall leaves it, so that no one dimension shows it.
    return Tools(tails, sockets, [], [], shared)
