"""Public names of a room that load the file they live in on first use: imports stay cheap."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["names_from"]


def names_from(room: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Give a room's ``__getattr__``: each name comes from the file that `homes` says."""

    def find(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {room!r} has no attribute {name!r}")
        return getattr(import_module(f"{room}.{homes[name]}"), name)

    return find
