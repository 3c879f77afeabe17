"""What has to be bought or found before a part can be put together, as one note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["check_buys"]


def check_buys(part: Part, context: CheckContext) -> Iterator[Finding]:
    """List the screws, inserts and the like of a part, like ones counted together."""
    counts: dict[str, int] = {}
    reasons: dict[str, list[str]] = {}
    for buy in part.buys:
        counts[buy.what] = counts.get(buy.what, 0) + buy.count
        reasons.setdefault(buy.what, []).append(buy.why)
    if not counts:
        return
    said = "; ".join(
        f"{count} x {what} ({', '.join(dict.fromkeys(reasons[what]))})"
        for what, count in counts.items()
    )
    yield Finding(
        check="things to buy",
        severity="note",
        text=f"To have at hand: {said}.",
        value=float(sum(counts.values())),
        untold=(),
        basis="sizes of this part",
    )
