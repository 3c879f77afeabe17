"""What a carrier is: a template that gives places to things, each held in its own way.

A subclass of `Carrier` is a template like any other, with a list of things as a parameter. It says
which plates it has (`Carrier.base`), how large it is and where each thing stands
(`Carrier.poses`), and what its own sizes are (`Carrier.own_sizes`); in `build` it asks
`Carrier.fixtures` for what the holders give, already in its own frame and under the things' names,
and joins all.

Places are drawn as one stretch a body: every place is its target times one factor an axis, which
its own sizes of the kind ``centres`` give, whatever a place counts from.

This file loads no CAD kernel.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple, Protocol, Self

from pydantic import BeforeValidator, Field, ValidationError

from fitkit.core.errors import FaultList, FitkitError, PartError
from fitkit.core.finding import Finding
from fitkit.core.models import faults_of
from fitkit.parts.contract import Body, Template, Warm
from fitkit.parts.feature import FeatureSizes, Reach, Work, applied, named_features, together
from fitkit.parts.fit_size import SizeSet
from fitkit.parts.holder import Base, Face, Fixture, Holder, Space, holder, named_for
from fitkit.parts.layout import Item, Place, at_place, cos_sin, meets, turned_box, turned_wall

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from fitkit.parts.contract import Point
    from fitkit.parts.feature import Feature, Side
    from fitkit.parts.fit_size import FitSize
    from fitkit.parts.holder import Box
    from fitkit.parts.layout import Arranged
    from fitkit.solids.let_in import Piece
    from fitkit.solids.profiles import Loop
    from fitkit.solids.terraces import Terrace

__all__ = [
    "Carrier",
    "Pose",
    "as_shared",
    "placed_fixture",
    "placed_levels",
    "placed_piece",
    "wall_of",
    "warm_together",
]


def _held(value: object) -> object:
    """Take a thing as a sheet gives it, by the holder that it names."""
    if not isinstance(value, Mapping):
        return value
    kind = holder(str(value.get("held", "")))
    try:
        return kind.model_validate(value)
    except ValidationError as error:
        raise faults_of(error, model=kind, error=PartError, thing="parameter") from error


Thing = Annotated[Holder, BeforeValidator(_held)]


class Placing(Protocol):
    """Takes what lies in a holder's frame to the assembly."""

    def point(self, at: Point) -> Point:
        """Take a point there, mm."""

    def direction(self, along: Point) -> Point:
        """Take a direction there."""

    def shape(self, solid: Any) -> Any:
        """Take a kernel shape there."""


class Pose(NamedTuple):
    """Where a holder's frame lies in the assembly.

    `x`, `y`, `z` of its origin, mm; `turn` about z, degrees; on a lid the frame is turned over
    about x, so that its z looks down into the case.
    """

    x: float
    y: float
    z: float
    turn: float
    over: bool = False

    def point(self, at: Point) -> Point:
        """Take a point of the holder's frame to the assembly, mm."""
        u, v, w = self.direction(at)
        return self.x + u, self.y + v, self.z + w

    def direction(self, along: Point) -> Point:
        """Take a direction of the holder's frame to the assembly."""
        cos, sin = cos_sin(self.turn)
        x, y, z = along
        if self.over:
            y, z = -y, -z
        return cos * x - sin * y, sin * x + cos * y, z

    def shape(self, solid: Any) -> Any:
        """Take a kernel shape of the holder's frame to the assembly."""
        from fitkit.solids.bodies import moved, turned

        if self.over or self.turn:
            solid = turned(solid, x=180.0 if self.over else 0.0, z=self.turn)
        return moved(solid, self.x, self.y, self.z)

    def box(self, box: Box) -> Box:
        """Box in the assembly round a box of the holder's frame, seen from above, mm."""
        if self.over:
            box = (box[0], -box[3], box[2], -box[1])
        low_x, low_y, high_x, high_y = turned_box(box, self.turn)
        return self.x + low_x, self.y + low_y, self.x + high_x, self.y + high_y


@dataclass(frozen=True, kw_only=True)
class _Sizes(SizeSet):
    """Sizes of a carrier that must fit: its own, those of each thing, those of its features."""

    own: SizeSet
    things: tuple[SizeSet, ...]
    features: FeatureSizes


class Carrier(Template):
    """Base of all carriers: a template whose parameter `things` lists what it carries."""

    things: tuple[Thing, ...] = Field(
        default=(),
        max_length=40,
        description="What it carries, and how each thing is held.",
        json_schema_extra={"group": "Things"},
    )

    # --- what a subclass says ---------------------------------------------------------------------

    def base(self, face: Face) -> Base:
        """Give one of its plates.

        Parameters
        ----------
        face : {"floor", "lid"}

        Returns
        -------
        Base

        Raises
        ------
        PartError
            If it has no such plate.
        """
        raise NotImplementedError

    def own_sizes(self) -> SizeSet:
        """Declare its own sizes that must fit; those of the things come by themselves."""
        raise NotImplementedError

    def places(self) -> Sequence[Place]:
        """Give the place of each thing at nominal sizes, from the inside's left front corner."""
        raise NotImplementedError

    # --- what it then has -------------------------------------------------------------------------

    def must_fit(self) -> SizeSet:
        """Declare its own sizes, and those of each thing under the thing's name."""
        places = self.places()
        return _Sizes(
            own=self.own_sizes(),
            things=tuple(
                named_for(
                    self._of_thing(i, lambda t, b: t.must_fit(b)),
                    thing.name,
                    ("things", i),
                    places[i].turn,
                )
                for i, thing in enumerate(self.things)
            ),
            features=named_features(self.asked_features(), self.title),
        )

    def asked_features(self) -> tuple[Feature, ...]:
        """Give what it is asked for on its sides; a carrier that takes features says which."""
        return ()

    def with_letters_mirrored(self) -> Self:
        """Give the same carrier with label, texts and logos drawn as in a mirror."""
        made = super().with_letters_mirrored()
        features = tuple(one.with_letters_mirrored() for one in self.asked_features())
        return made.model_copy(update={"features": features}) if features else made

    def with_features(
        self, bodies: Mapping[str, Any], sizes: SizeSet, sides: Mapping[str, Side]
    ) -> tuple[dict[str, Any], Work]:
        """Add to its bodies, and cut out of them, what it is asked for on its sides.

        Parameters
        ----------
        bodies : mapping of name to solid
            In the assembly.
        sizes : SizeSet
            What `must_fit` declared, as it is to be drawn.
        sides : mapping of side name to Side
            Those that it has, with what is taken of them.

        Returns
        -------
        bodies, Work
            The bodies as they are then; all dimensions, lugs, things to buy and findings.

        Raises
        ------
        PartError
            If there is no such side, or no room on it.
        """
        from fitkit.solids.bodies import checked, cut, fuse, volume_of

        assert isinstance(sizes, _Sizes)
        found = list(applied(self.asked_features(), sizes.features, sides, self.title))
        works = [work for _, work in found]
        made = dict(bodies)
        reaches = [Reach(body=side.body, add=work.add, cut=work.cut) for side, work in found]
        reaches += [reach for work in works for reach in work.to]
        for name in dict.fromkeys(reach.body for reach in reaches):
            adds = [shape for one in reaches if one.body == name for shape in one.add]
            cuts = [shape for one in reaches if one.body == name for shape in one.cut]
            if not adds and not cuts:
                continue
            body = made[name]
            before = volume_of(body)
            most = before + sum(map(volume_of, adds))
            least = before - sum(map(volume_of, cuts))
            shape = fuse(body, *adds, tidy=True) if adds else body
            shape = cut(shape, *cuts) if cuts else shape
            made[name] = checked(shape, name, volume=(0.9999 * least, 1.0001 * most))
        return made, together(works)

    @staticmethod
    def joined_sizes(own: SizeSet, things: tuple[SizeSet, ...]) -> SizeSet:
        """Put a carrier's own sizes and those of its things, named already, into one set.

        Parameters
        ----------
        own : SizeSet
        things : tuple of SizeSet
            One for each thing.

        Returns
        -------
        SizeSet
        """
        return _Sizes(own=own, things=things, features=FeatureSizes())

    def items(self, *, gap_mm: float) -> tuple[Item, ...]:
        """Give the things as boxes for the layout.

        Parameters
        ----------
        gap_mm : float, mm
            Least distance between two things; against a wall that a plug passes there is none.

        Returns
        -------
        tuple of Item

        Raises
        ------
        FaultList, PartError
            If two things have one name, a thing cannot stand where it is to, or two given places
            meet.
        """
        self._refuse_names()
        found = []
        for i, thing in enumerate(self.things):
            with self.told(i):
                if thing.face not in thing.faces:
                    raise PartError(
                        f"{thing.title} cannot be on the {thing.face}",
                        at=("on",),
                        code="carrier.wrong-face",
                        remedy=f"It can be on the {' or the '.join(thing.faces)}.",
                    )
            if thing.face == "shape" or getattr(thing.place, "at", None) is not None:
                with self.told(i):
                    raise PartError(
                        f"{thing.title} with a point of a surface is for a given shape alone",
                        at=("held",) if thing.face == "shape" else ("place", "at"),
                        code="carrier.for-shapes",
                        remedy='Write carrier = "given shape", or give x and y of its place.',
                    )
            space: Space = self._of_thing(i, lambda t, b: t.space(b))
            given = None if thing.place == "auto" else Place(*_spot(thing.place))
            if given and space.ties and given.turn % 90:
                with self.told(i):
                    raise PartError(
                        f"a turn of {given.turn:g}° brings its plugs against no wall",
                        at=("place", "turn"),
                        code="carrier.turn",
                        remedy="Turn it by quarters: 0, 90, 180 or 270 deg.",
                    )
            if thing.face == "lid":  # its frame is turned over about x
                space = replace(
                    space, body=_over(space.body), free=space.free and _over(space.free)
                )
            half = gap_mm / 2
            sides = ("left", "front", "right", "back")
            grow = [0.0 if side in space.ties else half for side in sides]
            body = _grown(space.body, grow)
            free = _grown(space.free or space.body, grow)
            found.append(
                Item(
                    body=body,
                    free=_round(free, body),
                    height_mm=space.height_mm,
                    ties=space.ties,
                    hangs=thing.face == "lid",
                    given=given,
                )
            )
        self._refuse_meeting(found)
        return tuple(found)

    def fixtures(self, sizes: SizeSet, poses: Sequence[Placing]) -> tuple[Fixture, ...]:
        """Ask each holder for what it gives, named and placed.

        Parameters
        ----------
        sizes : SizeSet
            What `must_fit` declared, as it is to be drawn.
        poses : sequence of Pose, or of what does the same
            Of each thing.

        Returns
        -------
        tuple of Fixture
            Ghosts, numbers and dimensions in the assembly, under the things' names; `levels`,
            `pieces`, `openings` and `windows` still in the holders' frames. The carrier says of
            which body the numbers are.
        """
        assert isinstance(sizes, _Sizes)
        found = []
        for i, (thing, own, pose) in enumerate(zip(self.things, sizes.things, poses, strict=True)):
            base = self.base(thing.face)
            with self.told(i):
                found.append(placed_fixture(thing.fixture(own, base), thing.name, pose))
        return tuple(found)

    def stretched(
        self,
        plan: Arranged,
        length: FitSize,
        width: FitSize,
        stand: Callable[[Holder], tuple[float, bool]],
    ) -> tuple[Pose, ...]:
        """Give the frame of each thing as drawn: places stretched about the carrier's middle.

        Parameters
        ----------
        plan : Arranged
            At nominal sizes.
        length, width : FitSize
            Of the plan, as they are to be drawn: they give one factor an axis.
        stand : callable
            Given a thing: height of its plate's face, mm, and whether it hangs from there.

        Returns
        -------
        tuple of Pose
        """
        by_x, by_y = length.drawn_mm / plan.length, width.drawn_mm / plan.width
        found = []
        for thing, place in zip(self.things, plan.places, strict=True):
            x, y = (place.x - plan.length / 2) * by_x, (place.y - plan.width / 2) * by_y
            z, over = stand(thing)
            found.append(Pose(x, y, z, place.turn, over))
        return tuple(found)

    def numbers_of(
        self, fixtures: Sequence[Fixture], what: str, body: str | None = None
    ) -> tuple[Any, ...]:
        """Gather one sort of number of all things, each on its body.

        Parameters
        ----------
        fixtures : sequence of Fixture
        what : str
            Name of an attribute of `Fixture`.
        body : str, optional
            Of all of them; ``tray`` or ``lid`` by the thing's plate if not given.

        Returns
        -------
        tuple
        """
        return tuple(
            replace(one, body=body or ("tray" if thing.face == "floor" else "lid"))
            for thing, fixture in zip(self.things, fixtures, strict=True)
            for one in getattr(fixture, what)
        )

    def told_places(self, plan: Arranged, body: str) -> tuple[Finding, ...]:
        """Say where the layout put the things, so that a maker can keep the places.

        Parameters
        ----------
        plan : Arranged
        body : str
            That the finding points at.

        Returns
        -------
        tuple of Finding
        """
        auto = [
            (thing.name, place)
            for thing, place in zip(self.things, plan.places, strict=True)
            if thing.place == "auto"
        ]
        if not auto:
            return ()
        said = "; ".join(
            f'{name} {{ x = "{place.x:.1f} mm", y = "{place.y:.1f} mm", '
            f'turn = "{place.turn:g} deg" }}'
            for name, place in auto
        )
        return (
            Finding(
                check="layout",
                severity="note",
                text=f"Found places on a floor of {plan.length:.1f} x {plan.width:.1f} mm: {said}.",
                basis="layout of this part",
                body=body,
                remedy="To keep one of them, write it as the thing's place.",
            ),
        )

    @staticmethod
    def free_strip(
        boxes: Sequence[Box], half: tuple[float, float]
    ) -> tuple[tuple[float, float], tuple[float, float]]:
        """Find room for the label on the floor: the longest free strip of some heights.

        Parameters
        ----------
        boxes : sequence of box, mm
            What the things take, from the carrier's middle.
        half : (x, y), mm
            Half of the floor.

        Returns
        -------
        (length, width), (x, y)
            Room and its middle, mm; a room of no length where there is none.
        """
        best: tuple[float, tuple[float, float], tuple[float, float]] = (0.0, (0.0, 0.0), (0.0, 0.0))
        for high in (8.0, 6.5, 5.0):
            ys = {-half[1] + 1.0 + high / 2, half[1] - 1.0 - high / 2}
            ys |= {edge for b in boxes for edge in (b[3] + 0.5 + high / 2, b[1] - 0.5 - high / 2)}
            for y in sorted(ys):
                if abs(y) + high / 2 > half[1] - 0.9:
                    continue
                taken = sorted(
                    (b[0] - 0.5, b[2] + 0.5)
                    for b in boxes
                    if b[1] < y + high / 2 + 0.4 and b[3] > y - high / 2 - 0.4
                )
                at = -half[0] + 1.0
                for low, end in [*taken, (half[0] - 1.0, math.inf)]:
                    if low - at > best[0] + 1e-9:
                        best = (low - at, (low - at, high), ((low + at) / 2, y))
                    at = max(at, end)
            if best[0] >= 22.0:  # a trace code in letters that print
                break
        return best[1], best[2]

    def refuse_outside(
        self, items: Sequence[Item], length: float | None, width: float | None
    ) -> None:
        """Refuse a given place that reaches over an edge.

        Parameters
        ----------
        items : sequence of Item
        length, width : float, mm, or None
            Of the inside, where they are given.

        Raises
        ------
        FaultList
            All such places.
        """
        faults = []
        for i, item in enumerate(items):
            if item.given is None:
                continue
            box = at_place(item, item.given).body
            for axis, low, high, room in (
                ("x", box[0], box[2], length),
                ("y", box[1], box[3], width),
            ):
                past = max(-low, high - room if room else 0.0)
                if past > 0.01:
                    faults.append(
                        PartError(
                            f"with the thing it would reach {past:.1f} mm over the edge",
                            where=self.things[i].name,
                            at=("things", i, "place", axis),
                            code="carrier.place-over-edge",
                            remedy="Move it inwards; places count from the inside's left front "
                            "corner to the thing's middle.",
                        )
                    )
        if faults:
            raise FaultList(faults)

    def without_things(self) -> PartError:
        """Say that there is nothing to carry."""
        return PartError(
            "there is nothing for it to hold",
            where=self.title,
            at=("things",),
            code="carrier.no-things",
            remedy="Add a table [[things]] with name and held for each thing.",
        )

    def no_room(self, sizes: Mapping[str, float | None]) -> PartError:
        """Say why no places were found.

        Parameters
        ----------
        sizes : mapping of parameter to mm or None
            What the sheet gives of the extent.

        Returns
        -------
        PartError
        """
        given = {name: value for name, value in sizes.items() if value}
        tied = [
            (i, thing)
            for i, thing in enumerate(self.things)
            if {"left", "right"} <= set(self._ties(i)) or {"front", "back"} <= set(self._ties(i))
        ]
        if given:
            said = " and ".join(f"{name} of {value:g} mm" for name, value in given.items())
            return PartError(
                f"the things do not fit into {said}",
                where=self.title,
                at=(next(iter(given)),),
                code="carrier.no-room",
                remedy="Make it larger, or leave it out: it then grows as needed.",
            )
        if tied:
            i, thing = tied[0]
            return PartError(
                "it has plugs on opposite sides, and no case that it fills from wall to wall has "
                "room for the other things",
                where=thing.name,
                at=("things", i, "ports"),
                code="carrier.opposite-ties",
                remedy="Give the other things places beside it, or a case of their own.",
            )
        return PartError(
            "no places are found in which all things keep clear of one another and meet their "
            "walls",
            where=self.title,
            at=("things",),
            code="carrier.no-places",
            remedy="Give places for some of them, or move ports to other walls.",
        )

    def _ties(self, number: int) -> Any:
        return self._of_thing(number, lambda t, b: t.space(b)).ties

    def refuse_in_one_place(self, items: Sequence[Item], plan: Arranged) -> None:
        """Refuse two things that stand in one another, whoever placed them.

        Parameters
        ----------
        items : sequence of Item
        plan : Arranged

        Raises
        ------
        PartError
            The first such thing.
        """
        placed = [at_place(item, place) for item, place in zip(items, plan.places, strict=True)]
        for j, two in enumerate(placed):
            for i, one in enumerate(placed[:j]):
                if items[i].hangs == items[j].hangs and meets(one.body, two.body):
                    raise PartError(
                        f"in its place it would stand in {self.things[i].name!r}",
                        where=self.things[j].name,
                        at=("things", j, "place"),
                        code="carrier.two-in-one-place",
                        remedy='Move one of the two, or write place = "auto".',
                    )

    def _of_thing(self, number: int, ask: Any) -> Any:
        thing = self.things[number]
        with self.told(number):
            return ask(thing, self.base(thing.face))

    @contextmanager
    def told(self, number: int) -> Iterator[None]:
        """Put the path of a thing before the place of each fault that is raised inside.

        Parameters
        ----------
        number : int
            Of the thing, from 0.
        """
        try:
            yield
        except FaultList as faults:
            raise FaultList([self._at_thing(number, fault) for fault in faults]) from faults
        except FitkitError as error:
            raise self._at_thing(number, error) from error

    def _at_thing(self, number: int, error: FitkitError) -> FitkitError:
        name = self.things[number].name
        return error.placed(PartError, where=name, at=("things", number, *error.at))

    def _refuse_names(self) -> None:
        seen: dict[str, int] = {}
        faults = []
        for i, thing in enumerate(self.things):
            first = seen.setdefault(thing.name.casefold(), i)
            if first != i:
                faults.append(
                    PartError(
                        f"thing {first + 1} is called {thing.name!r}, too",
                        where=self.title,
                        at=("things", i, "name"),
                        code="carrier.same-name",
                        remedy="Give each thing a name of its own.",
                    )
                )
        if faults:
            raise FaultList(faults)

    def _refuse_meeting(self, items: Sequence[Item]) -> None:
        """Refuse given places in which two things would stand in one another."""
        faults = []
        placed = [(i, at_place(item, item.given)) for i, item in enumerate(items) if item.given]
        for n, (j, two) in enumerate(placed):
            for i, one in placed[:n]:
                if items[i].hangs == items[j].hangs and meets(one.body, two.body):
                    faults.append(
                        PartError(
                            f"in its place it would stand in {self.things[i].name!r}",
                            where=self.things[j].name,
                            at=("things", j, "place"),
                            code="carrier.two-in-one-place",
                            remedy='Move one of the two, or write place = "auto".',
                        )
                    )
        if faults:
            raise FaultList(faults)


def as_shared(sizes: SizeSet) -> SizeSet:
    """Give a carrier's own sizes out of all that `Carrier.must_fit` declares.

    Parameters
    ----------
    sizes : SizeSet

    Returns
    -------
    SizeSet
        What `Carrier.own_sizes` declared, as it is to be drawn.
    """
    assert isinstance(sizes, _Sizes)
    return sizes.own


def _spot(place: Any) -> tuple[float, float, float]:
    return place.x, place.y, place.turn


def _over(box: Box) -> Box:
    return box[0], -box[3], box[2], -box[1]


def _grown(box: Box, by: Sequence[float]) -> Box:
    return box[0] - by[0], box[1] - by[1], box[2] + by[2], box[3] + by[3]


def _round(a: Box, b: Box) -> Box:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def placed_fixture(fixture: Fixture, name: str, pose: Placing) -> Fixture:
    """Take what a holder gives to the assembly, the thing's name before each name of its own.

    Parameters
    ----------
    fixture : Fixture
    name : str
        The thing's; empty where it is the only one.
    pose : Pose, or what does the same

    Returns
    -------
    Fixture
    """

    def number(one: Any) -> Any:
        changed: dict[str, Any] = {"name": _called(one.name, name), "at": pose.point(one.at)}
        if getattr(one, "along", None) is not None:
            changed["along"] = pose.direction(one.along)
        return replace(one, **changed)

    def ghost(one: Body) -> Body:
        from build123d import Solid

        way = one.insertion
        return replace(
            one,
            name=_called(one.name, name),
            solid=Solid(pose.shape(one.solid)),
            insertion=None if way is None else pose.direction(way),
        )

    return replace(
        fixture,
        ghosts=tuple(map(ghost, fixture.ghosts)),
        dimensions=tuple(
            replace(d, name=_called(d.name, name), start=pose.point(d.start), end=pose.point(d.end))
            for d in fixture.dimensions
        ),
        walls=tuple(map(number, fixture.walls)),
        arms=tuple(map(number, fixture.arms)),
        bosses=tuple(map(number, fixture.bosses)),
        vents=tuple(map(number, fixture.vents)),
        bridges=tuple(map(number, fixture.bridges)),
        buys=tuple(replace(b, why=", ".join(filter(None, (name, b.why)))) for b in fixture.buys),
        warm=None if fixture.warm is None else _turned(fixture.warm, pose),
        findings=tuple(
            replace(f, text=_called(f.text, name), at=tuple(map(pose.point, f.at)))
            for f in fixture.findings
        ),
    )


def _turned(warm: Warm, pose: Any) -> Warm:
    """Take what is warm to the assembly: by the box round it there."""
    along, across = (
        pose.direction(way) for way in ((warm.half_x_mm, 0.0, 0.0), (0.0, warm.half_y_mm, 0.0))
    )
    return Warm(
        at=pose.point(warm.at),
        half_x_mm=abs(along[0]) + abs(across[0]),
        half_y_mm=abs(along[1]) + abs(across[1]),
    )


def warm_together(warm: Sequence[Warm]) -> Warm | None:
    """Take several warm things as one: the box round them, at the height of the highest.

    Which of them gives off how much is not known; from the highest face the warm air rises least.

    Parameters
    ----------
    warm : sequence of Warm

    Returns
    -------
    Warm or None
        None if there is nothing.
    """
    if not warm:
        return None
    low = [min(one.at[i] - (one.half_x_mm, one.half_y_mm)[i] for one in warm) for i in (0, 1)]
    high = [max(one.at[i] + (one.half_x_mm, one.half_y_mm)[i] for one in warm) for i in (0, 1)]
    return Warm(
        at=((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, max(one.at[2] for one in warm)),
        half_x_mm=(high[0] - low[0]) / 2,
        half_y_mm=(high[1] - low[1]) / 2,
    )


def _called(own: str, name: str) -> str:
    """Name with the thing's before it: that of a size has it already."""
    return own if not name or own.startswith(f"{name}: ") else f"{name}: {own}"


def placed_levels(levels: Sequence[Terrace], pose: Pose, face_mm: float) -> tuple[Terrace, ...]:
    """Take regions of a holder's frame to the plate's face, heights over the bed.

    Parameters
    ----------
    levels : sequence of Terrace
    pose : Pose
        With `over`, places are those of the lid as it prints: x as in the case, y mirrored.
    face_mm : float, mm
        Height of the plate's face over the bed.

    Returns
    -------
    tuple of Terrace
    """
    from fitkit.solids.terraces import Terrace

    x, y, turn = (pose.x, -pose.y, -pose.turn) if pose.over else (pose.x, pose.y, pose.turn)

    def outline(loop: Loop) -> Loop:
        return (_quarter(loop, turn) if turn % 360 else loop).moved(x, y)

    def one(level: Terrace) -> Terrace:
        # What goes through the plate ends at the bed exactly.
        height = max(level.level + face_mm, 0.0)
        height = 0.0 if height < 1e-6 else height
        return Terrace(outline(level.outline), height, tuple(map(one, level.inner)), level.edge)

    return tuple(map(one, levels))


def _quarter(loop: Loop, turn: float) -> Loop:
    """Turn an outline; quarters exactly, so that its sides stay upright and level."""
    if turn % 90:
        return loop.turned(turn)
    corners = loop.corners
    for _ in range(round(turn / 90) % 4):
        corners = tuple((-y + 0.0, x, bulge) for x, y, bulge in corners)
    return type(loop)(corners)


def placed_piece(piece: Piece, pose: Pose, face_mm: float) -> Piece:
    """Take a piece of a holder's frame to the plate's face as it prints.

    Parameters
    ----------
    piece : Piece
    pose : Pose
    face_mm : float, mm
        Height of the plate's face over the bed.

    Returns
    -------
    Piece
    """
    x, y, turn = (pose.x, -pose.y, -pose.turn) if pose.over else (pose.x, pose.y, pose.turn)
    return piece.placed(x, y, face_mm, turn)


def wall_of(opening_wall: Any, pose: Pose) -> Any:
    """Wall of the carrier that a thing's side faces.

    Parameters
    ----------
    opening_wall : wall name
        In the holder's frame.
    pose : Pose

    Returns
    -------
    wall name
    """
    return turned_wall(opening_wall, pose.turn)
