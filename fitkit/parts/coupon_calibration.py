"""The calibration coupon: one flat print with bars, pegs, holes, slots, steps and lying holes.

The plate's own sides are the longest bars, its cut corners the diagonal pair, its bottom edge the
flare, its thickness the least height. All else stands on it or goes through it, packed into free
rectangles largest first, each with its label sunk beside it. Wide insides are read between two
ribs; what is no taller than the ribs may stand in between, since the jaws come from above.
Features and names come from `fitkit.calibration.coupon`, so that what is drawn is what is measured
and fitted.

Left out: overhangs, bridges and strings, which are about looks, not sizes.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Self

from pydantic import Field, model_validator

from fitkit.calibration.coupon import CouponFeature, CouponSizes, coupon_features
from fitkit.errors import PartError
from fitkit.parts.contract import Body, KeyDimension, Length, Part, Template, Wall

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fitkit.checks.finding import Finding
    from fitkit.parts.contract import Point
    from fitkit.parts.profiles import Profile
    from fitkit.parts.solids import Shape

__all__ = ["CalibrationCoupon"]

_LIMB = 5.0  # width of a bar, mm
_RISE = 6.0  # how far bars, pegs, ribs stand above the plate, mm
_FILLER = 4.0  # thickness of a rib that nobody measures, mm
_RIB = 10.0  # length of the comb's ribs, mm
_STEP = 9.0  # side of a stair, mm
_WALL = 2.5  # least wall round a lying hole, mm
_JAW = 4.0  # room for a jaw, mm
_CAPS = 3.0  # height of the labels' capitals, mm
_SUNK = 0.4  # depth of the labels, two layers, mm
_CORNER_LABEL = (8.0, 5.0)
_LETTERS = (11.0, 4.6)  # room for a label, mm
_DEFAULT = CouponSizes()
_SIDE = 100.0


@dataclass(frozen=True, slots=True)
class _Rect:
    x: float
    y: float
    w: float
    d: float

    def meets(self, other: _Rect) -> bool:
        """Whether two rectangles share area."""
        return (
            self.x < other.x + other.w - 1e-9
            and other.x < self.x + self.w - 1e-9
            and self.y < other.y + other.d - 1e-9
            and other.y < self.y + self.d - 1e-9
        )

    def without(self, other: _Rect) -> Iterable[_Rect]:
        """Largest rectangles of this one that the other leaves free."""
        if not self.meets(other):
            yield self
            return
        right, top = self.x + self.w, self.y + self.d
        if other.x > self.x:
            yield _Rect(self.x, self.y, other.x - self.x, self.d)
        if other.x + other.w < right:
            yield _Rect(other.x + other.w, self.y, right - other.x - other.w, self.d)
        if other.y > self.y:
            yield _Rect(self.x, self.y, self.w, other.y - self.y)
        if other.y + other.d < top:
            yield _Rect(self.x, other.y + other.d, self.w, top - other.y - other.d)


@dataclass(frozen=True, slots=True)
class _Item:
    """Something to place: footprint, room for jaws on each side of it, and its features."""

    kind: str
    w: float
    d: float
    pad_x: float
    pad_y: float
    features: tuple[CouponFeature, ...]

    @property
    def room(self) -> tuple[float, float]:
        """Width and depth with jaws' room, and with the label below unless it is on top."""
        wide, deep = self.w + 2 * self.pad_x, self.d + 2 * self.pad_y
        if self.kind in ("bar", "span"):
            return wide, deep
        lines = 2 if self.kind == "comb" else 1
        return max(wide, _LETTERS[0]), deep + lines * _LETTERS[1]

    def footprints(self, x: float, y: float) -> tuple[_Rect, ...]:
        """Plate that it takes up at a place: all its room, or that of the ribs and their jaws."""
        w, d = self.room
        if self.kind != "span":
            return (_Rect(x, y, w, d),)
        if self.features[0].axis == "x":
            rib = _LIMB + self.pad_x + _JAW
            return _Rect(x, y, rib, d), _Rect(x + w - rib, y, rib, d)
        rib = _LIMB + self.pad_y + _JAW
        return _Rect(x, y, w, rib), _Rect(x, y + d - rib, w, rib)

    def ribs(self, x: float, y: float) -> tuple[_Rect, _Rect]:
        """Give the two ribs of a span at a place."""
        if self.features[0].axis == "x":
            return _Rect(x, y, _LIMB, self.d), _Rect(x + self.w - _LIMB, y, _LIMB, self.d)
        return _Rect(x, y, self.w, _LIMB), _Rect(x, y + self.d - _LIMB, self.w, _LIMB)


class CalibrationCoupon(Template):
    """Print it, measure it, and the printer's habits are known."""

    title: ClassVar[str] = "calibration coupon"
    summary: ClassVar[str] = "Print and measure it once to learn what this printer does to sizes."

    bars_x: tuple[Length, ...] = Field(
        default=_DEFAULT.bars_x,
        min_length=1,
        description="Lengths of bars along x; the longest is the plate.",
        json_schema_extra={"group": "Outsides"},
    )
    bars_y: tuple[Length, ...] = Field(
        default=_DEFAULT.bars_y,
        min_length=1,
        description="Lengths of bars along y; the longest is the plate.",
        json_schema_extra={"group": "Outsides"},
    )
    tabs: tuple[Length, ...] = Field(
        default=_DEFAULT.tabs,
        description="Thicknesses of ribs.",
        json_schema_extra={"group": "Outsides"},
    )
    pegs: tuple[Length, ...] = Field(
        default=_DEFAULT.pegs,
        description="Diameters of upright pegs.",
        json_schema_extra={"group": "Outsides"},
    )
    heights: tuple[Length, ...] = Field(
        default=_DEFAULT.heights,
        min_length=1,
        description="Heights over the bed; the least is the plate's thickness.",
        json_schema_extra={"group": "Outsides"},
    )
    diagonal: Length = Field(
        default=_DEFAULT.diagonal,
        ge=0.0,
        le=140.0,
        description="Distance over the cut corners; 0 for whole corners.",
        json_schema_extra={"group": "Outsides"},
    )
    flare: bool = Field(
        default=True,
        description="Read the longest bars at the bed, too.",
        json_schema_extra={"group": "Outsides"},
    )
    slots: tuple[Length, ...] = Field(
        default=_DEFAULT.slots,
        description="Widths of slots.",
        json_schema_extra={"group": "Insides"},
    )
    insides_x: tuple[Length, ...] = Field(
        default=_DEFAULT.insides_x,
        description="Distances between two ribs along x.",
        json_schema_extra={"group": "Insides"},
    )
    insides_y: tuple[Length, ...] = Field(
        default=_DEFAULT.insides_y,
        description="Distances between two ribs along y.",
        json_schema_extra={"group": "Insides"},
    )
    holes: tuple[Length, ...] = Field(
        default=_DEFAULT.holes,
        description="Diameters of upright holes.",
        json_schema_extra={"group": "Insides"},
    )
    lying_holes: tuple[Length, ...] = Field(
        default=_DEFAULT.lying_holes,
        description="Diameters of holes whose axis lies in the layers.",
        json_schema_extra={"group": "Insides"},
    )

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for name in (
            "bars_x",
            "bars_y",
            "tabs",
            "pegs",
            "heights",
            "slots",
            "insides_x",
            "insides_y",
            "holes",
            "lying_holes",
        ):
            sizes: tuple[float, ...] = getattr(self, name)
            if any(not 0.8 <= one <= _SIDE for one in sizes):
                raise ValueError(f"{name} are from 0.8 mm to {_SIDE:g} mm")
        if min(max(self.bars_x), max(self.bars_y)) < 30.0:
            raise ValueError("the longest bars are the plate: 30 mm or more along x and y")
        if not 2.0 <= min(self.heights) <= 8.0:
            raise ValueError("the least height is the plate's thickness: 2 mm to 8 mm")
        if self.diagonal and not 4.0 <= self._corner_mm <= 25.0:
            raise ValueError(
                f"a diagonal of {self.diagonal:g} mm would cut the corners by "
                f"{self._corner_mm:.1f} mm; 4 mm to 25 mm can be"
            )
        return self

    @classmethod
    def of_features(cls, features: Iterable[CouponFeature], *, plate_mm: float = 96.0) -> Self:
        """Draw chosen features, with the plate that they need to stand on.

        Parameters
        ----------
        features : iterable of CouponFeature
            As `fitkit.calibration.choose_features` gives them.
        plate_mm : float, mm
            Side of the plate where no longer bar is among them.

        Raises
        ------
        FaultList
            If a size cannot be drawn.
        """
        found: dict[str, set[float]] = defaultdict(set)
        diagonal, flare = 0.0, False
        for one in features:
            if one.diagonal:
                diagonal = one.drawn_mm
            elif one.place == "bed":
                flare = True
            else:
                found[one.label.rstrip("0123456789.")].add(one.drawn_mm)
        for axis in "XY":
            found[axis].add(max(plate_mm, *found[axis], 0.0))
        if not any(2.0 <= height <= 8.0 for height in found["Z"]):
            found["Z"].add(4.0)
        names = {
            "bars_x": "X",
            "bars_y": "Y",
            "tabs": "T",
            "pegs": "P",
            "heights": "Z",
            "slots": "S",
            "insides_x": "IX",
            "insides_y": "IY",
            "holes": "H",
            "lying_holes": "L",
        }
        sizes: dict[str, object] = {
            name: [f"{size!r} mm" for size in sorted(found[key])] for name, key in names.items()
        }
        return cls.of(diagonal=f"{diagonal!r} mm", flare=flare, **sizes)

    @property
    def sizes(self) -> CouponSizes:
        """All drawn sizes, mm."""
        longest = {max(self.bars_x), max(self.bars_y)} if self.flare else set()
        flares = tuple(longest) if len(longest) == 1 else ()
        return CouponSizes(
            bars_x=self.bars_x,
            bars_y=self.bars_y,
            heights=self.heights,
            pegs=self.pegs,
            holes=self.holes,
            lying_holes=self.lying_holes,
            slots=self.slots,
            insides_x=self.insides_x,
            insides_y=self.insides_y,
            tabs=self.tabs,
            diagonal=self.diagonal,
            flares=flares,
        )

    def features(self) -> tuple[CouponFeature, ...]:
        """What there is to read on it, in the order of the print order sheet."""
        return coupon_features(self.sizes)

    @property
    def _corner_mm(self) -> float:
        """Leg of the cut corners, from the distance between opposite cuts."""
        if not self.diagonal:
            return 0.0
        return 0.5 * (max(self.bars_x) + max(self.bars_y) - math.sqrt(2.0) * self.diagonal)

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make the coupon; it has no fit sizes, since it must be drawn as named.

        Raises
        ------
        PartError
            If the features do not fit on the plate.
        """
        self.drawn_sizes(drawn)
        from fitkit.parts.profiles import circle, polygon
        from fitkit.parts.solids import checked, extrude, fuse

        wide, deep, thick = max(self.bars_x), max(self.bars_y), min(self.heights)
        c = self._corner_mm
        corners = [(c, 0), (wide - c, 0), (wide, c), (wide, deep - c), (wide - c, deep)]
        corners += [(c, deep), (0, deep - c), (0, c)]
        if not c:
            corners = [(0, 0), (wide, 0), (wide, deep), (0, deep)]
        placed = _pack(self._items(), wide, deep, c, where=self.title)
        plate = polygon(corners)
        blocks: list[Shape] = []
        expected = 0.0
        rows: list[KeyDimension] = list(self._plate_dimensions(wide, deep, thick, c))
        for item, x, y in placed:
            if item.kind == "label":
                continue
            if item.kind == "hole":
                size = item.features[0].drawn_mm
                plate = plate.with_holes(circle(size, at=(x + size / 2, y + size / 2)))
            else:
                shapes, volume = _stand(item, x, y, thick)
                blocks += shapes
                expected += volume
            rows += _dimensions(item, x, y, thick)
        expected += plate.area * thick
        solid = fuse(extrude(plate, thick), *blocks, tidy=True)
        captions = [c for item, x, y in placed for c in _captions(item, x, y, thick)]
        if c:
            captions += [
                _Caption("D1", wide - c - 5.0, deep - 3.5, _CORNER_LABEL[0], thick),
                _Caption("D2", c + 5.0, deep - 3.5, _CORNER_LABEL[0], thick),
            ]
        solid, findings, sunk = _labelled(solid, captions)
        top = max(thick, *(self.heights), *(_block_top(item, thick) for item, _, _ in placed))
        body = checked(
            solid,
            "coupon",
            volume=(expected - sunk - 0.3, expected - sunk + 0.3),
            box=(wide, deep, top),
            proved=True,
        )
        order = {feature.name: n for n, feature in enumerate(self.features())}
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="coupon", solid=body),),
            dimensions=tuple(sorted(rows, key=lambda row: order[row.name])),
            walls=(
                Wall(
                    name="plate", body="coupon", thickness_mm=thick, at=(wide / 2, deep / 2, thick)
                ),
            ),
            findings=findings,
        )

    def _items(self) -> list[_Item]:
        """All that stands on the plate or goes through it, not yet placed."""
        by_kind: dict[str, list[CouponFeature]] = defaultdict(list)
        wide, deep, thick = max(self.bars_x), max(self.bars_y), min(self.heights)
        for feature in self.features():
            if feature.place == "bed" or feature.diagonal:
                continue
            by_kind[feature.name.rsplit(" ", 2 if feature.kind == "hole_lying" else 1)[0]].append(
                feature
            )
        items = [
            _Item("bar", f.drawn_mm, _LIMB, _JAW, 1.0, (f,))
            for f in by_kind["bar x"]
            if f.drawn_mm != wide
        ]
        items += [
            _Item("bar", _LIMB, f.drawn_mm, 1.0, _JAW, (f,))
            for f in by_kind["bar y"]
            if f.drawn_mm != deep
        ]
        items += [_Item("peg", f.drawn_mm, f.drawn_mm, _JAW, 2.0, (f,)) for f in by_kind["peg"]]
        items += [_Item("hole", f.drawn_mm, f.drawn_mm, 1.5, 1.5, (f,)) for f in by_kind["hole"]]
        steps = tuple(f for f in by_kind["height"] if f.drawn_mm != thick)
        if steps:
            items.append(_Item("stairs", _STEP * len(steps), _STEP, 1.0, 0.0, steps))
        lying = tuple(by_kind["lying hole"])
        if lying:
            long = _WALL + sum(f.drawn_mm + _WALL for f in lying if f.axis == "x")
            items.append(_Item("lying", long, _RISE, 1.0, 0.0, lying))
        # The plate's own sizes have nothing but a label.
        items += [
            _Item("label", 0.0, 0.0, 0.0, 0.0, (f,))
            for f in (*by_kind["bar x"], *by_kind["bar y"], *by_kind["height"])
            if f.name in (f"bar x {wide:g}", f"bar y {deep:g}", f"height {thick:g}")
        ]
        comb = (*by_kind["tab"], *by_kind["slot"])
        if comb:
            items.append(_Item("comb", sum(w for w, _ in _comb(comb)), _RIB, _JAW, 1.0, comb))
        items += [
            _Item("span", f.drawn_mm + 2 * _LIMB, _RIB, 1.0, 1.0, (f,)) for f in by_kind["inside x"]
        ]
        items += [
            _Item("span", _RIB, f.drawn_mm + 2 * _LIMB, 1.0, 1.0, (f,)) for f in by_kind["inside y"]
        ]
        return items

    def _plate_dimensions(
        self, wide: float, deep: float, thick: float, c: float
    ) -> Iterable[KeyDimension]:
        middle = thick / 2
        spans: dict[str, tuple[Point, Point]] = {
            f"bar x {wide:g}": ((0, deep / 2, middle), (wide, deep / 2, middle)),
            f"bar y {deep:g}": ((wide / 2, 0, middle), (wide / 2, deep, middle)),
            f"bar x {wide:g} at bed": ((0, deep / 2, 0), (wide, deep / 2, 0)),
            f"bar y {deep:g} at bed": ((wide / 2, 0, 0), (wide / 2, deep, 0)),
            f"height {thick:g}": ((wide / 2, 0, 0), (wide / 2, 0, thick)),
        }
        reach = 0.5 * self.diagonal / math.sqrt(2.0)
        for which, sign in ((1, 1), (2, -1)):
            spans[f"diagonal {which} {self.diagonal:g}"] = (
                (wide / 2 - reach, deep / 2 - sign * reach, middle),
                (wide / 2 + reach, deep / 2 + sign * reach, middle),
            )
        for feature in self.features():
            if feature.name in spans:
                start, end = spans[feature.name]
                yield _dimension(feature, start, end)


def _comb(features: Sequence[CouponFeature]) -> list[tuple[float, CouponFeature | None]]:
    """Ribs and gaps from left to right: widths, and the feature that each is (None for filling)."""
    tabs = [f for f in features if f.kind == "outside"]
    slots = [f for f in features if f.kind == "inside"]
    row: list[tuple[float, CouponFeature | None]] = []
    ribs = max(len(slots) + 1, 2 * len(tabs) - 1)
    for n in range(ribs):
        # Every other rib is a filler, which keeps the tabs' labels apart.
        tab = tabs[n // 2] if n % 2 == 0 and n // 2 < len(tabs) else None
        row.append((tab.drawn_mm if tab else _FILLER, tab))
        if n < len(slots):
            row.append((slots[n].drawn_mm, slots[n]))
        elif n + 1 < ribs:
            row.append((2 * _JAW, None))
    return row


def _pack(
    items: list[_Item], wide: float, deep: float, corner: float, *, where: str
) -> list[tuple[_Item, float, float]]:
    """Place each item at the lowest, leftmost free room; edges' items foremost, then largest first.

    Largest by their longer side; if that leaves one without room, by their area.
    """
    first = {"stairs": 0, "lying": 1, "span": 2}

    def by_side(item: _Item) -> tuple[float, ...]:
        return first.get(item.kind, 3), -max(item.room), -min(item.room)

    def by_area(item: _Item) -> tuple[float, ...]:
        return first.get(item.kind, 3), -math.prod(item.room)

    try:
        return _packed(sorted(items, key=by_side), wide, deep, corner, where=where)
    except PartError:
        return _packed(sorted(items, key=by_area), wide, deep, corner, where=where)


def _packed(
    items: list[_Item], wide: float, deep: float, corner: float, *, where: str
) -> list[tuple[_Item, float, float]]:
    """Place items in their order."""
    low = [_Rect(1.0, 1.0, wide - 2.0, deep - 2.0)]
    cut = corner + 1.0
    for x in (0.0, wide - cut):
        for y in (0.0, deep - cut):
            low = _take(low, _Rect(x, y, cut, cut))
    if corner:
        # Each diagonal is named at the far corner where it ends.
        w, d = _CORNER_LABEL
        low = _take(low, _Rect(cut, deep - d - 1.0, w, d))
        low = _take(low, _Rect(wide - cut - w, deep - d - 1.0, w, d))
    over = low  # where calipers may reach over the plate: no stairs, no lying holes
    placed: list[tuple[_Item, float, float]] = []
    for item in items:
        w, d = item.room
        at_top = item.kind == "lying"
        if item.kind == "span":
            fitting = [_Rect(x, y, w, d) for x, y in _spots(item, over, low)]
        else:
            fitting = [r for r in low if r.w >= w - 1e-9 and r.d >= d - 1e-9]
        if not fitting:
            raise PartError(
                f"{item.features[0].name!r} has no room left on {wide:g} x {deep:g} mm",
                where=where,
                remedy="Leave some features out, or make the plate (the longest bars) larger.",
            )
        # Lying holes open towards the far edge, stairs stand on the near one.
        best = min(fitting, key=lambda r: ((-r.y - r.d) if at_top else r.y, r.x))
        y = best.y + best.d - d if at_top else best.y
        for rib in item.footprints(best.x, y):
            low = _take(low, rib)
        if item.kind in ("stairs", "lying"):
            over = low
        label = 0.0 if item.kind in ("stairs", "bar", "span") else _LETTERS[1]
        x_inside = best.x + 0.5 * (w - item.w)
        placed.append((item, x_inside, y + item.pad_y + label))
    return placed


def _spots(item: _Item, over: list[_Rect], low: list[_Rect]) -> Iterable[tuple[float, float]]:
    """Where a span may lie: its ribs on free plate, nothing tall in the way of the jaws."""
    w, d = item.room
    lefts = {v for r in low for v in (r.x, r.x + r.w - w)}
    nears = {v for r in low for v in (r.y, r.y + r.d - d)}
    for x in lefts:
        for y in nears:
            if any(_inside(_Rect(x, y, w, d), r) for r in over) and all(
                any(_inside(rib, r) for r in low) for rib in item.footprints(x, y)
            ):
                yield x, y


def _take(free: list[_Rect], taken: _Rect) -> list[_Rect]:
    """Free rectangles after one is taken, those inside others dropped."""
    parts = [p for r in free for p in r.without(taken) if p.w > 2.0 and p.d > 2.0]
    return [
        a
        for i, a in enumerate(parts)
        if not any(
            _inside(a, b) and (i > j or not _inside(b, a)) for j, b in enumerate(parts) if i != j
        )
    ]


def _inside(a: _Rect, b: _Rect) -> bool:
    return (
        a.x >= b.x - 1e-9
        and a.y >= b.y - 1e-9
        and a.x + a.w <= b.x + b.w + 1e-9
        and a.y + a.d <= b.y + b.d + 1e-9
    )


def _block_top(item: _Item, thick: float) -> float:
    match item.kind:
        case "hole" | "label":
            return thick
        case "stairs":
            return max(f.drawn_mm for f in item.features)
        case "lying":
            return thick + max(f.drawn_mm for f in item.features) + 2 * _WALL
        case _:
            return thick + _RISE


def _stand(item: _Item, x: float, y: float, thick: float) -> tuple[list[Shape], float]:
    """Solids of an item that stands on the plate, and their volume above it."""
    from fitkit.parts.profiles import circle, rectangle
    from fitkit.parts.solids import extrude, moved, turned

    def block(left: float, w: float, d: float, rise: float, near: float = y) -> tuple[Shape, float]:
        outline = rectangle(w, d).moved(left + w / 2, near + d / 2)
        return extrude(outline, rise, z=thick), outline.area * rise

    def boxes(spans: Iterable[tuple[float, float, float]]) -> tuple[list[Shape], float]:
        made = [block(left, w, item.d, rise) for left, w, rise in spans]
        return [shape for shape, _ in made], sum(volume for _, volume in made)

    match item.kind:
        case "bar":
            return boxes([(x, item.w, _RISE)])
        case "span":
            made = [block(r.x, r.w, r.d, _RISE, near=r.y) for r in item.ribs(x, y)]
            return [shape for shape, _ in made], sum(volume for _, volume in made)
        case "stairs":
            return boxes(
                (x + n * _STEP, _STEP, f.drawn_mm - thick) for n, f in enumerate(item.features)
            )
        case "comb":
            left, spans = x, []
            for w, feature in _comb(item.features):
                if (feature is None and w > _FILLER) or (feature and feature.kind == "inside"):
                    left += w
                    continue
                spans.append((left, w, _RISE))
                left += w
            return boxes(spans)
        case "peg":
            size = item.w
            outline = circle(size, at=(x + size / 2, y + size / 2))
            return [extrude(outline, _RISE, z=thick)], outline.area * _RISE
        case _:
            tall = _block_top(item, thick) - thick
            face = rectangle(item.w, tall).moved(item.w / 2, tall / 2)
            for feature, left in _lying(item):
                radius = feature.drawn_mm / 2
                face = face.with_holes(circle(feature.drawn_mm, at=(left + radius, _WALL + radius)))
            # Drawn flat in x and z, then stood up: z of the sketch becomes -y.
            upright = turned(extrude(face, item.d), x=90)
            return [moved(upright, x, y + item.d, thick)], face.area * item.d


def _lying(item: _Item) -> Iterable[tuple[CouponFeature, float]]:
    """Each lying hole once, with the left end of its width from the block's left side."""
    left = _WALL
    for feature in item.features:
        if feature.axis == "x":
            yield feature, left
            left += feature.drawn_mm + _WALL


def _dimensions(item: _Item, x: float, y: float, thick: float) -> Iterable[KeyDimension]:
    """Where each feature of a placed item is measured."""
    level = thick + _RISE / 2
    middle = y + item.d / 2
    match item.kind:
        case "bar" | "peg" | "hole":
            feature = item.features[0]
            z = thick / 2 if item.kind == "hole" else level
            if feature.axis == "y":
                yield _dimension(feature, (x + item.w / 2, y, z), (x + item.w / 2, y + item.d, z))
            else:
                yield _dimension(feature, (x, middle, z), (x + item.w, middle, z))
        case "span":
            one, other = item.ribs(x, y)
            feature = item.features[0]
            if feature.axis == "x":
                yield _dimension(feature, (one.x + one.w, middle, level), (other.x, middle, level))
            else:
                across = x + item.w / 2
                near, far = one.y + one.d, other.y
                yield _dimension(feature, (across, near, level), (across, far, level))
        case "stairs":
            for n, feature in enumerate(item.features):
                at = (x + (n + 0.5) * _STEP, y)
                yield _dimension(feature, (*at, 0.0), (*at, feature.drawn_mm))
        case "comb":
            left = x
            for w, found in _comb(item.features):
                if found:
                    yield _dimension(found, (left, middle, level), (left + w, middle, level))
                left += w
        case _:
            spots = {f.drawn_mm: left for f, left in _lying(item)}
            for feature in item.features:
                size, left = feature.drawn_mm, x + spots[feature.drawn_mm]
                low = thick + _WALL
                if feature.axis == "x":
                    z = low + size / 2
                    yield _dimension(feature, (left, y, z), (left + size, y, z))
                else:
                    across = left + size / 2
                    yield _dimension(feature, (across, y, low), (across, y, low + size))


def _dimension(feature: CouponFeature, start: Point, end: Point) -> KeyDimension:
    return KeyDimension(
        name=feature.name,
        value_mm=feature.drawn_mm,
        body="coupon",
        start=start,
        end=end,
        kind=feature.kind,
    )


@dataclass(frozen=True, slots=True)
class _Caption:
    """A label: its middle, the room along it, the face it is sunk into, and its turn."""

    text: str
    x: float
    y: float
    room: float
    z: float
    turn: float = 0.0


def _labelled(
    solid: Shape, captions: Iterable[_Caption]
) -> tuple[Shape, tuple[Finding, ...], float]:
    """Sink each feature's label beside it or into its top; the most volume that takes, mm³."""
    from fitkit.parts.label import fitted_text
    from fitkit.parts.terraces import sink

    by_face: dict[float, list[Profile]] = defaultdict(list)
    findings: list[Finding] = []
    for caption in captions:
        profiles, said = fitted_text(
            caption.text,
            room=(caption.room, _LETTERS[1]),
            at=(caption.x, caption.y),
            caps=_CAPS,
            turn=caption.turn,
            body="coupon",
        )
        by_face[caption.z] += profiles
        findings += said
    sunk = 0.0
    for z, letters in by_face.items():
        solid = sink(solid, letters, z=z, depth=_SUNK)
        sunk += _SUNK * sum(letter.area for letter in letters)
    return solid, tuple(findings), sunk


def _captions(item: _Item, x: float, y: float, thick: float) -> Iterable[_Caption]:
    """Labels of an item's features."""
    below = y - item.pad_y - _LETTERS[1] / 2
    match item.kind:
        case "bar":
            feature = item.features[0]
            middle = (x + item.w / 2, y + item.d / 2)
            turn = 90.0 if feature.axis == "y" else 0.0
            yield _Caption(feature.label, *middle, feature.drawn_mm - 1.0, thick + _RISE, turn)
        case "span":
            feature = item.features[0]
            turn = 90.0 if feature.axis == "x" else 0.0
            for rib in item.ribs(x, y):
                middle = (rib.x + rib.w / 2, rib.y + rib.d / 2)
                yield _Caption(feature.label, *middle, _RIB - 0.5, thick + _RISE, turn)
        case "stairs":
            for n, feature in enumerate(item.features):
                at = x + (n + 0.5) * _STEP
                yield _Caption(feature.label, at, y + item.d + _LETTERS[1] / 2, _STEP - 0.5, thick)
        case "lying":
            for feature, left in _lying(item):
                at = x + left + feature.drawn_mm / 2
                room = feature.drawn_mm + _WALL - 0.3
                yield _Caption(feature.label, at, y - _LETTERS[1] / 2, room, thick)
        case "comb":
            left = x
            for w, found in _comb(item.features):
                if found:
                    # Tabs below, slots above: side by side there is no room for both.
                    above = y + item.d + item.pad_y + _LETTERS[1] / 2
                    at = below if found.kind == "outside" else above
                    yield _Caption(found.label, left + w / 2, at, max(w + 3.0, 6.0), thick)
                left += w
        case _:
            room = max(item.w + 2 * item.pad_x, _LETTERS[0])
            yield _Caption(item.features[0].label, x + item.w / 2, below, room, thick)
