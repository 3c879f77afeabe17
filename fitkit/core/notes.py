"""Notes gathered for a person: each said once, with the names that it is about."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["gathered"]


def gathered(notes: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Say each note once, in the order in which it first came up.

    Parameters
    ----------
    notes : iterable of (name, note)

    Examples
    --------
    >>> gathered([("lid", "generic"), ("rim", "generic"), ("peg", "one reading")])
    ('lid, rim: generic', 'peg: one reading')
    """
    about: dict[str, list[str]] = {}
    for name, note in notes:
        about.setdefault(note, []).append(name)
    return tuple(f"{_some(names)}: {note}" for note, names in about.items())


def _some(names: list[str]) -> str:
    shown = list(dict.fromkeys(names))
    more = f" and {len(shown) - 3} more" if len(shown) > 3 else ""
    return ", ".join(shown[:3]) + more
