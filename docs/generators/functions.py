"""A page for each room with its public functions and classes; Sphinx reads their docstrings."""

from __future__ import annotations

import importlib
import inspect
from typing import TYPE_CHECKING

from generators.rst import anchor, heading, toctree

if TYPE_CHECKING:
    from collections.abc import Iterator

# What authors of parts, notebooks and scripts build on, room by room, from the ground up.
ROOMS = (
    "core.errors",
    "core.units",
    "core.sizes",
    "core.given_file",
    "core.described",
    "workshop",
    "readings",
    "stats",
    "calibration",
    "fits",
    "solids",
    "parts",
    "checks",
    "drawings",
    "export",
    "journal",
    "flow",
    "make",
    "views.notebook",
    "views.lessons",
    "views.schemas",
    "widgets",
)


def public(room: str) -> list[str]:
    """Name what a room promises and has written itself."""
    module = importlib.import_module(f"fitkit.{room}")
    names = []
    for name in sorted(module.__all__, key=str.casefold):
        thing = getattr(module, name)
        # Names handed on from other libraries have their own documents.
        if getattr(thing, "__module__", "").startswith("fitkit") and callable(thing):
            names.append(name)
    return names


def pages() -> Iterator[tuple[str, str]]:
    """Give each page's path below ``reference/`` and its text."""
    for room in ROOMS:
        module = importlib.import_module(f"fitkit.{room}")
        full = f"fitkit.{room}"
        lines = [*heading(full), (inspect.getdoc(module) or "").split("\n\n")[0], ""]
        lines += [f".. py:module:: {full}", ""]
        for name in public(room):
            thing = getattr(module, name)
            if inspect.isclass(thing):
                lines += [f".. autoclass:: {full}.{name}", "   :members:", ""]
            else:
                lines += [f".. autofunction:: {full}.{name}", ""]
        yield f"functions/{anchor(room)}.rst", "\n".join(lines)
    lead = "Lengths are mm inside, in names that end in ``_mm``; elsewhere they carry their unit."
    index = [*heading("Functions and classes"), lead, "", *toctree(*map(anchor, ROOMS))]
    yield "functions/index.rst", "\n".join(index)
