"""Whether what must meet an opening meets it: the shift and doubt of its place against its gap.

An opening that is drawn well and stands in the wrong place lets nothing through. Its place is a
size of its own, from what the object is held by; half of the opening's gap is what it may be off
to either side. Left out is the play of the object where it is held, which a hand uses up.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["check_places"]


def check_places(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Tell of openings whose place may be off by more than their gap allows."""
    del part
    for place in context.places:
        room = place.gap_mm / 2
        if room <= 0 or place.off_mm + place.U_mm <= room:
            continue
        stop = place.off_mm - place.U_mm > room
        yield Finding(
            check="places",
            severity="stop" if stop else "warn",
            text=(
                f"{place.of} may stand beside its plug or device: its place, {place.name}, is "
                f"expected {place.off_mm:.2f} mm off and known to ± {place.U_mm:.2f} mm (95 %), "
                f"and the gap leaves {room:.2f} mm on each side."
            ),
            value=place.off_mm + place.U_mm,
            limit=room,
            unit="mm",
            basis="expected print and readings of the place",
            remedy=f"Calibrate the printer, measure the place again, or give {place.of} more gap.",
        )
