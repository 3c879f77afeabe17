"""What a feature is: what a carrier can be asked for on any of its sides that is free.

A feature is a pydantic model of its parameters, as a sheet gives them under `[[values.features]]`.
It states four things: the sizes that must fit (`Feature.must_fit`), the room that it takes of its
side (`Feature.room`), and, at drawn sizes, what to add and to cut with the plain numbers that
checks need (`Feature.work`).

A feature may reach over to another body of the carrier (`Work.to`), take room of another side
(`Feature.also`), and bring bodies that are printed apart (`Work.loose`).

It is drawn in the frame of its side. On a wall the origin lies on the outer face at the bed, x
looks out, y runs along the wall and z up; on the lid and under the floor the origin is the plate's
middle, and x and y are those of the case. A carrier turns that to the side that is asked for, finds
a place where nothing else is, or says what is in the way. This file loads no CAD kernel.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from importlib import import_module
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, NamedTuple, Self

from pydantic import BeforeValidator, Field, ValidationError

from fitkit.core.errors import PartError
from fitkit.core.models import StrictModel, faults_of
from fitkit.parts.contract import Length  # noqa: TC001 - pydantic reads the annotation
from fitkit.parts.fit_size import SizeSet
from fitkit.parts.forms import choice
from fitkit.parts.holder import named_for

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.core.finding import Finding
    from fitkit.parts.contract import (
        Body,
        Boss,
        Bridge,
        Buy,
        KeyDimension,
        Lug,
        Part,
        Point,
        SnapArm,
        Vent,
        Wall,
    )
    from fitkit.solids.bodies import Shape
    from fitkit.solids.profiles import Profile

__all__ = [
    "Asked",
    "Feature",
    "FeatureSizes",
    "Loose",
    "Reach",
    "Rim",
    "Side",
    "SideName",
    "Taken",
    "Work",
    "applied",
    "feature",
    "known_features",
    "named_features",
]

SideName = Literal["left", "right", "front", "back", "lid", "floor"]
WALLS: tuple[SideName, ...] = ("left", "right", "front", "back")
_APART_MM = 0.5  # between what two features take of a side
_STEP_MM = 1.0  # between places that are tried
# Turn about z that brings the frame of the right wall to each wall.
_TURN = {"right": 0.0, "back": 90.0, "left": 180.0, "front": -90.0}


class Taken(NamedTuple):
    """What is taken of a side, in its frame, mm: along it, and upwards (on a plate, y)."""

    low: float
    bottom: float
    high: float
    top: float
    by: str = ""

    def meets(self, other: Taken) -> bool:
        """Tell whether two rooms overlap."""
        return (
            self.low < other.high - 1e-6
            and other.low < self.high - 1e-6
            and self.bottom < other.top - 1e-6
            and other.bottom < self.top - 1e-6
        )


class Rim(NamedTuple):
    """The walls' top under a lid, mm.

    `outside` and `inside` are length and width, `corner` the outer corners' radius; `opened` names
    what is open near the top, and `screwed` tells whether screws press the lid down.
    """

    outside: tuple[float, float]
    inside: tuple[float, float]
    corner: float
    opened: tuple[str, ...]
    screwed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a carrier's body.

    Attributes
    ----------
    name : str
    body : str
        Of the carrier.
    out_mm : float, mm
        Of a wall, from the middle of the body to its outer face; of the lid, the height of its
        outer face over the bed.
    long_mm, high_mm : float, mm
        Straight part along the wall, and its height over the bed; of a plate its length and width.
    thick_mm : float, mm
        Of the wall or plate.
    foot_mm : float, mm
        Thickness of the plate at the foot of a wall.
    taken : tuple of Taken
    stretch, stretch_up : float
        Factors by which places along it are drawn, and on a plate those along y.
    lid_mm : float, mm
        Thickness of the lid that lies on the walls; 0 where none lies there.
    rim_mm : float, mm
        Width of the wall's top beside the lid's lip; 0 where none lies there.
    over_mm : float, mm
        Height of all bodies together over the bed, said for lid and floor.
    rim : Rim or None
        What a lid lies on, said for the lid.
    """

    name: SideName
    body: str
    out_mm: float
    long_mm: float
    high_mm: float
    thick_mm: float
    foot_mm: float
    taken: tuple[Taken, ...] = ()
    stretch: float = 1.0
    stretch_up: float = 1.0
    lid_mm: float = 0.0
    rim_mm: float = 0.0
    over_mm: float = 0.0
    rim: Rim | None = None

    @property
    def is_wall(self) -> bool:
        """Whether it stands."""
        return self.name in WALLS

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where it goes upwards, mm; on a plate along y, from the middle."""
        return (0.0, self.high_mm) if self.is_wall else (-self.high_mm / 2, self.high_mm / 2)

    def point(self, at: Point) -> Point:
        """Take a point of the side's frame to the assembly, mm."""
        x, y, z = at
        if self.name == "lid":
            return x, y, z + self.out_mm
        if self.name == "floor":
            return at
        out = self.out_mm + x
        return {
            "right": (out, y, z),
            "left": (-out, -y, z),
            "back": (-y, out, z),
            "front": (y, -out, z),
        }[self.name]

    def direction(self, along: Point) -> Point:
        """Take a direction of the side's frame to the assembly."""
        return replace(self, out_mm=0.0).point(along)

    def prism(self, flat: Profile, *, inward: float, outward: float) -> Shape:
        """Raise a flat outline, drawn along and up the side, to both sides of its outer face.

        Parameters
        ----------
        flat : Profile
            On a plate x and y are those of the case, seen from above.
        inward, outward : float, mm
            How far into the carrier from the outer face, and how far out of it; either below 0 to
            begin beyond the face.

        Returns
        -------
        kernel shape
            In the side's frame.
        """
        from fitkit.solids.bodies import extrude, moved, turned

        if self.is_wall:
            return moved(turned(extrude(flat, inward + outward), x=90, z=90), -inward)
        low = -outward if self.name == "floor" else -inward
        return extrude(flat, inward + outward, z=low)

    def at_face(self, along: float, up: float, outward: float = 0.0) -> Point:
        """Give a point over the outer face, in the side's frame, mm.

        Parameters
        ----------
        along, up : float, mm
        outward : float, mm

        Returns
        -------
        point
        """
        if self.is_wall:
            return outward, along, up
        return along, up, -outward if self.name == "floor" else outward

    def shape(self, shape: Shape) -> Shape:
        """Take a kernel shape of the side's frame to the assembly."""
        from fitkit.solids.bodies import moved, turned

        if self.name == "lid":
            return moved(shape, z=self.out_mm)
        if self.name == "floor":
            return shape
        shape = moved(shape, self.out_mm)
        turn = _TURN[self.name]
        return turned(shape, z=turn) if turn else shape


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reach:
    """What a feature adds to another body of the carrier, and cuts out of it, in its own frame."""

    body: str
    add: tuple[Shape, ...] = ()
    cut: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loose:
    """A body that is printed apart: its name, its shape in place, and how it is laid for that.

    A single one is called as its feature, several by its name and their own; numbers of it have
    its own name as their `body`.
    """

    name: str
    shape: Shape
    print_turn: Point = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Work:
    """What a feature gives at drawn sizes, in its side's frame.

    `body` of numbers is left empty for the side's own body; for another body it is its name.
    `loose` are bodies that are printed apart; `bodies` are these as the part has them.
    """

    add: tuple[Shape, ...] = ()
    cut: tuple[Shape, ...] = ()
    to: tuple[Reach, ...] = ()
    loose: tuple[Loose, ...] = ()
    bodies: tuple[Body, ...] = ()
    dimensions: tuple[KeyDimension, ...] = ()
    walls: tuple[Wall, ...] = ()
    arms: tuple[SnapArm, ...] = ()
    lugs: tuple[Lug, ...] = ()
    bosses: tuple[Boss, ...] = ()
    vents: tuple[Vent, ...] = ()
    bridges: tuple[Bridge, ...] = ()
    buys: tuple[Buy, ...] = ()
    findings: tuple[Finding, ...] = ()

    def on(self, part: Part) -> Part:
        """Give a part with these numbers and bodies beside its own.

        Parameters
        ----------
        part : Part

        Returns
        -------
        Part
        """
        more: dict[str, Any] = {
            name: (*getattr(part, name), *getattr(self, name)) for name in _NUMBERS
        }
        return replace(part, **more)


# What a part has under the same name.
_NUMBERS = (
    "bodies",
    "dimensions",
    "walls",
    "arms",
    "lugs",
    "bosses",
    "vents",
    "bridges",
    "buys",
    "findings",
)


def together(works: Sequence[Work]) -> Work:
    """Gather the numbers and bodies of several works; what is drawn is left out.

    Parameters
    ----------
    works : sequence of Work

    Returns
    -------
    Work
    """
    return Work(**{name: tuple(x for w in works for x in getattr(w, name)) for name in _NUMBERS})


@dataclass(frozen=True, kw_only=True)
class FeatureSizes(SizeSet):
    """Sizes of all features of a carrier, in their order."""

    each: tuple[SizeSet, ...] = ()


class Feature(StrictModel):
    """Base of all features.

    A subclass sets `title`, the words by which a sheet names it under ``kind``, and the `sides`
    that it can be on.
    """

    title: ClassVar[str] = ""
    summary: ClassVar[str] = ""
    sides: ClassVar[tuple[SideName, ...]] = WALLS

    kind: str = choice("", "What it is.", "Feature")
    name: str = Field(
        default="",
        max_length=40,
        pattern=r"^[^:]*$",
        description="What it is called; its kind and number if empty.",
        json_schema_extra={"group": "Feature"},
    )
    on: SideName = choice("left", "The side that it is on.", "Feature")
    at: Length | None = choice(
        None,
        "Its middle along the side, from the side's middle; the first free place if not given.",
        "Feature",
    )

    @property
    def rim_mm(self) -> float:
        """Width of the walls' top under the lid that it needs, mm; 0 by default."""
        return 0.0

    @classmethod
    def model_for(cls, values: Mapping[str, Any]) -> type[Feature]:
        """Find the class of a feature as a sheet gives it; this one where ``kind`` is unknown."""
        title = values.get("kind")
        return feature(title) if title in _SHIPPED else cls

    def with_letters_mirrored(self) -> Self:
        """Give the same feature, what is to be read drawn as in a mirror."""
        return self

    def must_fit(self, *, stands: bool) -> SizeSet:
        """Declare the sizes that must fit; none by default.

        Parameters
        ----------
        stands : bool
            Whether its side is a wall, which stands as it prints.

        Returns
        -------
        SizeSet
        """
        return SizeSet()

    def room(self, sizes: Any, side: Side) -> Taken | tuple[Taken, ...]:
        """Give what it takes of its side with its middle at 0: one room, or several.

        Parameters
        ----------
        sizes : SizeSet
        side : Side

        Returns
        -------
        Taken, or tuple of Taken

        Raises
        ------
        PartError
            If the side is too low or too thin for it.
        """
        raise NotImplementedError

    def also(self, sizes: Any, side: Side, at: float) -> tuple[tuple[SideName, Taken], ...]:
        """Give what it takes of other sides; nothing by default.

        Parameters
        ----------
        sizes : SizeSet
        side : Side
        at : float, mm
            Its middle along its own side.

        Returns
        -------
        tuple of (name of a side, Taken)
            In the frames of those sides.
        """
        return ()

    def work(self, sizes: Any, side: Side, at: float) -> Work:
        """Give what to add and to cut.

        Parameters
        ----------
        sizes : SizeSet
            What `must_fit` declared, as it is to be drawn.
        side : Side
        at : float, mm
            Its middle along the side, as drawn.

        Returns
        -------
        Work
        """
        raise NotImplementedError


def _asked(value: object) -> object:
    """Take a feature as a sheet gives it, by the kind that it names."""
    if not isinstance(value, Mapping):
        return value
    kind = feature(str(value.get("kind", "")))
    try:
        return kind.model_validate(value)
    except ValidationError as error:
        raise faults_of(error, model=kind, error=PartError, thing="parameter") from error


Asked = Annotated[Feature, BeforeValidator(_asked)]

# Title -> the file in `features` and the class in it.
_SHIPPED = {
    "ear": ("ear", "ScrewEar"),
    "gasket groove": ("gasket_groove", "GasketGroove"),
    "hinge": ("hinge", "Hinge"),
    "logo": ("logo", "Logo"),
    "magnet": ("magnet", "Magnet"),
    "rail clip": ("rail_clip", "RailClip"),
    "rail foot": ("rail_foot", "RailFoot"),
    "round hole": ("round_hole", "RoundHole"),
    "stacking feet": ("stacking_feet", "StackingFeet"),
    "text": ("text", "Text"),
    "vents": ("vents", "Vents"),
}


def known_features() -> dict[str, type[Feature]]:
    """Give all features by title."""
    return {title: feature(title) for title in _SHIPPED}


def feature(title: str) -> type[Feature]:
    """Find a feature by its title.

    Parameters
    ----------
    title : str

    Returns
    -------
    Feature class

    Raises
    ------
    PartError
        If there is none: names the nearest, and all.
    """
    if title in _SHIPPED:
        home, name = _SHIPPED[title]
        found: type[Feature] = getattr(import_module(f"fitkit.parts.features.{home}"), name)
        return found
    near = difflib.get_close_matches(str(title), _SHIPPED, n=1)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise PartError(
        f"{title!r} is not a feature of a case or plate",
        at=("kind",),
        code="feature.unknown",
        remedy=f"{meant}There are: {', '.join(_SHIPPED)}.",
    )


# --- on a carrier --------------------------------------------------------------------------------


def called(features: Sequence[Feature], number: int) -> str:
    """Name a feature: as its sheet does, or by its kind, numbered where there are several.

    Parameters
    ----------
    features : sequence of Feature
    number : int
        From 0.

    Returns
    -------
    str
    """
    one = features[number]
    if one.name:
        return one.name
    alike = [i for i, other in enumerate(features) if other.title == one.title and not other.name]
    return one.title if len(alike) == 1 else f"{one.title} {alike.index(number) + 1}"


def named_features(features: Sequence[Feature], where: str) -> FeatureSizes:
    """Declare the sizes of a carrier's features, each under its feature's name.

    Parameters
    ----------
    features : sequence of Feature
    where : str
        Title of the carrier, for messages.

    Returns
    -------
    FeatureSizes

    Raises
    ------
    PartError
        If a feature cannot be on its side, or two have one name.
    """
    names: list[str] = []
    found = []
    for i, one in enumerate(features):
        if one.on not in one.sides:
            raise PartError(
                f"a feature {one.title!r} cannot be on the {one.on}",
                where=where,
                at=("features", i, "on"),
                code="feature.wrong-side",
                remedy=f"It can be on: {', '.join(one.sides)}.",
            )
        name = called(features, i)
        if name.casefold() in names:
            raise PartError(
                f"feature {names.index(name.casefold()) + 1} is called {name!r}, too",
                where=where,
                at=("features", i, "name"),
                code="feature.same-name",
                remedy="Give each feature a name of its own.",
            )
        names.append(name.casefold())
        sizes = one.must_fit(stands=one.on in WALLS)
        found.append(named_for(sizes, name, ("features", i), 0.0))
    return FeatureSizes(each=tuple(found))


def applied(
    features: Sequence[Feature], sizes: FeatureSizes, sides: Mapping[str, Side], where: str
) -> Iterator[tuple[Side, Work]]:
    """Place each feature on its side and give its work in the assembly, numbers on their bodies.

    Parameters
    ----------
    features : sequence of Feature
    sizes : FeatureSizes
        As they are to be drawn.
    sides : mapping of side name to Side
        Those that the carrier has.
    where : str
        Title of the carrier, for messages.

    Yields
    ------
    Side, Work

    Raises
    ------
    PartError
        If the carrier has no such side, or it has no room: says what is in the way.
    """
    known = dict(sides)
    for i, (one, own) in enumerate(zip(features, sizes.each, strict=True)):
        side = known.get(one.on)
        if side is None:
            raise PartError(
                f"there is no {one.on} here",
                where=where,
                at=("features", i, "on"),
                code="feature.no-such-side",
                remedy=f"There are: {', '.join(known)}.",
            )
        name = called(features, i)
        try:
            found = one.room(own, side)
            rooms = (found,) if isinstance(found, Taken) else found
            at, up = _place(one, side, rooms)
            if up:
                one = one.model_copy(update={"across": up})
            also = one.also(own, side, at)
            _refuse_also(also, known)
            work = one.work(own, side, at * side.stretch)
        except PartError as error:
            raise error.placed(where=f"{where}, {name}", at=("features", i, *error.at)) from error
        own_rooms = [(one.on, _shifted(room, at, up)) for room in rooms]
        for on, room in (*own_rooms, *also):
            known[on] = replace(known[on], taken=(*known[on].taken, room._replace(by=name)))
        yield side, _in_assembly(work, side, name)


def _refuse_also(also: Sequence[tuple[SideName, Taken]], sides: Mapping[str, Side]) -> None:
    """Refuse what takes room of another side that is not there, or where something else is."""
    for on, room in also:
        if on not in sides:
            raise PartError(
                f"it needs the {on}, and there is none here",
                at=("on",),
                code="feature.no-such-side",
                remedy="Leave it out.",
            )
        ways = [other.by for other in sides[on].taken if other.meets(room)]
        if ways:
            raise PartError(
                f"{', '.join(dict.fromkeys(ways))} is in its way on the {on}",
                at=("at",),
                code="feature.in-the-way",
                remedy="Move it, leave 'at' out, or choose another side.",
            )


def _shifted(room: Taken, at: float, up: float, more: float = 0.0) -> Taken:
    return Taken(
        room.low + at - more,
        room.bottom + up - more,
        room.high + at + more,
        room.top + up + more,
    )


def _place(one: Feature, side: Side, rooms: Sequence[Taken]) -> tuple[float, float]:
    """Find the middle of a feature along its side, or say what is in its way.

    On a plate a feature that says no place across is moved that way too.
    """
    most = side.long_mm / 2 + 1e-6
    room = Taken(
        min(r.low for r in rooms),
        min(r.bottom for r in rooms),
        max(r.high for r in rooms),
        max(r.top for r in rooms),
    )

    def in_way(at: float, up: float = 0.0) -> list[str]:
        moved = [_shifted(r, at, up, _APART_MM) for r in rooms if r.high > r.low]
        return [o.by for o in side.taken if any(o.meets(r) for r in moved)]

    def past(at: float, up: float = 0.0) -> float:
        low, high = side.reach
        over = max(room.top + up - high, low - room.bottom - up) - 1e-6
        return max(room.high + at - most, -most - (room.low + at), over)

    free_across = not side.is_wall and getattr(one, "across", 0.0) is None
    ups = _outward(side.high_mm / 2) if free_across else [0.0]
    if one.at is not None:
        for up in ups:
            if past(one.at, up) <= 0 and not in_way(one.at, up):
                return one.at, up
        ways = in_way(one.at)
        if past(one.at) > 0:
            raise PartError(
                f"it would reach {past(one.at):.1f} mm past the end of the {side.name}",
                at=("at",),
                code="feature.past-the-end",
                remedy="Move it inwards, or leave 'at' out.",
            )
        raise PartError(
            f"{', '.join(dict.fromkeys(ways))} is in its way there",
            at=("at",),
            code="feature.in-the-way",
            remedy="Move it, leave 'at' out, or choose another side.",
        )
    found = [(at, up) for up in ups for at in _outward(side.long_mm / 2)]
    # The nearest to the middle; of equals the first, so that the same values give the same place.
    for at, up in sorted(found, key=lambda place: round(math.hypot(*place), 6)):
        if past(at, up) <= 0 and not in_way(at, up):
            return at, up
    ways = list(dict.fromkeys(other.by for other in side.taken))
    raise PartError(
        f"the {side.name} has no room for it: it needs {room.high - room.low:.1f} x "
        f"{room.top - room.bottom:.1f} mm of {side.long_mm:.1f} x {side.high_mm:.1f} mm"
        + (f", beside {', '.join(ways)}" if ways else ""),
        at=("on",),
        code="feature.no-room",
        remedy="Choose another side, or make the part larger.",
    )


def _outward(half: float) -> list[float]:
    """Give places from the middle outwards, to both sides."""
    steps = int(half / _STEP_MM) + 1
    found = [sign * step * _STEP_MM for step in range(steps) for sign in (1, -1)]
    return list(dict.fromkeys(x + 0.0 for x in found))


def _in_assembly(work: Work, side: Side, name: str) -> Work:
    def told(own: str) -> str:
        return own if own.startswith(f"{name}: ") else f"{name}: {own}" if own else name

    alone = len(work.loose) == 1
    apart = {one.name: name if alone else f"{name} {one.name}" for one in work.loose}

    def on(body: str | None) -> str:
        return apart.get(body, body) if body else side.body

    def there(one: Any) -> Any:
        return replace(one, name=told(one.name), body=on(one.body), at=side.point(one.at))

    def aimed(one: Any) -> Any:
        along = None if one.along is None else side.direction(one.along)
        return replace(there(one), along=along)

    return replace(
        work,
        add=tuple(map(side.shape, work.add)),
        cut=tuple(map(side.shape, work.cut)),
        to=tuple(
            replace(r, add=tuple(map(side.shape, r.add)), cut=tuple(map(side.shape, r.cut)))
            for r in work.to
        ),
        bodies=tuple(_loose(one, apart[one.name], side) for one in work.loose),
        dimensions=tuple(
            replace(
                d,
                name=told(d.name),
                body=on(d.body),
                start=side.point(d.start),
                end=side.point(d.end),
            )
            for d in work.dimensions
        ),
        walls=tuple(map(there, work.walls)),
        arms=tuple(map(aimed, work.arms)),
        lugs=tuple(map(aimed, work.lugs)),
        bosses=tuple(map(there, work.bosses)),
        vents=tuple(map(there, work.vents)),
        bridges=tuple(map(there, work.bridges)),
        buys=tuple(replace(b, why=name) for b in work.buys),
        findings=tuple(
            replace(
                f,
                text=f"{name}: {f.text}",
                body=on(f.body),
                at=tuple(map(side.point, f.at)),
            )
            for f in work.findings
        ),
    )


def _loose(one: Loose, name: str, side: Side) -> Body:
    """Give a body that is printed apart, in its place, laid as its own frame says."""
    from fitkit.parts.contract import Body
    from fitkit.parts.on_shape import angles_of
    from fitkit.solids.bodies import checked, volume_of
    from fitkit.solids.mesh import turn_matrix

    # As it lies in the case it is turned with its side; its print pose counts from its own frame.
    lay = turn_matrix(one.print_turn) @ turn_matrix((0.0, 0.0, _TURN.get(side.name, 0.0))).T
    shape = side.shape(one.shape)
    solid = checked(shape, name, volume=volume_of(shape))
    return Body(name=name, solid=solid, print_turn=angles_of(lay))
