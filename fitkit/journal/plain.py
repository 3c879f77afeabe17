"""Content of other rooms as plain data (dicts, lists, text, numbers) that JSON keeps unchanged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from fitkit.core.errors import JournalError
from fitkit.core.given_file import without_place

__all__ = ["plain", "profile_data", "typed_values"]


def plain(thing: Any, *, depth: int = 0) -> Any:
    """Copy nested content as plain data; not-finite numbers become text, which `float` reads.

    Raises
    ------
    JournalError
        If it is nested without end, or holds what is no data.
    """
    if depth > 30:
        raise JournalError("content is nested too deeply for a record", code="journal.too-deep")
    match thing:
        case None | bool() | int() | str():
            return thing
        case float():
            return float(thing) if math.isfinite(thing) else str(float(thing))
        case Path() | date():
            return str(thing)
        case Mapping():
            return {str(key): plain(value, depth=depth + 1) for key, value in thing.items()}
        case list() | tuple():
            return [plain(value, depth=depth + 1) for value in thing]
        case set() | frozenset():  # whose own order differs from one process to the next
            return [plain(value, depth=depth + 1) for value in sorted(thing, key=str)]
        case BaseModel():
            return plain(thing.model_dump(by_alias=True), depth=depth + 1)
    if is_dataclass(thing) and not isinstance(thing, type):
        return {f.name: plain(getattr(thing, f.name), depth=depth + 1) for f in fields(thing)}
    if hasattr(thing, "tolist"):  # arrays of NumPy, and its numbers
        return plain(thing.tolist(), depth=depth + 1)
    raise JournalError(
        f"a value of the kind {type(thing).__name__} cannot be stored in a record",
        code="journal.not-plain-data",
    )


def typed_values(template: BaseModel) -> dict[str, Any]:
    """Give a template's parameters as `Template.of` takes them, every digit kept."""
    from fitkit.parts.contract import unit_of

    return {
        name: _typed(getattr(template, name), unit_of(field.annotation, field.metadata))
        for name, field in type(template).model_fields.items()
    }


def _typed(value: Any, unit: str) -> Any:
    if isinstance(value, BaseModel):
        return typed_values(value)
    if isinstance(value, (list, tuple)):
        return [_typed(item, unit) for item in value]
    if isinstance(value, str):
        return without_place(value)  # where a given shape lay is no part of what was made
    if isinstance(value, float) and unit:
        import numpy as np

        # Never with an exponent, which a reader of lengths need not know; these digits are enough
        # to get the same float back.
        return f"{np.format_float_positional(value, trim='0')} {unit}"
    return value


def profile_data(profile: Any) -> dict[str, Any]:
    """Give a printer's profile as its file would hold it."""
    if profile is None:
        return {}
    if isinstance(profile, Mapping):
        return dict(plain(profile))
    from fitkit.calibration.profile_file import profile_content

    return dict(plain(profile_content(profile)))
