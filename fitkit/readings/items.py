"""Which thing a feature belongs to: names of features that two items share.

A feature belongs to its item. Two items with a feature of one name are two things, and the mean of
both is the size of neither. An item's name is compared without regard to case and outer blanks; a
row without an item is of a thing of its own, since nobody has said which.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from fitkit.core.errors import ReadingError
from fitkit.readings.names import folded_items

if TYPE_CHECKING:
    from fitkit.readings.table import ReadingTable

__all__ = ["refuse_shared_names", "shared_names", "told_apart", "with_item"]


def shared_names(table: ReadingTable) -> dict[str, tuple[str, ...]]:
    """Find features that were read on more than one item.

    Returns
    -------
    dict of feature name to names of items
        In order of appearance; the item of rows that name none is an empty text.
    """
    rows = table.accepted
    if rows["item"].nunique() < 2:
        return {}
    item = folded_items(rows["item"])
    counts = item.groupby(rows["feature"], sort=False).nunique()
    found = {}
    for name in counts[counts > 1].index:
        mine = rows["feature"] == name
        first = rows[mine & ~item.where(mine).duplicated()]
        found[str(name)] = tuple(str(one) for one in first["item"])
    return found


def refuse_shared_names(table: ReadingTable, *, remedy: str = "") -> None:
    """Refuse a table in which one feature was read on several items.

    Parameters
    ----------
    table : ReadingTable
    remedy : str
        How the reader names one item here; ``{item}`` stands for the first that has a name.

    Raises
    ------
    ReadingError
        Which features, and on which items.
    """
    shared = shared_names(table)
    if not shared:
        return
    items = next(iter(shared.values()))
    said = ", ".join(one or "rows that name no item" for one in items)
    named = next(one for one in items if one)
    raise ReadingError(
        f"{', '.join(map(repr, shared))} was read on several items: {said}",
        file=table.name,
        code="readings.several-items",
        remedy=(
            remedy or "Take the readings of one item (of_item), or rename the features."
        ).replace("{item}", named),
    )


def with_item(item: str, feature: str) -> str:
    """Name a feature with its item before it.

    Parameters
    ----------
    item, feature : str

    Returns
    -------
    str
    """
    return f"{item.strip()}: {feature}"


def told_apart(table: ReadingTable) -> ReadingTable:
    """Give a table in which features that several items share have their item before the name.

    Parameters
    ----------
    table : ReadingTable

    Returns
    -------
    ReadingTable
        Features that one item alone has keep their names.
    """
    shared = shared_names(table)
    if not shared:
        return table
    frame = table.frame.copy()
    first: dict[str, str] = {}  # one spelling of each item's name, that of its first row
    for item, folded in zip(frame["item"], folded_items(frame["item"]), strict=True):
        first.setdefault(folded, str(item))
    items = [first[folded] for folded in folded_items(frame["item"])]
    for column in ("feature", "between"):
        if column in frame:
            frame[column] = [
                with_item(item, name) if name in shared and item else name
                for item, name in zip(items, frame[column], strict=True)
            ]
    return replace(table, frame=frame)
