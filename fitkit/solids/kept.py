"""Bodies kept by what they were made from, so that an unchanged one is not made again.

A key holds all that a body depends on, by value; what has no hash is made each time. Only the last
few are kept: a panel that moves one thing asks for the same others over and over.
"""

from __future__ import annotations

from collections import OrderedDict
from typing import TYPE_CHECKING, Generic, TypeVar

if TYPE_CHECKING:
    from collections.abc import Hashable

__all__ = ["Kept", "Same"]

_T = TypeVar("_T")


class Kept(Generic[_T]):
    """The last few things made, by their keys.

    Parameters
    ----------
    most : int
        How many are kept.

    Examples
    --------
    >>> kept = Kept[int](most=2)
    >>> kept.get(("a", 1)), kept.put(("a", 1), 7), kept.get(("a", 1)), kept.put((["a"],), 9)
    (None, 7, 7, 9)
    """

    def __init__(self, *, most: int = 4) -> None:
        self.most = most
        self._found: OrderedDict[Hashable, _T] = OrderedDict()

    def get(self, key: tuple[object, ...]) -> _T | None:
        """Give what was made for a key; None if it must be made.

        Parameters
        ----------
        key : tuple
            All that the thing depends on.

        Returns
        -------
        thing or None
        """
        if not _has_hash(key) or key not in self._found:
            return None
        self._found.move_to_end(key)
        return self._found[key]

    def put(self, key: tuple[object, ...], made: _T) -> _T:
        """Keep what was made for a key, if the key has a hash.

        Parameters
        ----------
        key : tuple
            All that the thing depends on.
        made : thing

        Returns
        -------
        thing
            `made`.
        """
        if _has_hash(key):
            self._found[key] = made
            while len(self._found) > self.most:
                self._found.popitem(last=False)
        return made

    def cache_clear(self) -> None:
        """Forget all."""
        self._found.clear()


def _has_hash(key: tuple[object, ...]) -> bool:
    try:
        hash(key)
    except TypeError:
        return False
    return True


class Same:
    """Stands for a thing in a key: equal only to what holds the very same thing.

    It keeps the thing alive, so that no other one can take its place.

    Parameters
    ----------
    held : object
    """

    def __init__(self, held: object) -> None:
        self.held = held

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.held is self.held

    def __hash__(self) -> int:
        return id(self.held)
