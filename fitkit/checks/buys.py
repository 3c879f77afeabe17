"""What has to be bought or found before a part can be put together, as one note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.finding import Finding
from fitkit.parts.buys import summed

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["check_buys"]


def check_buys(part: Part, context: CheckContext) -> Iterator[Finding]:
    """List the screws, inserts and the like of a part, like ones counted together."""
    buys = summed(part.buys)
    if not buys:
        return
    said = "; ".join(f"{b.count} x {b.what}{f' ({b.why})' if b.why else ''}" for b in buys)
    yield Finding(
        check="things to buy",
        severity="note",
        text=f"To have at hand: {said}.",
        value=float(sum(buy.count for buy in buys)),
        untold=(),
        basis="sizes of this part",
    )
