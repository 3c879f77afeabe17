"""A page for each template, holder and carrier: what it is, its parameters, what calipers read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from generators.rst import anchor, entry, facts, found_by, heading, picture, plain, toctree

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from pydantic import BaseModel

    from fitkit.parts import KeyDimension
    from fitkit.parts.measuring import Measuring
    from fitkit.widgets.fields import Field

PICTURES = Path(__file__).resolve().parents[1] / "pictures"


def pages(*, drawings: bool) -> Iterator[tuple[str, str]]:
    """Give each page's path below ``reference/`` and its text; sizes drawn, if wanted."""
    from fitkit.parts import known_carriers, known_holders, templates
    from fitkit.parts.feature import known_features as known_side_features
    from fitkit.parts.holder import known_features

    yield from _group(
        "templates",
        "Templates",
        'A part sheet names one by its title: ``template = "board case"``. Parameters stand under '
        "``[values]``.",
        templates(),
        drawings=drawings,
    )
    yield from _group(
        "holders",
        "Ways to hold a thing",
        'A thing of a case or plate names one by its title: ``held = "board on standoffs"``. The '
        "parameters stand in the thing's own table, ``[[things]]``.",
        known_holders(),
    )
    yield from _group(
        "features",
        "Features of a given shape",
        'Besides the ways to hold a thing, a sheet with ``carrier = "given shape"`` takes these: '
        '``held = "screw boss"``.',
        known_features(),
    )
    yield from _group(
        "sides",
        "Features of a carrier's sides",
        'A case or a plate takes these on the side that is named: ``kind = "ear"``, '
        '``on = "left"``. The parameters stand in its own table, ``[[values.features]]``.',
        known_side_features(),
    )
    yield from _group(
        "carriers",
        "Carriers of several things",
        'A part sheet names one by its title: ``carrier = "case"``. Parameters stand under '
        "``[values]``, things under ``[[things]]``.",
        known_carriers(),
    )


def _group(
    folder: str, title: str, lead: str, kinds: Mapping[str, Any], *, drawings: bool = False
) -> Iterator[tuple[str, str]]:
    lines = [*heading(title), *found_by(f"list of {folder}"), lead, ""]
    names = []
    for name, kind in kinds.items():
        page = f"{folder}/{anchor(name)}"
        names.append(anchor(name))
        drawn = list(_drawings(name, kind)) if drawings else []
        for body, svg, _ in drawn:
            yield f"{page}-{anchor(body)}.svg", svg
        yield f"{page}.rst", "\n".join(_page(name, kind, drawn))
    lines += ["", ".. list-table::", "   :widths: 30 70", ""]
    for name, kind in kinds.items():
        lines += [f"   * - :doc:`{name} <{anchor(name)}>`", f"     - {plain(kind.summary)}"]
    lines += ["", *toctree(*names, hidden=True)]
    yield f"{folder}/index.rst", "\n".join(lines)


def _drawings(
    title: str, kind: type[BaseModel]
) -> Iterator[tuple[str, str, tuple[KeyDimension, ...]]]:
    """Draw each body of a part as the template starts it: body, SVG, the sizes that count."""
    from fitkit.drawings import TitleBlock, drawings_of, svg_text
    from fitkit.parts import Carrier, Template

    if not issubclass(kind, Template) or issubclass(kind, Carrier) or kind.ordered_by:
        return
    part = kind.of(**kind.measuring.starts_with).build()
    for drawing in drawings_of(part, TitleBlock(title=title)):
        sizes = tuple(one for one in part.dimensions if one.body == drawing.body)
        yield drawing.body, svg_text(drawing), sizes


def _page(
    title: str, kind: type[BaseModel], drawn: list[tuple[str, str, tuple[KeyDimension, ...]]]
) -> list[str]:
    from fitkit.widgets.fields import fields_of

    lines = [*heading(title), plain(getattr(kind, "summary", "")), ""]
    if ordered := getattr(kind, "ordered_by", ""):
        lines += [f"It is made by the command ``fitkit {ordered}`` and not by a part sheet.", ""]
    for start in ("template", "holder"):
        name = f"{start}-{anchor(title)}.png"
        if (PICTURES / name).is_file():
            alt = f"{title}, drawn at the sizes it starts with"
            lines += picture(f"/pictures/{name}", alt, width="60%")
    fields = list(fields_of(kind))
    for group in dict.fromkeys(field.group for field in fields):
        lines += heading(group, "-")
        for field in fields:
            if field.group == group:
                lines += _parameter(title, field)
    if hasattr(kind, "measuring"):  # a feature of a side asks for no readings
        measuring = kind.how_measured() if hasattr(kind, "how_measured") else kind.measuring
        lines += _readings(measuring)
    if drawn:
        lines += heading("The sizes that count, on a drawing", "-")
    for body, _, sizes in drawn:
        alt = f"Drawing of the {body}: three views, a section and its sizes"
        lines += picture(f"{anchor(title)}-{anchor(body)}.svg", alt)
        for size in sizes:
            lines.append(f"- {size.value_mm:.2f} mm: {plain(size.name)}")
        lines.append("")
    return lines


def _parameter(owner: str, field: Field) -> list[str]:
    from fitkit.widgets.fields import fields_of

    default = _default(field)
    line = facts(
        Takes=_takes(field),
        Default=f"``{default}``" if default else "",
        Bounds=plain(field.bounds),
        Used=plain(_variants(field)),
        Measured="It is a size of the real object, and comes from readings."
        if field.measured
        else "",
    )
    lines = entry("parameter", f"{owner}.{field.name}", plain(field.help), "", line)
    if field.kind in ("list", "model") and field.model is not None:
        for inner in fields_of(field.model):
            lines += _parameter(f"{owner}.{field.name}", inner)
    return lines


_KINDS = {
    "length": "a length with its unit, or an expression of readings",
    "angle": "an angle, such as ``30 deg``",
    "area": "an area, such as ``300 mm²``",
    "count": "a whole number",
    "number": "a number",
    "lengths": "a list of lengths",
    "numbers": "a list of numbers",
    "switch": "``true`` or ``false``",
    "text": "a text",
    "list": "a list of tables, with the keys below",
    "model": "a table, with the keys below",
}


def _takes(field: Field) -> str:
    if field.kind == "choice":
        return "one of " + ", ".join(f"``{_quoted(choice)}``" for choice in field.choices)
    return _KINDS[field.kind]


def _default(field: Field) -> str:
    value = field.default
    if field.kind in ("list", "model") or value in ("", [], None):
        return ""
    return _quoted(value)


def _quoted(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return "[" + ", ".join(_quoted(item) for item in value) + "]"
    return f'"{value}"' if isinstance(value, str) and not value.isdigit() else str(value)


def _variants(field: Field) -> str:
    ways = [
        " and ".join(
            f"`{name}` is {' or '.join(str(value) for value in values)}"
            for name, values in one.items()
        )
        for one in field.when
    ]
    return f"where {'; or where '.join(ways)}." if ways else ""


def _readings(measuring: Measuring) -> list[str]:
    if not measuring.readings:
        return []
    lines = heading("What calipers read", "-")
    lines += [".. list-table::", "   :header-rows: 1", "   :widths: 30 15 55", ""]
    lines += ["   * - feature", "     - mode", "     - where to put the jaws"]
    for reading in measuring.readings:
        lines += [
            f"   * - {plain(reading.feature)}",
            f"     - {reading.mode}",
            f"     - {plain(reading.note)}",
        ]
    lines.append("")
    if measuring.sizes:
        lines += ["A new part sheet takes them so:", "", ".. code-block:: toml", ""]
        lines += [f'   {one.parameter} = "{one.text}"' for one in measuring.sizes]
        lines.append("")
    return lines
