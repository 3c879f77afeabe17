"""Print paths planned layer by layer from a body's sections: the reference for time and plastic.

Each layer's polygons (trimesh's sections) are drawn in by whole lines for the perimeters; what is
left is hatched, closely where fewer than four layers lie above or below, else sparsely (shapely).
Every straight piece is then timed on a printer of known speed and acceleration, which stops at
corners. It shares no code with what fitkit estimates from a mesh.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.affinity
import trimesh

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from shapely.geometry.base import BaseGeometry

    from fitkit.solids.mesh import Mesh

__all__ = ["Machine", "Paths", "planned"]

_SKIN_LAYERS = 4
_CORNER = math.cos(math.radians(30))


@dataclass(frozen=True, kw_only=True)
class Machine:
    """A printer: speeds of outer and inner walls, skins, infill, jumps, mm/s; mm/s²; s."""

    speed: dict[str, float]
    acceleration: float
    start_s: float = 300.0
    layer_s: float = 0.5


@dataclass
class Paths:
    """Straight pieces by kind, mm, and what they come to."""

    line_mm: float
    layer_mm: float
    layers: int = 0
    pieces: dict[str, list[float]] = field(default_factory=dict)

    def add(self, kind: str, lengths: Iterable[float]) -> None:
        """Note pieces."""
        self.pieces.setdefault(kind, []).extend(lengths)

    @property
    def plastic_mm3(self) -> float:
        """Volume of all lines."""
        laid = sum(sum(found) for kind, found in self.pieces.items() if kind != "travel")
        return laid * self.line_mm * self.layer_mm

    def hours(self, machine: Machine) -> float:
        """Time on a machine that stands still at both ends of each piece."""
        seconds = machine.start_s + machine.layer_s * self.layers
        for kind, found in self.pieces.items():
            length, fast = np.array(found), machine.speed[kind]
            a = machine.acceleration
            seconds += float(
                np.where(
                    length >= fast**2 / a, length / fast + fast / a, 2 * np.sqrt(length / a)
                ).sum()
            )
        return seconds / 3600


def planned(
    meshes: Iterable[Mesh], *, line_mm: float, layer_mm: float, perimeters: int, infill: float
) -> Paths:
    """Plan all layers of bodies as they lie."""
    paths = Paths(line_mm, layer_mm)
    for mesh in meshes:
        _plan(mesh, paths, perimeters, infill)
    return paths


def _plan(mesh: Mesh, paths: Paths, perimeters: int, infill: float) -> None:
    solid = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    count = max(1, round(float(mesh.size[2]) / paths.layer_mm))
    heights = (np.arange(count) + 0.5) * paths.layer_mm
    sections = solid.section_multiplane([0, 0, 0], [0, 0, 1], heights)
    layers = []
    for section in sections:
        if section is None:
            layers.append(shapely.Polygon())
            continue
        back = section.metadata["to_3D"]
        whole = shapely.union_all(list(section.polygons_full))
        layers.append(
            shapely.affinity.affine_transform(
                whole, [back[0, 0], back[0, 1], back[1, 0], back[1, 1], back[0, 3], back[1, 3]]
            )
        )
    w = paths.line_mm
    paths.layers += count
    for number, layer in enumerate(layers):
        at = (0.0, 0.0)
        for turn in range(perimeters):
            loops = layer.buffer(-(turn + 0.5) * w, join_style="mitre")
            for loop in _rings(loops):
                points = _from_nearest(np.asarray(loop.coords), at)
                paths.add("travel", [math.dist(at, points[0])])
                at = (float(points[0, 0]), float(points[0, 1]))
                paths.add("inner" if turn else "outer", _straights(points))
            # What is too narrow for a line each way is filled by one along it, as slicing steps do.
            left = layer.buffer(-turn * w, join_style="mitre") - loops.buffer(
                w / 2, join_style="mitre"
            )
            for gap in shapely.get_parts(left.buffer(w / 2)):
                if (laid := (gap & left).area) > w * w:
                    paths.add("inner", [laid / w])
        inner = layer.buffer(-perimeters * w, join_style="mitre")
        covered = inner
        near = [
            *range(number - _SKIN_LAYERS, number),
            *range(number + 1, number + 1 + _SKIN_LAYERS),
        ]
        for other in near:
            covered = covered & (layers[other] if 0 <= other < count else shapely.Polygon())
        angle = 45.0 if number % 2 else -45.0
        for kind, region, pitch in (
            ("skin", inner - covered, w),
            ("infill", covered, w / infill if infill else math.inf),
        ):
            for start, end in _nearest_first(list(_hatched(region, pitch, angle)), at):
                paths.add("travel", [math.dist(at, start)])
                paths.add(kind, [math.dist(start, end)])
                at = end


def _rings(shape: BaseGeometry) -> Iterator[shapely.LinearRing]:
    for polygon in shapely.get_parts(shape):
        if not polygon.is_empty:
            yield polygon.exterior
            yield from polygon.interiors


def _from_nearest(points: np.ndarray, at: tuple[float, float]) -> np.ndarray:
    """Begin a loop at its corner nearest to where the nozzle is."""
    first = int(np.hypot(*(points - at).T)[:-1].argmin())
    return np.concatenate([points[first:-1], points[: first + 1]])


def _straights(points: np.ndarray) -> list[float]:
    """Lengths between corners of more than 30 degrees."""
    steps = np.diff(points, axis=0)
    length = np.hypot(*steps.T)
    steps, length = steps[length > 1e-9], length[length > 1e-9]
    way = steps / length[:, None]
    corner = np.einsum("ij,ij->i", way, np.roll(way, 1, axis=0)) < _CORNER
    if not corner.any():
        return [float(length.sum())]
    owner = np.cumsum(np.roll(corner, -int(np.argmax(corner)))) - 1
    return [float(v) for v in np.bincount(owner, np.roll(length, -int(np.argmax(corner))))]


def _hatched(
    region: BaseGeometry, pitch: float, angle: float
) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Lines across a region."""
    if region.is_empty or not math.isfinite(pitch):
        return
    turned = shapely.affinity.rotate(region, -angle, origin=(0, 0))
    low_x, low_y, high_x, high_y = turned.bounds
    rows = np.arange(low_y + pitch / 2, high_y, pitch)
    lines = shapely.linestrings(
        np.stack(
            [
                np.stack([np.full_like(rows, low_x - 1), rows], axis=1),
                np.stack([np.full_like(rows, high_x + 1), rows], axis=1),
            ],
            axis=1,
        )
    )
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    for piece in shapely.get_parts(shapely.intersection(lines, turned)):
        if piece.length > 1e-6:
            (a, b), (d, e) = piece.coords[0], piece.coords[-1]
            yield (a * c - b * s, a * s + b * c), (d * c - e * s, d * s + e * c)


def _nearest_first(
    lines: list[tuple[tuple[float, float], tuple[float, float]]], at: tuple[float, float]
) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Go on to the line with the nearest end, from that end."""
    ends = np.array(lines).reshape(-1, 2, 2)
    while len(ends):
        far = np.hypot(*np.moveaxis(ends - at, 2, 0))
        row, end = divmod(int(far.argmin()), 2)
        start, stop = ends[row, end], ends[row, 1 - end]
        at = (float(stop[0]), float(stop[1]))
        yield (float(start[0]), float(start[1])), at
        ends = np.delete(ends, row, axis=0)
