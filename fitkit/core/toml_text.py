"""A TOML text with other values, its comments, its order and its blank lines kept.

A file that a person wrote stays theirs: only what has changed is written differently. tomlkit holds
the text as a document; this file carries values over into it, through tables and lists of tables.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, MutableMapping

__all__ = ["changed_text"]


def changed_text(text: str, content: Mapping[str, Any], said: Mapping[str, Any]) -> str:
    """Give a TOML text with other values.

    Parameters
    ----------
    text : str
        As it is in the file.
    content : mapping
        All that the new text stands for; keys of the text that are not here are taken out.
    said : mapping
        What has to be in the text; keys that are in `content` alone are added nowhere, since they
        stand at their defaults.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        If the text is not TOML.
    """
    import tomlkit

    document = tomlkit.parse(text)
    _carry(document, content, said)
    return tomlkit.dumps(document)


def _carry(
    table: MutableMapping[str, Any], content: Mapping[str, Any], said: Mapping[str, Any]
) -> None:
    """Make one table say what it should, and the tables in it."""
    for key in [key for key in table if key not in content]:
        del table[key]
    for key, value in content.items():
        if key in table:
            _put(table, key, value, said.get(key, value))
        elif key in said and value not in ({}, []):
            _add(table, key, value)


def _add(table: MutableMapping[str, Any], key: str, value: Any) -> None:
    """Add a key: a plain one comes behind the last plain one, not behind what heads a table."""
    import tomlkit

    simple = not isinstance(value, dict) and not _are_tables(value)
    plain = [name for name, there in table.items() if not _heads_a_table(there)]
    holder = getattr(table, "value", table)
    if simple and plain and len(plain) < len(table) and hasattr(holder, "_insert_after"):
        # tomlkit has no public way to put a key at a place.
        holder._insert_after(plain[-1], key, tomlkit.item(value))
    else:
        table[key] = value


def _heads_a_table(there: Any) -> bool:
    from tomlkit.items import AoT, Table

    return isinstance(there, AoT | Table)


def _put(table: MutableMapping[str, Any], key: str, value: Any, said: Any) -> None:
    """Change the value of a key that is there, unless it is that value already."""
    from collections.abc import Mapping as AnyMapping

    there = table[key]
    if _plain(there) == value:
        return
    if isinstance(value, AnyMapping) and isinstance(there, AnyMapping):
        _carry(there, value, said if isinstance(said, AnyMapping) else value)  # type: ignore[arg-type]  # a tomlkit table takes values
    elif _are_tables(value) and _are_tables(there):
        for number, item in enumerate(value[: len(there)]):
            _carry(there[number], item, item)
        for item in value[len(there) :]:
            there.append(item)
        del there[len(value) :]
    else:
        table[key] = value


def _are_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(one, dict) for one in value)


def _plain(value: Any) -> Any:
    return value.unwrap() if hasattr(value, "unwrap") else value
