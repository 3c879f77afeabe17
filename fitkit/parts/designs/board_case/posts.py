"""Where the lid's posts stand that hold a board down on its ledge."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.parts.designs.board_case.levels import hold_post_mm, lip_inside, near_each_other
from fitkit.solids.profiles import rectangle

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fitkit.parts.designs.board_case.openings import Opening
    from fitkit.parts.designs.board_case.parameters import Parameters
    from fitkit.parts.designs.board_case.sizes import CaseSizes

__all__ = ["place_hold_posts"]


def place_hold_posts(
    case: Parameters,
    drawn: CaseSizes,
    corner: float,
    height: float,
    windows: Sequence[Sequence[float]],
    ports: Sequence[Opening],
) -> tuple[tuple[tuple[float, float], ...], list[Finding]]:
    """Places of the posts under the lid that hold a board on a ledge down.

    One in each corner, or where the sheet puts them. A post whose place a window or a socket takes
    moves along the edges to the nearest free place, or is left out; a lid's tongue over a socket
    holds like a post.
    """
    if case.standoff != "edge rails" or height < 0.3:  # so low, the plate itself holds the board
        return (), []
    if not case.hold_down:
        return (), []
    if case.lid_fixing == "slide":
        return (), [
            _loose("a sliding lid has no posts to hold it down, since they could not pass the wall")
        ]
    length, width, radius = lip_inside(case, drawn, corner)
    side = hold_post_mm(height)
    # Clear of the lip, and of its rounded corner by 0.3 mm.
    inset = max(0.5, radius - max(radius - 0.3, 0.0) / math.sqrt(2)) + side / 2
    taken = [*windows, *(_socket_box(case, opening) for opening in ports)]

    def free(at: tuple[float, float]) -> bool:
        box = rectangle(side, side, at=at).box
        return not any(near_each_other(box, other, 0.8) for other in taken)

    if case.hold_down_at:
        kept = [
            (p.x - case.board_length / 2, p.y - case.board_width / 2) for p in case.hold_down_at
        ]
        _refuse_posts(case, kept, (length / 2 - side / 2 - 0.3, width / 2 - side / 2 - 0.3), free)
    else:
        far_x, far_y = length / 2 - inset, width / 2 - inset
        if min(far_x, far_y) < side / 2 + 0.5:
            return (), [_loose("there is no room for the lid's posts")]
        kept = []
        for sx in (-1, 1):
            for sy in (-1, 1):
                at = _nearest_free((sx * far_x, sy * far_y), side, free, kept)
                kept += [at] if at else []
    tongues = [_middle(_socket_box(case, opening)) for opening in ports if opening.open_top]
    if not _holds([*kept, *tongues], length, width):
        why = "windows and sockets take the places of the lid's posts"
        return tuple(kept), [_loose(why)]
    return tuple(kept), []


def _socket_box(case: Parameters, opening: Opening) -> tuple[float, float, float, float]:
    """Where a port's socket is likely to stand on the board, seen from above, mm."""
    low, high = opening.closed[0] - 0.5, opening.closed[2] + 0.5
    deep = 8.0  # common practice, no source: sockets are about so deep
    x, y = case.board_length / 2, case.board_width / 2
    return {
        "front": (low, -y, high, deep - y),
        "back": (-high, y - deep, -low, y),
        "right": (x - deep, low, x, high),
        "left": (-x, -high, deep - x, -low),
    }[opening.wall]


def _middle(box: Sequence[float]) -> tuple[float, float]:
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def _nearest_free(
    corner: tuple[float, float],
    side: float,
    free: Callable[[tuple[float, float]], bool],
    kept: Sequence[tuple[float, float]],
) -> tuple[float, float] | None:
    """Give the free place nearest to a corner along the two edges that meet there."""
    x, y = corner
    steps = 24
    tries = [corner]
    for i in range(1, steps + 1):
        share = 1 - i / steps
        tries += [(x * share, y), (x, y * share)]
    tries.sort(key=lambda at: abs(at[0] - x) + abs(at[1] - y))
    for at in tries:
        apart = all(max(abs(at[0] - u), abs(at[1] - v)) > side + 0.8 for u, v in kept)
        if apart and free(at):
            return at
    return None


def _holds(holders: Sequence[tuple[float, float]], length: float, width: float) -> bool:
    """Tell whether the board cannot tip: its middle lies within what holds it, or nearly."""
    if len(holders) < 2:
        return False
    for i in range(24):
        angle = math.pi * i / 12
        nx, ny = math.cos(angle), math.sin(angle)
        slack = 0.12 * math.hypot(length * nx, width * ny)
        if max(x * nx + y * ny for x, y in holders) < -slack:
            return False
    xs, ys = zip(*holders, strict=True)
    return bool(max(xs) - min(xs) > length / 3 or max(ys) - min(ys) > width / 3)


def _refuse_posts(
    case: Parameters,
    places: Sequence[tuple[float, float]],
    room: tuple[float, float],
    free: Callable[[tuple[float, float]], bool],
) -> None:
    for number, at in enumerate(places):
        if abs(at[0]) > room[0] or abs(at[1]) > room[1]:
            what = "a post there would stand in the lid's lip"
        elif not free(at):
            what = "a window or a socket takes this place"
        else:
            continue
        raise PartError(
            what,
            where=case.title,
            at=("hold_down_at", number),
            code="part.post-place",
            remedy="Move it, or set hold_down to false.",
        )


def _loose(why: str) -> Finding:
    return Finding(
        check="build",
        severity="warn",
        text=f"The board lies loose on its ledge: {why}.",
        basis="geometry of this part",
        body="lid",
        remedy="Hold it by screws, inserts or snap posts, or choose another lid or other windows.",
    )
