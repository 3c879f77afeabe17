"""Names of items and features as people spell them: what is one, and what only looks like it.

Items are compared without regard to case and outer blanks. Features are kept letter by letter, and
spellings that seem to mean one are pointed out.
"""

from __future__ import annotations

import unicodedata
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


_ASIDE = "\u2010\u2011\u2012\u2013\u2014"
_PLAIN_ASIDE = dict.fromkeys(map(ord, " \t_-"))


def _unseen(sign: str) -> bool:
    """Tell a blank, or a sign without a width, such as a byte order mark in the midst of a file."""
    return sign.isspace() or unicodedata.category(sign) == "Cf"


def near_spellings(names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Find names that differ only in capitals, blanks, hyphens, underscores and unseen signs.

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
        plain = name.strip().rstrip(".:").casefold()
        key = plain.translate(_PLAIN_ASIDE)
        if not key.isascii():
            key = "".join(sign for sign in key if sign not in _ASIDE and not _unseen(sign))
        alike.setdefault(key, []).append(name)
    return [tuple(group) for group in alike.values() if len(group) > 1]
