"""Notes gathered for a person: each said once, with the names that it is about.

Notes that differ in a figure or two alone are of one kind: several of them become one line, with
the lowest and the highest figure. What stands in brackets, such as where a figure comes from, is
left out of that line; each size keeps its own note in panel and record.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["gathered"]

# As many notes of a kind, and more, become one line; if no more figures than this differ.
_MANY = 3
_MOST_RANGES = 2
_FIGURE = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?(?![\w.]*\w)")
_BRACKETS = re.compile(r" \([^()]*\)")


def gathered(notes: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Say each note once, in the order in which it first came up, like ones in one line.

    Parameters
    ----------
    notes : iterable of (name, note)

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> gathered([("lid", "generic"), ("rim", "generic"), ("peg", "one reading")])
    ('lid, rim: generic', 'peg: one reading')
    >>> gathered([("a", "off by -0.02 mm (X1)"), ("b", "off by 0.01 mm"), ("c", "off by +0.03 mm")])
    ('a, b, c: off by -0.02 to +0.03 mm',)
    """
    about: dict[str, list[str]] = {}
    for name, note in notes:
        about.setdefault(note, []).append(name)
    kinds: dict[str, list[str]] = {}
    for note in about:
        kinds.setdefault(_kind(note), []).append(note)
    lines: dict[str, None] = {}
    for note, names in about.items():
        alike = kinds[_kind(note)]
        folded = _folded(alike) if len(alike) >= _MANY else None
        if folded is None:
            lines[f"{_some(names)}: {note}"] = None
        else:
            every = [name for one in alike for name in about[one]]
            lines[f"{_things(every)}: {folded}"] = None
    return tuple(lines)


def _kind(note: str) -> str:
    return _FIGURE.sub("#", _BRACKETS.sub("", note))


def _folded(alike: list[str]) -> str | None:
    """Give one sentence for notes of a kind; None if too many figures differ to say them."""
    plain = [_BRACKETS.sub("", note) for note in alike]
    columns = list(zip(*(_FIGURE.findall(note) for note in plain), strict=True))
    differing = [len(set(column)) > 1 for column in columns]
    if sum(differing) > _MOST_RANGES:
        return None
    spans = iter(
        f"{min(column, key=float)} to {max(column, key=float)}" if differs else column[0]
        for column, differs in zip(columns, differing, strict=True)
    )
    return _FIGURE.sub(lambda _: next(spans), plain[0])


def _things(names: list[str]) -> str:
    """Name what many notes are about: sizes of one thing together, with how many."""
    shown = list(dict.fromkeys(names))
    if len(shown) <= _MANY:
        return ", ".join(shown)
    counts: dict[str, int] = {}
    for name in shown:
        thing, sign, _ = name.partition(": ")
        counts[thing if sign else name] = counts.get(thing if sign else name, 0) + 1
    told = [f"{thing} ({count} sizes)" if count > 1 else thing for thing, count in counts.items()]
    return ", ".join(told)


def _some(names: list[str]) -> str:
    shown = list(dict.fromkeys(names))
    more = f" and {len(shown) - 3} more" if len(shown) > 3 else ""
    return ", ".join(shown[:3]) + more
