"""One way to lay out a table on a terminal: numbers whole, words whole, nothing beyond its edge.

A column of numbers is as wide as its numbers. What is left is shared by columns of words: each gets
its longest word, and only where those do not fit together is a word folded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.views.output import shown

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from rich.console import Console

__all__ = ["print_table", "the_console"]

_BETWEEN = 3  # signs between columns
_LEAST = 4  # of a column, however little room there is


def the_console(stderr: bool = False) -> Console:
    """Give the terminal as the commands write to it."""
    from rich.console import Console

    return Console(stderr=stderr, highlight=False, soft_wrap=False)


def print_table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    title: str = "",
    numbers: Collection[str] = (),
    console: Console | None = None,
) -> None:
    """Print a table.

    Parameters
    ----------
    heads : sequence of str
        Line ends break a head there.
    rows : sequence of sequences of str
        Cells as text; control characters are shown by their number.
    title : str
    numbers : collection of str
        Heads of the columns that hold figures, which are never broken.
    console : Console, optional
        The usual one if not given.
    """
    from rich import box
    from rich.table import Table

    console = console or the_console()
    table = Table(
        title=shown(title) if title else None,
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
    )
    cells = [[shown(cell) for cell in row] for row in rows]
    words = {
        head: max(
            (len(word) for cell in (head, *(row[nth] for row in cells)) for word in cell.split()),
            default=_LEAST,
        )
        for nth, head in enumerate(heads)
        if head not in numbers
    }
    figures = sum(
        max(len(line) for cell in (head, *(row[nth] for row in cells)) for line in cell.split("\n"))
        for nth, head in enumerate(heads)
        if head in numbers
    )
    room = console.width - figures - _BETWEEN * len(heads)
    for head in heads:
        if head in numbers:
            table.add_column(head, justify="right", no_wrap=True)
        else:
            table.add_column(head, overflow="fold", min_width=_shares(words, room)[head])
    for row in cells:
        table.add_row(*row)
    console.print(table)


def _shares(words: dict[str, int], room: int) -> dict[str, int]:
    """Give each column its longest word; where they do not fit, the longest give way."""
    given = dict(words)
    while sum(given.values()) > room and max(given.values()) > _LEAST:
        widest = max(given, key=lambda head: given[head])
        given[widest] -= 1
    return given
