"""Whether what must meet an opening meets it: the shift and doubt of its place against its gap.

An opening that is drawn well and stands in the wrong place lets nothing through. Its place is a
size of its own, from what the object is held by; to either side it may be off by half of the
opening's gap and by what a hand can push the object aside, such as a board on its screws. The
chance that it is further off follows from Student's t. Holes that all shall let a screw through at
once are told together (`fitkit.fits.pattern`). Left out are play that one place uses up before
another, and a screw hole that is itself off and takes play away.

Where the counterpart is drilled after the print, as the wall behind an ear, the doubt is a note:
its hole is marked through the part. A device that hangs in its opening is out of place only for
what stands behind: there it is a warning.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.checks.assembly import p_collision
from fitkit.core.chances import say_chance
from fitkit.core.expanded import expanded
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext, PlaceDoubt
    from fitkit.parts.contract import Part

__all__ = ["check_places", "p_beside"]

# Chance above which to think first, and to stop, as for gaps in `assembly`. A choice of ours.
_P_WARN = 0.05
_P_STOP = 0.50


def p_beside(off_mm: float, u_mm: float, df: float, room_mm: float) -> float:
    """Chance that a place is further off than there is room, to either side.

    Parameters
    ----------
    off_mm, u_mm : float, mm
        How far off it is expected, and the standard uncertainty of that.
    df : float
        Degrees of freedom of `u_mm`.
    room_mm : float, mm
        How far off it may be to either side.

    Returns
    -------
    float
        From Student's t (JCGM 100:2008, G.3).

    Examples
    --------
    >>> round(p_beside(0.0, 0.05, float("inf"), 0.098), 4)
    0.05
    """
    beyond = p_collision(room_mm - off_mm, u_mm, df) + p_collision(room_mm + off_mm, u_mm, df)
    return min(beyond, 1.0)


def check_places(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find openings whose place is likely to be off by more than gap and play allow."""
    del part
    yield from _patterns(context)
    for place in context.places:
        if place.gap_mm <= 0:
            continue
        room = place.gap_mm / 2 + place.play_mm
        chance = p_beside(place.off_mm, place.u_mm, place.df, room)
        if chance <= _P_WARN:
            continue
        if place.counterpart == "marked through":
            yield _to_be_marked(place, chance)
            continue
        stop = chance > _P_STOP and place.counterpart == "fixed"
        pushed = (
            f", and a hand can push it by {place.play_mm:.2f} mm more" if place.play_mm > 0 else ""
        )
        yield Finding(
            check="places",
            severity="stop" if stop else "warn",
            text=(
                f"{place.of}: a chance of {say_chance(chance)} that it stands beside its plug, "
                f"device or screw. Its place, {place.name}, is expected {place.off_mm:.2f} mm off "
                f"and known to ± {expanded(place.u_mm, place.df)[0]:.2f} mm (95 %); the gap leaves "
                f"{place.gap_mm / 2:.2f} mm on each side{pushed}."
            ),
            value=100 * chance,
            untold=("limit",),
            limit=100 * (_P_STOP if stop else _P_WARN),
            unit="%",
            basis="expected print and readings of the place; the gap's own doubt",
            remedy=f"Calibrate the printer, measure the place again, or give {place.of} more gap.",
        )


def _to_be_marked(place: PlaceDoubt, chance: float) -> Finding:
    return Finding(
        check="places",
        severity="note",
        text=(
            f"{place.of}: a hole that is drilled by the drawing would stand beside it with a "
            f"chance of {say_chance(chance)}. Its place, {place.name}, is known to "
            f"± {expanded(place.u_mm, place.df)[0]:.2f} mm (95 %)."
        ),
        value=100 * chance,
        untold=("value", "limit"),
        limit=100 * _P_WARN,
        unit="%",
        basis="expected print of the distance; the gap's own doubt",
        remedy="Mark the holes through the printed part, or calibrate the printer.",
    )


def _patterns(context: CheckContext) -> Iterator[Finding]:
    for pattern in context.patterns:
        chance = 1.0 - pattern.p_all
        if chance <= _P_WARN:
            continue
        stop = chance > _P_STOP
        drilled = pattern.counterpart == "marked through"
        where = ", in holes that are drilled by the drawing" if drilled else ""
        yield Finding(
            check="places",
            severity="note" if drilled else "stop" if stop else "warn",
            text=(
                f"{pattern.of}: a chance of {say_chance(chance)} that not all {pattern.screws} "
                f"screws go in at once{where}. How far their holes are apart, "
                f"{' and '.join(pattern.names)}, is expected {pattern.off_mm:.2f} mm off; the gap "
                f"leaves {pattern.gap_mm / 2:.2f} mm on each side of a screw."
            ),
            value=100 * chance,
            untold=("limit",),
            limit=100 * (_P_STOP if stop else _P_WARN),
            unit="%",
            basis="expected print of the holes and of their distances, drawn together",
            remedy=(
                "Mark the holes through the printed part, or calibrate the printer."
                if drilled
                else f"Calibrate the printer, or give {pattern.of} more gap."
            ),
        )
