"""What the files of a new part say: readings to take, part sheet, notebook, instruments."""

from __future__ import annotations

import json
import textwrap
from typing import TYPE_CHECKING, Any, Literal, get_args, get_origin

from pydantic import BaseModel

from fitkit.readings.blank import blank_table
from fitkit.readings.instruments import MY_CALIPERS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from pydantic.fields import FieldInfo

    from fitkit.parts.contract import Template
    from fitkit.parts.measuring import FromReadings, Measuring, Reading

__all__ = [
    "INSTRUMENTS",
    "WIDTH",
    "notebook_text",
    "offered_lines",
    "readings_text",
    "sheet_text",
    "toml_text",
]

WIDTH = 100
INSTRUMENTS = f"""\
# Your instruments. A readings file names one in its column "instrument"; capitals and blanks do not
# count. The figures are usual ones of digital calipers (common practice, no source): put in yours.
schema = 1

[[instrument]]
name = "{MY_CALIPERS}"
resolution = "0.01 mm"       # step of the last digit
mpe = "0.03 mm"              # limit of error to either side, from the leaflet
repeatability = "0.02 mm"    # spread of one reading; a gauge study of your own tells better
repeatability_df = 5
basis = "usual figures of digital calipers; zero check and jaws by the owner"

# Wipe the jaws, close them five times, and write down the mean that they show, with its sign, and
# the day. Then take the # away.
# zero_error = "0.00 mm"
# zero_checked = 2026-01-31

# On a gauge block or a bearing, 'fitkit check-calipers' finds and writes down their error.

# For round holes: width over both measuring faces of the inside jaws, closed. Take the # away.
# inside_face = "0.5 mm"
# inside_face_tolerance = "0.1 mm"
"""


def readings_text(title: str, readings: Sequence[Reading], *, repeats: int, instrument: str) -> str:
    """Write an empty readings file: each feature as often as it is to be read."""
    return blank_table(
        {
            "item": title,
            "feature": one.feature,
            "mode": one.mode,
            "unit": "mm",
            "instrument": instrument,
            "note": "" if repeat else one.note,
            # An inside reading has to say whether the hole is round; of an outside, only yes tells.
            "round": "yes" if one.round else "no" if one.mode == "inside" else "",
            "between": one.between,
        }
        for one in readings
        for repeat in range(repeats)
    )


def sheet_text(
    title: str,
    kind: type[Template],
    measuring: Measuring,
    sizes: Sequence[FromReadings],
    *,
    values: Mapping[str, Any],
    readings: str,
    generic: str,
    handling: str,
) -> str:
    """Write a part sheet.

    Parameters
    ----------
    title : str
    kind : Template class
    measuring : Measuring
        Of the template.
    sizes : sequence of FromReadings
        Parameters that the variant takes from readings.
    values : mapping
        Parameters that the sheet sets beside, as a sheet holds them.
    readings : str
        Path of the readings file.
    generic, handling : str
        Examples of what the sheet may say where it differs from the workshop's habits.
    """
    lines = [
        "# Make it with 'make' and the name of this file. A size is a feature of the readings",
        '# file, a number with its unit ("2.4 mm"), or both together. Where you choose a size',
        "# rather than read it, write the number here. Printer, instruments, journal and handling",
        "# are the workshop's.",
        "schema = 1",
        f"title = {toml_text(title)}",
        f"template = {toml_text(kind.title)}",
        f"readings = {toml_text(readings)}",
        "",
        "[values]",
        *_values(kind, measuring, sizes, values),
        *_tables_to_add(kind, measuring, values),
        "",
        "# Where this part differs from the workshop's habits:",
        "# [printer]",
        f"# generic = {toml_text(generic)}",
        "# [use]",
        f"# handling = {toml_text(handling)}",
    ]
    return "\n".join(lines) + "\n"


def _values(
    kind: type[Template],
    measuring: Measuring,
    sizes: Sequence[FromReadings],
    values: Mapping[str, Any],
) -> Iterator[str]:
    for name, value in values.items():
        if not _is_rows(value):
            yield from _line(f"{name} = {toml_text(value)}", _said(kind.model_fields[name]))
    rows: dict[str, list[dict[str, Any]]] = {
        name: [dict(row) for row in value] for name, value in values.items() if _is_rows(value)
    }
    for one in sizes:
        head, _, path = one.parameter.partition(".")
        if path:  # of one row of a list of tables
            number, _, name = path.partition(".")
            rows[head][int(number)][name] = one.text
            continue
        help_text = kind.model_fields[head].description or ""
        yield from _line(f"{one.parameter} = {toml_text(one.text)}", help_text)
    yield from _unneeded(measuring, sizes, values)
    plain = [name for name in measuring.often if not _rows_of(kind, name) and name not in values]
    if plain:
        yield ""
        yield "# People often change these: take the # away before the name."
        for name in plain:
            yield from offered_lines(name, kind.model_fields[name])
    for name, each in rows.items():
        for row in each:
            yield ""
            yield from _line(f"[[values.{name}]]", kind.model_fields[name].description or "")
            yield from (f"{key} = {toml_text(value)}" for key, value in row.items())


def _unneeded(
    measuring: Measuring, sizes: Sequence[FromReadings], values: Mapping[str, Any]
) -> Iterator[str]:
    """Say how a feature that another variant needs is added."""
    told: set[str] = set()
    for one in measuring.sizes:
        if one in sizes or not one.when or one.parameter in values:
            continue
        when = " and ".join(
            f"{name} = {' or '.join(map(toml_text, wanted))}" for name, wanted in one.when.items()
        )
        if when not in told:
            yield f"# Where {when}: take this, and add its feature to the readings file."
            told.add(when)
        behind = "; ".join(
            f"{r.feature}, {r.mode}{', round' if r.round else ''}: {r.note}"
            for r in measuring.readings_of(one)
        )
        yield from _line(f"# {one.parameter} = {toml_text(one.text)}", behind)


def offered_lines(name: str, field: FieldInfo) -> Iterator[str]:
    """Write a parameter at its default as a comment, with what it is.

    Parameters
    ----------
    name : str
    field : pydantic field

    Yields
    ------
    str
        A line.
    """
    value, remark = _default(field), _said(field)
    if name == "label":
        remark = "text sunk into the part; without this line it is the trace code"
    if value is None:
        value = next(iter(_literals(field.annotation)), "")
        remark = f"{remark.rstrip('.')}; none without this line"
    yield from _line(f"# {name} = {toml_text(value)}", remark)


def _default(field: FieldInfo) -> object:
    """Give a parameter's default as it would be typed."""
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    return extra.get("typed_default", extra.get("usual", field.default))


def _tables_to_add(
    kind: type[Template], measuring: Measuring, values: Mapping[str, Any]
) -> Iterator[str]:
    """Show, as comments, one table of each list of tables that people often add."""
    for name in measuring.often:
        row = _rows_of(kind, name)
        if row is None:
            continue
        again = " more" if name in values else ""
        yield ""
        yield f"# {kind.model_fields[name].description or name} For each{again}, lines such as:"
        yield f"# [[values.{name}]]"
        for key, field in row.model_fields.items():
            value = _default(field)
            if value is not None and value != "":
                yield from _line(f"# {key} = {toml_text(value)}", _said(field))


def _rows_of(kind: type[Template], name: str) -> type[BaseModel] | None:
    """Find the model of a parameter that is a list of tables."""
    for item in get_args(kind.model_fields[name].annotation):
        if isinstance(item, type) and issubclass(item, BaseModel):
            return item
    return None


def _is_rows(value: object) -> bool:
    return isinstance(value, (list, tuple)) and any(isinstance(item, dict) for item in value)


def _literals(annotation: object) -> tuple[Any, ...]:
    if get_origin(annotation) is Literal:
        return get_args(annotation)
    return tuple(found for item in get_args(annotation) for found in _literals(item))


def _said(field: FieldInfo) -> str:
    """Say what a parameter is, and which values it takes if they are few."""
    known = ", ".join(str(value) for value in _literals(field.annotation))
    help_text = field.description or ""
    return f"{help_text} One of: {known}." if known else help_text


def _line(text: str, remark: str) -> Iterator[str]:
    """Write a line with its remark behind it, or above it where it is long."""
    remark = remark.rstrip(".")
    if remark and len(text) + len(remark) + 4 <= WIDTH:
        yield f"{text}  # {remark}"
        return
    yield from textwrap.wrap(remark, WIDTH, initial_indent="#   ", subsequent_indent="#   ")
    yield text


def toml_text(value: object) -> str:
    """Write a value as TOML holds it."""
    import tomlkit

    return tomlkit.item(list(value) if isinstance(value, tuple) else value).as_string()


def notebook_text(title: str, stem: str, *, instruments: str, workshop: str = "") -> str:
    """Write the notebook that takes a part from readings to how it fitted.

    Parameters
    ----------
    title, stem : str
        The part's name, and that of its files.
    instruments : str
        Path of the instruments file.
    workshop : str
        Path of a workshop that was named by hand; empty if the folder belongs to its own.
    """
    named = f"workshop={json.dumps(workshop)}" if workshop else ""
    cells = [
        _text(
            f"# {title}\n\nType the readings, look at the part, make it, write down how it fitted."
        ),
        _text("## 1. Readings\n\nEnter goes to the next repeat; each finished row is saved."),
        _code(
            "from fitkit.widgets import part_panel, readings_grid, trial_entry\n\n"
            f'readings_grid("readings/{stem}.csv", instruments={json.dumps(instruments)})'
        ),
        _text("## 2. The part\n\nMeasured, target and drawn sizes stand beside the preview."),
        _code(f'part_panel("{stem}.toml"{named and ", "}{named})'),
        _text("## 3. How it fitted\n\nAfter the print: pick its trace code, type what you found."),
        _code(f"trial_entry({named})"),
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
