"""JSON schemas of the files that people write, for editors that complete and check while one types.

They are made from the models that the files are checked by, so they cannot say something else.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitkit.core.described import json_schema

if TYPE_CHECKING:
    from pydantic import BaseModel

__all__ = ["FILES", "model_of", "schema_of"]

# What each kind of file is called, as a command takes it.
FILES = {
    "sheet": "part sheet",
    "workshop": "workshop file",
    "instruments": "instruments file",
    "material": "material file",
    "exhibit": "exhibit's file",
}


def model_of(kind: str) -> type[BaseModel]:
    """Find the model of a kind of file; kinds are those of `FILES`."""
    if kind == "sheet":
        from fitkit.flow.sheet import PartSheet

        return PartSheet
    if kind == "workshop":
        from fitkit.workshop import WorkshopFile

        return WorkshopFile
    if kind == "instruments":
        from fitkit.readings.instruments import InstrumentsFile

        return InstrumentsFile
    if kind == "exhibit":
        from fitkit.make.exhibit import Exhibit

        return Exhibit
    from fitkit.checks.material import Material

    return Material


def schema_of(kind: str) -> dict[str, Any]:
    """Give the JSON schema of a kind of file; kinds are those of `FILES`."""
    return json_schema(model_of(kind), title=FILES[kind])
