"""What a holder is: it knows how one measured thing is held, and not on what.

A holder is a pydantic model of a thing's parameters, as a part sheet gives them under
``[[things]]``. In its own frame it stands on z = 0, the face of its plate, with z away from the
plate and its front at -y. It states four things:

- `Holder.must_fit`: the sizes that must fit, each known in the part as ``NAME: size``;
- `Holder.space`: at nominal sizes, the room that it takes and which walls it must meet;
- `Holder.fixture`: at drawn sizes, what to add to the plate and to cut out of it, and the plain
  numbers that checks need;
- `measuring`: what calipers read for it.

A carrier (`carrier`) gives each holder its place and puts everything together. This file loads no
CAD kernel.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass, field, replace
from importlib import import_module
from typing import TYPE_CHECKING, Any, ClassVar, Literal, Self, TypeVar

from pydantic import BaseModel, Field, field_validator

from fitkit.core.errors import PartError
from fitkit.core.models import StrictModel
from fitkit.parts.contract import Angle, Length, size
from fitkit.parts.fit_size import FitSize, SizeSet, mapped
from fitkit.parts.forms import choice
from fitkit.parts.measuring import Measuring

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.core.finding import Finding
    from fitkit.core.sizes import Axis
    from fitkit.parts.contract import (
        Body,
        Boss,
        Bridge,
        Buy,
        KeyDimension,
        SnapArm,
        Vent,
        Wall,
        Warm,
    )
    from fitkit.parts.designs.board_case.parameters import Port, Window
    from fitkit.parts.designs.board_case.sizes import PortSizes
    from fitkit.solids.let_in import Piece
    from fitkit.solids.terraces import Terrace

__all__ = [
    "Base",
    "Box",
    "Face",
    "Fixture",
    "Holder",
    "Space",
    "Spot",
    "WallName",
    "WallOpening",
    "holder",
    "known_features",
    "known_holders",
    "named_for",
    "register_holder",
    "taken_from",
    "turned_axis",
]

Box = tuple[float, float, float, float]  # lowest x and y, highest x and y, mm
Face = Literal["floor", "lid", "shape"]
WallName = Literal["left", "right", "front", "back"]

# Air that a thing keeps on each side beyond its nominal size: the most that a gap, compensation and
# the reading's own doubt add to it. A choice of ours.
AIR_MM = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Base:
    """The plate that a holder stands on.

    Attributes
    ----------
    face : {"floor", "lid"}
        Which plate of the carrier it is.
    thickness_mm : float, mm
    """

    face: Face = "floor"
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """Room that a holder takes with its thing, at nominal sizes, in its own frame.

    Attributes
    ----------
    body : box, mm
        Seen from above: nothing else may be in it.
    free : box or None, mm
        `body` with room for fingers, wires and the like, which may be shared with such room of
        others but with no body; None for the body alone.
    height_mm : float, mm
        From the plate's face to the top of all, the thing in its place.
    ties : tuple of wall names
        Sides of `body` that must lie against a wall, since a plug or a cable passes it there.
    """

    body: Box
    free: Box | None = None
    height_mm: float
    ties: tuple[WallName, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class WallOpening:
    """A port in the wall beside a thing.

    Attributes
    ----------
    port : Port
        As the sheet gives it; `along` and `above` count as said below.
    sizes : PortSizes
        Its sizes as drawn.
    along_mm : float, mm
        Middle along the wall as drawn, in the holder's frame: x at front and back, y else.
    above_mm : float, mm
        Middle above the plate's face.
    edge_mm : float, mm
        From the holder's origin to the thing's edge on that side.
    path : tuple
        Of the parameter, such as ``("ports", 0)``.
    """

    port: Port
    sizes: PortSizes
    along_mm: float
    above_mm: float
    edge_mm: float
    path: tuple[str | int, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fixture:
    """What a holder gives for its sizes as drawn, in its own frame, mm.

    Names in it are the holder's own, and the `body` of a number is left empty: the carrier puts
    the thing's name before each and fills in which of its bodies it is.

    Attributes
    ----------
    levels : tuple of Terrace
        Flat regions nested in the plate's face: above 0 they stand on it, below they are let into
        it, and at minus the plate's thickness they go through.
    pieces : tuple of Piece
        Bodies that bring their own bit of plate, from minus its thickness up.
    ghosts : tuple of Body
        The thing itself in its place.
    openings : tuple of WallOpening
    windows : tuple of Window
        Open rectangles in the lid over the thing, their `x` and `y` in the holder's frame.
    dimensions, walls, arms, bosses, vents, bridges : tuples
        What the checks look at.
    findings : tuple of Finding
    cautions : tuple of str
        Names of cautions that the thing itself calls for, such as ``battery``.
    buys : tuple of Buy
        What it is held with: screws, inserts.
    warm : Warm or None
        What of the thing gives off heat; None if that is not known.
    """

    levels: tuple[Terrace, ...] = ()
    pieces: tuple[Piece, ...] = ()
    ghosts: tuple[Body, ...] = ()
    openings: tuple[WallOpening, ...] = ()
    windows: tuple[Window, ...] = ()
    dimensions: tuple[KeyDimension, ...] = ()
    walls: tuple[Wall, ...] = ()
    arms: tuple[SnapArm, ...] = ()
    bosses: tuple[Boss, ...] = ()
    vents: tuple[Vent, ...] = ()
    bridges: tuple[Bridge, ...] = ()
    findings: tuple[Finding, ...] = field(default=())
    cautions: tuple[str, ...] = ()
    buys: tuple[Buy, ...] = ()
    warm: Warm | None = None


class Spot(StrictModel):
    """A given place of the holder's own middle.

    On a plate it counts from the inside's left front corner (`x`, `y`); on a given shape it is a
    point of the surface (`at`), with the way out of the shape (`normal`).
    """

    x: Length = size("0 mm", low="-400 mm", high="400 mm", help="From the left wall's inside.")
    y: Length = size("0 mm", low="-400 mm", high="400 mm", help="From the front wall's inside.")
    turn: Angle = size(
        "0 deg", low="-360 deg", high="360 deg", help="Counter-clockwise, seen from above."
    )
    at: tuple[Length, Length, Length] | None = choice(
        None, "On a given shape: a point of its surface, x; y; z.", "On a shape"
    )
    normal: tuple[float, float, float] | None = choice(
        None, "On a given shape: the way out of it there; found if not given.", "On a shape"
    )
    sunk: Length = size(
        "0 mm",
        low="-100 mm",
        high="200 mm",
        group="On a shape",
        help="On a given shape: how far below that point it stands; above it if negative.",
    )


class Holder(StrictModel):
    """Base of all holders: how one measured thing is held.

    A subclass sets `title`, the words by which a sheet names it under ``held``, declares its
    parameters as a template does, and writes `must_fit`, `space` and `fixture`.
    """

    title: ClassVar[str] = ""
    summary: ClassVar[str] = ""
    measuring: ClassVar[Measuring] = Measuring()
    faces: ClassVar[tuple[Face, ...]] = ("floor",)

    held: str = choice("", "How it is held.", "Thing")
    name: str = Field(
        default="",
        min_length=1,
        max_length=40,
        description="What it is called; no other thing of the sheet has this name.",
        json_schema_extra={"group": "Thing"},
    )
    item: str = choice(
        "", "The item of the readings that its expressions name; empty for all.", "Thing"
    )
    on: Face | None = choice(None, "The plate that it is on; its usual one if not given.", "Thing")
    place: Spot | Literal["auto"] = choice("auto", "Its place, or auto.", "Thing")

    @field_validator("place", mode="before")
    @classmethod
    def _nothing_given_is_auto(cls, place: object) -> object:
        return "auto" if place is None or place == {} else place

    @field_validator("name")
    @classmethod
    def _can_be_prefixed(cls, name: str) -> str:
        if ":" in name or name != name.strip():
            raise ValueError("a name has no colon, and no blanks at its ends")
        return name

    @classmethod
    def model_for(cls, values: Mapping[str, Any]) -> type[Holder]:
        """Find the class of a thing as a sheet gives it; this one where ``held`` is unknown.

        Parameters
        ----------
        values : mapping
            Of one table of ``[[things]]``.

        Returns
        -------
        Holder class
        """
        title = values.get("held")
        known = title in _SHIPPED or title in _FEATURES or title in _own
        return holder(str(title)) if known else cls

    @property
    def face(self) -> Face:
        """The plate that it is on."""
        return self.on or self.faces[0]

    def must_fit(self, base: Base) -> SizeSet:
        """Declare the sizes that must fit, each an attribute of a set; none by default.

        Parameters
        ----------
        base : Base
            The plate, from whose other side heights in the print count.

        Returns
        -------
        SizeSet
        """
        return SizeSet()

    def space(self, base: Base) -> Space:
        """Give the room that it takes at nominal sizes.

        Parameters
        ----------
        base : Base

        Returns
        -------
        Space
        """
        raise NotImplementedError

    def fixture(self, sizes: Any, base: Base) -> Fixture:
        """Give what to add to the plate and to cut out of it.

        Parameters
        ----------
        sizes : SizeSet
            What `must_fit` declared, with what is to be drawn.
        base : Base

        Returns
        -------
        Fixture

        Raises
        ------
        PartError
            If its parameters cannot make it: names the parameter, its value and the bound.
        """
        raise NotImplementedError

    @classmethod
    def of(cls, /, **values: object) -> Self:
        """Make a holder from values with units; every fault is told at once.

        Parameters
        ----------
        **values
            As a part sheet has them under ``[[things]]``.

        Returns
        -------
        Holder

        Raises
        ------
        FaultList
            A `PartError` for each value out of bounds, unknown or misspelt.
        """
        from pydantic import ValidationError

        from fitkit.core.models import faults_of

        try:
            return cls.model_validate({"held": cls.title} | values)
        except ValidationError as error:
            raise faults_of(
                error, model=cls, error=PartError, where=cls.title, thing="parameter"
            ) from error


def taken_from(model: type[BaseModel], name: str) -> Any:
    """Declare a parameter just as another model declares it: bounds, default, help and group.

    Parameters
    ----------
    model : model class
    name : str
        Of its parameter, and of the new one.

    Returns
    -------
    field
    """
    info = model.model_fields[name]
    bounds = {
        key: getattr(item, key)
        for item in info.metadata
        for key in ("ge", "le", "gt", "lt", "min_length", "max_length")
        if getattr(item, key, None) is not None
    }
    return Field(
        default=info.default,
        description=info.description,
        json_schema_extra=info.json_schema_extra,
        **bounds,
    )


# --- by title ------------------------------------------------------------------------------------

# Title -> the file in `holders` and the class in it.
_SHIPPED = {
    "board on standoffs": ("board", "BoardOnStandoffs"),
    "block between arms": ("block", "BlockBetweenArms"),
    "round cell in saddles": ("cell", "CellInSaddles"),
    "ball in a cup": ("ball", "BallInCup"),
    "device in a cut-out": ("device", "DeviceInCutout"),
    "cable under a tie": ("tied_cable", "TiedCable"),
}
# What only a given shape takes.
_FEATURES = {
    "screw boss": ("screw_boss", "ScrewBoss"),
    "keyhole": ("keyhole", "Keyhole"),
    "cable channel": ("cable_channel", "CableChannel"),
    "flat foot": ("flat_foot", "FlatFoot"),
}
_own: dict[str, type[Holder]] = {}
_T = TypeVar("_T", bound=type[Holder])


def known_holders() -> dict[str, type[Holder]]:
    """Give all holders by title: the shipped ones, then those registered in this process."""
    return {title: holder(title) for title in (*_SHIPPED, *_own)}


def known_features() -> dict[str, type[Holder]]:
    """Give by title what is made on a given shape alone."""
    return {title: holder(title) for title in _FEATURES}


def holder(title: str) -> type[Holder]:
    """Find a holder by its title.

    Parameters
    ----------
    title : str

    Returns
    -------
    Holder class

    Raises
    ------
    PartError
        If there is none: names the nearest, and all.
    """
    if title in _own:
        return _own[title]
    if title in _SHIPPED or title in _FEATURES:
        home, name = (_SHIPPED | _FEATURES)[title]
        found: type[Holder] = getattr(import_module(f"fitkit.parts.holders.{home}"), name)
        return found
    known = [*_SHIPPED, *_FEATURES, *_own]
    near = difflib.get_close_matches(str(title), known, n=1)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise PartError(
        f"{title!r} is not a way to hold a thing",
        at=("held",),
        code="holder.unknown",
        remedy=f"{meant}There are: {', '.join(known)}.",
    )


def register_holder(kind: _T) -> _T:
    """Add a holder of one's own, so that sheets of this process know it; usable as a decorator.

    Parameters
    ----------
    kind : Holder class
        One of the same title that was registered before is replaced.

    Returns
    -------
    Holder class
        The same.

    Raises
    ------
    PartError
        If it has no title, or that of a shipped holder.
    """
    if not kind.title or kind.title in _SHIPPED | _FEATURES:
        raise PartError(
            f"{kind.title!r} cannot be the title of a holder of one's own",
            where=kind.__name__,
            code="holder.title-taken",
            remedy="Set its class variable 'title' to words that no shipped holder has.",
        )
    _own[kind.title] = kind
    return kind


# --- names in the part ---------------------------------------------------------------------------


def named_for(sizes: SizeSet, name: str, path: tuple[str | int, ...], turn: float) -> Any:
    """Give a thing's sizes as the whole part knows them.

    Parameters
    ----------
    sizes : SizeSet
        As its holder declares them.
    name : str
        The thing's: each size becomes ``NAME: size``.
    path : tuple
        Of the thing among the part's parameters, such as ``("things", 0)``.
    turn : float, degrees
        Of the thing in its place: a quarter turn swaps x and y; what is turned otherwise lies
        along both.

    Returns
    -------
    SizeSet
        Of the same class.
    """
    before = "".join(f"{step}." for step in path)

    def called(one: str | None) -> str:
        return f"{name}: {one}" if one else ""

    def one(fit: FitSize) -> FitSize:
        return replace(
            fit,
            name=called(fit.name),
            axis=turned_axis(fit.axis, turn),
            of=before + fit.of if fit.of else None,
            rests_on=tuple((before + p, share) for p, share in fit.rests_on),
            placed_by=tuple(map(called, fit.placed_by)),
            mate=called(fit.mate) or None,
            floor=called(fit.floor),
            stands_on=called(fit.stands_on),
        )

    return mapped(sizes, one)


def turned_axis(axis: Axis, turn: float) -> Axis:
    """Axis that a size lies along when its thing is turned about z.

    Parameters
    ----------
    axis : {"x", "y", "z", "xy"}
    turn : float, degrees

    Returns
    -------
    axis

    Examples
    --------
    >>> turned_axis("x", 90), turned_axis("x", 180), turned_axis("y", 30), turned_axis("z", 90)
    ('y', 'x', 'xy', 'z')
    """
    if axis not in ("x", "y") or turn % 180 == 0:
        return axis
    if turn % 90:
        return "xy"
    return "y" if axis == "x" else "x"
