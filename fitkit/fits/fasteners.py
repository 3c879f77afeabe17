"""Holes, pockets and bosses for metric screws, nuts, washers and inserts, from shipped tables.

Clearance holes are the fine, medium and coarse series of ISO 273. All diameters are those the
finished part must have: compensate them like any other hole. Pilot and insert holes in plastic are
common practice, no source, and differ by maker: measure the insert in hand.

Left out: thread lengths, strengths, and sizes under M1.6 or over M12.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import FitError
from fitkit.data import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = [
    "Fastener",
    "PlasticHold",
    "clearance_hole_mm",
    "fastener",
    "hold_in_plastic",
    "hold_of_size",
    "thread_through",
]

Series = Literal["fine", "medium", "coarse"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """Sizes of one metric screw with its head, nut and washer, mm; the table says which limit."""

    size_mm: float
    pitch_mm: float
    tap_drill_mm: float
    clear_fine_mm: float
    clear_medium_mm: float
    clear_coarse_mm: float
    head_diameter_mm: float
    head_height_mm: float
    hex_key_mm: float
    nut_flats_mm: float
    nut_height_mm: float
    nut_corners_mm: float
    washer_hole_mm: float
    washer_diameter_mm: float
    washer_thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlasticHold:
    """How a screw holds in plastic, mm: its own pilot hole, or a heat-set insert; and its heads."""

    size_mm: float
    pilot_mm: float
    engage_mm: float
    pilot_boss_mm: float
    insert_hole_mm: float
    insert_knurl_mm: float
    insert_length_mm: float
    insert_boss_mm: float
    sunk_head_mm: float
    pan_head_mm: float
    basis: str


def fastener(thread: str) -> Fastener:
    """Look up a metric screw.

    Parameters
    ----------
    thread : str
        As ``M3`` or ``M2.5``.

    Raises
    ------
    FitError
        If the table does not have it.

    Examples
    --------
    >>> fastener("M3").clear_medium_mm
    3.4
    """
    return Fastener(**_row("fasteners_metric", thread))


def clearance_hole_mm(thread: str, series: Series = "medium") -> float:
    """Diameter of a clearance hole after ISO 273.

    Parameters
    ----------
    thread : str
        As ``M3``.
    series : {"fine", "medium", "coarse"}

    Returns
    -------
    float, mm
        As the finished part must have it.

    Raises
    ------
    FitError
        If the thread or the series is unknown.
    """
    if series not in ("fine", "medium", "coarse"):
        raise FitError(
            f"{series!r} is not a series of clearance holes",
            code="fits.series",
            remedy="There are: fine, medium, coarse.",
        )
    return float(_row("fasteners_metric", thread)[f"clear_{series}_mm"])


def hold_in_plastic(thread: str) -> PlasticHold:
    """Look up the pilot hole and the insert pocket for a screw in plastic.

    Raises
    ------
    FitError
        If the table does not have it.

    Examples
    --------
    >>> hold_in_plastic("M3").insert_hole_mm
    4.0
    """
    source = load_table("fasteners_in_plastic").source
    return PlasticHold(**_row("fasteners_in_plastic", thread), basis=source)


def hold_of_size(size_mm: float) -> PlasticHold:
    """Work out how a screw of a measured thread holds: the table's figures in between.

    Parameters
    ----------
    size_mm : float, mm
        Over the thread. A size of the table has its row; below the least and above the greatest
        one, their figures go with the size.

    Returns
    -------
    PlasticHold

    Examples
    --------
    >>> hold_of_size(3.0) == hold_in_plastic("M3"), round(hold_of_size(3.5).pilot_mm, 3)
    (True, 3.0)
    """
    rows = [dict(row) for _, row in sorted(_rows("fasteners_in_plastic").items())]
    least, most = rows[0], rows[-1]
    low = max((row for row in rows if row["size_mm"] <= size_mm), key=_size, default=least)
    high = min((row for row in rows if row["size_mm"] >= size_mm), key=_size, default=most)
    found = {}
    for name, value in low.items():
        if low is high or low["size_mm"] == high["size_mm"]:
            found[name] = value * (size_mm / low["size_mm"])
        else:
            share = (size_mm - low["size_mm"]) / (high["size_mm"] - low["size_mm"])
            found[name] = value + share * (high[name] - value)
    return PlasticHold(**found, basis=load_table("fasteners_in_plastic").source)


def _size(row: Mapping[str, float]) -> float:
    return row["size_mm"]


def thread_through(hole_mm: float) -> float:
    """Find the thickest metric screw, of those with figures for plastic, that passes a hole.

    Parameters
    ----------
    hole_mm : float, mm
        As measured; a tenth less than the fine series of ISO 273 still counts, since holes of
        boards are drilled to round sizes and read by calipers.

    Returns
    -------
    float, mm
        The thread's size; for a hole that lets none of them pass, 0.2 mm less than the hole.

    Examples
    --------
    >>> thread_through(3.2), thread_through(3.5), thread_through(2.7), round(thread_through(1.9), 3)
    (3.0, 3.0, 2.5, 1.7)
    """
    known = _rows("fasteners_in_plastic")
    fine = {size: _rows("fasteners_metric")[size]["clear_fine_mm"] for size in known}
    passing = [size for size, clear in fine.items() if clear <= hole_mm + 0.1]
    return max(passing, default=hole_mm - 0.2)


@cache
def _rows(table: str) -> dict[float, Mapping[str, float]]:
    records = load_table(table).frame.astype(float).to_dict("records")
    return {row["size_mm"]: row for row in records}  # type: ignore[misc]


def _row(table: str, thread: str) -> Mapping[str, float]:
    match = re.fullmatch(r"\s*M(\d+(?:\.\d+)?)\s*", thread)
    row = _rows(table).get(float(match[1])) if match else None
    if row is None:
        known = ", ".join(f"M{size:g}" for size in _rows(table))
        raise FitError(
            f"the table has no thread {thread!r}",
            code="fits.no-such-thread",
            remedy=f"It has: {known}.",
        )
    return row
