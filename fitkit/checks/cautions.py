"""Plain words where someone can be hurt, set off by the declared use, the finish and the material.

The words are in the table ``cautions``. They go with the part into panel, sheet and record. They
replace no local code and no licensed person.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.finding import SEVERITIES, Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

__all__ = ["caution_names", "check_cautions"]

_STYRENE = {"ABS", "ASA", "HIPS"}


def caution_names(context: CheckContext) -> tuple[str, ...]:
    """Names of the cautions that this use, finish and material call for."""
    use, coat = context.use, context.coat
    called = {
        "mains without a qualified person": use.mains and not use.qualified_person,
        "mains": use.mains and use.qualified_person,
        "battery": use.battery,
        "overhead": use.overhead,
        "load bearing": use.load_bearing,
        "magnets near children": use.magnets and use.near_children,
        "magnets": use.magnets and not use.near_children,
        "small parts near children": use.small_parts and use.near_children,
        "near children": use.near_children,
        "hot": use.hot,
        "food": use.food,
        "resin": use.resin or (coat is not None and coat.kind == "resin"),
        "paint": coat is not None and coat.kind == "paint",
        "sharp": use.sharp,
        "styrene": context.material is not None and context.material.polymer in _STYRENE,
    }
    return tuple(name for name, needed in called.items() if needed)


def check_cautions(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Give the cautions of the declared use as findings."""
    from fitkit.data import load_table

    table = load_table("cautions")
    rows = {row["caution"]: row for row in table.frame.to_dict("records")}
    for name in dict.fromkeys((*caution_names(context), *part.cautions)):
        row = rows[name]
        yield Finding(
            check="cautions",
            severity=next(severity for severity in SEVERITIES if severity == row["severity"]),
            text=row["text"],
            basis=table.source,
            remedy=row["remedy"],
        )
