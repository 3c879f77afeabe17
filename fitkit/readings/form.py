"""The form of a readings file, so that saving it leaves it the kind of file that it was.

Separator, encoding, byte order mark and line ends are taken from the file as it lies there; a new
one is UTF-8 with commas, or tabs if its name ends in .tsv. The user's own columns keep their names
and cells, even where fitkit uses such a name for something else.
"""

from __future__ import annotations

import codecs
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from os import PathLike

__all__ = ["FileForm", "named_columns", "own_name"]

# Goes behind the name of a column of the user's own that is called as one that we work out.
_OWN = " (own)"
_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


@dataclass(frozen=True, slots=True, kw_only=True)
class FileForm:
    """How a table is written as text."""

    separator: str = ","
    encoding: str = "utf-8"
    line_end: Literal["\n", "\r\n"] = "\n"

    @classmethod
    def of(cls, path: str | PathLike[str]) -> Self:
        """Take the form of a file; that of a new one, by its name, if it is not there or empty.

        Raises
        ------
        OSError
            If it cannot be read.
        """
        from fitkit.core.files import read_plain
        from fitkit.core.tables import separator_of

        path = Path(path)
        content = read_plain(path) if path.exists() else b""
        if not content.strip():
            return cls(separator="\t" if path.suffix.lower() == ".tsv" else ",")
        encoding = _encoding(content)
        text = content.decode(encoding, errors="replace")
        return cls(
            separator=separator_of(text),
            encoding=encoding,
            line_end="\r\n" if "\r\n" in text else "\n",
        )

    def written(self, header: Iterable[str], rows: Iterable[Sequence[object]]) -> bytes:
        """Write a table's rows as the content of a file of this form.

        A letter that the file's encoding does not have turns the file to UTF-8 with its mark, which
        spreadsheets recognise. A cell that begins like a formula gets an apostrophe before it,
        which keeps spreadsheets from running it, and which is not read.
        """
        from fitkit.core.tables import table_text

        lines = ([_harmless(str(cell)) for cell in row] for row in (header, *rows))
        text = table_text(lines, separator=self.separator, line_end=self.line_end)
        try:
            return text.encode(self.encoding)
        except UnicodeEncodeError:
            return text.encode("utf-8-sig", errors="replace")


# What a spreadsheet would take for a formula, and no number begins with.
_FORMULA = re.compile(r"[=@\t\r]|[+\-](?![\d.,\s])")


def _harmless(cell: str) -> str:
    return f"'{cell}" if _FORMULA.match(cell) else cell


def _encoding(content: bytes) -> str:
    if content.startswith(codecs.BOM_UTF8):
        return "utf-8-sig"
    if content.startswith(_UTF16):
        return "utf-16"
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def named_columns(header: Sequence[str], computed: Iterable[str]) -> list[str]:
    """Give each column a name of its own, so that no cell is lost.

    Parameters
    ----------
    header : sequence of str
        As it stands in the file.
    computed : iterable of str
        Names that fitkit uses for what it works out.

    Returns
    -------
    list of str
        A column without a name is called by its place, ``column 5``; one whose name fitkit uses
        itself is marked, see `own_name`. Names that occur twice stay so.

    Examples
    --------
    >>> named_columns(["feature", "", "row"], ["row"])
    ['feature', 'column 2', 'row (own)']
    """
    ours, taken = set(computed), Counter(header)
    names = []
    for place, name in enumerate(header, 1):
        named = name
        if not name:
            named = f"column {place}"
            while taken[named]:
                named += "'"
        elif name in ours:
            named = f"{name}{_OWN}"
        names.append(named)
    return names


def own_name(name: str) -> str:
    """Give the name that a column has in the file.

    Examples
    --------
    >>> own_name("row (own)")
    'row'
    """
    return name.removesuffix(_OWN)
