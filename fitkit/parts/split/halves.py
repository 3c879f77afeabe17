"""The two halves of a body, exact or of triangles, and the part with them in place of the whole."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.contract import Body, KeyDimension
from fitkit.parts.split.place import cut_frame
from fitkit.parts.split.plan import BEFORE

if TYPE_CHECKING:
    from fitkit.parts.contract import Part, Point
    from fitkit.parts.split.place import Place, Tools
    from fitkit.parts.split.plan import Split, SplitSizes
    from fitkit.solids.mesh import FloatArray

__all__ = ["halves_of", "with_halves"]


def halves_of(body: Body, place: Place, tools: Tools, title: str) -> tuple[Body, Body]:
    """Cut a body in two.

    Parameters
    ----------
    body : Body
    place : Place
    tools : Tools
    title : str
        Of the part, for messages.

    Returns
    -------
    Body, Body
        In the assembly, laid for printing as the whole was.

    Raises
    ------
    PartError
        If a half would come apart, or is not a valid solid.
    """
    low, high = (corner.copy() for corner in place.mesh.bounds)
    low, high = low - 5.0, high + 5.0
    high[place.axis] = place.at
    names = (f"{body.name} 1", f"{body.name} 2")
    made = (_mesh_halves if body.mesh is not None else _exact_halves)(
        body, place, tools, (low, high), names
    )
    return made[0], made[1]


def _in_pieces(name: str, count: int) -> PartError:
    return PartError(
        f"{name} would come out as {count} pieces",
        at=("split", "at"),
        code="split.in-pieces",
        remedy="Choose another place for the plane, or another joint.",
    )


def _exact_halves(
    body: Body,
    place: Place,
    tools: Tools,
    box: tuple[FloatArray, FloatArray],
    names: tuple[str, str],
) -> list[Body]:
    from build123d import Solid

    from fitkit.parts.forms import box as block
    from fitkit.parts.on_shape import angles_of
    from fitkit.parts.pose import print_pose
    from fitkit.solids.bodies import common, cut, fuse, is_valid, moved, solids_in, turned

    whole = print_pose(body)
    if tools.posts:
        whole = fuse(whole, *tools.posts)
    side = block(tuple(box[0].tolist()), tuple(box[1].tolist()))
    first = common(whole, fuse(side, *tools.tails) if tools.tails else side)
    second = cut(whole, fuse(side, *tools.sockets) if tools.sockets else side)
    if tools.holes:
        first, second = cut(first, *tools.holes), cut(second, *tools.holes)
    first = cut(first, *tools.in_first) if tools.in_first else first
    second = cut(second, *tools.in_second) if tools.in_second else second
    a, b, c = angles_of(place.rotation.T)
    found = []
    for name, half in zip(names, (first, second), strict=True):
        solids = solids_in(half)
        if len(solids) != 1:
            raise _in_pieces(name, len(solids))
        if not is_valid(solids[0]):
            raise PartError(
                f"{name} did not come out as a valid solid",
                at=("split", "at"),
                code="split.not-valid",
                remedy="Move the plane by a millimetre.",
            )
        back = turned(moved(solids[0], *(-place.shift).tolist()), x=a, y=b, z=c)
        found.append(Body(name=name, solid=Solid(back), print_turn=body.print_turn))
    return found


def _mesh_halves(
    body: Body,
    place: Place,
    tools: Tools,
    box: tuple[FloatArray, FloatArray],
    names: tuple[str, str],
) -> list[Body]:
    from fitkit.parts.forms import box as block
    from fitkit.parts.meshed import FILE_TOLERANCE_MM
    from fitkit.solids.kernel import tessellate
    from fitkit.solids.mesh_kernel import (
        added,
        coarser,
        common_part,
        cut_out,
        manifold_of,
        mesh_from,
        pieces_of,
        placed,
    )

    def meshed(solid: Any) -> Any:
        return manifold_of(tessellate(solid, tolerance_mm=FILE_TOLERANCE_MM))

    whole = added([manifold_of(place.mesh), *map(meshed, tools.posts)])
    side = meshed(block(tuple(box[0].tolist()), tuple(box[1].tolist())))
    first = common_part(whole, added([side, *map(meshed, tools.tails)]))
    second = cut_out(whole, [side, *map(meshed, tools.sockets)])
    if tools.holes:
        holes = [meshed(hole) for hole in tools.holes]
        first, second = cut_out(first, holes), cut_out(second, holes)
    first = cut_out(first, list(map(meshed, tools.in_first)))
    second = cut_out(second, list(map(meshed, tools.in_second)))
    found = []
    for name, half in zip(names, (first, second), strict=True):
        pieces = [one for one in pieces_of(half) if one.volume() > 1.0]
        if len(pieces) != 1:
            raise _in_pieces(name, len(pieces))
        back = placed(half, place.rotation.T, -place.rotation.T @ place.shift)
        found.append(
            Body.of_mesh(name, mesh_from(back), coarse=coarser(back), print_turn=body.print_turn)
        )
    return found


def with_halves(
    part: Part,
    body: Body,
    split: Split,
    sizes: SplitSizes | None,
    place: Place,
    tools: Tools,
    halves: tuple[Body, Body],
) -> Part:
    """Give the part with two halves in place of one body.

    Parameters
    ----------
    part : Part
    body : Body
        That was split.
    split : Split
    sizes : SplitSizes or None
        Of the joint, as drawn; None where they are shown already.
    place : Place
    tools : Tools
    halves : tuple of Body

    Returns
    -------
    Part
        Its numbers on the half that they lie on, with a note of how much the joint holds.
    """
    from fitkit.solids.mesh_kernel import area_at

    def of(point: Point) -> str:
        return halves[0 if place.first(point) else 1].name

    def moved(items: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(
            replace(one, body=of(one.at)) if one.body == body.name else one for one in items
        )

    dimensions = [
        replace(one, body=of(one.start)) if one.body == body.name else one
        for one in part.dimensions
    ]
    by_name = {fit.name: fit for fit in sizes or ()}
    for name, half, start, end in tools.dimensions if sizes else ():
        fit = by_name[BEFORE + name]
        dimensions.append(
            KeyDimension.of(
                fit, body=halves[half - 1].name, start=place.back(start), end=place.back(end)
            )
        )
    solid, _ = cut_frame(place)
    area = area_at(solid, place.at + 1e-4)
    finding = Finding(
        check="split",
        severity="note",
        text=f"{body.name} is split along {split.along} at {split.at_mm:.1f} mm, as it lies on the "
        f"bed: {area:.0f} mm² are cut, and {tools.holds_mm2:.0f} mm² of that hold by the joint "
        f"({split.joint}). Without glue it bears no more than {_share(tools.holds_mm2, area)} of "
        "what the whole would.",
        value=tools.holds_mm2,
        limit=area,
        unit="mm²",
        basis="areas of this part; the share by area is a bound from above",
        body=halves[0].name,
        remedy="Glue the joint, and let no person's weight or pull go through it.",
    )
    found = [
        replace(one, body=halves[0].name) if one.body == body.name else one for one in part.findings
    ]
    number = [one.name for one in part.bodies].index(body.name)
    bodies = (*part.bodies[:number], *halves, *part.bodies[number + 1 :])
    return replace(
        part,
        bodies=bodies,
        dimensions=tuple(dimensions),
        walls=moved(part.walls),
        arms=moved(part.arms),
        lugs=moved(part.lugs),
        bosses=(*moved(part.bosses), *moved(tools.bosses)),
        vents=moved(part.vents),
        bridges=moved(part.bridges),
        findings=(*found, finding),
        buys=(*part.buys, *tools.buys),
    )


def _share(part: float, whole: float) -> str:
    return f"{100 * min(part / whole, 1.0):.0f} %" if whole > 0 else "nothing"
