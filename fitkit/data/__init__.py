"""Tables of published and common-practice figures, each with its source, and their one loader.

A table is a CSV whose first lines start with ``#`` and give, in any order, ``source:``,
``edition:``, ``taken:`` (date) and ``licence:``. A value without a source says ``source: common
practice, no source`` or ``source: from memory``. The header row names the units (``gap_mm``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["SourcedTable", "load_table", "table_names"]


@dataclass(frozen=True, slots=True, eq=False)
class SourcedTable:
    """A data frame and where its figures come from.

    Attributes
    ----------
    name : str
        File name without ending.
    frame : pandas.DataFrame
        The figures; treat as read-only, it is cached.
    source, edition, taken, licence : str
        From the ``#`` lines on top of the file.
    """

    name: str
    frame: pd.DataFrame
    source: str
    edition: str
    taken: str
    licence: str


def table_names() -> list[str]:
    """Names of all shipped tables, sorted."""
    return sorted(
        entry.name.removesuffix(".csv")
        for entry in files(__name__).iterdir()
        if entry.name.endswith(".csv")
    )


@cache
def load_table(name: str) -> SourcedTable:
    """Load a shipped table with its source lines.

    Raises
    ------
    LookupError
        If the table is not shipped, or lacks one of its four source lines.
    """
    import pandas as pd

    path = files(__name__).joinpath(f"{name}.csv")
    if not path.is_file():
        raise LookupError(f"no table {name!r}; there are: {', '.join(table_names())}")
    head: dict[str, str] = {}
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            if not line.startswith("#"):
                break
            key, _, value = line.lstrip("# ").partition(":")
            head[key.strip()] = value.strip()
    missing = [key for key in ("source", "edition", "taken", "licence") if not head.get(key)]
    if missing:
        raise LookupError(f"table {name!r} does not say its {', '.join(missing)}")
    with path.open(encoding="utf-8") as stream:
        frame = pd.read_csv(stream, comment="#", keep_default_na=False, na_values=[""])
    return SourcedTable(name, frame, *(head[k] for k in ("source", "edition", "taken", "licence")))
