"""Sizes of a part that must fit: one, and the set that a template declares.

A template declares its sizes once, as the attributes of a `SizeSet` of its own, and looks them up
there, so that a type checker finds a misspelt one. Sheets and records know each by its name, which
is the attribute's in plain words.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING, Any, Literal, Self

from fitkit.core.errors import PartError
from fitkit.core.sizes import Axis, SizeKind, kind_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping

Counterpart = Literal["fixed", "marked through", "hangs there"]

__all__ = ["Counterpart", "FitSize", "SizeSet", "drawn_mm", "holding", "mapped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FitSize:
    """One size of the part that decides whether something fits.

    The flow turns it into a drawn size: target = nominal + sense * gap, then compensation by
    `kind`, `axis`.

    Attributes
    ----------
    name : str
        Key under which the drawn size reaches `Template.build`; plain words, unique in the part.
        In a `SizeSet` it is the attribute's name unless another is given.
    nominal_mm : float, mm
        Size of the thing that it must fit (the object, or the mating face of another body).
    of : str or None
        Path of the parameter that `nominal_mm` is, such as ``board_length`` or ``ports.0.width``,
        so that its reading's uncertainty can be followed; None for a size that no reading carries.
    sense : {-1, 0, +1}
        +1 the face goes round the thing (gap added), -1 it goes into it (gap taken off), 0 no gap.
    kind, axis
        How the printer errs on it.
    pair : str or None
        Kind of pair in the fits room, such as ``lid and rim``; None when sense is 0.
    behaviour : str or None
        Wanted behaviour unless the sheet says otherwise, such as ``slides``.
    coated_faces : {0, 1, 2}
        How many of its two faces a finish coat would cover.
    gap_mm : float or None, mm
        Gap that the template itself sets, because trying it is what the part is for (a fit ladder);
        None where the flow chooses it. Positive is clearance, on the full size.
    mark : str
        What stands on the print beside this size, if anything does; another name for it.
    mate : str or None
        Name of the size of this same part that it is tried with, where both halves are printed.
    wall_mm : float or None, mm
        Length of the walls beside a pocket, which may bow; None for as long as it is wide.
    floor : str
        For the height of an opening in an upright wall: name of the fit size that is its floor's
        height over the bed. Both are then drawn in whole layers, and the middle stays in place.
    stands_on : str
        For a height over the bed: name of the height that it is counted from. What that one is
        drawn higher, to end on a whole layer, this one is higher too.
    rests_on : tuple of (str, float)
        Where the nominal size is worked out from several parameters: the path of each, and by how
        much the size grows with it. Empty where it is the parameter `of` and exact sizes.
    placed_by : tuple of str
        Names of the sizes of this part that say where this one lies, so that their doubt takes part
        of its gap.
    spaced : bool
        What `placed_by` names is the distance of two openings like this: half of what it is off
        falls to each.
    counterpart : {"fixed", "marked through", "hangs there"}
        What must meet it: something in a place of its own; a hole that is drilled after the print,
        marked through the part; or a thing that hangs in this opening, whose place is free unless
        something fixed is behind. The less is fixed, the less a doubt of its place weighs.
    play_mm : float, mm
        How far a hand can push what goes through it to either side, where that is held, so that it
        finds an opening that stands a little beside it.
    given_mm : float or None, mm
        What the flow gave to be drawn; None where it gave nothing.
    """

    name: str = ""
    nominal_mm: float
    kind: SizeKind
    axis: Axis = "xy"
    of: str | None = None
    sense: Literal[-1, 0, 1] = 0
    pair: str | None = None
    behaviour: str | None = None
    coated_faces: int = 0
    gap_mm: float | None = None
    mark: str = ""
    mate: str | None = None
    wall_mm: float | None = None
    floor: str = ""
    stands_on: str = ""
    rests_on: tuple[tuple[str, float], ...] = ()
    placed_by: tuple[str, ...] = ()
    spaced: bool = False
    counterpart: Counterpart = "fixed"
    play_mm: float = 0.0
    given_mm: float | None = None

    def __post_init__(self) -> None:
        """Take the name of a kind, too."""
        object.__setattr__(self, "kind", kind_of(self.kind))

    @property
    def plain_mm(self) -> float:
        """What is drawn where neither printer nor wish is known: nominal, with its own gap."""
        return self.nominal_mm + self.sense * (self.gap_mm or 0.0)

    @property
    def drawn_mm(self) -> float:
        """What to draw, mm: what the flow gave, or the plain size."""
        return self.plain_mm if self.given_mm is None else self.given_mm


def holding(
    nominal_mm: float, of: str | None, kind: SizeKind, axis: Axis = "xy", **other: Any
) -> FitSize:
    """Declare a size that goes round a measured object, or into one, which then slides.

    Parameters
    ----------
    nominal_mm : float, mm
        Of the object.
    of : str or None
        Path of the parameter that it is.
    kind : SizeKind
        Its sense says whether the size goes round the object or into it.
    axis : {"x", "y", "z", "xy"}
    **other
        What is otherwise than for an object in a pocket, by name of an attribute of `FitSize`.

    Returns
    -------
    FitSize

    Examples
    --------
    >>> pocket = holding(24.0, "body_length", kind_of("pocket"), "y")
    >>> pocket.sense, pocket.pair
    (1, 'object in pocket')
    """
    usual: dict[str, Any] = {
        "sense": -kind.sense,
        "pair": "object in pocket",
        "behaviour": "slides",
        "coated_faces": 2,
    }
    return FitSize(nominal_mm=nominal_mm, of=of, kind=kind, axis=axis, **usual | other)


@dataclass(frozen=True, kw_only=True)
class SizeSet:
    """The sizes of a template that must fit, each an attribute.

    A template's own set is a frozen dataclass of `FitSize`, of ``FitSize | None`` where parameters
    decide whether the size is there, and of tuples or further sets for sizes that are counted. A
    size that is made without a name takes that of its attribute.

    Examples
    --------
    >>> @dataclass(frozen=True, kw_only=True)
    ... class LidSizes(SizeSet):
    ...     rim: FitSize
    ...     screw_hole: FitSize | None = None
    >>> sizes = LidSizes(rim=FitSize(nominal_mm=40.0, kind=kind_of("outside"), sense=-1))
    >>> [size.name for size in sizes]
    ['rim']
    >>> sizes.drawn({"rim": 39.8}).rim.drawn_mm
    39.8
    """

    def __post_init__(self) -> None:
        """Name each size after its attribute, unless it has a name."""
        for field in fields(self):
            value = getattr(self, field.name)
            if isinstance(value, FitSize) and not value.name:
                named = replace(value, name=field.name.replace("_", " "))
                object.__setattr__(self, field.name, named)

    def __iter__(self) -> Iterator[FitSize]:
        """Give every size that is there, in the order of declaration."""
        for field in fields(self):
            yield from _flat(getattr(self, field.name))

    def drawn(self, drawn: Mapping[str, float] | None, *, where: str = "") -> Self:
        """Give the same sizes as they are to be drawn.

        Parameters
        ----------
        drawn : mapping of size name to mm, or None
            Sizes to draw; a size that is absent keeps its plain size.
        where : str
            Title of the part, for a message.

        Returns
        -------
        SizeSet
            Of the same class.

        Raises
        ------
        PartError
            If a name is not that of a size: names those that there are.
        """
        names = [size.name for size in self]
        unknown = sorted(set(drawn or ()) - set(names))
        if unknown:
            raise PartError(
                f"there is no size {unknown[0]!r} that must fit",
                where=where or None,
                code="part.no-size",
                remedy=f"There are: {', '.join(names)}." if names else "Leave it out.",
            )
        return self._with(drawn or {})

    def _with(self, drawn: Mapping[str, float]) -> Self:
        return replace(self, **{f.name: _with(getattr(self, f.name), drawn) for f in fields(self)})


def _flat(value: object) -> Iterator[FitSize]:
    if isinstance(value, FitSize):
        yield value
    elif isinstance(value, SizeSet | tuple):
        for inner in value:
            yield from _flat(inner)


def _with(value: object, drawn: Mapping[str, float]) -> object:
    if isinstance(value, FitSize):
        return replace(value, given_mm=drawn[value.name]) if value.name in drawn else value
    if isinstance(value, SizeSet):
        return value._with(drawn)
    if isinstance(value, tuple):
        return tuple(_with(inner, drawn) for inner in value)
    return value


def mapped(value: Any, one: Callable[[FitSize], FitSize]) -> Any:
    """Change each size of a set, of sets within it too.

    Parameters
    ----------
    value : SizeSet, FitSize, tuple of these, or None
    one : callable
        Given a size, gives the one that takes its place.

    Returns
    -------
    of the same kind
    """
    if isinstance(value, FitSize):
        return one(value)
    if isinstance(value, SizeSet):
        changed = {f.name: mapped(getattr(value, f.name), one) for f in fields(value)}
        return replace(value, **changed)
    if isinstance(value, tuple):
        return tuple(mapped(item, one) for item in value)
    return value


def drawn_mm(size: FitSize | None, otherwise: float | None = None) -> float:
    """Size to draw, mm, of a size that parameters may leave out.

    Parameters
    ----------
    size : FitSize or None
    otherwise : float, mm, optional
        What counts where the size is left out.

    Raises
    ------
    LookupError
        If the size is left out and nothing counts instead: the template asks for what it has not
        declared.
    """
    if size is not None:
        return size.drawn_mm
    if otherwise is None:
        raise LookupError("the template asks for a size that it has not declared")
    return otherwise
