"""Whether each body fits the printer, turned about the upright if need be, on one plate or more.

Exact for boxes: a body's footprint is turned by steps of a degree on its convex hull, and must lie
inside the bed. Leaves out nesting and the printer's own margins (skirt, clips), which `MARGIN_MM`
stands for.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fitkit.core.finding import Finding
from fitkit.solids.turns import MARGIN_MM, excess_by_turn, turns_on_bed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["MARGIN_MM", "check_bed", "excess_by_turn"]

FloatArray = npt.NDArray[np.float64]


def check_bed(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find bodies that are too large for the bed, need turning, or fill several plates."""
    if context.bed_mm is None:
        yield Finding(
            check="bed",
            severity="note",
            text="not run, because the printer's profile does not name its bed size.",
            remedy="Add bed_mm to the profile.",
        )
        return
    x, y, z = (float(length) for length in context.bed_mm)
    room = (x - 2 * MARGIN_MM, y - 2 * MARGIN_MM)
    fitting = []
    for body in part.bodies:
        mesh = context.meshes.get(body.name)
        if mesh is None:
            yield Finding(
                check="bed",
                severity="note",
                text=f"not run for {body.name}, because it has no mesh.",
                body=body.name,
            )
            continue
        excess = excess_by_turn(mesh, room)
        turn = 0 if excess[0] <= 0 else 90 if excess[90] <= 0 else int(np.argmin(excess))
        way = _split_way(body.name, mesh, (x, y, z))
        yield from _height(body.name, mesh, z, way)
        yield from _footprint(body.name, mesh, room, turn, excess, way)
        if excess[turn] <= 0:
            fitting.append(mesh)
    if len(fitting) > 1:
        # The same turns and packing as the export uses, so that the two cannot disagree.
        from fitkit.solids.plate import lay_out
        from fitkit.solids.turns import footprint

        turns = turns_on_bed(fitting, (x, y))
        boxes = [footprint(mesh, turn) for mesh, turn in zip(fitting, turns, strict=True)]
        plates = len(lay_out(boxes, (x, y)))
        if plates > 1:
            yield Finding(
                check="bed",
                severity="note",
                text=f"the {len(fitting)} bodies need {plates} plates.",
                value=float(plates),
                untold=("limit",),
                limit=1.0,
                unit="plates",
                basis="size of the printer",
                remedy="Print them one plate after the other.",
            )


def _split_way(name: str, mesh: Mesh, bed_mm: tuple[float, float, float]) -> str:
    """Say how a body that is too large can be split; empty for one that fits, or never would."""
    from fitkit.solids.cut_plane import best_plane, fits_bed

    room = (bed_mm[0] - 2 * MARGIN_MM, bed_mm[1] - 2 * MARGIN_MM)
    if fits_bed(mesh.size, bed_mm) or (
        mesh.size[2] <= bed_mm[2] and excess_by_turn(mesh, room).min() <= 0
    ):
        return ""
    plane = best_plane(mesh, bed_mm)
    if plane is None:
        return "No single cut makes both halves fit"
    return (
        f'Split it: [split] body = "{name}", along = "{plane.along}", at = "{plane.at_mm:.1f} mm" '
        f"cuts least ({plane.area_mm2:.0f} mm²)"
    )


def _height(name: str, mesh: Mesh, reach_mm: float, way: str) -> Iterator[Finding]:
    height = float(mesh.size[2])
    if height > reach_mm:
        yield Finding(
            check="bed",
            severity="stop",
            text=f"{name} is {height:.1f} mm high, the printer reaches {reach_mm:.1f} mm.",
            value=height,
            limit=reach_mm,
            unit="mm",
            basis="size of the printer",
            body=name,
            remedy=f"{way or 'Lay it on another side'}; or use a taller printer.",
        )


def _footprint(
    name: str,
    mesh: Mesh,
    room: tuple[float, float],
    turn: int,
    excess: FloatArray,
    way: str,
) -> Iterator[Finding]:
    finding = partial(
        Finding, check="bed", limit=0.0, unit="mm", basis="size of the printer", body=name
    )
    if excess[turn] > 0:
        x, y = mesh.size[:2]
        yield finding(
            severity="stop",
            text=(
                f"{name} needs {x:.1f} x {y:.1f} mm; the bed has {room[0]:.1f} x {room[1]:.1f} mm "
                f"free, and even turned by {turn}° it is {excess[turn]:.1f} mm too large."
            ),
            value=float(excess[turn]),
            remedy=f"{way or 'Split it into bodies that join'}; or use a larger printer.",
        )
    elif turn:
        yield finding(
            severity="note",
            text=f"{name} fits the bed only when turned about the upright by {turn}°.",
            value=float(excess[0]),
            remedy=f"It lies turned in the 3MF file. Turn an STL file by {turn}° when slicing.",
        )
