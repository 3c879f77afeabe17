"""Several things in one case: beside the case of one of them, and after one of them was moved.

The first row makes the listening post's whole inside and its sound board's case in turn, in one
process. The second builds the same case with one thing moved, its pieces kept from the build
before, against the whole build with nothing kept.
"""

from __future__ import annotations

import tempfile
from itertools import cycle
from pathlib import Path
from typing import Any

from bench.pairs import paired

__all__ = ["rows"]

_RUNS = 7


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    from fitkit.demo import copy_demo
    from fitkit.flow import load_sheet
    from fitkit.solids import kernel_ready

    kernel_ready(wait=True)
    with tempfile.TemporaryDirectory() as bench:
        folder = Path(bench)
        copy_demo(folder)
        post = load_sheet(folder / "measurements" / "listening_post.toml")
        found = [_moved(post, smoke=smoke)]
        if not smoke:
            found.append(_made(post, load_sheet(folder / "measurements" / "sound_board.toml")))
    return found


def _made(post: Any, board: Any) -> dict[str, Any]:
    from fitkit.make import make

    both = paired(lambda: make(post), lambda: make(board), runs=_RUNS)
    return both.row("make the listening post's inside / its sound board's case", "goal 1.5 or less")


def _moved(post: Any, *, smoke: bool) -> dict[str, Any]:
    from fitkit.flow import prepare
    from fitkit.parts.designs.board_case.shell import stepped
    from fitkit.parts.holders import ball, block, board, cell, device
    from fitkit.parts.layout import arrange

    plan = prepare(post)
    case, drawn = plan.template, plan.drawn
    places = cycle(plan.template.layout.width - 15.0 - 0.1 * i for i in range(9))

    def moved() -> object:
        things = list(case.things)
        place = {"x": "65 mm", "y": f"{next(places)} mm"}
        values = {name: getattr(things[-1], name) for name in type(things[-1]).model_fields}
        kept = {name: value for name, value in values.items() if name != "place"}
        things[-1] = type(things[-1]).model_construct(**kept, place=_spot(place))
        return case.model_copy(update={"things": tuple(things)}).build(drawn)

    def whole() -> object:
        for kept in (
            stepped,
            arrange,
            block._piece,
            cell._saddle,
            ball._piece,
            board._ghosts,
            device._device,
        ):
            kept.cache_clear()
        return type(case).model_construct(**_fields(case)).build(drawn)

    both = paired(moved, whole, runs=_RUNS, smoke=smoke)
    return both.row("build after one thing moved / whole build, nothing kept", "wanted 0.5 or less")


def _spot(place: dict[str, str]) -> Any:
    from fitkit.parts.holder import Spot

    return Spot.model_validate(place)


def _fields(model: Any) -> dict[str, Any]:
    return {name: getattr(model, name) for name in type(model).model_fields}


if __name__ == "__main__":
    for row in rows():
        print(f"{row['ratio']:6.2f}  {row['name']} ({row['note']})")
