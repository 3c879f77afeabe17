"""What has to be bought for a board on standoffs, and for a case's lid and ears."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.fits.fasteners import hold_of_size
from fitkit.parts.buys import inserts, into_plastic, through_ears
from fitkit.parts.contract import Buy
from fitkit.parts.designs.board_case.sizes import board_hold, board_screw_mm

if TYPE_CHECKING:
    from fitkit.parts.designs.board_case.form import Form
    from fitkit.parts.designs.board_case.parameters import Parameters

__all__ = ["board_buys", "case_buys"]

_LONGEST_MM = 12.0  # of thread in a standoff


def board_buys(case: Parameters, count: int, why: str) -> tuple[Buy, ...]:
    """What holds a board on standoffs: screws as long as board and thread, inserts for them.

    Parameters
    ----------
    case : Parameters
    count : int
        Of standoffs.
    why : str

    Returns
    -------
    tuple of Buy
    """
    thread = f"M{board_screw_mm(case):g}"
    if case.standoff == "screw":
        return into_plastic(
            board_screw_mm(case), case.board_thickness, count, why, most_mm=_LONGEST_MM
        )
    if case.standoff != "heat-set":
        return ()
    hold = board_hold(case)
    long = hold.insert_length_mm if case.insert_length is None else case.insert_length
    screw = Buy(
        what=f"screw {thread}, {math.ceil(case.board_thickness + long)} mm long",
        count=count,
        why=why,
    )
    return (*inserts(thread, count, why, long_mm=long), screw)


def case_buys(form: Form) -> tuple[Buy, ...]:
    """Screws of the lid, and those that hold the case by its ears.

    Parameters
    ----------
    form : Form

    Returns
    -------
    tuple of Buy
    """
    from fitkit.parts.designs.board_case.lugs import lug_places
    from fitkit.parts.designs.board_case.tray import ear_holes

    case = form.case
    lid: tuple[Buy, ...] = ()
    if case.lid_fixing == "screws":
        lid = _lid_screws(case, len(ear_holes(form)))
    return (*lid, *through_ears(case.lug_screw, len(lug_places(form)), "ears"))


def _lid_screws(case: Parameters, count: int) -> tuple[Buy, ...]:
    screw, sunk = f"M{case.lid_screw:g}", case.lid_head == "countersunk"
    if case.lid_thread == "plastic":
        (buy,) = into_plastic(case.lid_screw, case.lid_thickness, count, "lid")
        return (replace(buy, what=f"countersunk {buy.what}") if sunk else buy,)
    long = hold_of_size(case.lid_screw).insert_length_mm
    length = math.ceil(case.lid_thickness + long)
    what = f"{'countersunk ' if sunk else ''}screw {screw}, {length} mm long"
    return (*inserts(screw, count, "lid", long_mm=long), Buy(what=what, count=count, why="lid"))
