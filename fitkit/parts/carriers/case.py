"""A case for several things: tray and lid round a floor on which each is held in its own way.

The inside follows from the layout of the things; walls, lid, vents, ears and ports are drawn by the
files of the board case. Standoffs and stops are levels of the floor, cut-outs those of the lid;
arms, saddles and cups are pieces that are let into the floor. Places count from the middle of the
case, so that one factor an axis, from the inside's own sizes, moves all of them alike.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, ClassVar, Literal

from pydantic import Field, PrivateAttr

from fitkit.core.errors import FaultList, PartError
from fitkit.core.sizes import CENTRES
from fitkit.parts.carrier import (
    Carrier,
    Pose,
    as_shared,
    placed_levels,
    placed_piece,
    wall_of,
    warm_together,
)
from fitkit.parts.contract import Area, Body, Length, Part, size
from fitkit.parts.designs.board_case.carried import Carried
from fitkit.parts.designs.board_case.parameters import Cable, Parameters
from fitkit.parts.designs.board_case.practice import LIP_MM
from fitkit.parts.designs.board_case.sizes import (
    CaseSizes,
    Place as WindowPlace,
    case_sizes,
    upper_mm,
)
from fitkit.parts.feature import Asked, Rim, Side, Taken, Work
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm
from fitkit.parts.forms import choice
from fitkit.parts.holder import Base, taken_from
from fitkit.parts.layout import Arranged, arrange
from fitkit.solids.kept import Kept, Same

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.parameters import Port, Window
    from fitkit.parts.designs.board_case.sizes import PortSizes
    from fitkit.parts.feature import Feature
    from fitkit.parts.holder import Box, Face, Fixture, WallOpening
    from fitkit.solids.let_in import Piece
    from fitkit.solids.terraces import Terrace

__all__ = ["Case", "kept_bodies"]

# Bodies with the things' pieces let in, by the body before and the pieces in their places.
kept_bodies: Kept[Any] = Kept()
_LID_MARGIN_MM = 2.0  # from the walls to what hangs from the lid: room for its lip
_REACH_MM = 6.0  # a port farther from its wall than this meets nothing
_GRIP_MM = 2.0  # beside an opening, for the grip of its plug
_ROOM_MM = 1.0  # over the floor, under what hangs from the lid


@dataclass(frozen=True, kw_only=True)
class HeldSizes(SizeSet):
    """A case's own sizes: its inside, which places count by, and what its lid needs."""

    inside_length: FitSize
    inside_width: FitSize
    rim_inside_length: FitSize | None = None
    lid_lip_outside_length: FitSize | None = None
    rim_inside_width: FitSize
    lid_lip_outside_width: FitSize | None = None
    lid_outside_width: FitSize | None = None
    lid_screw_pilot: FitSize | None = None
    lid_insert_hole: FitSize | None = None
    lid_screw_hole: FitSize | None = None
    lug_hole: FitSize | None = None
    cable_exit: FitSize | None = None


class _Shell(Parameters):
    """The board case's shell round things that are no board of its own."""

    title: ClassVar[str] = "case"
    pocket_gap_mm: ClassVar[float] = 0.0  # the inside is drawn as the layout says
    _carried: Carried = PrivateAttr(default=Carried())
    _ports: tuple[tuple[str, tuple[str | int, ...]], ...] = PrivateAttr(default=())
    _windows: tuple[tuple[str | int, ...], ...] = PrivateAttr(default=())
    _wide_rim_mm: float = PrivateAttr(default=0.0)

    @property
    def on_holes(self) -> bool:
        """No board of its own stands on standoffs."""
        return False

    @property
    def carried(self) -> Carried:
        """What the things need of floor and lid."""
        return self._carried

    @property
    def wide_rim_mm(self) -> float:
        """What features under the lid need of the walls' top."""
        return self._wide_rim_mm

    def port_name(self, number: int) -> str:
        """Name a port after its thing."""
        return self._ports[number - 1][0]

    def path_of(self, what: str, number: int) -> tuple[str | int, ...]:
        """Path of a port or window among those of the things."""
        return self._ports[number][1] if what == "ports" else self._windows[number]


class Case(Carrier):
    """Tray and lid for several measured things."""

    title: ClassVar[str] = "case"
    summary: ClassVar[str] = "Tray and lid for several things, each held in its own way."

    inside_length: Length | None = choice(
        None, "Between the walls along x; as large as the things need if not given.", "Inside"
    )
    inside_width: Length | None = choice(
        None, "Between the walls along y; as large as the things need if not given.", "Inside"
    )
    gap: Length = size(
        "1 mm", low="0 mm", high="40 mm", group="Inside", help="Least distance of two things."
    )
    headroom: Length = taken_from(Parameters, "headroom")
    vent_area: Area = taken_from(Parameters, "vent_area")
    vent_style: Literal["slots", "hex", "louvres"] = taken_from(Parameters, "vent_style")
    cable: Cable | None = taken_from(Parameters, "cable")
    wall: Length = taken_from(Parameters, "wall")
    floor: Length = taken_from(Parameters, "floor")
    lid_thickness: Length = taken_from(Parameters, "lid_thickness")
    corner_radius: Length = taken_from(Parameters, "corner_radius")
    lid_fixing: Literal["screws", "snap", "slide", "rim"] = taken_from(Parameters, "lid_fixing")
    lid_screw: Length = taken_from(Parameters, "lid_screw")
    lid_head: Literal["flat", "countersunk"] = taken_from(Parameters, "lid_head")
    lid_thread: Literal["plastic", "insert"] = taken_from(Parameters, "lid_thread")
    detent: bool = taken_from(Parameters, "detent")
    lugs: Literal[0, 2, 4] = taken_from(Parameters, "lugs")
    lug_screw: Length = taken_from(Parameters, "lug_screw")

    features: tuple[Asked, ...] = Field(
        default=(),
        max_length=24,
        description="What it has on its sides: ears, keyholes, a rail foot, holes.",
        json_schema_extra={"group": "Features"},
    )

    def asked_features(self) -> tuple[Feature, ...]:
        """Give what it is asked for on its sides."""
        return self.features

    # --- layout -----------------------------------------------------------------------------------

    def base(self, face: Face) -> Base:
        """Give the floor or the lid."""
        thickness = self.floor if face == "floor" else self.lid_thickness
        return Base(face=face, thickness_mm=thickness)

    @cached_property
    def layout(self) -> Arranged:
        """The inside and the place of each thing, at nominal sizes.

        Raises
        ------
        FaultList, PartError
            If there is nothing to carry, or no room for all.
        """
        if not self.things:
            raise self.without_things()
        items = self.items(gap_mm=self.gap)
        if self.lid_fixing == "slide":
            self._refuse_on_sliding_lid()
        self.refuse_outside(items, self.inside_length, self.inside_width)
        found = arrange(
            items, length=self.inside_length, width=self.inside_width, lid_margin=_LID_MARGIN_MM
        )
        if found is None:
            raise self.no_room(
                {"inside_length": self.inside_length, "inside_width": self.inside_width}
            )
        self.refuse_in_one_place(items, found)
        return found

    def places(self) -> Any:
        """Give the place of each thing."""
        return self.layout.places

    def _refuse_on_sliding_lid(self) -> None:
        faults = [
            PartError(
                "a lid that slides in a groove can carry nothing on its inside",
                where=thing.name,
                at=("things", i, "on"),
                code="carrier.sliding-lid",
                remedy="Fix the lid by screws, snap arms or its rim.",
            )
            for i, thing in enumerate(self.things)
            if thing.face == "lid"
        ]
        if faults:
            raise FaultList(faults)

    # --- sizes ------------------------------------------------------------------------------------

    def _shell(self, **more: Any) -> _Shell:
        """Give the board case's parameters for this inside, without ports and windows."""
        plan = self.layout
        names = set(type(self).model_fields) & set(Parameters.model_fields)
        values = {name: getattr(self, name) for name in names} | {
            "board_length": plan.length,
            "board_width": plan.width,
            "board_thickness": 0.4,
            "below_board": 0.0,
            "hole_spacing_x": 0.0,
            "hole_spacing_y": 0.0,
        }
        shell = _Shell.model_construct(**values | more)
        # All things are as tall as the layout says; the lid's own inside keeps off the floor.
        tall = max(plan.height, _ROOM_MM) + self.floor - upper_mm(shell)
        rim = max((one.rim_mm for one in self.features), default=0.0)
        if rim > self.wall / 2:
            tall += LIP_MM  # the lip no longer stands in a step of the walls, but before them
        found = shell.model_copy(update={"tallest_part": max(tall, 0.0)})
        found._wide_rim_mm = rim
        return found

    def own_sizes(self) -> HeldSizes:
        """Declare the inside, and what the lid needs."""
        plan = self.layout
        of_case = case_sizes(self._shell())
        names = set(HeldSizes.__dataclass_fields__) - {"inside_length", "inside_width"}
        return HeldSizes(
            inside_length=FitSize(nominal_mm=plan.length, kind=CENTRES, axis="x"),
            inside_width=FitSize(nominal_mm=plan.width, kind=CENTRES, axis="y"),
            **{name: getattr(of_case, name) for name in names},
        )

    # --- building ---------------------------------------------------------------------------------

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make tray and lid, the things in their places."""
        from fitkit.parts.designs.board_case.form import Form
        from fitkit.parts.designs.board_case.lid import build_lid
        from fitkit.parts.designs.board_case.tray import build_tray

        every = self.must_fit().drawn(drawn, where=self.title)
        own = as_shared(every)
        assert isinstance(own, HeldSizes)
        # Where the walls end, no sizes of things decide: the lid's inside is known beforehand.
        plain = Form.of(self._shell(), _case_sizes(own))
        poses = self._poses(own, plain.wall_top)
        fixtures = self.fixtures(every, poses)
        shell, sizes = self._with_openings(own, fixtures, poses)
        try:
            form = Form.of(shell, sizes)
        except FaultList as faults:
            raise FaultList([_told_here(fault) for fault in faults]) from faults
        except PartError as error:
            raise _told_here(error) from error
        if abs(form.wall_top - plain.wall_top) > 1e-9:  # a port reaches higher than its thing
            poses = self._poses(own, form.wall_top)
            fixtures = self.fixtures(every, poses)
            shell, sizes = self._with_openings(own, fixtures, poses)
            form = Form.of(shell, sizes)
        tray, tray_said = build_tray(form)
        tray = self._with_pieces(tray, fixtures, poses, "floor")
        lid, lid_said = build_lid(form)
        lid = self._with_pieces(lid, fixtures, poses, "lid", form.wall_top)
        turn = (0.0, 0.0, 0.0) if self.lid_fixing == "slide" else (180.0, 0.0, 0.0)
        made, more = {"tray": tray, "lid": lid}, Work()
        if self.features:
            made, more = self.with_features(made, every, self._sides(own, form, poses))
        bodies = (
            Body(name="tray", solid=made["tray"]),
            Body(name="lid", solid=made["lid"], print_turn=turn),
        )
        findings = (
            *form.findings,
            *tray_said,
            *lid_said,
            *self.told_places(self.layout, "tray"),
        )
        return more.on(self._part(title or self.title, form, bodies, fixtures, findings))

    def _sides(self, own: HeldSizes, form: Form, poses: Sequence[Pose]) -> dict[str, Side]:
        """Give walls, lid and floor with what is taken of them."""
        from fitkit.parts.designs.board_case.levels import ear_mm
        from fitkit.parts.designs.board_case.lid import label_strip
        from fitkit.parts.designs.board_case.lugs import lug_places, lug_sizes

        nominal = (self.layout.length, self.layout.width)
        drawn = (own.inside_length.drawn_mm, own.inside_width.drawn_mm)
        stretch = [b / a for a, b in zip(nominal, drawn, strict=True)]
        taken: dict[str, list[Taken]] = {name: [] for name in ("left", "right", "front", "back")}
        for opening in form.openings:
            low, bottom, high, top = opening.box
            grip = _GRIP_MM if opening.port else 0.0
            room = Taken(low - grip, bottom - grip, high + grip, top + grip, opening.name)
            taken[opening.wall].append(room)
            if opening.name == "cable exit":
                u, half = (low + high) / 2, (drawn_mm(own.cable_exit) + 10.0) / 2
                taken[opening.wall].append(Taken(u - half, 0.0, u + half, self.floor, "shelf"))
        thick, width, _ = lug_sizes(form)
        for number, ear in enumerate(lug_places(form), start=1):
            u = ear.at if ear.wall in ("front", "right") else -ear.at
            room = Taken(u - width / 2, 0.0, u + width / 2, thick, f"lug {number}")
            taken[ear.wall].append(room)
        for x in form.ears:
            half = ear_mm(form.case) / 2
            for wall, u in (("front", x), ("back", -x)):
                room = Taken(u - half, 0.0, u + half, form.wall_top, "ear of the lid")
                taken[wall].append(room)
        lies = self.lid_fixing != "slide"
        lid_mm = self.lid_thickness if lies else 0.0
        rim_mm = (form.outside[1] - form.rim[1]) / 2 if lies else 0.0
        sides = {
            name: Side(
                name=name,  # type: ignore[arg-type]  # one of the four
                body="tray",
                out_mm=form.outside[0 if name in ("left", "right") else 1] / 2,
                long_mm=form.outside[1 if name in ("left", "right") else 0] - 2 * form.corner,
                high_mm=form.wall_top,
                thick_mm=self.wall,
                foot_mm=self.floor,
                taken=tuple(rooms),
                stretch=stretch[1 if name in ("left", "right") else 0],
                lid_mm=lid_mm,
                rim_mm=rim_mm,
            )
            for name, rooms in taken.items()
        }
        hung: list[Taken] = []
        stood: list[Taken] = []
        for thing, pose in zip(self.things, poses, strict=True):
            box = pose.box(thing.space(self.base(thing.face)).body)
            (hung if thing.face == "lid" else stood).append(Taken(*box, thing.name))
        hung += [Taken(*box, "window") for box in form.windows]
        hung += [Taken(*vent.box, "vents") for vent in form.lid_vents]
        if self.label:
            hung += [Taken(*box, "label") for box in label_strip(form)]
            (long, wide), (x, y) = self._carried_text(form)
            if min(long, wide) > 0:
                stood.append(Taken(x - long / 2, y - wide / 2, x + long / 2, y + wide / 2, "label"))
        top = form.wall_top + self.lid_thickness
        rim = Rim(
            outside=form.outside,
            inside=form.rim,
            corner=form.corner,
            opened=tuple(
                dict.fromkeys(
                    one.name
                    for one in (*form.openings, *form.in_walls)
                    if one.box[3] > form.wall_top - LIP_MM - 0.5
                )
            ),
            screwed=self.lid_fixing == "screws",
        )
        for name, body, out, thick_mm, rooms in (
            ("lid", "lid", top, self.lid_thickness, hung),
            ("floor", "tray", 0.0, self.floor, stood),
        ):
            sides[name] = Side(
                name=name,  # type: ignore[arg-type]  # one of the two
                body=body,
                out_mm=out,
                long_mm=drawn[0] - 2 * _LID_MARGIN_MM,
                high_mm=drawn[1] - 2 * _LID_MARGIN_MM,
                thick_mm=thick_mm,
                foot_mm=self.floor,
                taken=tuple(rooms),
                stretch=stretch[0],
                stretch_up=stretch[1],
                lid_mm=self.lid_thickness,
                rim_mm=rim_mm,
                over_mm=top,
                rim=rim if name == "lid" else None,
            )
        return sides

    @staticmethod
    def _carried_text(form: Form) -> tuple[tuple[float, float], tuple[float, float]]:
        """Room of the label on the floor, and its middle."""
        return form.case.carried.floor_text or ((0.0, 0.0), (0.0, 0.0))

    def _poses(self, own: HeldSizes, wall_top: float) -> tuple[Pose, ...]:
        """Give the frame of each thing as drawn, on the floor or turned over on the lid."""
        return self.stretched(
            self.layout,
            own.inside_length,
            own.inside_width,
            lambda thing: (wall_top, True) if thing.face == "lid" else (self.floor, False),
        )

    def _with_openings(
        self, own: HeldSizes, fixtures: Sequence[Fixture], poses: Sequence[Pose]
    ) -> tuple[_Shell, CaseSizes]:
        """Give the shell with the things' ports and windows, and what it carries."""
        plain = self._shell()
        half = (own.inside_length.drawn_mm / 2, own.inside_width.drawn_mm / 2)
        ports: list[Port] = []
        sizes: list[PortSizes] = []
        names: list[tuple[str, tuple[str | int, ...]]] = []
        windows: list[Window] = []
        paths: list[tuple[str | int, ...]] = []
        for i, (fixture, pose) in enumerate(zip(fixtures, poses, strict=True)):
            for opening in fixture.openings:
                ports.append(self._port(i, opening, pose, half, plain))
                # Its place is drawn already: the port as the shell has it takes no size for it.
                sizes.append(replace(opening.sizes, along=None))
                name = f"{self.things[i].name}: port {int(opening.path[-1]) + 1}"
                names.append((name, ("things", i, *opening.path)))
            for number, window in enumerate(fixture.windows):
                windows.append(_window(window, pose, plain))
                paths.append(("things", i, "windows", number))
        shell = plain.model_copy(update={"ports": tuple(ports), "windows": tuple(windows)})
        shell._ports, shell._windows = tuple(names), tuple(paths)
        shell._carried = self._carried(fixtures, poses, half)
        case = replace(
            _case_sizes(own),
            ports=tuple(sizes),
            windows=tuple(WindowPlace() for _ in windows),
        )
        return shell, case

    def _port(
        self,
        number: int,
        opening: WallOpening,
        pose: Pose,
        half: tuple[float, float],
        shell: _Shell,
    ) -> Port:
        """Give a thing's port as one of the shell: from its left or front inside, as drawn."""
        port = opening.port
        along_x = port.wall in ("front", "back")
        out = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}
        wall = wall_of(port.wall, pose)
        u, v = out[port.wall]
        at = (
            (opening.along_mm, v * opening.edge_mm)
            if along_x
            else (u * opening.edge_mm, opening.along_mm)
        )
        x, y, _ = pose.point((*at, 0.0))
        a, b = out[wall]
        far = half[0] if a else half[1]
        away = far - (a * x + b * y)
        if not -0.01 <= away <= _REACH_MM:
            with self.told(number):
                raise PartError(
                    f"the thing's edge lies {away:.1f} mm from the {wall} wall's inside, and its "
                    "plug must reach through",
                    at=opening.path,
                    code="carrier.port-off-wall",
                    remedy="Move the thing to that wall.",
                )
        inside = shell.board_length if b else shell.board_width
        # The shell counts its board's edge at its nominal inside.
        edge = far - (shell.board_length if a else shell.board_width) / 2
        return port.model_copy(
            update={
                "wall": wall,
                "along": (x if b else y) + inside / 2,
                "above": self.floor + opening.above_mm - upper_mm(shell),
                "depth": port.depth - away + edge,
            }
        )

    def _carried(
        self, fixtures: Sequence[Fixture], poses: Sequence[Pose], half: tuple[float, float]
    ) -> Carried:
        floor: list[Terrace] = []
        lid: list[Terrace] = []
        boxes: list[Box] = []
        on_floor: list[Box] = []
        for thing, fixture, pose in zip(self.things, fixtures, poses, strict=True):
            face = self.base(thing.face).thickness_mm
            levels = placed_levels(fixture.levels, pose, face)
            body = pose.box(thing.space(self.base(thing.face)).body)
            if thing.face == "lid":
                lid += levels
                boxes.append(body)
            else:
                floor += levels
                on_floor.append(body)
        return Carried(
            floor=tuple(floor),
            lid=tuple(lid),
            lid_boxes=tuple(boxes),
            floor_text=self.free_strip(on_floor, half),
        )

    def _with_pieces(
        self,
        body: Any,
        fixtures: Sequence[Fixture],
        poses: Sequence[Pose],
        face: Face,
        wall_top: float = 0.0,
    ) -> Any:
        """Let the things' pieces into floor or lid, proved by volume."""
        plate = self.base(face).thickness_mm
        pieces: list[Piece] = [
            placed_piece(piece, pose, plate)
            for thing, fixture, pose in zip(self.things, fixtures, poses, strict=True)
            if thing.face == face
            for piece in fixture.pieces
        ]
        if not pieces:
            return body
        key = Same(body), face, plate, wall_top, tuple(piece.key for piece in pieces)
        if (kept := kept_bodies.get(key)) is not None:
            return kept
        return kept_bodies.put(key, self._let_in(body, pieces, face, plate, wall_top))

    @staticmethod
    def _let_in(
        body: Any, pieces: Sequence[Piece], face: Face, plate: float, wall_top: float
    ) -> Any:
        from fitkit.solids.bodies import checked, moved, raw, turned, volume_of
        from fitkit.solids.let_in import let_in

        expected = volume_of(body) + sum(piece.volume(plate) for piece in pieces)
        shape = raw(body)
        if face == "lid":  # as it prints
            shape = moved(turned(shape, x=180), z=wall_top + plate)
        made = let_in(shape, pieces, top=plate)
        if face == "lid":
            made = moved(turned(made, x=180), z=wall_top + plate)
        name = "tray" if face == "floor" else "lid"
        return checked(made, name, volume=expected, tolerance=1e-6, proved=True)

    def _part(
        self,
        title: str,
        form: Form,
        bodies: tuple[Body, ...],
        fixtures: Sequence[Fixture],
        findings: tuple[Finding, ...],
    ) -> Part:
        from fitkit.parts.designs.board_case import numbers
        from fitkit.parts.designs.board_case.buys import case_buys
        from fitkit.parts.designs.board_case.ghosts import plug_ghosts

        def of(what: str) -> tuple[Any, ...]:
            return self.numbers_of(fixtures, what)

        return Part(
            title=title,
            template=self.title,
            bodies=bodies,
            ghosts=(
                *(ghost for fixture in fixtures for ghost in fixture.ghosts),
                *plug_ghosts(form),
            ),
            insertion=(0.0, 0.0, -1.0),
            dimensions=(*numbers.key_dimensions(form), *of("dimensions")),
            walls=(*numbers.wall_numbers(form), *of("walls")),
            arms=(*numbers.arm_numbers(form), *of("arms")),
            lugs=numbers.lug_numbers(form),
            bosses=(*numbers.boss_numbers(form), *of("bosses")),
            vents=(*numbers.vent_numbers(form), *of("vents")),
            bridges=(*numbers.bridge_numbers(form), *of("bridges")),
            findings=(*findings, *of("findings")),
            cautions=tuple(dict.fromkeys(c for fixture in fixtures for c in fixture.cautions)),
            buys=(*case_buys(form), *(b for fixture in fixtures for b in fixture.buys)),
            warm=warm_together([fixture.warm for fixture in fixtures if fixture.warm]),
        )


def _told_here(error: Any) -> PartError:
    """Tell a fault of the shell: its paths are those of this part already."""
    found: PartError = error.placed(PartError, where=Case.title)
    return found


def _case_sizes(own: HeldSizes) -> CaseSizes:
    """Give the sizes that the board case's files ask for."""
    names = set(HeldSizes.__dataclass_fields__) - {"inside_length", "inside_width"}
    return CaseSizes(
        pocket_length=own.inside_length,
        pocket_width=own.inside_width,
        **{name: getattr(own, name) for name in names},
    )


def _window(window: Window, pose: Pose, shell: _Shell) -> Window:
    """Give a thing's window as one of the shell: from its left front inside, as drawn."""
    x, y, _ = pose.point((window.x, window.y, 0.0))
    quarter = round(pose.turn / 90) % 2 == 1
    sides = (window.width, window.length) if quarter else (window.length, window.width)
    return window.model_copy(
        update={
            "x": x + shell.board_length / 2,
            "y": y + shell.board_width / 2,
            "length": sides[0],
            "width": sides[1],
            "above": shell.floor + window.above - upper_mm(shell),
        }
    )
