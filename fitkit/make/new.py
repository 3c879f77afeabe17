"""A new part from nothing: an empty readings file, a part sheet and a notebook to work in."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.errors import SheetError
from fitkit.export.bodies import file_name

if TYPE_CHECKING:
    from fitkit.parts.contract import Template

__all__ = ["new_part"]

REPEATS = 3


def new_part(
    title: str, *, template: str = "board case", folder: str | Path = "."
) -> tuple[Path, ...]:
    """Write the three files that a new part starts from.

    Parameters
    ----------
    title : str
        The maker's name for the part.
    template : str
        Title of the template that it starts with; the sheet can name another later.
    folder : path
        Where the part sheet goes; readings go to ``readings`` below it.

    Returns
    -------
    tuple of Path
        Readings file, part sheet, notebook.

    Raises
    ------
    SheetError
        If one of the files is there already: nothing is written then.
    """
    from fitkit.files import create_atomic
    from fitkit.parts import template as find_template

    kind = find_template(template)
    stem, folder = file_name(title).replace("-", "_"), Path(folder)
    contents = {
        folder / "readings" / f"{stem}.csv": _readings(title, kind),
        folder / f"{stem}.toml": _sheet(title, kind, stem),
        folder / f"{stem}.ipynb": _notebook(title, stem),
    }
    for path in contents:
        if path.exists():
            raise SheetError(
                "is there already", where=str(path), remedy="Choose another name, or move it away."
            )
    return tuple(create_atomic(path, text) for path, text in contents.items())


def _measured(kind: type[Template]) -> dict[str, str]:
    """Parameters of the template that are read off the real object, with their help."""
    found = {}
    for name, field in kind.model_fields.items():
        extra = field.json_schema_extra
        if isinstance(extra, dict) and extra.get("measured"):
            found[name] = field.description or ""
    return found


def _readings(title: str, kind: type[Template]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(
        ("item", "feature", "mode", "reading", "unit", "instrument", "taken_at", "note", "round")
    )
    for name, help_text in _measured(kind).items():
        for repeat in range(REPEATS):
            note = "" if repeat else help_text
            feature = name.replace("_", " ")
            writer.writerow((title, feature, "outside", "", "mm", "bench calipers", "", note, ""))
    return text.getvalue()


def _sheet(title: str, kind: type[Template], stem: str) -> str:
    import tomlkit

    sheet = tomlkit.document()
    sheet.add(tomlkit.comment("Lengths are numbers with units, or expressions of features read."))
    sheet.add("schema", 1)
    sheet.add("title", title)
    sheet.add("template", kind.title)
    sheet.add("readings", f"readings/{stem}.csv")
    printer = tomlkit.table()
    printer.add(tomlkit.comment('profile = "..." once a coupon was measured'))
    printer.add("generic", "PETG")
    sheet.add("printer", printer)
    values = tomlkit.table()
    for name in _measured(kind):
        values.add(name, name)
    sheet.add("values", values)
    use = tomlkit.table()
    use.add("handling", "touched")
    sheet.add("use", use)
    return tomlkit.dumps(sheet)


def _notebook(title: str, stem: str) -> str:
    cells = [
        _text(
            f"# {title}\n\nType the readings, look at the part, make it, write down how it fitted."
        ),
        _text("## 1. Readings\n\nEnter goes to the next repeat; each finished row is saved."),
        _code(
            "from fitkit.widgets import part_panel, readings_grid, trial_entry\n\n"
            f'readings_grid("readings/{stem}.csv")'
        ),
        _text("## 2. The part\n\nMeasured, target and drawn sizes stand beside the preview."),
        _code(f'part_panel("{stem}.toml")'),
        _text("## 3. How it fitted\n\nAfter the print: pick its trace code, type what you found."),
        _code('trial_entry("journal")'),
    ]
    notebook = {
        "cells": cells,
        "metadata": {
            "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"}
        },
        "nbformat": 4,
        "nbformat_minor": 5,
    }
    for number, cell in enumerate(cells):
        cell["id"] = f"step-{number}"
    return json.dumps(notebook, indent=1, ensure_ascii=False) + "\n"


def _text(source: str) -> dict[str, Any]:
    return {"cell_type": "markdown", "metadata": {}, "source": source}


def _code(source: str) -> dict[str, Any]:
    return {
        "cell_type": "code",
        "execution_count": None,
        "metadata": {},
        "outputs": [],
        "source": source,
    }
