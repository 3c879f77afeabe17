"""A built part with its meshes: assembled for views, laid for printing for checks and files."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.parts.meshed import FILE_TOLERANCE_MM, mesh_of
from fitkit.solids.mesh import lay_flat

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = ["FILE_TOLERANCE_MM", "Built", "mesh_part", "print_meshes"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Built:
    """A part with its meshes: in the assembly, and as each body is printed.

    Attributes
    ----------
    part : Part
    assembled, laid : mapping of body name to Mesh, mm
    placements : mapping of body name to (rotation, shift)
        How each body got from the assembly to its print pose.
    """

    part: Part
    assembled: Mapping[str, Mesh]
    laid: Mapping[str, Mesh]
    placements: Mapping[str, tuple[FloatArray, FloatArray]]


def mesh_part(part: Part, assembled: Mapping[str, Mesh] | None = None) -> Built:
    """Turn a part's solids into meshes, each once.

    Parameters
    ----------
    part : Part
    assembled : mapping of name to Mesh, optional
        Meshes that are there already, of all bodies and perhaps of ghosts.

    Returns
    -------
    Built
    """
    if assembled is None:
        assembled = {body.name: mesh_of(body) for body in part.bodies}
    laid, placements = {}, {}
    for body in part.bodies:
        mesh, rotation, shift = lay_flat(assembled[body.name], body.print_turn)
        laid[body.name], placements[body.name] = mesh, (rotation, shift)
    return Built(part=part, assembled=assembled, laid=laid, placements=placements)


def print_meshes(part: Part) -> dict[str, Mesh]:
    """Mesh each body by name as it is printed, finely enough for files: `FILE_TOLERANCE_MM`."""
    return {
        body.name: lay_flat(mesh_of(body, for_files=True), body.print_turn)[0]
        for body in part.bodies
    }
