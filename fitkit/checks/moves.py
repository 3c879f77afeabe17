"""How far and how often the nozzle moves for a print: estimated from its meshes, by kind of move.

A body is divided into walls, closed skins and infill (`sections`); the plastic of each over the
section of a line is the length of its lines. The outer walls' length is exact: the upright part of
the surface over the height of a layer. Skins and infill are hatched at 45 degrees, to and fro.
Leaves out supports, brim and purge.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.checks.sections import shares
from fitkit.solids.mesh import feature_edges

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from fitkit.solids.mesh import Mesh

__all__ = ["KINDS", "Moves", "moves_of"]

KINDS = ("outer", "inner", "skin", "infill", "travel", "turn")
# Closed layers under and over air. Common practice, no source.
_SKIN_LAYERS = 4
# Jumps of the nozzle for each outline or hole of a layer, without filling and with it, and how far,
# over the body's size: middles over the plans of 17 parts in `studies/print_paths.py`.
_JUMPS = (2.0, 5.0)
_JUMP = 0.13


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """Moves of a print.

    Attributes
    ----------
    count, length_mm : tuple of float, one for each of `KINDS`
    layers : int
    plastic_mm3 : float
        Volume of plastic laid.
    """

    count: tuple[float, ...]
    length_mm: tuple[float, ...]
    layers: int
    plastic_mm3: float

    def __add__(self, other: Moves) -> Moves:
        """Print both on one plate, one after the other."""
        return Moves(
            count=tuple(a + b for a, b in zip(self.count, other.count, strict=True)),
            length_mm=tuple(a + b for a, b in zip(self.length_mm, other.length_mm, strict=True)),
            layers=self.layers + other.layers,
            plastic_mm3=self.plastic_mm3 + other.plastic_mm3,
        )

    def filament_mm(self, diameter_mm: float = 1.75) -> float:
        """Length of filament that gives the plastic."""
        return self.plastic_mm3 / (math.pi / 4 * diameter_mm**2)

    def content(self) -> dict[str, object]:
        """Give plain values for a record."""
        return {
            "count": [round(value, 1) for value in self.count],
            "length_mm": [round(value, 1) for value in self.length_mm],
            "layers": self.layers,
            "plastic_mm3": round(self.plastic_mm3, 1),
        }

    @classmethod
    def read(cls, content: Mapping[str, object]) -> Moves | None:
        """Read what `content` gave; None if it is something else."""
        try:
            found = cls(
                count=tuple(map(float, content["count"])),  # type: ignore[call-overload]
                length_mm=tuple(map(float, content["length_mm"])),  # type: ignore[call-overload]
                layers=int(content["layers"]),  # type: ignore[call-overload]
                plastic_mm3=float(content["plastic_mm3"]),  # type: ignore[arg-type]
            )
        except (KeyError, TypeError, ValueError):
            return None
        sound = len(found.count) == len(found.length_mm) == len(KINDS)
        return found if sound and min(found.count + found.length_mm) >= 0 else None


def moves_of(
    meshes: Iterable[Mesh],
    *,
    line_mm: float,
    layer_mm: float,
    perimeters: int,
    infill: float,
) -> Moves:
    """Estimate the moves of bodies that are printed together.

    Parameters
    ----------
    meshes : iterable of Mesh
        Closed, as printed, each with its foot at z = 0.
    line_mm, layer_mm : float, mm
        Width of a line, height of a layer.
    perimeters : int
    infill : float
        Share of the inside, 0 to 1.
    """
    total = Moves(
        count=(0.0,) * len(KINDS), length_mm=(0.0,) * len(KINDS), layers=0, plastic_mm3=0.0
    )
    for mesh in meshes:
        total = total + _moves(mesh, line_mm, layer_mm, perimeters, infill)
    return total


def _moves(mesh: Mesh, line: float, layer: float, perimeters: int, infill: float) -> Moves:
    wall = perimeters * line
    part = shares(mesh, wall_mm=wall, skin_mm=_SKIN_LAYERS * layer)
    section = line * layer
    vectors = mesh.area_vectors()
    outer = float(np.hypot(vectors[:, 0], vectors[:, 1]).sum()) / layer
    walls = part.wall / section
    outer = min(outer, walls)
    edges = feature_edges(mesh)
    corners = max(float(np.abs(edges[:, 1, 2] - edges[:, 0, 2]).sum()) / layer, 1.0)
    loops = part.pieces / layer
    inner = walls - outer
    around = inner / outer if outer else 0.0
    skin, rest = part.skin / section, infill * part.rest / section
    skins = part.skin_width / (layer * line)
    sparse = part.rest_width * infill / (layer * line)
    # A piece that is all walls is left once; one with skins and infill is gone to and fro over.
    full = min(1.0, (skins + sparse) * layer / (10.0 * float(mesh.size[2])))
    jumps = (_JUMPS[0] + full * (_JUMPS[1] - _JUMPS[0])) * loops
    between = skins * line + sparse * line / max(infill, 0.01)
    diagonal = float(np.hypot(*mesh.size[:2]))
    return Moves(
        count=(
            corners + loops,
            around * (corners + loops),
            skins,
            sparse,
            jumps,
            skins + sparse,
        ),
        length_mm=(outer, inner, skin, rest, jumps * _JUMP * diagonal, between),
        layers=math.ceil(float(mesh.size[2]) / layer),
        plastic_mm3=part.wall + part.skin + infill * part.rest,
    )
