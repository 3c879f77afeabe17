"""Volume, area and bounding box of a part's bodies, to tell whether a reprint is the same part."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.journal.entries import BodyGeometry

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.contract import Part

__all__ = ["TOLERANCE", "differences", "geometry_of"]

# Relative for volumes and areas, absolute in mm for corners of the bounding box.
TOLERANCE = 1e-6


def geometry_of(part: Part) -> tuple[BodyGeometry, ...]:
    """Measure each body that is to be printed."""
    from fitkit.solids.bodies import volume_of

    bodies = []
    for body in part.bodies:
        if body.mesh is not None:
            low, high = body.mesh.bounds.tolist()
            bodies.append(
                BodyGeometry(
                    name=body.name,
                    volume_mm3=body.mesh.volume(),
                    area_mm2=float(body.mesh.areas().sum()),
                    low_mm=tuple(low),
                    high_mm=tuple(high),
                )
            )
            continue
        box = body.solid.bounding_box()
        bodies.append(
            BodyGeometry(
                name=body.name,
                volume_mm3=volume_of(body.solid),
                area_mm2=body.solid.area,
                low_mm=(box.min.X, box.min.Y, box.min.Z),
                high_mm=(box.max.X, box.max.Y, box.max.Z),
            )
        )
    return tuple(bodies)


def differences(
    before: Sequence[BodyGeometry], now: Sequence[BodyGeometry], *, tolerance: float = TOLERANCE
) -> tuple[str, ...]:
    """Say in words where two parts differ; empty if they are the same."""
    old, new = ({body.name: body for body in bodies} for bodies in (before, now))
    found = [f"body {name!r} is no longer there" for name in old if name not in new]
    found += [f"body {name!r} is new" for name in new if name not in old]
    # In the order of the record: that of a set of names differs from one process to the next.
    for name in (name for name in old if name in new):
        a, b = old[name], new[name]
        for what, was, is_now, unit in (
            ("volume", a.volume_mm3, b.volume_mm3, "mm³"),
            ("surface", a.area_mm2, b.area_mm2, "mm²"),
        ):
            if abs(was - is_now) > tolerance * max(was, is_now, 1.0):
                found.append(f"{name}: {what} was {was:.3f} {unit}, is {is_now:.3f} {unit}")
        shift = max(
            abs(x - y)
            for x, y in zip((*a.low_mm, *a.high_mm), (*b.low_mm, *b.high_mm), strict=True)
        )
        if shift > tolerance:
            found.append(f"{name}: its bounding box has moved by up to {shift:.3g} mm")
    return tuple(found)
