"""Where a body needs supports: the faces over air, put together to places and told in words.

A place is a set of triangles over air that share edges, or a point where material starts mid-air.
It is told as it lies on the bed: how high, and how far from the body's left and front, so that it
is found in whatever program prepares the print. Places under 4 mm² print without.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.checks.overhang import islands, overhangs
from fitkit.checks.surface import Surface

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.solids.mesh import Mesh

__all__ = ["Support", "support_places", "supports_text"]

# Common practice, no source.
_LEAST_MM2 = 4.0
_MOST_TOLD = 4
_HANGING = ("overhang", "islands", "bridges")


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """A place of a body that needs support.

    Attributes
    ----------
    left_mm, front_mm, above_mm : float, mm
        Of its middle, from the left and the front of the body as it is printed, and from the bed.
    area_mm2 : float, mm²
        Of the faces over air; zero for a point that starts in mid-air.
    """

    left_mm: float
    front_mm: float
    above_mm: float
    area_mm2: float

    def __str__(self) -> str:
        """Say where it is."""
        where = (
            f"{self.left_mm:.0f} mm from the left and {self.front_mm:.0f} mm from the front, "
            f"{self.above_mm:.1f} mm above the bed"
        )
        return f"{self.area_mm2:.0f} mm² at {where}" if self.area_mm2 else f"a start at {where}"


def support_places(
    mesh: Mesh, *, limit_deg: float = 45.0, layer_height_mm: float = 0.2
) -> tuple[Support, ...]:
    """Find where a body needs support.

    Parameters
    ----------
    mesh : Mesh, mm
        As printed, standing on z = 0.
    limit_deg : float, degrees
        Lean from the upright that still prints.
    layer_height_mm : float, mm

    Returns
    -------
    tuple of Support
        The largest first, points in mid-air before all.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    surface = Surface(mesh, 0.5 * layer_height_mm)
    low = mesh.bounds[0]
    found = [
        Support(left_mm=x - low[0], front_mm=y - low[1], above_mm=z, area_mm2=0.0)
        for x, y, z in islands(surface).tolist()
    ]
    over = overhangs(surface, limit_deg=limit_deg)
    if over.any():
        first, second, *_ = surface.neighbours
        inner = over[first] & over[second]
        number, count = np.cumsum(over) - 1, int(over.sum())
        pairs = number[first[inner]], number[second[inner]]
        links = coo_array((np.ones(len(pairs[0])), pairs), shape=(count, count))
        k, owner = connected_components(links, directed=False)
        areas = surface.areas[over]
        middles = mesh.vertices[mesh.triangles[over]].mean(axis=1)
        total = np.bincount(owner, areas, k)
        moment = np.stack([np.bincount(owner, areas * c, k) for c in middles.T], axis=1)
        middle = moment / np.maximum(total, 1e-12)[:, None]
        for at in np.argsort(-total, kind="stable"):
            if total[at] >= _LEAST_MM2:
                x, y, z = (float(v) for v in middle[at])
                found.append(
                    Support(
                        left_mm=x - float(low[0]),
                        front_mm=y - float(low[1]),
                        above_mm=z,
                        area_mm2=float(total[at]),
                    )
                )
    return tuple(found)


def supports_text(
    laid: Mapping[str, Mesh], findings: Sequence[Finding], *, layer_height_mm: float = 0.2
) -> str:
    """Say whether a part needs supports, and where.

    Parameters
    ----------
    laid : mapping of body name to Mesh, mm
        As printed.
    findings : sequence of Finding
        Of the checks: a body needs support if one of its overhangs, bridges or islands is more than
        a note.
    layer_height_mm : float, mm

    Returns
    -------
    str
    """
    over_air = [f for f in findings if f.check in _HANGING and f.severity != "note"]
    if not over_air:
        return "none are needed"
    told = []
    for name in dict.fromkeys(one.body for one in over_air if one.body):
        places = support_places(laid[name], layer_height_mm=layer_height_mm) if name in laid else ()
        words = [str(place) for place in places[:_MOST_TOLD]]
        if more := len(places) - _MOST_TOLD:
            words += [f"{more} smaller places"] if more > 0 else []
        told.append(f"{name}: {'; '.join(words) or 'see the findings'}")
    return f"needed, as each body lies: {'. '.join(told)}" if told else "see the findings"
