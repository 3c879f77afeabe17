"""Several things in one case: beside the case of one of them, and after one of them was moved.

The last row makes the listening post's whole inside and its sound board's case in turn, in one
process. Those before it build the same case with one thing moved, what has not changed kept from
the build before, against the whole build with nothing kept: a thing in the lid, one on the floor,
and the board, whose ports move with it.
"""

from __future__ import annotations

import tempfile
from itertools import cycle
from pathlib import Path
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]

_RUNS = 7
_MOVED = ("left button", "cells", "sound board")


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    from fitkit.demo import copy_demo
    from fitkit.flow import load_sheet
    from fitkit.solids import kernel_ready

    kernel_ready(wait=True)
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        copy_demo(folder)
        post = load_sheet(folder / "measurements" / "listening_post.toml")
        found = [_moved(post, name, smoke=smoke) for name in _MOVED[: 1 if smoke else None]]
        if not smoke:
            found.append(_made(post, load_sheet(folder / "measurements" / "sound_board.toml")))
    return found


def _made(post: Any, board: Any) -> dict[str, Any]:
    from fitkit.make import make

    both = paired(lambda: make(post), lambda: make(board), runs=_RUNS)
    return both.row("make the listening post's inside / its sound board's case", "goal 1.5 or less")


def _moved(post: Any, name: str, *, smoke: bool) -> dict[str, Any]:
    from fitkit.flow import prepare
    from fitkit.parts.carriers.case import kept_bodies
    from fitkit.parts.designs.board_case.ghosts import board_blocks
    from fitkit.parts.designs.board_case.shell import stepped
    from fitkit.parts.designs.board_case.tray import kept_trays
    from fitkit.parts.holders import ball, block, cell, device
    from fitkit.parts.layout import arrange

    plan = prepare(post)
    case = plan.template
    number = next(i for i, thing in enumerate(case.things) if thing.name == name)
    given = [
        _with_place(thing, place)
        for thing, place in zip(case.things, case.layout.places, strict=True)
    ]
    size = {"inside_length": case.layout.length + 8.0, "inside_width": case.layout.width + 8.0}
    thing = case.things[number]
    ties = thing.space(case.base(thing.face)).ties
    along = {"front", "back"} & set(ties)
    steps = cycle(0.1 * i for i in range(1, 9))

    def moved() -> object:
        things = list(given)
        x, y, turn = case.layout.places[number]
        step = next(steps)
        place = (x + step, y, turn) if along else (x, y + step, turn)
        things[number] = _with_place(things[number], place)
        return (
            type(case).model_construct(**_fields(case) | size | {"things": tuple(things)}).build()
        )

    def whole() -> object:
        for kept in (
            stepped,
            arrange,
            kept_trays,
            kept_bodies,
            block._piece,
            cell._saddle,
            ball._piece,
            board_blocks,
            device.device,
        ):
            kept.cache_clear()
        return type(case).model_construct(**_fields(case) | size | {"things": tuple(given)}).build()

    both = paired(moved, whole, runs=_RUNS, smoke=smoke)
    return both.row(f"build after {name!r} moved / whole build, nothing kept", "wanted 0.5 or less")


def _with_place(thing: Any, place: tuple[float, float, float]) -> Any:
    """Give a thing in a place, as a sheet that names its place has it."""
    from fitkit.parts.holder import Spot

    x, y, turn = place
    spot = Spot.model_validate({"x": f"{x} mm", "y": f"{y} mm", "turn": f"{turn} deg"})
    return type(thing).model_construct(**_fields(thing) | {"place": spot})


def _fields(model: Any) -> dict[str, Any]:
    return {name: getattr(model, name) for name in type(model).model_fields}


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
