"""How a feature is read, whether it is round, and between which holes a span lies.

Jaws and roundness decide which correction a reading of flat jaws gets.
A person who types ``hole spacing`` says all that the correction needs, without a column for it.
What the columns ``round`` and ``between`` say wins; then what the template declares of the features
that it asks for; then the name. ``round`` = no and ``between`` = none keep a feature from being
taken so. Left out: spans read with outside jaws over the web between two holes, which flat jaws
read as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitkit.readings.kinds import is_hole, says_span, words_of
from fitkit.readings.names import folded_items

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from fitkit.readings.table import ReadingTable

__all__ = ["NO_HOLES", "Kind", "with_kinds", "with_modes"]

# What the column ``between`` says of a feature that is not a span over holes whatever its name.
NO_HOLES = "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What the columns ``mode``, ``round`` and ``between`` say of a feature.

    Attributes
    ----------
    mode : {"outside", "inside", "depth", "step", ""}
    round : {"yes", "no", ""}
    between : str
        Names of the holes whose far walls a span's jaws touch, as in the column; may be empty.
    """

    mode: str = ""
    round: str = ""
    between: str = ""


def with_modes(
    table: ReadingTable, declared: Mapping[str, Kind]
) -> tuple[ReadingTable, dict[str, str]]:
    """Take readings whose mode nobody typed as the template reads its features.

    Parameters
    ----------
    table : ReadingTable
    declared : mapping of feature name to Kind
        What a template says of the features that it asks for; names are compared as in
        `with_kinds`.

    Returns
    -------
    ReadingTable
        With the same rows.
    dict of feature name to str
        What there is to say of a feature: that its mode was taken from the template, or that what
        was typed is another one.
    """
    frame = table.frame
    wanted = {_folded(name): kind.mode for name, kind in declared.items() if kind.mode}
    asked = frame["feature"].map(lambda name: wanted.get(_folded(name), ""))
    open_ = (frame["mode_as_typed"] == "") & (asked != "") & (asked != frame["mode"])
    other = (frame["mode_as_typed"] != "") & (asked != "") & (asked != frame["mode"])
    notes = {
        name: f"taken as {mode} readings, as the template reads it, since no mode is typed"
        for name, mode in zip(frame["feature"][open_], asked[open_], strict=True)
    }
    notes |= {
        name: f"typed as {typed} readings, but the template means it to be read as {mode}: the "
        "jaws decide which correction a reading gets"
        for name, typed, mode in zip(
            frame["feature"][other], frame["mode"][other], asked[other], strict=True
        )
    }
    if not open_.any():
        return table, notes
    return replace(table, frame=frame.assign(mode=frame["mode"].where(~open_, asked))), notes


def with_kinds(table: ReadingTable, declared: Mapping[str, Kind] | None = None) -> ReadingTable:
    """Fill the empty cells of ``round`` and ``between`` from what is declared, else by name.

    Parameters
    ----------
    table : ReadingTable
    declared : mapping of feature name to Kind, optional
        What a template says of the features that it asks for; names are compared without regard to
        capitals, blanks, hyphens and underscores.

    Returns
    -------
    ReadingTable
        With the same rows.
    """
    import pandas as pd

    frame = table.frame
    inside = (frame["mode"] == "inside") & (frame["rejected"] == "")
    if not inside.any():
        return table
    rows = pd.DataFrame(
        {
            "item": folded_items(frame["item"]),
            "feature": frame["feature"],
            "round": _column(frame, "round"),
            "between": _column(frame, "between"),
        }
    )[inside]
    known = {_folded(name): kind for name, kind in (declared or {}).items()}
    found: dict[tuple[str, str], Kind] = {}
    for item, part in rows.drop_duplicates().groupby("item", sort=False):
        found |= {(str(item), name): kind for name, kind in _kinds(part, known).items()}
    keys = list(zip(rows["item"], rows["feature"], strict=True))
    changed = {}
    for column in ("round", "between"):
        cells = _column(frame, column).copy()
        filled = rows[column].where(
            rows[column] != "", [getattr(found[key], column) for key in keys]
        )
        if not filled.equals(rows[column]):
            cells[inside] = filled
            changed[column] = cells
    return replace(table, frame=frame.assign(**changed)) if changed else table


def _kinds(rows: pd.DataFrame, declared: Mapping[str, Kind]) -> dict[str, Kind]:
    """Give what the empty cells of one item's inside features should say."""
    said: dict[str, Kind] = {}
    for name, is_round, between in zip(
        rows["feature"], rows["round"], rows["between"], strict=True
    ):
        before = said.get(name, Kind())
        said[name] = Kind(round=is_round or before.round, between=between or before.between)
    holes = [
        name
        for name, kind in said.items()
        if kind.round == "yes"
        or (not kind.round and (_told(declared, name).round == "yes" or is_hole(name)))
    ]
    found = {}
    for name, kind in said.items():
        told = _told(declared, name)
        is_round = kind.round or ("yes" if name in holes else told.round)
        between = kind.between
        if not between and name not in holes:
            between = _read_names(told.between, holes) or _by_name(name, holes)
        found[name] = Kind(round=is_round, between=between)
    return found


def _by_name(span: str, holes: list[str]) -> str:
    """Find the holes that a span lies between: those that its name names, or the only one."""
    words = f" {' '.join(words_of(span))} "
    found = {name: words.find(f" {' '.join(words_of(name))} ") for name in holes}
    named = sorted((name for name, at in found.items() if at >= 0), key=found.__getitem__)
    if len(named) == 2:
        return "; ".join(named)
    if not says_span(span):
        return ""
    if len(named) == 1:
        return named[0]
    return holes[0] if len(holes) == 1 else ""


def _read_names(between: str, holes: Iterable[str]) -> str:
    """Give a declared name of holes as the readings spell it; empty if one was not read."""
    spelt = {_folded(name): name for name in holes}
    names = [_folded(name) for name in between.split(";") if name.strip()]
    if not names or not all(name in spelt for name in names):
        return ""
    return "; ".join(spelt[name] for name in names)


def _told(declared: Mapping[str, Kind], name: str) -> Kind:
    return declared.get(_folded(name), Kind())


def _folded(name: str) -> str:
    return "".join(words_of(name))


def _column(frame: pd.DataFrame, name: str) -> pd.Series:
    import pandas as pd

    return frame[name] if name in frame else pd.Series("", index=frame.index, dtype=object)
