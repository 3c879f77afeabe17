"""Where several things stand: ties to walls first, then corner points over orders and turns.

A thing is a box of its body, and a larger one with the room round it that may be shared with such
room of others, but with no body. What must meet a wall is put along it first; the rest goes, one
after the other, to the corner that makes the floor least deep. That is done for some orders and
lengths, and the smallest floor wins. What hangs from the lid is put where the case stays lowest, or
beside the things on the floor where that makes the whole smaller.

Boxes are rounded up to half a millimetre, so that a reading that changes by little leaves all in
its place; the same values give the same places always. Left out: turns other than quarters, unless
given; and the best of all arrangements, which nobody needs.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence

    from fitkit.parts.holder import Box, WallName

__all__ = [
    "Arranged",
    "Item",
    "Place",
    "arrange",
    "at_place",
    "cos_sin",
    "meets",
    "turned_box",
    "turned_wall",
]

_ROUND_MM = 0.5
_LENGTHS = 12  # tried for the floor
_SHUFFLES = 6  # orders beyond the sorted ones
_GRID = 8  # places along each side of a lid
_WALLS: tuple[WallName, ...] = ("front", "right", "back", "left")  # counter-clockwise


class Place(NamedTuple):
    """Where a holder's own origin lies: from the inside's left front corner, mm and degrees."""

    x: float
    y: float
    turn: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to be placed.

    Attributes
    ----------
    body, free : box, mm
        In its own frame; `free` holds `body`.
    height_mm : float, mm
        Over the floor, or down from the lid.
    ties : tuple of wall names
        In its own frame.
    hangs : bool
        From the lid, not on the floor.
    given : Place or None
    """

    body: Box
    free: Box
    height_mm: float
    ties: tuple[WallName, ...] = ()
    hangs: bool = False
    given: Place | None = None


class Arranged(NamedTuple):
    """A floor with things on it.

    Attributes
    ----------
    length, width : float, mm
        Inside.
    height : float, mm
        That all things need between floor and lid, over one another too.
    places : tuple of Place
        In the order of the items.
    """

    length: float
    width: float
    height: float
    places: tuple[Place, ...]


def cos_sin(turn: float) -> tuple[float, float]:
    """Cosine and sine of an angle in degrees, exact for quarters.

    Parameters
    ----------
    turn : float, degrees

    Returns
    -------
    cos, sin : float

    Examples
    --------
    >>> cos_sin(90), cos_sin(-90)
    ((0.0, 1.0), (0.0, -1.0))
    """
    quarters = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    a = math.radians(turn)
    return quarters.get(turn % 360.0, (math.cos(a), math.sin(a)))


def turned_box(box: Box, turn: float) -> Box:
    """Box round a box that is turned about the origin.

    Parameters
    ----------
    box : box, mm
    turn : float, degrees

    Returns
    -------
    box, mm

    Examples
    --------
    >>> turned_box((0.0, 0.0, 4.0, 1.0), 90)
    (-1.0, 0.0, 0.0, 4.0)
    """
    cos, sin = cos_sin(turn)
    xs, ys = zip(
        *((cos * x - sin * y, sin * x + cos * y) for x in box[::2] for y in box[1::2]), strict=True
    )
    return min(xs) + 0.0, min(ys) + 0.0, max(xs) + 0.0, max(ys) + 0.0


def turned_wall(wall: WallName, turn: float) -> WallName:
    """Wall that a thing's side faces when it is turned by quarters.

    Parameters
    ----------
    wall : wall name
    turn : float, degrees

    Returns
    -------
    wall name

    Examples
    --------
    >>> turned_wall("front", 90), turned_wall("left", -90)
    ('right', 'back')
    """
    return _WALLS[(_WALLS.index(wall) + round(turn / 90)) % 4]


def meets(a: Box, b: Box) -> bool:
    """Tell whether two boxes overlap by more than a hundredth of a millimetre.

    Parameters
    ----------
    a, b : box, mm

    Returns
    -------
    bool
    """
    e = 0.01
    return a[0] < b[2] - e and b[0] < a[2] - e and a[1] < b[3] - e and b[1] < a[3] - e


@dataclass(frozen=True, slots=True)
class _Set:
    """A thing in a place: its boxes there."""

    body: Box
    free: Box

    def clashes(self, other: _Set) -> bool:
        return meets(self.body, other.free) or meets(self.free, other.body)


def _up(box: Box) -> Box:
    """Round a box up to half millimetres about its own middle."""
    x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    a, b = (
        math.ceil((high - low) / _ROUND_MM - 1e-6) * _ROUND_MM / 2
        for low, high in ((box[0], box[2]), (box[1], box[3]))
    )
    return x - a, y - b, x + a, y + b


def _shifted(box: Box, x: float, y: float) -> Box:
    return box[0] + x, box[1] + y, box[2] + x, box[3] + y


def at_place(item: Item, place: Place) -> _Set:
    """Give an item's boxes in a place, mm from the inside's left front corner.

    Parameters
    ----------
    item : Item
    place : Place

    Returns
    -------
    object with `body` and `free`
    """
    body, free = (_shifted(turned_box(b, place.turn), *place[:2]) for b in (item.body, item.free))
    return _Set(body, free)


@lru_cache(maxsize=64)
def arrange(
    items: tuple[Item, ...],
    *,
    length: float | None = None,
    width: float | None = None,
    lid_margin: float = 1.5,
) -> Arranged | None:
    """Find places for all items on as small a floor as is found.

    Parameters
    ----------
    items : tuple of Item
    length, width : float, mm, optional
        Of the inside, where they are given.
    lid_margin : float, mm
        Strip along the walls that no item on the lid may reach into.

    Returns
    -------
    Arranged or None
        None where nothing was found: the given size is too small, or ties contradict each other.
    """
    floor = [i for i, item in enumerate(items) if not item.hangs]
    lid = [i for i, item in enumerate(items) if item.hangs]
    found = []
    # Over the things, or the deepest ones beside them.
    deep = sorted(lid, key=lambda i: (-items[i].height_mm, i))
    for count in range(len(deep) + 1):
        beside = deep[:count]
        plan = _floor(items, [*floor, *beside], length, width, lid_margin)
        if plan is None:
            continue
        over, across, spots = plan
        whole = _hung(items, lid, over, across, spots, lid_margin)
        if whole is not None:
            found.append(whole)
    return min(found, key=_cost, default=None)


def _cost(plan: Arranged) -> tuple[float, float]:
    volume = (plan.length + 5) * (plan.width + 5) * (plan.height + 5)
    return round(volume, 3), plan.height


def _floor(
    items: tuple[Item, ...],
    chosen: Sequence[int],
    length: float | None,
    width: float | None,
    margin: float,
) -> tuple[float, float, dict[int, Place]] | None:
    """Give length, width and places of the smallest floor that is found."""
    boxes = {i: _boxes(items[i], margin) for i in chosen}
    given = {i: items[i].given for i in chosen if items[i].given is not None}
    fixed = {i: at_place(items[i], place) for i, place in given.items() if place is not None}
    least_x = max((one.body[2] for one in fixed.values()), default=10.0)
    least_y = max((one.body[3] for one in fixed.values()), default=10.0)
    auto = [i for i in chosen if i not in fixed]
    best: tuple[float, float, float, dict[int, Place]] | None = None
    lengths = [length] if length else list(_lengths(items, auto, boxes, least_x))
    for over in lengths:
        for order in _orders(items, auto, boxes):
            cap = width if width else (best[0] / over if best else math.inf)
            tried = _place_all(items, order, boxes, fixed, over, max(width or 0.0, least_y), cap)
            if tried is None:
                continue
            across, spots = tried
            if width and across > width + 1e-6:
                continue
            long, short = max(over, across), min(over, across)
            cost = over * across * (1 + 0.03 * (long / short - 1))
            if best is None or cost < best[0] - 1e-6:
                best = (cost, over, across, spots)
    if best is None:
        return None
    spots = best[3] | {i: place for i, place in given.items() if place is not None}
    return best[1], best[2], spots


def _boxes(item: Item, margin: float) -> dict[float, tuple[_Set, tuple[WallName, ...]]]:
    """Give body and room of an item for each turn that it may have, with its ties there."""
    body = _up(item.body)
    free = _join(_up(item.free), body)
    if item.hangs:
        free = (body[0] - margin, body[1] - margin, body[2] + margin, body[3] + margin)
    turns = (0.0,) if item.ties or item.hangs else (0.0, 90.0)
    return {
        turn: (
            _Set(turned_box(body, turn), turned_box(free, turn)),
            tuple(turned_wall(wall, turn) for wall in item.ties),
        )
        for turn in turns
    }


def _join(a: Box, b: Box) -> Box:
    return min(a[0], b[0]), min(a[1], b[1]), max(a[2], b[2]), max(a[3], b[3])


def _spans(one: _Set) -> tuple[float, float]:
    """Length and width of the whole room."""
    return one.free[2] - one.free[0], one.free[3] - one.free[1]


def _lengths(
    items: tuple[Item, ...],
    auto: Sequence[int],
    boxes: dict[int, dict[float, tuple[_Set, tuple[WallName, ...]]]],
    least: float,
) -> Iterator[float]:
    """Inside lengths worth a trial: sums of some items' sides, near a square floor."""
    if not auto:
        yield least
        return
    sums, area, widest, forced = {0.0}, 0.0, least, None
    for i in auto:
        sides = {_spans(one)[0] for one, _ in boxes[i].values()}
        area += math.prod(_spans(next(iter(boxes[i].values()))[0]))
        widest = max(widest, min(sides))
        sums |= {round(total + side, 3) for total in sums for side in sides}
        if {"left", "right"} <= set(items[i].ties):
            forced = max(forced or 0.0, min(sides))
    if forced is not None:
        yield max(forced, least)
        return
    root = math.sqrt(area)
    kept = sorted(
        total for total in sums | {widest} if widest <= total <= max(2.6 * root, widest) + 1e-6
    )
    step = max(1, math.ceil(len(kept) / _LENGTHS))
    yield from kept[::step]
    if kept and (len(kept) - 1) % step:
        yield kept[-1]


def _orders(
    items: tuple[Item, ...],
    auto: Sequence[int],
    boxes: dict[int, dict[float, tuple[_Set, tuple[WallName, ...]]]],
) -> Iterator[tuple[int, ...]]:
    """Orders worth a trial: ties first, and those of the back wall last."""
    whole = {i: _spans(next(iter(boxes[i].values()))[0]) for i in auto}

    def by_ties(order: Iterable[int]) -> tuple[int, ...]:
        def rank(i: int) -> int:
            if "back" in items[i].ties and "front" not in items[i].ties:
                return 2
            return 0 if items[i].ties else 1

        return tuple(sorted(order, key=rank))

    tried = []
    if len(auto) <= 3:
        tried = [by_ties(order) for order in permutations(auto)]
    else:
        by_size: tuple[Callable[[int], float], ...] = (
            lambda i: whole[i][0] * whole[i][1],
            lambda i: whole[i][1],
            lambda i: whole[i][0],
        )
        for large in by_size:
            tried.append(by_ties(sorted(sorted(auto), key=large, reverse=True)))
        draw = random.Random(24)  # the same orders always
        for _ in range(_SHUFFLES):
            shuffled = list(auto)
            draw.shuffle(shuffled)
            tried.append(by_ties(shuffled))
    yield from dict.fromkeys(tried)


def _place_all(
    items: tuple[Item, ...],
    order: Sequence[int],
    boxes: dict[int, dict[float, tuple[_Set, tuple[WallName, ...]]]],
    fixed: dict[int, _Set],
    over: float,
    least: float,
    cap: float,
) -> tuple[float, dict[int, Place]] | None:
    """Place items in an order on a floor of a length; give its width, None if it is over `cap`."""
    done = list(fixed.values())
    back = max([least, *(one.free[3] for one in done)])
    spots: dict[int, Place] = {}
    late: list[tuple[int, _Set, Place]] = []
    for i in order:
        best: tuple[tuple[float, float, float, float], _Set, Place] | None = None
        for turn, (own, ties) in boxes[i].items():
            for x in _columns(own, ties, done, over):
                y = _row(own, ties, done, x)
                if y is None:
                    continue
                one = _Set(_shifted(own.body, x, y), _shifted(own.free, x, y))
                # Two things at the back wall stand side by side: neither can be behind the other.
                if "back" in ties and any(_in_line(one, other) for _, other, _ in late):
                    continue
                key = (max(back, one.free[3]), y + own.body[1], x + own.body[0], turn)
                if best is None or key < best[0]:
                    best = (key, one, Place(x, y, turn))
        if best is None:
            return None
        _, one, place = best
        back = max(back, one.free[3])
        if back > cap + 1e-6:
            return None
        if "back" in items[i].ties:
            late.append((i, one, place))
        done.append(one)
        spots[i] = place
    for i, one, place in late:
        shift = back - one.body[3]
        if shift > 1e-6:
            if "front" in items[i].ties:
                return None
            spots[i] = Place(place.x, place.y + shift, place.turn)
    return back, spots


def _in_line(one: _Set, other: _Set) -> bool:
    """Tell whether two things share some of the length, so that one stands behind the other."""
    return one.free[0] < other.free[2] - 0.01 and other.free[0] < one.free[2] - 0.01


def _columns(
    own: _Set, ties: Sequence[WallName], done: Sequence[_Set], over: float
) -> Iterator[float]:
    """Shifts along x that bring an item against a wall, or against another item."""
    low, high = -own.free[0], over - own.free[2]
    if low > high + 1e-6:
        return
    if "left" in ties or "right" in ties:
        left, right = -own.body[0], over - own.body[2]
        if "left" in ties and "right" in ties:
            if abs(left - right) < 1e-6:
                yield left
            return
        yield left if "left" in ties else right
        return
    seen = {round(low, 6), round(high, 6)}
    for other in done:
        seen.add(round(max(other.free[2] - own.body[0], other.body[2] - own.free[0]), 6))
        seen.add(round(min(other.free[0] - own.body[2], other.body[0] - own.free[2]), 6))
    yield from sorted(x for x in seen if low - 1e-6 <= x <= high + 1e-6)


def _row(own: _Set, ties: Sequence[WallName], done: Sequence[_Set], x: float) -> float | None:
    """Give the least shift along y at which an item meets no other; None if its tie forbids one."""
    if "front" in ties:
        rows = [-own.body[1]]
    else:
        rows = [-own.free[1]]
        rows += [max(o.free[3] - own.body[1], o.body[3] - own.free[1]) for o in done]
        if "back" in ties:  # it moves to the back wall at the end: nothing may stand behind it
            across = [
                o for o in done if own.free[0] + x < o.free[2] and o.free[0] < own.free[2] + x
            ]
            rows = [
                max(
                    [-own.free[1]]
                    + [max(o.free[3] - own.body[1], o.body[3] - own.free[1]) for o in across]
                )
            ]
    for y in sorted(row for row in rows if row >= -own.free[1] - 1e-6 or "front" in ties):
        one = _Set(_shifted(own.body, x, y), _shifted(own.free, x, y))
        if not any(one.clashes(other) for other in done):
            return y
    return None


def _hung(
    items: tuple[Item, ...],
    lid: Sequence[int],
    over: float,
    across: float,
    spots: dict[int, Place],
    margin: float,
) -> Arranged | None:
    """Hang the rest from the lid, where the case stays lowest, and give the whole."""
    under = [
        (at_place(item, spots[i]).body, item.height_mm)
        for i, item in enumerate(items)
        if not item.hangs
    ]
    height = max((high for _, high in under), default=0.0)
    hung: list[Box] = []
    order = sorted(
        lid, key=lambda i: (i not in spots, items[i].given is None, -items[i].height_mm, i)
    )
    for i in order:
        item = items[i]
        body = _up(item.body)
        if i in spots or item.given is not None:
            place = spots.get(i) or item.given
            assert place is not None
            one = at_place(item, place).body
            need = _needed(one, item.height_mm, under)
        else:
            best = None
            for x, y in _over_the_lid(body, over, across, margin, [b for b, _ in under], hung):
                one = _shifted(body, x, y)
                if any(meets(one, _wider(other, margin)) for other in hung):
                    continue
                need = _needed(one, item.height_mm, under)
                # As low as may be, then as near to the middle.
                off = abs(one[0] + one[2] - over) + abs(one[1] + one[3] - across)
                key = (round(max(need, height), 3), round(off, 3), x, y)
                if best is None or key < best[0]:
                    best = (key, one, need, Place(x, y, 0.0))
            if best is None:
                return None
            _, one, need, place = best
        height = max(height, need)
        hung.append(one)
        spots = spots | {i: place}
    places = tuple(spots[i] for i in range(len(items)))
    return Arranged(over, across, height, places)


def _needed(one: Box, depth: float, under: Sequence[tuple[Box, float]]) -> float:
    below = max((high for box, high in under if meets(one, box)), default=0.0)
    return depth + below + (2 * _ROUND_MM if below else 0.0)


def _wider(box: Box, by: float) -> Box:
    return box[0] - by, box[1] - by, box[2] + by, box[3] + by


def _over_the_lid(
    body: Box,
    over: float,
    across: float,
    margin: float,
    under: Sequence[Box],
    hung: Sequence[Box],
) -> Iterator[tuple[float, float]]:
    """Shifts that keep an item within the lid: a grid, and beside what stands below or hangs."""
    low_x, high_x = margin - body[0], over - margin - body[2]
    low_y, high_y = margin - body[1], across - margin - body[3]
    if low_x > high_x + 1e-6 or low_y > high_y + 1e-6:
        return
    xs = {low_x + (high_x - low_x) * i / _GRID for i in range(_GRID + 1)}
    ys = {low_y + (high_y - low_y) * i / _GRID for i in range(_GRID + 1)}
    for box, gap in [*((b, 0.0) for b in under), *((b, margin) for b in hung)]:
        xs |= {box[2] + gap - body[0], box[0] - gap - body[2]}
        ys |= {box[3] + gap - body[1], box[1] - gap - body[3]}
    for x in sorted(xs):
        for y in sorted(ys):
            if low_x - 1e-6 <= x <= high_x + 1e-6 and low_y - 1e-6 <= y <= high_y + 1e-6:
                yield x, y
