"""Kinds of size, as printers err on them, and the axes along which they lie.

A kind is an object that knows what the trade knows about it: what more material does to it, which
jaws read it, whether it is round, and which terms of the printer model act on it. Code asks the
kind; it never compares its name. Files, records and calls give the name, which `kind_of` looks up.
A kind is its own name as text, so it goes into tables and files as that name.

Another kind is added with `register_kind`. It may name terms that the printer model has already.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, Self

from fitkit.core.errors import CalibrationError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "CENTRES",
    "D_BORE",
    "HEIGHT",
    "HOLE",
    "HOLE_LYING",
    "INSIDE",
    "OUTSIDE",
    "PEG",
    "POCKET",
    "Axis",
    "Jaws",
    "SizeKind",
    "kind_of",
    "kinds",
    "known_kind",
    "register_kind",
]

Axis = Literal["x", "y", "z", "xy"]
Jaws = Literal["outside", "inside"]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class SizeKind(str):
    """One kind of size: its name, and what is true of every size of the kind.

    Attributes
    ----------
    name : str
        As files, records and calls write it; the text that the kind itself is.
    says : str
        What it is, in plain words.
    plural : str
        What several of them are called in a sentence.
    sense : {-1, 0, +1}
        +1 where more material makes the size larger, -1 where it makes it smaller, 0 where neither.
    jaws : {"outside", "inside"}
        Which jaws of the calipers read it.
    round : bool
        True for a circle, which a file draws as a polygon.
    lying : bool
        True for a circle whose axis lies in the layer plane, so that its top hangs over air.
    axes : {"plane", "z", "both"}
        ``z`` for a size that is along z whatever axis is given; ``plane`` for one that is read in
        the layer plane alone; ``both`` for one that can lie either way.
    layered : bool
        True if along z the size is counted from the bed in whole layers.
    flat : bool
        True for a size between two flat faces, which lie across x or across y.
    flares : bool
        True if its lowest layer bulges on the bed.
    loads : mapping of str to float
        Terms of the printer model that act on it, beside the scale, and how strongly.
    loads_z : mapping of str to float, optional
        The same along z, where that differs.
    closed : bool
        True for a size between walls that run all round, which can bow.
    family, family_z : mapping of str to float
        Whose errors it shares beyond what the terms say, and by which share; its own by default.
        `family_z` is the same along z.
    usual_mm : (float, float) or None, mm
        Smallest and largest size that parts usually have; None if coupons are not chosen for it.
    range_of : str
        Name of another kind whose measured range serves where this one was not measured; or empty.
    unmeasured_note : str
        What a user must know of a size of a kind that was not measured on the printer.

    Examples
    --------
    >>> kind_of("hole").sense, kind_of("hole").round, kind_of("hole") == "hole"
    (-1, True, True)
    """

    name: str = field(kw_only=False)
    says: str
    plural: str
    sense: Literal[-1, 0, 1]
    jaws: Jaws = "outside"
    round: bool = False
    lying: bool = False
    axes: Literal["plane", "z", "both"] = "plane"
    layered: bool = False
    flat: bool = False
    flares: bool = False
    loads: Mapping[str, float] = field(default_factory=dict)
    loads_z: Mapping[str, float] | None = None
    closed: bool = False
    family: Mapping[str, float] = field(default_factory=dict)
    family_z: Mapping[str, float] | None = None
    usual_mm: tuple[float, float] | None = None
    range_of: str = ""
    unmeasured_note: str = ""

    def __new__(cls, name: str, **_: Any) -> Self:
        """Make the text that the kind is."""
        return str.__new__(cls, name)

    @property
    def bore(self) -> bool:
        """True for a round hole, upright or lying."""
        return self.round and self.jaws == "inside"

    def along(self, axis: Axis) -> Axis:
        """Axis that a size lies along: z for heights, whatever was given."""
        return "z" if self.axes == "z" else axis

    def upright(self, axis: Axis) -> bool:
        """Tell whether a size along an axis is a height over the bed, in whole layers.

        What jaws span from bed to top is a height, whatever it is called.
        """
        return self.layered and self.along(axis) == "z"

    def line_sense(self, axis: Axis) -> int:
        """What a wider line does to the size: its sense, and 0 along z, which no line closes."""
        return 0 if self.along(axis) == "z" and self.axes != "plane" else self.sense

    def family_along(self, axis: Axis) -> Mapping[str, float]:
        """Whose errors a size along an axis shares, each with its share."""
        if self.along(axis) == "z" and self.family_z is not None:
            return self.family_z
        return self.family or {self.name: 1.0}

    def loads_along(self, axis: Axis) -> Mapping[str, float]:
        """Terms of the printer model that act on a size along an axis, beside the scale."""
        if self.loads_z is not None and self.along(axis) == "z":
            return self.loads_z
        return self.loads

    @property
    def own_terms(self) -> frozenset[str]:
        """Names of all terms that act on the kind along some axis, beside the scale."""
        return frozenset(self.loads) | frozenset(self.loads_z or ())


OUTSIDE = SizeKind(
    "outside",
    says="over two outer faces",
    plural="outsides",
    sense=1,
    axes="both",
    layered=True,
    flat=True,
    flares=True,
    loads={"outside_offset": 1.0},
    loads_z={"height_offset": 1.0},
    family_z={"height": 1.0},
    usual_mm=(5.0, 80.0),
)
INSIDE = SizeKind(
    "inside",
    says="between two faces of a slot, or of two ribs",
    plural="slots",
    sense=-1,
    jaws="inside",
    axes="both",
    flat=True,
    loads={"inside_closing": -1.0},
    loads_z={"roof_sag": -1.0},
    family_z={"window": 1.0},
    usual_mm=(3.0, 75.0),
)
POCKET = SizeKind(
    "pocket",
    says="between two faces of a pocket with walls all round",
    plural="pockets",
    sense=-1,
    jaws="inside",
    axes="both",
    flat=True,
    closed=True,
    loads={"inside_closing": -1.0, "pocket_closing": -1.0},
    loads_z={"roof_sag": -1.0},
    family={"inside": 1.0},
    family_z={"window": 1.0},
    usual_mm=(8.0, 75.0),
    range_of="inside",
)
HOLE = SizeKind(
    "hole",
    says="round hole, axis upright in the print",
    plural="holes",
    sense=-1,
    jaws="inside",
    round=True,
    loads={"hole_closing": -1.0, "hole_curvature": -1.0},
    usual_mm=(2.5, 16.0),
)
HOLE_LYING = SizeKind(
    "hole_lying",
    says="round hole, axis in the layer plane",
    plural="lying holes",
    sense=-1,
    jaws="inside",
    round=True,
    lying=True,
    axes="both",
    loads={"lying_width_closing": -1.0},
    loads_z={"lying_height_closing": -1.0},
    unmeasured_note="no lying holes were measured on this printer: expected is what others do; a "
    "lying hole sags at its top, so draw a teardrop or a flat top",
)
D_BORE = SizeKind(
    "d_bore",
    says="from the flat of a D-shaped bore to the round wall opposite, axis upright",
    plural="flats of D-shaped bores",
    sense=-1,
    jaws="inside",
    # Half of the size is the round wall's, half the flat's.
    loads={
        "hole_closing": -0.5,
        "hole_curvature": -0.5,
        "inside_closing": -0.5,
        "pocket_closing": -0.5,
    },
    family={"hole": 0.5, "inside": 0.5},
    range_of="hole",
)
PEG = SizeKind(
    "peg",
    says="round pin, axis upright",
    plural="pegs",
    sense=1,
    round=True,
    loads={"peg_offset": 1.0},
    usual_mm=(3.0, 16.0),
)
CENTRES = SizeKind(
    "centres",
    says="between two like features: offsets cancel, shrinkage stays",
    plural="distances of centres",
    sense=0,
    # They hang on the scale alone, which the bars give over their lengths.
    range_of="outside",
)
HEIGHT = SizeKind(
    "height",
    says="along z, in whole layers",
    plural="heights",
    sense=1,
    axes="z",
    layered=True,
    loads={"height_offset": 1.0},
    usual_mm=(2.0, 30.0),
)

_KINDS: dict[str, SizeKind] = {
    kind.name: kind
    for kind in (OUTSIDE, INSIDE, POCKET, HOLE, D_BORE, HOLE_LYING, PEG, CENTRES, HEIGHT)
}


def kinds() -> tuple[SizeKind, ...]:
    """All kinds, the shipped ones first, in the order in which they were registered."""
    return tuple(_KINDS.values())


def register_kind(kind: SizeKind) -> SizeKind:
    """Add a kind, so that its name is known everywhere.

    Parameters
    ----------
    kind : SizeKind

    Returns
    -------
    SizeKind
        The kind itself.

    Raises
    ------
    CalibrationError
        If another kind has the name.
    """
    if _KINDS.setdefault(kind.name, kind) is not kind:
        raise CalibrationError(
            f"there is a kind of size named {kind.name!r} already",
            code="size.kind-taken",
            remedy="Give the new kind another name.",
        )
    return kind


def kind_of(name: str) -> SizeKind:
    """Give the kind that a name stands for; a kind stands for itself.

    Parameters
    ----------
    name : str or SizeKind

    Returns
    -------
    SizeKind

    Raises
    ------
    CalibrationError
        If there is no kind of the name: names those that there are.
    """
    if isinstance(name, SizeKind):
        return name
    kind = _KINDS.get(name)
    if kind is None:
        raise CalibrationError(
            f"{name!r} is not a kind of size",
            code="size.no-such-kind",
            remedy=f"Kinds are: {', '.join(_KINDS)}.",
        )
    return kind


def known_kind(name: str) -> SizeKind | None:
    """Give the kind that a record names; None if this release does not know it."""
    return name if isinstance(name, SizeKind) else _KINDS.get(name)
