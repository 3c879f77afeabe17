"""What a part panel knows, without a screen: typed values, their faults, what to draw, fit rows.

A `Source` turns typed values into a template and drawn sizes: `TemplateSource` at nominal sizes,
`SheetSource` through readings, fits and the printer's profile. The model keeps the last values
that worked, and puts each fault beside the parameter that it is about.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any, Protocol

from fitkit.core.errors import FaultList, FitkitError, NotFoundError
from fitkit.core.format import NOTHING, fit_texts, with_doubt
from fitkit.widgets.fields import (
    Field,
    bounds_fault,
    fields_of,
    number_in,
    plain,
    row_of,
    with_unit,
)

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pydantic import BaseModel

    from fitkit.core.format import FitTexts
    from fitkit.flow import FitRow, Inputs, Plan
    from fitkit.flow.sheet import PartSheet
    from fitkit.parts.contract import Template

__all__ = ["PanelModel", "SheetSource", "Source", "TemplateSource"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solved:
    """Values that make sense, and what follows from them.

    Attributes
    ----------
    template : Template
    drawn : mapping of fit-size name to mm
    title : str
    rows : tuple of dict
        Fit rows as shown: name, measured, target, drawn, expected, wanted, notes.
    notes : mapping of parameter path to str
        Where a measured parameter comes from.
    basis : str
        What the drawn sizes rest on.
    plan : Plan or None
    """

    template: Template
    drawn: Mapping[str, float]
    title: str
    rows: tuple[dict[str, Any], ...] = ()
    notes: Mapping[str, str] = field(default_factory=dict)
    basis: str = ""
    plan: Plan | None = None


class Source(Protocol):
    """Where a panel's values start, and what they mean."""

    kind: type[Template]
    title: str
    start: Mapping[str, Any]

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Work out what to draw; raise `FitkitError` in plain words."""


class TemplateSource:
    """A template by itself: sizes are drawn as typed.

    Parameters
    ----------
    template : type of Template, or a Template
        Of an instance, its values are the start.
    drawn : mapping of fit-size name to mm, optional
    title : str, optional
    """

    def __init__(
        self,
        template: type[Template] | Template,
        *,
        drawn: Mapping[str, float] | None = None,
        title: str = "",
    ) -> None:
        self.kind: type[Template] = template if isinstance(template, type) else type(template)
        self.start: Mapping[str, Any] = (
            {} if isinstance(template, type) else plain(template, "model")
        )
        self.drawn = dict(drawn or {})
        self.title = title or self.kind.title

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Check the values; draw every fit size at nominal unless given."""
        template = self.kind.of(**values)
        rows = tuple(
            _plain_row(fit.name, fit.plain_mm, self.drawn.get(fit.name))
            for fit in template.fit_sizes()
        )
        return Solved(
            template=template,
            drawn=self.drawn,
            title=self.title,
            rows=rows,
            basis="No readings and no printer: drawn at nominal unless given.",
        )


class SheetSource:
    """A part sheet: values go through readings, fits and the printer's profile.

    Parameters
    ----------
    sheet : PartSheet
    inputs : Inputs, optional
        Read from the sheet's files if not given.
    trust_template : bool
        Say yes to running the sheet's template file.

    Raises
    ------
    TrustError
        If the sheet names a template file that nobody has said yes to.
    """

    def __init__(
        self, sheet: PartSheet, *, inputs: Inputs | None = None, trust_template: bool = False
    ) -> None:
        from fitkit.flow import read_inputs
        from fitkit.parts.trust import trust_template as say_yes

        own = sheet.template_text()
        if own and trust_template:
            say_yes(own)
        # The fields are those of the file as it was read, so the part stays that of this text.
        self.sheet = sheet.holding(own)
        self.kind = self.sheet.kind()
        self.inputs = inputs or read_inputs(sheet)
        self.title = sheet.title
        self.start: Mapping[str, Any] = sheet.parameters

    def read_again(self) -> None:
        """Take in readings that have changed since."""
        from fitkit.flow import read_inputs

        self.inputs = read_inputs(self.sheet)

    def with_values(self, values: Mapping[str, Any]) -> PartSheet:
        """Give the sheet with other values."""
        return self.sheet.with_parameters(copy.deepcopy(dict(values)))

    def solve(self, values: Mapping[str, Any]) -> Solved:
        """Solve the sheet with these values."""
        from fitkit.flow import solve

        plan = solve(self.with_values(values), self.inputs)
        notes = {
            path: f"{estimate.name}: {with_doubt(estimate.value_mm, estimate.U95_mm)} mm"
            for path, estimate in plan.parameters.items()
            if estimate.u_mm > 0
        }
        profile = self.inputs.profile
        made = "generic profile, not measured" if profile.generic else f"profile {profile.name}"
        return Solved(
            template=plan.template,
            drawn=plan.drawn,
            title=self.title,
            rows=tuple(_fit_row(row) for row in plan.rows),
            notes=notes,
            basis=f"Drawn for the {made}; ± is for 95 %.",
            plan=plan,
        )


def _plain_row(name: str, target_mm: float, drawn_mm: float | None) -> dict[str, Any]:
    wanted = "at nominal" if drawn_mm is None else "drawn as given"
    drawn = target_mm if drawn_mm is None else drawn_mm
    return _shown(fit_texts(name, target_mm=target_mm, drawn_mm=drawn, wanted=wanted))


def _fit_row(row: FitRow) -> dict[str, Any]:
    notes = [*row.size.notes, *(row.gap.notes if row.gap else ())]
    if row.size.extrapolated:
        notes.insert(0, "Beyond the sizes that the coupon had.")
    return _shown(row.texts(), notes)


def _shown(texts: FitTexts, notes: Sequence[str] = ()) -> dict[str, Any]:
    row = asdict(texts)
    gap = row.pop("gap")
    if gap != NOTHING:
        row["wanted"] += f", gap {gap}"
    return row | {"notes": list(notes)}


class PanelModel:
    """The state of a panel.

    Parameters
    ----------
    source : Source

    Attributes
    ----------
    values : dict
        As typed, nested as in a part sheet; what is absent stands at its default.
    solved : Solved or None
        Of the last values that made sense.
    messages : dict of path to str
        What is wrong with a parameter.
    trouble : str
        What is wrong with no parameter in particular.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.values: dict[str, Any] = copy.deepcopy(dict(source.start))
        self.solved: Solved | None = None
        self.messages: dict[str, str] = {}
        self.trouble = ""
        self.last_path = ""
        self.solve()

    # --- what a user does -------------------------------------------------------------------------

    def set(self, path: str, text: str) -> bool:
        """Type a value; tell whether everything now makes sense.

        A bare number takes the field's unit. What is typed is what is used: nothing is rounded, and
        a value out of bounds is refused in words.
        """
        field_ = self._field(path)
        value: Any = with_unit(field_, text)
        if field_.kind == "switch":
            value = text == "yes"
        elif field_.kind == "choice":
            value = next((choice for choice in field_.choices if str(choice) == text), text)
        elif field_.kind in ("lengths", "numbers"):
            value = row_of(field_, text)
        place, name = self._place(path)
        if value in ("", []) and field_.kind != "text":
            place.pop(name, None)  # emptied: back to the default, or to none
        else:
            place[name] = value
        self.last_path = path
        return self.solve()

    def reset(self, path: str | None = None) -> bool:
        """Set one value, or all, back to where the source starts."""
        if path is None:
            self.values = copy.deepcopy(dict(self.source.start))
            self.last_path = ""
        else:
            place, name = self._place(path)
            start = _at(self.source.start, path)
            if start is None:
                place.pop(name, None)
            else:
                place[name] = copy.deepcopy(start)
            self.last_path = path
        return self.solve()

    def add(self, path: str) -> bool:
        """Add an item to a list: a copy of its last, or one at defaults."""
        items = self._list(path)
        items.append(copy.deepcopy(items[-1]) if items else {})
        self.last_path = path
        return self.solve()

    def remove(self, path: str, index: int) -> bool:
        """Take an item out of a list."""
        items = self._list(path)
        if 0 <= index < len(items):
            del items[index]
        self.last_path = path
        return self.solve()

    def solve(self) -> bool:
        """Work out what to draw; keep the last that worked, and say what is wrong."""
        self.messages, self.trouble = {}, ""
        self._look_over(self.source.kind, self.values, "")
        if self.messages:
            return False
        try:
            self.solved = self.source.solve(_for_template(self.source.kind, self.values))
        except FitkitError as error:
            self.blame(error)
            return False
        return True

    def blame(self, error: FitkitError) -> None:
        """Put an error beside the parameters that it names, else beside the last one changed."""
        for fault in error if isinstance(error, FaultList) else (error,):
            path, rest = self._shown_at(fault)
            if path:
                self._tell(path, f"{rest}: {fault.advice}" if rest else fault.advice)
                continue
            self.trouble = f"{self.trouble} {fault}".strip()
            if self.last_path:
                self._tell(self.last_path, f"not built: {fault.advice}")

    def _tell(self, path: str, message: str) -> None:
        """Show a message at a field, after what is shown there already."""
        before = self.messages.get(path, "")
        if message not in before:
            self.messages[path] = f"{before} {message}".strip()

    # --- what a view shows ------------------------------------------------------------------------

    def groups(self) -> list[dict[str, Any]]:
        """Controls by group, as plain data for a view."""
        notes = self.solved.notes if self.solved else {}
        start = self.source.start
        groups: dict[str, list[dict[str, Any]]] = {}
        for field_ in fields_of(self.source.kind):
            control = self._control(field_, field_.name, self.values, start, notes)
            groups.setdefault(field_.group, []).extend(
                control["controls"] if field_.kind == "model" else [control]
            )
        # The label that every template has comes last: it decides no fit.
        names = sorted(groups, key=lambda name: name == "Label")
        return [{"name": name, "controls": groups[name]} for name in names]

    def _control(
        self,
        field_: Field,
        path: str,
        values: Mapping[str, Any],
        start: Any,
        notes: Mapping[str, str],
    ) -> dict[str, Any]:
        shown = values.get(field_.name, field_.default)
        common = {"path": path, "kind": field_.kind, "label": field_.label, "help": field_.help}
        common |= {"message": self.messages.get(path, ""), "group": field_.group}
        begin = start.get(field_.name, field_.default) if isinstance(start, Mapping) else None
        if field_.model is not None and field_.kind == "model":
            inner = shown if isinstance(shown, Mapping) else {}
            return {"controls": self._inner(field_.model, path, inner, begin, notes)}
        if field_.model is not None:
            one = field_.label.removesuffix("s")
            items = [
                {
                    "title": str(item.get("name") or f"{one} {number + 1}"),
                    "controls": self._inner(
                        field_.model_of(item), f"{path}.{number}", item, _item(begin, number), notes
                    ),
                }
                for number, item in enumerate(shown)
            ]
            return common | {"items": items}
        text, first = _typed(field_, shown), _typed(field_, begin)
        value = None
        if field_.kind in ("length", "angle", "area", "count", "number") and text:
            value = number_in(field_, text)
            if value is None and self.solved:
                value = _at(plain_numbers(self.solved.template), path)
        return common | {
            "text": text,
            "value": value,
            "unit": field_.unit,
            "low": field_.low,
            "high": field_.high,
            "bounds": field_.bounds,
            "choices": [str(choice) for choice in field_.choices],
            "default_text": first,
            "changed": text != first,
            "note": notes.get(path, ""),
            "measured": field_.measured,
        }

    def _inner(
        self,
        model: type[BaseModel],
        path: str,
        values: Mapping[str, Any],
        start: Any,
        notes: Mapping[str, str],
    ) -> list[dict[str, Any]]:
        found: list[dict[str, Any]] = []
        for field_ in fields_of(model):
            control = self._control(field_, f"{path}.{field_.name}", values, start or {}, notes)
            found += control["controls"] if field_.kind == "model" else [control]
        return found

    # --- paths ------------------------------------------------------------------------------------

    def knows(self, path: str) -> bool:
        """Tell whether there is a parameter of this path, among the items that there are now."""
        return path in _paths(self.source.kind, self.values, "")

    def _field(self, path: str) -> Field:
        model: type[BaseModel] | None = self.source.kind
        found: Field | None = None
        place: Any = self.values
        for step in path.split("."):
            if step.isdigit():
                place = _item(place, int(step)) or {}
                model = found.model_of(place) if found else None
                continue
            found = next((f for f in fields_of(model) if f.name == step), None) if model else None
            place = place.get(step, {}) if isinstance(place, Mapping) else {}
            if found is None:
                raise NotFoundError(
                    f"there is no parameter {path!r}",
                    where=self.source.title,
                    code="widgets.no-parameter",
                )
            model = found.model
        assert found is not None
        return found

    def _place(self, path: str) -> tuple[dict[str, Any], str]:
        """Find the dict in which a value lies, making defaults explicit on the way."""
        *steps, name = path.split(".")
        place: Any = self.values
        model: type[BaseModel] | None = self.source.kind
        field_: Field | None = None
        for step in steps:
            if step.isdigit():
                place = place[int(step)]
                model = field_.model_of(place) if field_ else None
                continue
            assert model is not None
            field_ = next(f for f in fields_of(model) if f.name == step)
            if not isinstance(place.get(step), (dict, list, tuple)):
                default = field_.default if isinstance(field_.default, (dict, list)) else None
                place[step] = copy.deepcopy(default or ([] if field_.kind == "list" else {}))
            place, model = place[step], field_.model
        return place, name

    def _list(self, path: str) -> list[Any]:
        place, name = self._place(path)
        field_ = self._field(path)
        place[name] = list(place.get(name, copy.deepcopy(field_.default)))
        items: list[Any] = place[name]
        return items

    def _look_over(self, model: type[BaseModel], values: Mapping[str, Any], path: str) -> None:
        """Hold typed numbers against their bounds, so that the message can quote what was typed."""
        for field_ in fields_of(model):
            if field_.name not in values:
                continue
            value, here = values[field_.name], f"{path}{field_.name}"
            if field_.model is not None:
                items = enumerate(value) if field_.kind == "list" else [("", value)]
                for number, item in items:
                    inner = f"{here}.{number}." if field_.kind == "list" else f"{here}."
                    if isinstance(item, Mapping):
                        self._look_over(field_.model_of(item), item, inner)
            elif isinstance(value, str) and (number_ := number_in(field_, value)) is not None:
                fault = bounds_fault(field_, value, number_)
                if fault:
                    self.messages[here] = fault

    def _shown_at(self, error: FitkitError) -> tuple[str, str]:
        """Find the field that an error is about.

        Returns
        -------
        path : str
            The field at the error's place, or the nearest one round it; empty if there is none.
        rest : str
            What of the place that field does not show: ``Hole 2``.
        """
        at = error.at[1:] if error.at[:1] == ("values",) else error.at
        known = set(_paths(self.source.kind, self.values, ""))
        for count in range(len(at), 0, -1):
            path = ".".join(map(str, at[:count]))
            if path in known:
                item = at[count] if count < len(at) else None
                one = self._field(path).label.removesuffix("s").capitalize()
                return path, f"{one} {item + 1}" if isinstance(item, int) else ""
        return "", ""


def _paths(model: type[BaseModel], values: Mapping[str, Any], path: str) -> Iterator[str]:
    for field_ in fields_of(model):
        here = f"{path}{field_.name}"
        yield here
        if field_.kind == "list" and field_.model:
            for number, item in enumerate(values.get(field_.name, field_.default)):
                yield from _paths(field_.model_of(item), item, f"{here}.{number}.")
        elif field_.model:
            inner = values.get(field_.name)
            given = inner if isinstance(inner, Mapping) else {}
            yield from _paths(field_.model, given, f"{here}.")


def _for_template(model: type[BaseModel], values: Mapping[str, Any]) -> dict[str, Any]:
    """Turn typed texts into what a template takes; an emptied optional one is None."""
    ready: dict[str, Any] = {}
    for field_ in fields_of(model):
        if field_.name not in values:
            continue
        value = values[field_.name]
        if field_.kind == "list" and field_.model:
            value = [_for_template(field_.model_of(item), item) for item in value]
        elif field_.kind == "model" and field_.model and isinstance(value, Mapping):
            value = _for_template(field_.model, value)
        elif value == "" and field_.kind != "text":
            if not field_.optional:
                continue
            value = None
        ready[field_.name] = value
    return ready | {name: value for name, value in values.items() if name not in ready}


def _typed(field_: Field, value: Any) -> str:
    """Give a value as it would be typed into its field."""
    if field_.kind == "switch":
        return "yes" if value else "no"
    if field_.kind in ("lengths", "numbers") and not isinstance(value, str):
        return "; ".join(map(str, value or ()))
    return str(value)


def plain_numbers(template: Template) -> dict[str, Any]:
    """Numbers of a template by field, for the place of a slider."""
    return template.model_dump()


def _item(items: Sequence[Any] | None, number: int) -> Any:
    return items[number] if items and number < len(items) else None


def _at(data: Any, path: str) -> Any:
    for step in path.split("."):
        try:
            data = data[int(step)] if step.isdigit() else data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data
