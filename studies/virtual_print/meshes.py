"""The same through fitkit's own templates: drawn, exported, and measured on sections of the files.

A profile made of the short coupon's readings says what to draw for each size that must fit; the
template builds the part; its STL files are written and read again by another library; sections
across each feature give what a printer is told to print; the machine prints that. So faults of
drawing, building and exporting would show as errors of sizes.
"""

from __future__ import annotations

import tempfile
from collections import defaultdict
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.calibration import compensate, generic_profile
from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import machines
from studies.virtual_print.shapes import Shape
from studies.virtual_print.ways import Fitkit, evidence_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration import PrinterProfile
    from fitkit.parts import Part
    from fitkit.parts.contract import KeyDimension
    from studies.virtual_print.machine import Machine

    Array = NDArray[np.float64]

__all__ = ["TITLES", "Meshed", "run_meshes", "told_meshes"]

TITLES = ("panel", "board case", "clip tray", "ball seat", "knob", "sleeve", "box lid")
# Sections and rays go so far beside the points of a dimension; a feature is not farther off than
# this share of its size.
_BESIDE_MM, _FAR_SHARE = 0.3, 0.1
_SORTS = {
    "hole": "bore",
    "peg": "post",
    "pocket": "pocket",
    "inside": "gap",
    "outside": "block",
    "centres": "pitch",
    "d_bore": "flat",
    "height": "step",
}


@dataclass
class Meshed:
    """What came out; lists hold one entry a size, in mm.

    Attributes
    ----------
    off_mesh_mm : by template
        Size on the exported mesh less the size as drawn.
    error_mm, held : by template
        Printed less wanted, and whether the ± held.
    """

    off_mesh_mm: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    error_mm: dict[str, list[float]] = field(default_factory=lambda: defaultdict(list))
    held: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))


def run_meshes(count: int, *, odd: bool, seed: int = 1, titles: Sequence[str] = TITLES) -> Meshed:
    """Print templates' default parts on a number of machines of one class.

    Parameters
    ----------
    count : int
    odd : bool
    seed : int
    titles : sequence of str
        Of the templates.

    Returns
    -------
    Meshed
    """
    found = Meshed()
    for number, machine in enumerate(machines(count, odd=odd, seed=seed)):
        way = Fitkit()
        way.learn_coupon(machine, Calipers.drawn(5000 + 2 * number + machine.odd), night=1)
        profile = replace(
            generic_profile("PETG"),
            generic=False,
            evidence=evidence_of(way.read),
            layer_height_mm=0.2,
            first_layer_mm=0.2,
        )
        for index, title in enumerate(titles):
            _print(machine, profile, title, 4 + index, found)
    return found


def _print(
    machine: Machine, profile: PrinterProfile, title: str, night: int, found: Meshed
) -> None:
    from fitkit.parts import template

    model = template(title)()
    sizes = {
        fit.name: compensate(
            f"{fit.nominal_mm!r} mm",
            profile,
            kind=fit.kind,
            axis=fit.axis,
            wall_mm=fit.wall_mm,
            feature=fit.name,
        )
        for fit in model.must_fit()
    }
    part = model.build({name: size.drawn_mm for name, size in sizes.items()})
    # Heights between two faces of a part are measured by the parts' own tests.
    rows = {row.name: row for row in part.dimensions if row.name in sizes and row.kind != "height"}
    with tempfile.TemporaryDirectory() as folder:
        on_mesh = _measured(part, rows, Path(folder))
    for name, row in rows.items():
        size = sizes[name]
        found.off_mesh_mm[title].append(on_mesh[name] - row.value_mm)
        way = size.axis if size.axis in ("x", "y", "z") else "x"
        shape = Shape(name=name, sort=_SORTS[size.kind], way=way, mm=on_mesh[name])  # type: ignore[arg-type]
        (printed,) = machine.printed([shape], night=night)
        found.error_mm[title].append(printed - size.target_mm)
        found.held[title].append(abs(printed - size.expected_mm) <= size.U95_mm)


def _measured(part: Part, rows: Mapping[str, KeyDimension], folder: Path) -> dict[str, float]:
    """Write each body as STL, read it with another library, and measure it on sections."""
    import trimesh

    from fitkit.export.stl import write_stl
    from fitkit.solids import tessellate

    meshes = {}
    for body in part.bodies:
        path = folder / f"{body.name}.stl"
        write_stl(path, tessellate(body.solid))
        meshes[body.name] = trimesh.load_mesh(path)
    return {name: _across(meshes[row.body], row) for name, row in rows.items()}


def _across(mesh: Any, row: KeyDimension) -> float:
    """Measure one size on a section through it, or by rays from its middle."""
    start, end = np.array(row.start, dtype=float), np.array(row.end, dtype=float)
    middle, long = 0.5 * (start + end), float(np.linalg.norm(end - start))
    if row.kind == "centres":
        loops = _loops(mesh, middle[2])
        ends = [
            min((_middle(loop) for loop in loops), key=lambda c: np.hypot(*(c - p[:2])))
            for p in (start, end)
        ]
        return float(np.hypot(*(ends[0] - ends[1])))
    if row.kind.round and row.kind != "d_bore":
        return _diameter(mesh, middle, long)
    return _between(mesh, middle, (end - start) / long, long)


def _middle(loop: Array) -> Array:
    """Middle of the circle through corners, however unevenly they lie on it, by least squares."""
    rows = np.column_stack([2.0 * loop, np.ones(len(loop))])
    return np.linalg.lstsq(rows, (loop**2).sum(axis=1), rcond=None)[0][:2]  # type: ignore[no-any-return]


def _diameter(mesh: Any, middle: Array, long: float) -> float:
    """Twice the reach of the closed line about a middle, or of the nearest face if there is none.

    A circle's corners lie on it, and so does a D's: the farthest is its radius off.
    """
    reaches = [
        float(np.linalg.norm(loop - middle[:2], axis=1).max()) for loop in _loops(mesh, middle[2])
    ]
    found = min(reaches, key=lambda reach: abs(2.0 * reach - long), default=0.0)
    if abs(2.0 * found - long) < _FAR_SHARE * long:
        return 2.0 * found
    # Of a ball's seat the middle is in the air; the face about it is that of the ball.
    return 2.0 * float(np.linalg.norm(mesh.vertices - middle, axis=1).min())


def _loops(mesh: Any, z: float) -> list[Array]:
    """Corners of all closed lines of the sections just below and just above a height."""
    found = []
    for at in (z - _BESIDE_MM, z + _BESIDE_MM):
        section = mesh.section(plane_origin=[0.0, 0.0, at], plane_normal=[0.0, 0.0, 1.0])
        # The last corner of a closed line is the first one again.
        found += [] if section is None else [line[:-1, :2] for line in section.discrete]
    return found


def _between(mesh: Any, middle: Array, along: Array, long: float) -> float:
    """Distance of the two faces that lie nearest to half the size either way."""
    aside = np.cross(along, [0.0, 0.0, 1.0] if abs(along[2]) < 0.5 else [1.0, 0.0, 0.0])
    across = np.cross(along, aside)
    best = np.inf
    # The points of a dimension lie on edges, so rays go a little beside them, too.
    for step in (np.zeros(3), *(s * v * _BESIDE_MM for v in (aside, across) for s in (1.0, -1.0))):
        reach = 0.0
        for sign in (1.0, -1.0):
            hits = mesh.ray.intersects_location([middle + step], [sign * along])[0]
            far = np.reshape(hits, (-1, 3)) @ (sign * along) - middle @ (sign * along)
            reach += float(far[np.argmin(np.abs(far - 0.5 * long))]) if len(far) else np.inf
        if abs(reach - long) < abs(best - long):
            best = reach
    return best


def told_meshes(found: Meshed, *, head: str) -> str:
    """Set the outcome out as a Markdown table, a line a template.

    Parameters
    ----------
    found : Meshed
    head : str

    Returns
    -------
    str
    """
    lines = [
        f"#### {head}: fitkit's templates through exported meshes, short coupon",
        "",
        "| template | sizes | most off on the mesh (mm) | size error (rms, mm) | ± holds |",
        "|---|---|---|---|---|",
    ]
    for title in (*found.error_mm, "all"):
        off, error, held = (
            np.concatenate(list(of.values())) if title == "all" else np.array(of[title])
            for of in (found.off_mesh_mm, found.error_mm, found.held)
        )
        lines.append(
            f"| {title} | {len(error)} | {np.abs(off).max():.4f} | "
            f"{np.sqrt(np.mean(error**2)):.3f} | {held.mean():.3f} |"
        )
    return "\n".join(lines)
