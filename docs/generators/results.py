"""The page on what commands say with --json: every key, from the models that the schemas are of."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from generators.rst import entry, heading, plain, toctree

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


def pages() -> Iterator[tuple[str, str]]:
    """Give each page's path below ``reference/`` and its text."""
    from fitkit.views.results import RESULTS, WITHOUT, result_schema

    names: dict[str, list[str]] = {}
    for command, model in RESULTS.items():
        names.setdefault(model.__name__, []).append(command)
    for commands in names.values():
        command = commands[0]
        schema = result_schema(command)
        called = ", ".join(f"``fitkit {name} --json``" for name in commands)
        file = f"/reference/results/{command}.schema.json"
        lines = [
            *heading(f"Result of {', '.join(commands)}"),
            f"{called}: {plain(schema['description']).partition(':')[0]}.",
            "",
            f"A program may check it by :download:`this schema <{file}>`, which "
            f"``fitkit schema {command} --result`` prints too.",
            "",
            *_keys(schema["properties"], schema.get("$defs", {}), f"{command} --json."),
        ]
        yield f"results/{command}.rst", "\n".join(lines)
        yield f"results/{command}.schema.json", json.dumps(schema, indent=2, ensure_ascii=False)
    without = [f"- ``{name}``: {why}" for name, why in WITHOUT.items()]
    index = [
        *heading("Results as JSON"),
        "With ``--json`` a command prints its result as JSON on the output and nothing else there; "
        "what it is doing, and doubts about the journal, go to the error stream. A refused command "
        "prints no JSON, says why on the error stream, and ends with status 2.",
        "",
        "Lengths are in mm in keys that end in ``_mm``, chances and shares from 0 to 1, unknown is "
        "null, and no figure is rounded. ``schema_version`` rises when a key changes its meaning "
        "or goes; keys may be added at any time.",
        "",
        "Commands without it:",
        "",
        *without,
        "",
        *toctree(*(commands[0] for commands in names.values())),
    ]
    yield "results/index.rst", "\n".join(index)


def _keys(properties: Mapping[str, Any], parts: Mapping[str, Any], before: str) -> list[str]:
    """List the keys, those of the models in it too."""
    lines: list[str] = []
    for name, about in properties.items():
        path, inner = f"{before}{name}", _inner(about)
        said = plain(about.get("description", ""))
        model = parts.get(inner, {}) if inner else {}
        said = said or plain(model.get("description", ""))
        lines += entry("key", path, said or _takes(about))
        if model:
            ending = "[]" if about.get("type") == "array" else ""
            lines += _keys(model.get("properties", {}), parts, f"{path}{ending}.")
    return lines


def _inner(about: Mapping[str, Any]) -> str:
    """Name the model that a key holds, or holds a list or a table of."""
    inner = about.get("items", about.get("additionalProperties", about))
    while isinstance(inner, dict) and "items" in inner:
        inner = inner["items"]
    return str(inner.get("$ref", "")).rpartition("/")[2] if isinstance(inner, dict) else ""


def _takes(about: Mapping[str, Any]) -> str:
    """Say what kind of value a key has."""
    words = {"string": "text", "array": "a list", "object": "a table", "boolean": "true or false",
             "integer": "a whole number", "number": "a number", "null": "null"}  # fmt: skip
    if "const" in about:
        return f"Always {about['const']}."
    kinds = [one.get("type", "") for one in about.get("anyOf", [about])]
    said = " or ".join(words.get(kind, kind) for kind in kinds if kind)
    return f"{said[:1].upper()}{said[1:]}." if said else ""
