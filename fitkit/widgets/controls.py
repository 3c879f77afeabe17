"""The controls of a panel as plain data: each parameter with its text, reading, message, way back.

What a view shows follows from what a panel knows, `Known`. Lists and things that may be absent are
given by their items; a parameter that the chosen variant does not use is marked, so that a view can
leave it away.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fitkit.widgets.fields import Field, fields_of, number_in
from fitkit.widgets.sources import value_at

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic import BaseModel

    from fitkit.widgets.sources import Solved, Source

__all__ = ["Known", "groups_of", "problems_of"]

_NUMBERS = ("length", "angle", "area", "count", "number")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """What a panel knows at a moment; fields as those of `PanelModel`."""

    source: Source
    values: Mapping[str, Any]
    solved: Solved | None
    messages: Mapping[str, str]
    trouble: str
    waiting: Mapping[str, str]


def groups_of(model: Known) -> list[dict[str, Any]]:
    """Describe all controls, by group."""
    groups: dict[str, list[dict[str, Any]]] = {}
    source = model.source
    for control in _controls(model, source.kind, "", model.values, source.start):
        groups.setdefault(control["group"], []).append(control)
    # The label that every template has comes last: it decides no fit.
    names = sorted(groups, key=lambda name: name == "Label")
    return [{"name": name, "controls": groups[name]} for name in names]


def problems_of(model: Known, groups: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """List what is wrong, and what is not measured yet, each with the field that it is about.

    Parameters
    ----------
    model : Known
    groups : list of dict
        As `groups_of` gives them.

    Returns
    -------
    list of dict
        ``path`` (empty where no field is at fault), ``label``, ``text``, ``kind``: ``wrong`` or
        ``waiting``; what is wrong comes first.
    """
    found = []
    for label, control in _walk(groups):
        for kind, text in (("wrong", control["message"]), ("waiting", control.get("waiting", ""))):
            if text:
                problem = {"path": control["path"], "label": label, "text": text, "kind": kind}
                found.append(problem)
    if model.trouble and not any(one["kind"] == "wrong" for one in found):
        found.append({"path": "", "label": "", "text": model.trouble, "kind": "wrong"})
    return sorted(found, key=lambda one: one["kind"] == "waiting")


def _walk(groups: list[dict[str, Any]]) -> Iterator[tuple[str, dict[str, Any]]]:
    """Go through all controls, each with a name that tells it from those of other items."""
    for group in groups:
        for control in group["controls"]:
            yield control["label"], control
            for item in control.get("items", ()):
                for inner in item["controls"]:
                    yield f"{item['title']}, {inner['label']}", inner


def _controls(
    model: Known, kind: type[BaseModel], path: str, values: Mapping[str, Any], start: Any
) -> list[dict[str, Any]]:
    fields = tuple(fields_of(kind))
    now = {one.name: values.get(one.name, one.default) for one in fields}
    begin = start if isinstance(start, Mapping) else {}
    return [
        _control(
            model,
            one,
            f"{path}{one.name}",
            now[one.name],
            begin.get(one.name, one.default),
            used=one.used(now),
        )
        for one in fields
    ]


def _control(
    model: Known, field: Field, path: str, shown: Any, begin: Any, *, used: bool
) -> dict[str, Any]:
    message = model.messages.get(path, "")
    common: dict[str, Any] = {"path": path, "label": field.label, "help": field.help}
    common |= {"message": message, "group": field.group, "used": used or bool(message)}
    if field.model is not None:
        return common | _listed(model, field, path, shown, begin)
    text, first = _typed(field, shown), _typed(field, begin)
    value = number_in(field, text) if field.kind in _NUMBERS and text else None
    solved = model.solved
    if value is None and solved and field.kind in _NUMBERS and text:
        value = value_at(solved.template.model_dump(), path)
    reading = solved.notes.get(path, "") if solved and not message else ""
    back = "" if reading else model.source.reading_for(path)
    return common | {
        "kind": field.kind,
        "text": text,
        "value": value,
        "unit": field.unit,
        "low": field.low,
        "high": field.high,
        "bounds": field.bounds,
        "choices": [str(choice) for choice in field.choices],
        "default_text": first,
        "changed": text != first,
        "reading": reading,
        "back": "" if back == text else back,
        "waiting": model.waiting.get(path, ""),
        "measured": field.measured,
    }


def _listed(model: Known, field: Field, path: str, shown: Any, begin: Any) -> dict[str, Any]:
    """Describe a list by its items; a thing that may be absent is a list of one or none."""
    assert field.model is not None
    if field.kind == "model":
        there, first = ([shown] if isinstance(shown, Mapping) else []), [begin]
        places = [(path, field.one)]
    else:
        there, first = list(shown), list(begin) if isinstance(begin, list | tuple) else []
        places = [(f"{path}.{n}", f"{field.one} {n + 1}") for n in range(len(there))]
    items = []
    for n, (item, (place, title)) in enumerate(zip(there, places, strict=False)):
        start = first[n] if n < len(first) else None
        controls = _controls(model, field.model_of(item), f"{place}.", item, start)
        items.append({"title": str(item.get("name") or title), "controls": controls})
    return {
        "kind": "list",
        "items": items,
        "one": field.one,
        "can_add": field.most is None or len(items) < field.most,
        "can_remove": field.kind == "list" or field.optional,
    }


def _typed(field: Field, value: Any) -> str:
    """Give a value as it would be typed into its field."""
    if field.kind == "switch":
        return "yes" if value else "no"
    if field.kind in ("lengths", "numbers") and not isinstance(value, str):
        return "; ".join(map(str, value or ()))
    return str(value)
