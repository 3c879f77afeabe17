"""What a split leaves open: the bodies that do not fit the bed, the plane that cuts least."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.parts.split.place import laid
from fitkit.solids.cut_plane import Along, CutPlane, best_plane, fits_bed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.contract import Part
    from fitkit.parts.split.plan import Split
    from fitkit.solids.mesh import Mesh

__all__ = ["resolved"]


def resolved(split: Split, part: Part, bed_mm: Sequence[float] | None) -> tuple[Split, ...]:
    """Fill in what a split leaves open: body, plane, joint.

    Parameters
    ----------
    split : Split
    part : Part
        At any sizes near those that are drawn.
    bed_mm : (x, y, z), mm, or None
        The printer's; None if it is not known.

    Returns
    -------
    tuple of Split
        One for each body that is split, whole: for the one that is named, else for all that do not
        fit the bed, all by the same joint and along the same axis.

    Raises
    ------
    PartError
        If there is no such body, all bodies fit and none is named, or no single plane makes both
        halves fit.
    """
    meshes = {body.name: laid(body)[0] for body in part.bodies}
    if split.body and split.body not in meshes:
        raise PartError(
            f"there is no body {split.body!r}",
            where=part.title,
            at=("split", "body"),
            code="split.no-body",
            remedy=f"There are: {', '.join(meshes)}.",
        )
    names = [split.body] if split.body else []
    if not names:
        names = [n for n, mesh in meshes.items() if bed_mm and not fits_bed(mesh.size, bed_mm)]
        if len(meshes) == 1:
            names = list(meshes)
        if not names:
            raise PartError(
                "each body fits the bed, and none is named",
                where=part.title,
                at=("split",),
                code="split.nothing-large",
                remedy=f"Leave [split] out, or name a body: {', '.join(meshes)}.",
            )
    found: list[Split] = []
    for name in names:
        # All are cut the same way, so that one joint's sizes count for all.
        like = found[0] if found else split
        along, at = like.along, split.at_mm
        if along is None or at is None:
            plane = _proposed(split, part.title, name, meshes[name], along, bed_mm)
            along, at = plane.along, plane.at_mm if at is None else at
        joint = like.joint or ("dowels" if along == "z" else "dovetail")
        found.append(replace(split, body=name, along=along, at_mm=at, joint=joint))
    return tuple(found)


def _proposed(
    split: Split,
    title: str,
    name: str,
    mesh: Mesh,
    along: Along | None,
    bed_mm: Sequence[float] | None,
) -> CutPlane:
    if not bed_mm:
        raise PartError(
            "the printer's profile does not name its bed, so that no plane can be proposed",
            where=title,
            at=("split",),
            code="split.no-bed",
            remedy='Add bed_mm to the profile, or give along = "x" and at = "120 mm".',
        )
    found = best_plane(mesh, bed_mm, beyond_mm=split.deep_mm + 1.0, along=along)
    if found is None:
        size = " x ".join(f"{x:.0f}" for x in mesh.size)
        raise PartError(
            f"no single plane makes both halves of {name} ({size} mm) fit a bed of "
            f"{' x '.join(f'{x:.0f}' for x in bed_mm)} mm",
            where=title,
            at=("split",),
            code="split.still-too-large",
            remedy="Make the part smaller, or use a larger printer: two cuts are not made.",
        )
    return found
