"""What the keys of a file are: for each, its kind of value, its default, and what it is for.

Read from the pydantic models that the files are checked by, so that a reference and an editor say
what the program does. The words come from a field's description, else from the section "Attributes"
of the model's docstring.
"""

from __future__ import annotations

import datetime as dt
import inspect
import re
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from fitkit.core.units import to_mm

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic.fields import FieldInfo

__all__ = ["Key", "attributes_of", "json_schema", "keys_of"]

_WORDS: dict[object, str] = {
    str: "text",
    dt.date: "date",
    bool: "true or false",
    int: "whole number",
    float: "number",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key of a file.

    Attributes
    ----------
    name : str
        As the file writes it, with the tables that it stands in: ``habits.repeats``.
    takes : str
        The kind of value, in words.
    default : str
        As the file would write it; empty where there is none to write.
    must : bool
        Whether it has to be given.
    help : str
        What it is for.
    """

    name: str
    takes: str
    default: str
    must: bool
    help: str


def attributes_of(kind: type) -> dict[str, str]:
    """Read the section "Attributes" of a class's docstring.

    Returns
    -------
    dict of name to text
        The text on one line; names that share a text each have it.
    """
    doc = inspect.cleandoc(kind.__doc__ or "")
    _, _, section = doc.partition("Attributes\n----------\n")
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section.splitlines():
        if re.match(r"\S", line) and not line.startswith("-"):
            names = [name.strip() for name in line.partition(" : ")[0].split(",")]
            found |= dict.fromkeys(names, "")
        elif line.strip():
            for name in names:
                found[name] = f"{found[name]} {line.strip()}".strip()
    return found


def keys_of(model: type[BaseModel], *, under: str = "") -> Iterator[Key]:
    """List the keys of a file's model, those of its tables included.

    Parameters
    ----------
    model : type
        Of the file, or of one of its tables.
    under : str
        Dotted name of the table that it stands for; empty for the whole file.

    Yields
    ------
    Key
        A table that holds a model is left out; its keys stand in its place.
    """
    said = attributes_of(model)
    for name, info in model.model_fields.items():
        if info.exclude:
            continue
        full = f"{under}{info.alias or name}"
        inner, many = _model_in(info.annotation)
        if inner is not None:
            yield from keys_of(inner, under=f"{full}[]." if many else f"{full}.")
            continue
        default = info.get_default(call_default_factory=True)
        yield Key(
            name=full,
            takes=_takes(info.annotation, info),
            default=_written(default),
            must=default is PydanticUndefined,
            help=info.description or said.get(name, ""),
        )


def json_schema(model: type[BaseModel], *, title: str) -> dict[str, Any]:
    """Write a file's model as a JSON schema, for editors that complete and check while one types.

    Parameters
    ----------
    model : type
    title : str
        What the file is, such as ``part sheet``.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    schema = model.model_json_schema(by_alias=True)
    tables = {kind.__name__: kind for kind in _models(model)}
    parts = {model.__name__: schema, **schema.get("$defs", {})}
    for name, part in parts.items():
        kind = tables.get(name)
        if kind is None:
            continue
        part.pop("description", None)  # it is written for who reads the code
        said = attributes_of(kind)
        for key, info in kind.model_fields.items():
            known = part.get("properties", {})
            if info.exclude:
                known.pop(info.alias or key, None)
            elif (entry := known.get(info.alias or key)) is not None:
                entry.setdefault("description", said.get(key, ""))
                entry.pop("title", None)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": title,
    }


def _models(model: type[BaseModel]) -> Iterator[type[BaseModel]]:
    yield model
    for info in model.model_fields.values():
        inner, _ = _model_in(info.annotation)
        if inner is not None:
            yield from _models(inner)


def _model_in(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """Find the model that a field holds, and whether it holds several or by name."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation, False
    origin, parts = get_origin(annotation), get_args(annotation)
    for part in parts[:1] if origin is Annotated else parts:
        found, many = _model_in(part)
        if found is not None:
            return found, many or origin in (tuple, list, dict)
    return None, False


def _takes(annotation: Any, info: FieldInfo | None = None) -> str:
    """Say what kind of value a field takes."""
    origin, parts = get_origin(annotation), get_args(annotation)
    words = _WORDS.get(annotation, "")
    if _is_length([*parts, *(info.metadata if info is not None else ())]):
        words = "length with its unit"
    elif origin is Annotated:
        words = _takes(parts[0])
    elif origin is Literal:
        words = " or ".join(f'"{part}"' if isinstance(part, str) else str(part) for part in parts)
    elif origin in (Union, UnionType):
        words = " or ".join(dict.fromkeys(_takes(p) for p in parts if p is not NoneType))
    elif origin in (tuple, list):
        words = f"list of {_takes(parts[0])}"
    elif origin is dict or annotation is dict:
        words = "table"
    bounds = []
    for item in info.metadata if info is not None else ():
        for name, sign in (("ge", "at least"), ("gt", "above"), ("le", "at most"), ("lt", "below")):
            if (bound := getattr(item, name, None)) is not None:
                bounds.append(f"{sign} {bound:g}")
    return ", ".join([words or "value", *bounds])


def _is_length(metadata: list[Any]) -> bool:
    return any(getattr(item, "func", None) is to_mm for item in metadata)


def _written(value: object) -> str:
    """Write a default as a TOML file would; empty for none."""
    if value is None or value is PydanticUndefined or value in ((), {}, ""):
        return ""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple | list):
        return f"[{', '.join(_written(item) for item in value)}]"
    return f'"{value}"' if isinstance(value, str) else str(value)
