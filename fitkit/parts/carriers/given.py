"""A given shape that carries things: a sculpted piece with fit features at poses on its surface.

The shape comes as triangles (`solids.given_mesh` reads and mends it) and stays triangles: what the
holders and features draw exactly is meshed as finely as files ask, and joined by booleans of
meshes. A holder brings its own plate along, which is let into the surface; where the surface falls
away under it, the plate gets a root down into the shape.

The part is made in this order: room is cut for what stands on the surface, then it is added, then
holes are cut through all, and last a flat foot. Checked are the pose (on the surface, looking out
of it), the root (in the shape all round), the plastic left round every cut, and that no two
features are in one place.

Left out: features that follow a curved surface. STEP files are not written: triangles have no exact
faces.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cached_property, partial
from itertools import combinations
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

import numpy as np
from pydantic import Field

from fitkit.core.errors import FaultList, PartError
from fitkit.core.finding import Finding
from fitkit.core.given_file import GivenShapeFile, shape_parameter
from fitkit.core.sizes import HOLE, HOLE_LYING
from fitkit.parts.carrier import Carrier
from fitkit.parts.contract import Body, Length, Part, Wall, size
from fitkit.parts.fit_size import SizeSet, mapped
from fitkit.parts.forms import choice
from fitkit.parts.holder import Base, Holder, Spot, named_for
from fitkit.parts.layout import Place
from fitkit.parts.on_shape import Frame, Worked, frame_at, turn_down
from fitkit.solids.given_mesh import ENDINGS, Unit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from manifold3d import Manifold

    from fitkit.core.sizes import Axis
    from fitkit.parts.contract import Point, SnapArm
    from fitkit.parts.fit_size import FitSize
    from fitkit.parts.holder import Face, Fixture
    from fitkit.solids.given_mesh import Sound
    from fitkit.solids.mesh import FloatArray
    from fitkit.solids.profiles import Loop

__all__ = ["OnShape"]

BODY = "shape"
# How far a typed point may lie off the surface, mm.
_ON_MM = 0.5
# The way out may lean so far from the surface's own, degrees: sculpted surfaces are rough.
_LEAN_DEG = 60.0
# What a root must stand in the shape beyond the lowest place under it, mm.
_ROOTED_MM = 0.8
# A root longer than that is a wrong pose, mm. A choice of ours.
_LONGEST_ROOT_MM = 25.0
# Less plastic than that round a cut is a hole into the open, mm.
_LEAST_MM = 0.4
# Beyond that plastic round a cut is no wall, mm.
_THICK_MM = 8.0
# What is cut beside a plate lies within its rim by so much, so that no two faces coincide, mm.
_WITHIN_MM = 0.02
# Overall sizes may differ by so much from a known length before it is told, as a share.
_KNOWN = 0.03
_IN_ONE_PLACE_MM3 = 1.0
_TILTED = 45.0  # degrees from which a hole lies in the print
_BODY_LEAST_MM3 = 1.0


class _Tools(NamedTuple):
    """What a feature does to the shape, in the assembly."""

    clear: Manifold | None
    add: Manifold | None
    cuts: tuple[Manifold, ...]
    plane: Frame | None
    room: Manifold | None
    through: bool


class OnShape(Carrier):
    """A shape of one's own with fit features on its surface."""

    title: ClassVar[str] = "given shape"
    summary: ClassVar[str] = (
        "A shape from a file (STL, 3MF, STEP) with fit features at chosen poses."
    )

    shape: GivenShapeFile = shape_parameter(
        "The file with the shape.", group="Shape", endings=ENDINGS
    )
    unit: Unit | None = choice(
        None, "Unit of an STL file, which says none; the others have their own.", "Shape"
    )
    known_length: Length | None = choice(
        None, "An overall size as it should be: a wrong unit is seen by it.", "Shape"
    )
    known_along: str = Field(
        default="z",
        pattern="^[xyz]$",
        description="The direction of that size: x, y or z.",
        json_schema_extra={"group": "Shape"},
    )
    pad: Length = size(
        "3 mm",
        low="2 mm",
        high="10 mm",
        group="Shape",
        help="Plate that a holder brings along, let into the surface.",
    )

    # --- the contract of carriers -----------------------------------------------------------------

    def base(self, face: Face) -> Base:
        """Give the plate that a holder brings along."""
        return Base(face="floor", thickness_mm=self.pad)

    def own_sizes(self) -> SizeSet:
        """Declare none: what is given is given."""
        return SizeSet()

    def places(self) -> list[Place]:
        """Give the points of the things, x and y."""
        return [
            Place(float(f.origin[0]), float(f.origin[1]), spot.turn)
            for f, spot in zip(self.frames, self._spots(), strict=True)
        ]

    def must_fit(self) -> SizeSet:
        """Declare the sizes of each thing under its name, as they lie in the print."""
        self._refuse_names()
        printed = self.printed
        found = []
        for i, thing in enumerate(self.things):
            sizes = self._of_thing(i, lambda t, b: t.must_fit(b))
            named = named_for(sizes, thing.name, ("things", i), 0.0)
            found.append(mapped(named, partial(_as_printed, axes=printed @ self.frames[i].axes)))
        return self.joined_sizes(self.own_sizes(), tuple(found))

    # --- the shape and the frames -----------------------------------------------------------------

    @property
    def sound(self) -> Sound:
        """The shape, read and mended; remembered by its content, since it cannot travel."""
        from fitkit.solids.given_mesh import given_shape

        if not self.shape:
            raise PartError(
                "no shape is given",
                where=self.title,
                at=("shape",),
                code="shape.none",
                remedy='Write shape = "FILE.stl" under [values]; the file lies beside the sheet.',
            )
        try:
            return given_shape(self.shape, self.unit)
        except PartError as error:
            raise error.placed(PartError, at=error.at or ("shape",)) from error

    def _spots(self) -> list[Spot]:
        faults = []
        for i, thing in enumerate(self.things):
            flat = thing.title == "flat foot"
            if isinstance(thing.place, Spot) and (thing.place.at is not None):
                continue
            example = 'place = { at = ["0 mm", "-30 mm", "45 mm"] }'
            faults.append(
                PartError(
                    "its place on the shape is not given",
                    where=thing.name,
                    at=("things", i, "place"),
                    code="shape.no-place",
                    remedy=f"Write {example}{', a point of the foot' if flat else ''}.",
                )
            )
        if faults:
            raise FaultList(faults)
        return [thing.place for thing in self.things if isinstance(thing.place, Spot)]

    @cached_property
    def frames(self) -> tuple[Frame, ...]:
        """The frame of each thing: its pose on the surface, held against the shape."""
        found, faults = [], []
        for i, (thing, spot) in enumerate(zip(self.things, self._spots(), strict=True)):
            try:
                with self.told(i):
                    found.append(self._frame(thing, spot))
            except PartError as error:
                faults.append(error)
        if faults:
            raise FaultList(faults)
        return tuple(found)

    def _frame(self, thing: Holder, spot: Spot) -> Frame:
        point = np.asarray(spot.at, float)
        normal = None if spot.normal is None else np.asarray(spot.normal, float)
        if normal is not None and not np.linalg.norm(normal) > 1e-6:
            raise PartError(
                "the way out of the shape has no length",
                at=("place", "normal"),
                code="shape.normal",
                remedy="Give a direction, such as [0, -1, 0], or leave it out.",
            )
        if thing.title == "flat foot":
            if normal is None:
                normal = np.array([0.0, 0.0, -1.0])
        else:
            nearest, away = self.sound.closest(point)
            if away > _ON_MM:
                text = ", ".join(f'"{round(x, 2) + 0.0:.2f} mm"' for x in nearest.tolist())
                raise PartError(
                    f"the point lies {away:.1f} mm off the shape",
                    at=("place", "at"),
                    code="shape.off-surface",
                    remedy=f"The nearest point of its surface is [{text}].",
                )
            own = self.sound.normal_at(nearest)
            if normal is None:
                normal = own
            cosine = float(normal @ own) / float(np.linalg.norm(normal))
            lean = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
            if lean > _LEAN_DEG:
                text = ", ".join(f"{round(x, 2) + 0.0:.2f}" for x in own.tolist())
                raise PartError(
                    f"it would look {lean:.0f}° away from the way out of the shape there",
                    at=("place", "normal"),
                    code="shape.normal",
                    remedy=f"The way out is [{text}]; up to {_LEAN_DEG:g}° from it will do.",
                )
            point = nearest
        assert normal is not None
        frame = frame_at(point, normal, spot.turn)
        return frame._replace(origin=frame.origin - spot.sunk * frame.along(2))

    @cached_property
    def print_turn(self) -> Point:
        """How the part is turned to print: on its flat foot if it has one, else as it is given."""
        feet = [thing for thing in self.things if thing.title == "flat foot"]
        if not feet or not isinstance(feet[0].place, Spot):
            return (0.0, 0.0, 0.0)
        return turn_down(np.asarray(feet[0].place.normal or (0.0, 0.0, -1.0)))

    @property
    def printed(self) -> FloatArray:
        """Rotation that takes the part to how it prints."""
        from fitkit.solids.mesh import turn_matrix

        return turn_matrix(self.print_turn)

    # --- building ---------------------------------------------------------------------------------

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Join what the things give with the shape."""
        from fitkit.solids.mesh_kernel import coarser, mesh_from

        if not self.things:
            raise self.without_things()
        sizes = self.must_fit().drawn(drawn, where=self.title)
        known = self._known()
        fixtures = self.fixtures(sizes, self.frames)
        tools, told, walls = [], [], []
        for i, (thing, fixture, frame) in enumerate(
            zip(self.things, fixtures, self.frames, strict=True)
        ):
            with self.told(i):
                one = self._tools(thing, fixture, frame)
                wall = self._wall_round(one, frame)
            tools.append(one)
            if wall is not None:
                walls.append(replace(wall, name=f"{thing.name}: {wall.name}"))
        self._refuse_one_place(tools)
        solid, lettered, said = self._with_label(self._joined(tools))
        mesh = mesh_from(solid)
        turn = self.print_turn
        told += [*said, *self._told(solid, lettered=lettered)]
        body = Body.of_mesh(BODY, mesh, coarse=coarser(solid), print_turn=turn)
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(body,),
            ghosts=tuple(
                replace(ghost, insertion=ghost.insertion or frame.direction((0.0, 0.0, -1.0)))
                for fixture, frame in zip(fixtures, self.frames, strict=True)
                for ghost in fixture.ghosts
            ),
            insertion=(0.0, 0.0, -1.0),
            dimensions=self.numbers_of(fixtures, "dimensions", BODY),
            walls=(*walls, *self.numbers_of(fixtures, "walls", BODY)),
            arms=tuple(map(self._arm, self.numbers_of(fixtures, "arms", BODY))),
            bosses=self.numbers_of(fixtures, "bosses", BODY),
            vents=self.numbers_of(fixtures, "vents", BODY),
            bridges=self.numbers_of(fixtures, "bridges", BODY),
            findings=(*known, *told, *self.numbers_of(fixtures, "findings", BODY)),
            cautions=tuple(dict.fromkeys(c for fixture in fixtures for c in fixture.cautions)),
            buys=tuple(buy for fixture in fixtures for buy in fixture.buys),
        )

    def _arm(self, arm: SnapArm) -> SnapArm:
        """Say of an arm whether layers cut across it, as the whole shape is printed."""
        if arm.along is None:
            return arm
        up = self.printed[2] @ np.asarray(arm.along)
        return replace(arm, layers_across=bool(abs(up) > math.cos(math.radians(_TILTED))))

    def _tools(self, thing: Holder, fixture: Fixture, frame: Frame) -> _Tools:
        if isinstance(fixture, Worked):
            adds = [self._meshed(one, frame) for one in fixture.adds]
            root, clear, height = fixture.root, fixture.clear, fixture.clear_mm
            below = 0.5 if adds else 0.0
            cuts = tuple(self._meshed(one, frame) for one in fixture.cuts)
            plane, through = (frame if fixture.halves else None), fixture.through
        else:
            pad, outline = _pad(thing, fixture, self.base("floor"))
            adds = [self._meshed(pad, frame)]
            root = clear = outline
            height = thing.space(self.base("floor")).height_mm
            below = self.pad / 2
            cuts, plane, through = (), None, False
        if root is not None and adds:
            adds += self._root(root, frame)
        if root is not None and not adds:  # flush: the ground must be there all the same
            self._root(root, frame)
        cleared = None if clear is None else self._cleared(clear, frame, height, below)
        from fitkit.solids.mesh_kernel import added

        add = added(adds) if adds else None
        room = [one for one in (cleared, add, *cuts) if one is not None]
        return _Tools(cleared, add, cuts, plane, added(room) if room else None, through)

    def _meshed(self, solid: Any, frame: Frame) -> Manifold:
        from fitkit.parts.meshed import FILE_TOLERANCE_MM
        from fitkit.solids.kernel import tessellate
        from fitkit.solids.mesh_kernel import manifold_of, placed

        mesh = tessellate(solid, tolerance_mm=FILE_TOLERANCE_MM)
        return placed(manifold_of(mesh), frame.axes, frame.origin)

    def _root(self, outline: Loop, frame: Frame) -> list[Manifold]:
        """Find what stands under a plate where the surface falls away; none where it does not."""
        from fitkit.solids.bodies import extrude
        from fitkit.solids.mesh_kernel import hits_along, stands_in
        from fitkit.solids.profiles import Profile

        solid, deepest = self.sound.solid, 0.0
        reach = _LONGEST_ROOT_MM + _ROOTED_MM
        for x, y in _rim(outline):
            point = np.asarray(frame.point((x, y, 0.0)))
            if stands_in(solid, point):
                continue
            below = np.asarray(frame.point((x, y, -reach)))
            entering = [hit for hit in hits_along(solid, point, below) if hit.enters]
            if not entering or entering[0].share * reach > _LONGEST_ROOT_MM:
                raise PartError(
                    f"at its edge the shape lies more than {_LONGEST_ROOT_MM:g} mm below it, near "
                    f"{_spoken(point)}",
                    at=("place", "sunk"),
                    code="shape.no-ground",
                    remedy="Move it, make it smaller, or let it lie deeper by 'sunk'.",
                )
            deepest = max(deepest, entering[0].share * reach)
        if deepest == 0.0:
            return []
        bottom = deepest + _ROOTED_MM
        for x, y in _rim(outline):
            point = np.asarray(frame.point((x, y, -bottom)))
            if not stands_in(solid, point):
                raise PartError(
                    f"its root would come out of the shape near {_spoken(point)}",
                    at=("place", "sunk"),
                    code="shape.root-outside",
                    remedy="Move it to where the shape is thicker, or let it lie deeper by 'sunk'.",
                )
        if bottom <= self.pad - 0.1:
            return []
        shape = extrude(Profile(outline), bottom - self.pad / 2, z=-bottom)
        return [self._meshed(shape, frame)]

    def _cleared(self, outline: Loop, frame: Frame, height: float, below: float) -> Manifold:
        """Give the room over a face that is cut out of the shape, up to where it ends there.

        It begins `below` the face, within what is added there, so that no two faces coincide.
        """
        from fitkit.solids.bodies import extrude
        from fitkit.solids.inset import inset
        from fitkit.solids.mesh_kernel import hits_along, stands_in
        from fitkit.solids.profiles import Profile

        top = height
        reach = 4 * height + 40.0
        low_x, low_y, high_x, high_y = outline.box
        for u in (0.02, 0.25, 0.5, 0.75, 0.98):
            for v in (0.02, 0.25, 0.5, 0.75, 0.98):
                x, y = low_x + u * (high_x - low_x), low_y + v * (high_y - low_y)
                start = np.asarray(frame.point((x, y, 0.01)))
                if stands_in(self.sound.solid, start):
                    end = np.asarray(frame.point((x, y, reach)))
                    hits = hits_along(self.sound.solid, start, end)
                    if hits:
                        top = max(top, hits[0].share * reach)
        within = inset(outline, _WITHIN_MM) or outline
        return self._meshed(extrude(Profile(within), top + 0.5 + below, z=-below), frame)

    def _wall_round(self, tools: _Tools, frame: Frame) -> Wall | None:
        """Find the least plastic round what is cut, seen square from the cut's own faces."""
        from fitkit.solids.mesh_kernel import mesh_from, stands_in, thickness_along

        solid, out = self.sound.solid, frame.along(2)
        least, place = math.inf, np.zeros(3)
        cuts = [one for one in (tools.clear, *tools.cuts) if one is not None]
        for cut in cuts:
            mesh = mesh_from(cut)
            areas, normals = mesh.areas(), mesh.normals()
            middles = mesh.corners.mean(axis=1)
            for i in _spread(areas):
                if tools.through and abs(normals[i] @ out) > 0.9:
                    continue  # its ends may be open
                point = middles[i] + 0.01 * normals[i]
                if normals[i] @ out > 0.5 or not stands_in(solid, point):
                    continue
                # A cut meets the surface at its mouth: there the plastic thins to an edge.
                over = thickness_along(solid, point, out, reach_mm=1.5 * _THICK_MM)
                thick = thickness_along(solid, point, normals[i], reach_mm=_THICK_MM)
                if thick is None or (over is not None and over < 1.5 * thick + 1.0):
                    continue
                if thick < least:
                    least, place = thick, point
        if not math.isfinite(least):
            return None
        if least < _LEAST_MM:
            raise PartError(
                f"only {least:.2f} mm of the shape would be left beside it near {_spoken(place)}",
                at=("place", "at"),
                code="shape.thin",
                remedy="Move it, let it lie less deep, or make it smaller.",
            )
        x, y, z = place.tolist()
        return Wall(name="shape beside it", body=BODY, thickness_mm=least, at=(x, y, z))

    def _refuse_one_place(self, tools: list[_Tools]) -> None:
        from fitkit.solids.mesh_kernel import common_part

        for (i, one), (j, two) in combinations(enumerate(tools), 2):
            if one.through or two.through or one.room is None or two.room is None:
                continue
            if common_part(one.room, two.room).volume() > _IN_ONE_PLACE_MM3:
                with self.told(j):
                    raise PartError(
                        f"it would stand in {self.things[i].name!r}",
                        at=("place", "at"),
                        code="carrier.two-in-one-place",
                        remedy="Move one of the two.",
                    )

    def _joined(self, tools: list[_Tools]) -> Manifold:
        from fitkit.solids.mesh_kernel import added, cut_out, pieces_of, split_apart

        solid = self.sound.solid
        clear = [one.clear for one in tools if one.clear is not None]
        if clear:
            solid = cut_out(solid, clear)
        adds = [one.add for one in tools if one.add is not None]
        if adds:
            solid = added([solid, *adds])
        cuts = [cut for one in tools for cut in one.cuts]
        if cuts:
            solid = cut_out(solid, cuts)
        for i, one in enumerate(tools):
            if one.plane is not None:
                _, solid = split_apart(solid, one.plane.origin, one.plane.along(2))
                if solid.volume() < _BODY_LEAST_MM3:
                    with self.told(i):
                        raise PartError(
                            "nothing of the shape is left on this side of the foot",
                            at=("place",),
                            code="shape.all-cut",
                            remedy="Its normal looks away from what is kept: turn it round.",
                        )
        whole = [one for one in pieces_of(solid) if one.volume() > 0]
        before = [one for one in pieces_of(self.sound.solid) if one.volume() > 0]
        if len(whole) > len(before):
            loose = whole[len(before) :]
            middle = np.reshape(loose[0].bounding_box(), (2, 3)).mean(axis=0)
            if loose[0].volume() > 20.0:
                raise PartError(
                    f"a piece of {loose[0].volume():.0f} mm³ would come off near {_spoken(middle)}",
                    where=self.title,
                    at=("things",),
                    code="shape.falls-apart",
                    remedy="Move or shrink what cuts it off.",
                )
            # Crumbs that a cut leaves of a rough surface are not printed.
            hollow = [one for one in pieces_of(solid) if one.volume() < 0]
            if not hollow:
                solid = added(whole[: len(before)])
        return solid

    # --- what is told -----------------------------------------------------------------------------

    def _known(self) -> list[Finding]:
        """Hold the overall size against a known length, and say it in any case."""
        from fitkit.solids.given_mesh import MM_IN

        size_mm = self.sound.size
        overall = " x ".join(f"{x:.1f}" for x in size_mm)
        text = f"The given shape is {overall} mm over all"
        found = [
            Finding(
                check="given shape",
                severity="note",
                text=f"It was mended: {said}",
                basis="the given file",
                body=BODY,
                remedy="Look at the picture whether it is still what you mean.",
            )
            for said in self.sound.said
        ]
        if self.known_length is None:
            found.insert(
                0,
                Finding(
                    check="given shape",
                    severity="note",
                    text=f"{text}; no known length is given to hold that against.",
                    basis="the given file",
                    body=BODY,
                    remedy="Measure it along z, and give known_length, so that a wrong unit is "
                    "seen.",
                ),
            )
            return found
        is_mm = float(size_mm["xyz".index(self.known_along)])
        share = is_mm / self.known_length
        said = (
            f"{text}: {is_mm:.1f} mm along {self.known_along}, where {self.known_length:.1f} mm is "
            "known"
        )
        if not 0.7 < share < 1.43:
            other = [
                unit
                for unit, factor in MM_IN.items()
                if self.unit and 0.9 < share * factor / MM_IN[self.unit] < 1.1
            ]
            raise PartError(
                said,
                where=self.title,
                at=("unit",),
                code="shape.wrong-unit",
                remedy=f'Write unit = "{other[0]}".'
                if other
                else "Check the unit, the known length and its direction.",
            )
        off = abs(share - 1.0) > _KNOWN
        found.insert(
            0,
            Finding(
                check="given shape",
                severity="warn" if off else "note",
                text=f"{said}.",
                value=is_mm,
                limit=self.known_length,
                unit="mm",
                basis="the given file",
                body=BODY,
                remedy="Scale it in your modelling program, or correct the known length."
                if off
                else "",
            ),
        )
        return found

    def _with_label(self, solid: Manifold) -> tuple[Manifold, bool, tuple[Finding, ...]]:
        """Sink the label into the flat foot, if there is one with room for it."""
        from fitkit.parts.foot_text import foot_text
        from fitkit.solids.mesh_kernel import cut_out

        feet = [f for t, f in zip(self.things, self.frames, strict=True) if t.title == "flat foot"]
        if not self.label or not feet:
            return solid, False, ()
        letters, said = foot_text(self.label, solid, feet[0], body=BODY)
        return (cut_out(solid, letters) if letters else solid), bool(letters), said

    def _told(self, solid: Manifold, *, lettered: bool) -> list[Finding]:
        code = "" if lettered or not self.label else "It bears no trace code, and no"
        return [
            Finding(
                check="given shape",
                severity="note",
                text=f"The part has {solid.num_tri():,} triangles; views and checks use a coarser "
                f"copy, files all of them. {code or 'No'} STEP file is written: triangles have no "
                "exact faces.",
                basis="this part",
                body=BODY,
                remedy="Write the trace code on it." if code else "",
            )
        ]


def _pad(thing: Holder, fixture: Fixture, base: Base) -> tuple[Any, Loop]:
    """Give a holder on its bit of plate, upper face at z = 0, and the plate's outline."""
    from fitkit.parts.carrier import Pose, placed_levels, placed_piece
    from fitkit.solids.bodies import moved
    from fitkit.solids.let_in import let_in
    from fitkit.solids.profiles import rectangle
    from fitkit.solids.terraces import Terrace, terraces

    t = base.thickness_mm
    if len(fixture.pieces) == 1 and not fixture.levels:
        piece = fixture.pieces[0]
        return piece.solid, piece.outline
    low_x, low_y, high_x, high_y = thing.space(base).body
    long, wide = high_x - low_x, high_y - low_y
    outline = rectangle(
        long,
        wide,
        radius=min(3.0, long / 4, wide / 4),
        at=((low_x + high_x) / 2, (low_y + high_y) / 2),
    ).outer
    pose = Pose(0.0, 0.0, t, 0.0)
    plate = terraces(Terrace(outline, t, placed_levels(fixture.levels, pose, t)))
    plate = let_in(plate, [placed_piece(piece, pose, t) for piece in fixture.pieces], top=t)
    return moved(plate, z=-t), outline


def _as_printed(fit: FitSize, axes: FloatArray) -> FitSize:
    """Say of a size of a frame how it lies in the print: its axis, and whether its hole lies."""
    changed: dict[str, Any] = {}
    upright = abs(float(axes[2, 2])) > math.cos(math.radians(_TILTED))
    if fit.kind == HOLE and not upright:
        changed["kind"] = HOLE_LYING
    if fit.axis in ("x", "y", "z"):
        along = axes[:, "xyz".index(fit.axis)]
        changed["axis"] = _axis_of(along)
    elif not upright and not fit.kind.round:
        changed["axis"] = "xy"
    return replace(fit, **changed) if changed else fit


def _axis_of(along: FloatArray) -> Axis:
    names: tuple[Axis, Axis, Axis] = ("x", "y", "z")
    for name, share in zip(names, np.abs(along), strict=True):
        if share > 0.94:
            return name
    return "z" if abs(along[2]) > 0.7 else "xy"


def _rim(outline: Loop) -> list[tuple[float, float]]:
    """Points along an outline, no further apart than 2 mm or a twelfth of it."""
    points = outline.points()
    found: list[tuple[float, float]] = []
    step = max(outline.length / 48, 1.0)
    for (ax, ay), (bx, by) in zip(points, points[1:] + points[:1], strict=True):
        count = max(1, math.ceil(math.hypot(bx - ax, by - ay) / step))
        found += [(ax + (bx - ax) * k / count, ay + (by - ay) * k / count) for k in range(count)]
    return found[:: max(1, len(found) // 48)]


def _spread(areas: FloatArray, most: int = 160) -> list[int]:
    """Numbers of some triangles, spread evenly over their areas."""
    total = np.cumsum(areas)
    if not len(total) or total[-1] <= 0:
        return []
    wanted = (np.arange(most) + 0.5) / most * total[-1]
    return list(dict.fromkeys(np.searchsorted(total, wanted).tolist()))


def _spoken(point: FloatArray) -> str:
    return "(" + ", ".join(f"{round(x, 1) + 0.0:.1f}" for x in np.asarray(point).tolist()) + ") mm"
