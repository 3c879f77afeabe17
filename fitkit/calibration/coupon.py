"""What a calibration coupon has on it: features, their drawn sizes, labels, and how to read them.

One table serves the drawing, the empty readings file, the print order and the fit, so names cannot
drift apart. A feature's name says all of it in plain words (``bar x 40``, ``hole 3``, ``lying hole
5 height``), and `parse_feature` reads it back, so that a fit needs the readings alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, NamedTuple

from fitkit.core.errors import CalibrationError
from fitkit.core.sizes import CENTRES, HEIGHT, HOLE, HOLE_LYING, INSIDE, OUTSIDE, PEG, POCKET

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.calibration.model import Place
    from fitkit.core.sizes import Axis, Jaws, SizeKind

__all__ = [
    "CouponFeature",
    "CouponSizes",
    "coupon_features",
    "first_readings",
    "parse_feature",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponFeature:
    """One size to read on the coupon.

    Attributes
    ----------
    name : str
        Plain words, unique on the coupon; the feature's name in the readings file.
    label : str
        What stands on the coupon beside it, four signs at most.
    drawn_mm : float, mm
    kind, axis, place, diagonal, wall_mm
        As in `model.loads`.
    how : str
        Where and how to read it, for the print order.
    mode : {"outside", "inside"}
        Which jaws read it.
    """

    name: str
    label: str
    drawn_mm: float
    kind: SizeKind
    axis: Axis
    place: Place = "mid"
    diagonal: int = 0
    wall_mm: float = 0.0
    how: str = ""

    @property
    def mode(self) -> Jaws:
        """Jaws that read it."""
        return self.kind.jaws


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponSizes:
    """Drawn sizes of all features, mm: of the short coupon, unless said otherwise.

    The short coupon takes about five minutes to read. It has each habit that parts depend on once
    or twice: also a pocket with walls all round, long enough for them to bow, and a flat bridge.
    With `flare`, the longest bars are read at the bed, too.
    """

    bars_x: tuple[float, ...] = (10.0, 96.0)
    bars_y: tuple[float, ...] = (30.0, 64.0)
    heights: tuple[float, ...] = (2.0, 20.0)
    pegs: tuple[float, ...] = (5.0, 14.0)
    holes: tuple[float, ...] = (3.0, 5.0, 10.0, 16.0)
    lying_holes: tuple[float, ...] = (6.0,)
    slots: tuple[float, ...] = (3.0, 12.0)
    insides_x: tuple[float, ...] = (30.0,)
    insides_y: tuple[float, ...] = ()
    pocket_x: float = 14.0
    pocket_y: float = 50.0
    bridges: tuple[float, ...] = (4.0,)
    tabs: tuple[float, ...] = (3.0,)
    diagonal: float = 0.0
    flare: bool = True

    def on_layers(self, layer_mm: float, first_mm: float) -> CouponSizes:
        """Give the same with all heights and bridges in whole layers, so that they tell most.

        Parameters
        ----------
        layer_mm, first_mm : float, mm
            Height of a layer, and of the first one. Heights stand on the bed, so they begin with
            the first layer; bridges begin above it.

        Returns
        -------
        CouponSizes
            Each height and bridge at the nearest whole number of layers, one layer at least.
        """

        def whole(high_mm: float, low_mm: float) -> float:
            layers = max(round((high_mm - low_mm) / layer_mm), 1)
            return round(low_mm + layers * layer_mm, 6)

        return replace(
            self,
            heights=tuple(whole(one, first_mm) for one in self.heights),
            bridges=tuple(whole(one, 0.0) for one in self.bridges),
        )

    @classmethod
    def check_piece(cls) -> CouponSizes:
        """Give a small piece of five features, to see whether a profile still holds."""
        return cls(
            bars_x=(40.0,),
            bars_y=(30.0,),
            heights=(2.0,),
            pegs=(8.0,),
            holes=(5.0,),
            lying_holes=(),
            slots=(),
            insides_x=(),
            pocket_x=0.0,
            pocket_y=0.0,
            bridges=(),
            tabs=(),
            flare=False,
        )

    @classmethod
    def second_printer(cls) -> CouponSizes:
        """Give a third of the short coupon, for a printer beside one whose profile is known.

        Shrinkage and each offset are read once: what the workshop's other printers tell does the
        rest (`fitkit.calibration.others`).
        """
        return cls(
            bars_x=(96.0,),
            bars_y=(30.0,),
            heights=(2.0, 12.0),
            pegs=(8.0,),
            holes=(3.0, 10.0),
            lying_holes=(),
            slots=(6.0,),
            insides_x=(),
            pocket_x=0.0,
            pocket_y=0.0,
            bridges=(),
            tabs=(),
            flare=False,
        )

    @classmethod
    def thorough(cls) -> CouponSizes:
        """Give a coupon of twice the features, the diagonals for skew among them.

        Its plate has no room for the pocket and the bridge: print the short one for those.
        """
        return cls(
            bars_x=(10.0, 30.0, 50.0, 96.0),
            bars_y=(10.0, 30.0, 50.0, 96.0),
            heights=(4.0, 8.0, 12.0, 20.0),
            pegs=(4.0, 8.0, 14.0),
            holes=(2.5, 3.0, 4.0, 6.0, 10.0, 16.0),
            lying_holes=(4.0, 6.0, 10.0),
            slots=(3.0, 6.0, 12.0),
            insides_x=(30.0, 75.0),
            insides_y=(30.0, 75.0),
            pocket_x=0.0,
            pocket_y=0.0,
            bridges=(),
            tabs=(2.0, 5.0),
            diagonal=124.0,
        )


# What carries a term alone is read twice from the start, with the jaws opened in between.
_ALONE = ("pocket", "height", "bridge")


def first_readings(features: Sequence[CouponFeature]) -> tuple[CouponFeature, ...]:
    """List what to read first, in the order that needs fewest changes of the jaws.

    Outside jaws first, then inside jaws; within either, features of one kind after another. What
    alone tells a habit comes twice, the second time after all others with the same jaws.
    """
    ordered: list[CouponFeature] = []
    for jaws in ("outside", "inside"):
        mine = [one for one in features if one.mode == jaws]
        mine.sort(key=lambda one: str(one.kind) if one.axis != "z" else "~z")
        ordered += mine
        ordered += [one for one in mine if one.name.startswith(_ALONE)]
    return tuple(ordered)


def coupon_features(sizes: CouponSizes | None = None) -> tuple[CouponFeature, ...]:
    """List what there is to read on a coupon.

    Parameters
    ----------
    sizes : CouponSizes, optional
        Of the coupon as drawn; the short coupon if None.

    Raises
    ------
    CalibrationError
        If a size is not above zero or is there twice.

    Examples
    --------
    >>> [f.name for f in coupon_features()][:2]
    ['bar x 10', 'bar x 96']
    """
    s = sizes or CouponSizes()
    at_bed = [(axis, max(bars)) for axis, bars in (("x", s.bars_x), ("y", s.bars_y)) if bars]
    pocket = (s.pocket_x, s.pocket_y)
    names = [
        *(f"bar x {n:g}" for n in s.bars_x),
        *(f"bar y {n:g}" for n in s.bars_y),
        *(f"bar {axis} {n:g} at bed" for axis, n in at_bed if s.flare),
        *((f"diagonal 1 {s.diagonal:g}", f"diagonal 2 {s.diagonal:g}") if s.diagonal else ()),
        *(f"tab {n:g}" for n in s.tabs),
        *(f"peg {n:g}" for n in s.pegs),
        *(f"height {n:g}" for n in s.heights),
        *(f"slot {n:g}" for n in s.slots),
        *(f"inside x {n:g}" for n in s.insides_x),
        *(f"inside y {n:g}" for n in s.insides_y),
        *(
            (f"pocket x {pocket[0]:g} by {pocket[1]:g}", f"pocket y {pocket[1]:g} by {pocket[0]:g}")
            if all(pocket)
            else ()
        ),
        *(f"bridge {n:g}" for n in s.bridges),
        *(f"hole {n:g}" for n in s.holes),
        *(f"lying hole {n:g} {side}" for n in s.lying_holes for side in ("width", "height")),
    ]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise CalibrationError(
            f"the feature {twice[0]!r} is on the coupon twice",
            code="calibration.feature-twice",
            remedy="Change one of the two sizes.",
        )
    return tuple(parse_feature(name) for name in names)


_NUMBER = r"(?P<size>\d+(?:\.\d+)?)"
_OVER = "outside jaws at mid-height, clear of bed edge and seam"


class _Item(NamedTuple):
    """What a feature's name says: the pattern of the name, and what follows from it.

    `axis` is where the size lies if the name does not say. `how` tells how to read it, `small` how
    to read it below 5 mm, and `other` a last word of the name with how to read it then.
    """

    pattern: str
    kind: SizeKind
    label: str
    how: str = _OVER
    axis: Axis = "xy"
    small: str = ""
    other: tuple[str, str] = ("", "")


_ITEMS = (
    _Item(
        r"bar (?P<axis>[xy]) #(?P<bed> at bed)?",
        OUTSIDE,
        "{axis}",
        other=("bed", "outside jaws on the very bottom edge, where the first layer bulges"),
    ),
    _Item(
        r"diagonal (?P<which>[12]) #",
        OUTSIDE,
        "D{which}:",
        "outside jaws over the two flats at the corners, at mid-height",
    ),
    # The comb of slots and tabs lies along x.
    _Item(r"tab (?:(?P<axis>[xy]) )?#", OUTSIDE, "T", axis="x"),
    _Item(
        r"peg #",
        PEG,
        "P",
        "outside jaws at mid-height, clear of the seam, twice at right angles",
    ),
    _Item(
        r"height #",
        HEIGHT,
        "Z",
        "outside jaws from the bed face to this step; scrape off strings first",
        axis="z",
    ),
    _Item(
        r"slot (?:(?P<axis>[xy]) )?#",
        INSIDE,
        "S",
        "inside jaws square across the slot, above its first layer",
        axis="x",
    ),
    _Item(
        r"inside (?P<axis>[xy]) #",
        INSIDE,
        "I{axis}",
        "inside jaws from above, square between the two ribs with this label",
    ),
    _Item(
        r"pocket (?P<axis>[xy]) # by (?P<wall>\d+(?:\.\d+)?)",
        POCKET,
        "K{axis}",
        "inside jaws from above, half-way along the walls and half-way down",
    ),
    _Item(
        r"bridge #",
        INSIDE,
        "B",
        "inside jaws upright in the opening, half-way across, from its floor to its roof",
        axis="z",
    ),
    _Item(
        r"hole #",
        HOLE,
        "H",
        "inside jaws, turned to the largest reading, not on the first layer",
        small="inside jaws, shallow; better the largest drill shank or pin that enters",
    ),
    # Lying holes run along y, so their width is along x.
    _Item(
        r"lying hole # (?P<side>width|height)",
        HOLE_LYING,
        "L",
        "inside jaws level in the hole, at its widest",
        axis="x",
        other=("height", "inside jaws upright in the hole, from its floor to its roof"),
    ),
    _Item(r"centres (?P<axis>[xy]) #", CENTRES, "C"),
)
_SMALL_MM = 5.0  # below this, inside jaws hardly enter a hole


@cache
def _grammar() -> tuple[tuple[re.Pattern[str], _Item], ...]:
    return tuple((re.compile(i.pattern.replace("#", _NUMBER) + "$"), i) for i in _ITEMS)


def parse_feature(name: str) -> CouponFeature:
    """Read a feature's name: its kind, direction and drawn size in mm.

    Raises
    ------
    CalibrationError
        If it is not the name of a coupon feature: the remedy shows what such names look like.

    Examples
    --------
    >>> parse_feature("lying hole 5 height").axis
    'z'
    >>> [parse_feature(text).name for text in ("H3", "hole 2,5 mm", "bar_x_20", "X96 at bed")]
    ['hole 3', 'hole 2.5', 'bar x 20', 'bar x 96 at bed']
    >>> [parse_feature(text).name for text in ("3 mm hole", "peg Ø8", "inside-75-x", "X96 bed")]
    ['hole 3', 'peg 8', 'inside x 75', 'bar x 96 at bed']
    """
    words = _plain(name)
    for pattern, item in _grammar():
        match = pattern.match(words)
        if not match:
            continue
        parts = match.groupdict()
        drawn_mm = float(parts["size"])
        if not drawn_mm > 0:
            raise CalibrationError(
                f"the coupon feature {name!r} has a size of zero",
                code="calibration.feature-size",
                remedy="Give its drawn size in mm, above 0.",
            )
        return CouponFeature(
            name=words,
            label=_label(item.label, parts),
            drawn_mm=drawn_mm,
            kind=item.kind,
            axis=_axis(item, parts),
            place="bed" if parts.get("bed") else "mid",
            diagonal={"1": 1, "2": -1}.get(parts.get("which") or "", 0),
            wall_mm=float(parts.get("wall") or 0.0),
            how=_how(item, words, drawn_mm),
        )
    raise CalibrationError(
        f"{name!r} is not the name of a coupon feature",
        code="calibration.feature-name",
        remedy="Names are like 'bar x 40', 'bar x 40 at bed', 'tab 5', 'peg 8', 'height 12', "
        "'slot 6', 'inside x 30', 'pocket x 14 by 50', 'bridge 4', 'hole 3', 'lying hole 5 width', "
        "'diagonal 1 124', 'centres x 50', with the drawn size in mm.",
    )


# What stands on the coupon, and what it is short for; a lying hole's label does not say which size.
_LABELS = {
    "x": "bar x", "y": "bar y", "t": "tab", "p": "peg", "z": "height", "s": "slot", "h": "hole",
    "ix": "inside x", "iy": "inside y", "b": "bridge", "cx": "centres x", "cy": "centres y",
    "d1": "diagonal 1", "d2": "diagonal 2", "l": "lying hole",
}  # fmt: skip
_LABEL = re.compile(r"(?P<label>d[12]:?(?=\s)|[a-z]{1,2})\s*(?P<rest>\d.*)")


# What stands in names as people type them: a decimal comma, a unit, a sign for the diameter.
_TYPED_AS = (
    (r"(?<=\d),(?=\d)", "."),
    (r"(?<=\d)\s*mm\b", ""),
    (r"(?<=\d)\.0+\b", ""),
    (r"[ø⌀]|\b(?:dia|diam|diameter)\b\.?", " "),
    (r"\b(hole|peg|slot|tab|bar|bridge|height|inside)s\b", r"\1"),
)
# Words in another order than ours. Common practice, no source.
_SIZE = r"(\d+(?:\.\d+)?)"
_ORDERED = (
    (rf"^{_SIZE} (lying hole|hole|peg|slot|tab|height|bridge)\b", r"\2 \1"),
    (rf"^(bar|inside|slot|tab|centres) {_SIZE} ([xy])\b", r"\1 \3 \2"),
    (r"^([xy]) (bar|inside|slot|tab|centres)\b", r"\2 \1"),
    (rf"^lying hole (width|height) {_SIZE}$", r"lying hole \2 \1"),
    (r"^(lying hole \S+) w$", r"\1 width"),
    (r"^(lying hole \S+) h$", r"\1 height"),
    (r"^(bar [xy] \S+)(?: at)?(?: the)? bed$", r"\1 at bed"),
    (rf"^(pocket [xy] \S+) ?[x×] ?{_SIZE}$", r"\1 by \2"),
)


def _plain(name: str) -> str:
    """Bring a name as a person types it to the form that it has in the readings file."""
    # A hyphen before a number may be a minus sign.
    words = re.sub(r"[_()]|(?<=\w)-(?=\w)", " ", name).casefold()
    for pattern, plain in _TYPED_AS:
        words = re.sub(pattern, plain, " ".join(words.split()))
    match = _LABEL.fullmatch(words)
    if match and (full := _LABELS.get(match["label"].rstrip(":"))):
        words = f"{full} {match['rest'].strip()}"
    words = re.sub(r"(?<=[a-z])(?=\d)", " ", words)
    for pattern, plain in _ORDERED:
        words = re.sub(pattern, plain, words)
    return " ".join(words.split())


def _axis(item: _Item, parts: dict[str, str | None]) -> Axis:
    if parts.get("side") == "height":
        return "z"
    match parts.get("axis"):
        case "x":
            return "x"
        case "y":
            return "y"
    return item.axis


def _how(item: _Item, words: str, drawn_mm: float) -> str:
    word, instead = item.other
    if word and words.endswith(word):
        return instead
    return item.small if item.small and drawn_mm < _SMALL_MM else item.how


def _label(pattern: str, parts: dict[str, str | None]) -> str:
    head = pattern.format(**{key: value or "" for key, value in parts.items()}).upper()
    size = "" if head.endswith(":") else f"{float(parts['size'] or 0):g}"
    return f"{head.rstrip(':')}{size}"
