"""Names of items and features as people spell them: what is one, and what only looks like it.

Items are compared without regard to case and outer blanks. Features are kept letter by letter, and
spellings that seem to mean one are pointed out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["folded_items", "near_spellings"]


def folded_items(items: pd.Series) -> pd.Series:
    """Give the names of items as they are compared: without regard to case and outer blanks.

    Parameters
    ----------
    items : Series of str
        Column ``item`` of a table.

    Returns
    -------
    Series of str
        With the same index.
    """
    names = {name: str(name).strip().casefold() for name in items.unique()}
    return items.map(names)


def near_spellings(names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Find names that differ only in capitals, blanks, hyphens and underscores.

    Parameters
    ----------
    names : tuple of str
        Names of features of one item.

    Returns
    -------
    list of tuples of names
        A tuple of two or more for each feature that seems to be spelt in several ways.

    Examples
    --------
    >>> near_spellings(("Board length", "board_length", "board width"))
    [('Board length', 'board_length')]
    """
    alike: dict[str, list[str]] = {}
    for name in names:
        key = "".join(sign for sign in name.casefold() if sign not in " \t\u00a0_-")
        alike.setdefault(key, []).append(name)
    return [tuple(group) for group in alike.values() if len(group) > 1]
