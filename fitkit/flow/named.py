"""Which features an expression of a sheet may name: all, and those of its thing's item first.

Two boards each have a board length. Where a sheet's things say of which item of the readings they
are, all files are still estimated in one call, so that what one pair of calipers gives both stays
correlated; an expression of a thing then means the feature of its own item.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.core.errors import SheetError
from fitkit.readings.items import with_item

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.flow.sheet import PartSheet
    from fitkit.readings import ReadingTable
    from fitkit.stats import Estimate

__all__ = ["Named"]


@dataclass(frozen=True, slots=True)
class Named:
    """Features by the name that an expression writes.

    Attributes
    ----------
    every : mapping of feature name to Estimate
    of_thing : mapping of a thing's number to the same
        For things that name an item.
    """

    every: Mapping[str, Estimate]
    of_thing: Mapping[int, Mapping[str, Estimate]]

    @classmethod
    def of(
        cls, sheet: PartSheet, table: ReadingTable | None, estimates: Mapping[str, Estimate]
    ) -> Named:
        """Sort the features of a sheet's readings by its things.

        Parameters
        ----------
        sheet : PartSheet
        table : ReadingTable or None
            Its readings, told apart by item.
        estimates : mapping of feature name to Estimate
            Of that table.

        Returns
        -------
        Named

        Raises
        ------
        SheetError
            If a thing names an item of which no reading is.
        """
        found: dict[int, Mapping[str, Estimate]] = {}
        for number, thing in enumerate(sheet.things):
            item = thing.get("item")
            if not item or table is None:
                continue
            items = table.items()
            mine = next((one for one in items if one.casefold() == str(item).casefold()), None)
            if mine is None:
                near = difflib.get_close_matches(str(item), items, 1)
                meant = f"Did you mean {near[0]!r}? " if near else ""
                raise SheetError(
                    f"no reading is of an item {item!r}",
                    at=("things", number, "item"),
                    code="flow.no-such-item",
                    remedy=f"{meant}There are: {', '.join(items) or 'rows without an item only'}.",
                )
            start = with_item(mine, "")
            own = {
                name.removeprefix(start): value
                for name, value in estimates.items()
                if name.startswith(start)
            }
            found[number] = {**estimates, **own}
        return cls(estimates, found)

    def at(self, path: tuple[str | int, ...]) -> Mapping[str, Estimate]:
        """Give what an expression at a path may name.

        Parameters
        ----------
        path : tuple
            Of the parameter, such as ``("things", 0, "board_length")``.

        Returns
        -------
        mapping of feature name to Estimate
        """
        if len(path) > 1 and path[0] == "things" and isinstance(path[1], int):
            return self.of_thing.get(path[1], self.every)
        return self.every
