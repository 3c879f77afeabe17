"""Random cases for several things, and a look at what was built by tools that are not ours.

trimesh says whether meshes are closed and cuts them into level slices; shapely lays these over one
another. The things, drawn in by what arms may reach over them, must meet nothing in their places,
and on their ways in no slice of the tray above them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
import trimesh
from shapely.affinity import scale

from fitkit.parts.carriers.case import Case
from fitkit.solids import tessellate, volume_of

if TYPE_CHECKING:
    from fitkit.parts.contract import Part

# Things held by arms or lips are drawn in by more: their arms must reach over them.
_GRIPPED = 0.9
_FREE = 0.985
_TOUCH_MM2 = 0.5  # a sliver of two facets is no collision


def _mm(value: float) -> str:
    return f"{value:.2f} mm"


def board(draw: np.random.Generator, name: str) -> dict[str, Any]:
    long, wide = draw.uniform(35, 90), draw.uniform(25, 60)
    thing: dict[str, Any] = {
        "name": name,
        "held": "board on standoffs",
        "board_length": _mm(long),
        "board_width": _mm(wide),
        "tallest_part": _mm(draw.uniform(3, 15)),
        "hole_spacing_x": _mm(long - draw.uniform(7, 10)),
        "hole_spacing_y": _mm(wide - draw.uniform(7, 10)),
    }
    if draw.random() < 0.6:
        wall = str(draw.choice(["front", "left", "back", "right"]))
        side = long if wall in ("front", "back") else wide
        thing["ports"] = [
            {
                "wall": wall,
                "along": _mm(draw.uniform(9, side - 9)),
                "above": _mm(draw.uniform(2, 4)),
                "width": _mm(draw.uniform(4, 9)),
                "height": _mm(draw.uniform(3, 5)),
            }
        ]
    return thing


def blocks(draw: np.random.Generator, name: str) -> dict[str, Any]:
    return {
        "name": name,
        "held": "block between arms",
        "body_length": _mm(draw.uniform(22, 40)),
        "body_width": _mm(draw.uniform(10, 25)),
        "body_height": _mm(draw.uniform(8, 18)),
        "columns": int(draw.integers(1, 4)),
        "strain": 2.5,
        "wires": str(draw.choice(["front", "both", "none"])),
    }


def cells(draw: np.random.Generator, name: str) -> dict[str, Any]:
    return {
        "name": name,
        "held": "round cell in saddles",
        "diameter": _mm(draw.uniform(12, 26)),
        "body_length": _mm(draw.uniform(35, 70)),
        "count": int(draw.integers(1, 4)),
        "hold": str(draw.choice(["arms", "rest"])),
        "grip": "0.3 mm",
    }


def ball(draw: np.random.Generator, name: str) -> dict[str, Any]:
    return {
        "name": name,
        "held": "ball in a cup",
        "ball": _mm(draw.uniform(20, 34)),
        "retention": "0.3 mm",
    }


def device(draw: np.random.Generator, name: str) -> dict[str, Any]:
    thing: dict[str, Any] = {
        "name": name,
        "held": "device in a cut-out",
        "behind": _mm(draw.uniform(4, 30)),
        "width": _mm(draw.uniform(8, 20)),
        "grip": "1.6 mm",
    }
    shape = str(draw.choice(["round", "rectangle", "D"]))
    if shape == "rectangle":
        thing |= {"across": _mm(draw.uniform(8, 16)), "bezel": "1 mm", "grip": "1 mm"}
    elif shape == "D":
        width = float(thing["width"].split()[0])
        thing |= {"across": _mm(0.85 * width), "fixing": "nut"}
    else:
        thing["fixing"] = "nut"
    return thing | {"shape": shape}


def job(seed: int) -> Case:
    """A case of 2 to 6 things; the same for the same seed."""
    draw = np.random.default_rng(seed)
    kinds = (board, blocks, cells, ball, device)
    count = int(draw.integers(2, 7))
    things, boards = [], 0
    for number in range(count):
        make = kinds[int(draw.integers(len(kinds)))]
        if make is board:
            boards += 1
        things.append(make(draw, f"thing {number + 1}"))
    if all(thing["held"] == "device in a cut-out" for thing in things):
        things[0] = board(draw, "thing 1")
    hangs = any(thing["held"] == "device in a cut-out" for thing in things)
    fixings = ["screws", "snap", "rim"] if hangs else ["screws", "snap", "rim", "slide"]
    return Case.of(
        things=things,
        lid_fixing=str(draw.choice(fixings)),
        lugs=int(draw.choice([0, 2])),
        vent_area=f"{draw.choice([0, 150])} mm²",
        label="ABC1234",
    )


def mesh(solid: Any) -> trimesh.Trimesh:
    made = tessellate(solid)
    return trimesh.Trimesh(made.vertices, made.triangles, process=False)


def slices(made: trimesh.Trimesh, levels: np.ndarray) -> list[shapely.Geometry]:
    """The mesh cut at each level, seen from above."""
    found = []
    for level in levels:
        cut = made.section(plane_origin=[0.0, 0.0, level], plane_normal=[0.0, 0.0, 1.0])
        whole: shapely.Geometry = shapely.Polygon()
        for ring in () if cut is None else cut.discrete:
            if len(ring) > 3:  # what lies in an odd number of rings is plastic
                whole = whole.symmetric_difference(shapely.Polygon(ring[:, :2]).buffer(0))
        found.append(whole)
    return found


def drawn_in(case: Case, name: str, made: trimesh.Trimesh) -> tuple[float, tuple[float, float]]:
    """How much narrower a thing is taken than it is, and about which middle."""
    thing = next((t for t in case.things if name.startswith(f"{t.name}: ")), None)
    gripped = thing is not None and thing.title in (
        "block between arms",
        "round cell in saddles",
        "ball in a cup",
    )
    (x, y, _), (u, v, _) = made.bounds
    # A nose reaches 0.6 mm over a block, however narrow that is.
    share = min(_GRIPPED, 1 - 1.4 / min(u - x, v - y)) if gripped else _FREE
    return share, ((x + u) / 2, (y + v) / 2)


def faults(case: Case, part: Part) -> list[str]:
    """What is wrong with a part, by trimesh and shapely; empty if nothing is.

    A slice that runs along a face can come out with an outline missing: what is wrong is seen in
    slices a little higher, too.
    """
    first = _look(case, part, 0.137)
    if not first:
        return []
    again = _look(case, part, 0.191)
    return [fault for fault in first if fault in again]


def _look(case: Case, part: Part, start: float) -> list[str]:
    found = []
    bodies = {body.name: mesh(body.solid) for body in part.bodies}
    for body in part.bodies:
        made = bodies[body.name]
        if not (made.is_watertight and made.is_winding_consistent and made.volume > 0):
            found.append(f"{body.name} is not closed")
        if abs(made.volume / volume_of(body.solid) - 1) > 0.01:
            found.append(f"{body.name} encloses {made.volume:.0f}, not {volume_of(body.solid):.0f}")
    ghosts = {ghost.name: mesh(ghost.solid) for ghost in part.ghosts}
    high = max(made.bounds[1][2] for made in bodies.values())
    levels = np.arange(start, high, 0.731)  # off the heights at which faces lie
    plastic = {name: slices(made, levels) for name, made in bodies.items()}
    things = {}
    for name, made in ghosts.items():
        share, middle = drawn_in(case, name, made)
        things[name] = [scale(one, share, share, origin=middle) for one in slices(made, levels)]
    for name, own in things.items():
        on_lid = any(name.startswith(f"{t.name}: ") and t.face == "lid" for t in case.things)
        for body, cut in plastic.items():
            if any(a.intersection(b).area > _TOUCH_MM2 for a, b in zip(own, cut, strict=True)):
                found.append(f"{name} stands in {body}")
        own_way = next(ghost.insertion for ghost in part.ghosts if ghost.name == name)
        if not on_lid and own_way is None:
            below: shapely.Geometry = shapely.Polygon()
            for one, tray in zip(own, plastic["tray"], strict=True):
                below = below.union(one)
                if below.intersection(tray).area > _TOUCH_MM2:
                    found.append(f"{name} cannot go in: the tray is in its way")
                    break
        for other, theirs in things.items():
            if name.split(":")[0] < other.split(":")[0] and any(
                a.intersection(b).area > _TOUCH_MM2 for a, b in zip(own, theirs, strict=True)
            ):
                found.append(f"{name} stands in {other}")
    return found
