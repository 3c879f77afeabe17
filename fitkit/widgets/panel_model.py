"""What a part panel knows, without a screen: typed values, their faults, steps back, what to draw.

A `Source` says what values mean. The model keeps the last ones that worked, and puts each fault
beside the parameter that it is about. Before anything worked it draws what it can: a picture that
is named as a stand-in is better than none.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FaultList, FitkitError, NotFoundError, SheetError
from fitkit.widgets.controls import Known, groups_of, problems_of
from fitkit.widgets.fields import (
    Field,
    bounds_fault,
    fields_of,
    number_in,
    row_of,
    with_unit,
)
from fitkit.widgets.sources import Solved, Source, value_at, without

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from pydantic import BaseModel

__all__ = ["PanelModel"]

_MOST_STEPS = 200
_SOME = "What does not work yet is drawn at the template's own sizes."
_NONE = "These sizes do not go together yet: the picture shows the template's own sizes."


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
    old : bool
        Whether `solved` is of other values than those that are typed now.
    stands_in : str
        Why `solved` is of the template's own sizes; empty if it is of what was typed.
    saved : dict
        The values as they were last read from a sheet, or saved in one.
    """

    def __init__(self, source: Source) -> None:
        self.source = source
        self.values: dict[str, Any] = copy.deepcopy(dict(source.start))
        self.saved: dict[str, Any] = copy.deepcopy(self.values)
        self.solved: Solved | None = None
        self.messages: dict[str, str] = {}
        self.trouble = ""
        self.old = False
        self.stands_in = ""
        self.last_path = ""
        self._past: list[dict[str, Any]] = []
        self._future: list[dict[str, Any]] = []
        self._dragged = ""
        self.solve()

    @property
    def waiting(self) -> Mapping[str, str]:
        """Parameters that are drawn at their defaults, since their readings are not there yet."""
        return self.solved.waiting if self.solved and not self.old else {}

    @property
    def ready(self) -> bool:
        """Whether `solved` is what a print is to be made of."""
        return not (self.messages or self.trouble or self.old or self.stands_in or self.waiting)

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to take back."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step that was taken back."""
        return bool(self._future)

    # --- what a user does -------------------------------------------------------------------------

    def set(self, path: str, text: str, *, dragging: bool = False) -> bool:
        """Type a value; tell whether everything now makes sense.

        A bare number takes the field's unit. What is typed is what is used: nothing is rounded, and
        a value out of bounds is refused in words.

        Parameters
        ----------
        path : str
        text : str
        dragging : bool
            Whether a slider is on its way: all its values are one step of the undo.

        Returns
        -------
        bool
        """
        if self._dragged != path:
            self._remember()
        self._dragged = path if dragging else ""
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

    def put(self, name: str, point_mm: Sequence[float], normal: Sequence[float]) -> bool:
        """Place a thing of a given shape at a spot of its surface; tell whether all makes sense.

        Parameters
        ----------
        name : str
            Of the thing.
        point_mm : (x, y, z), mm
            A point of the surface, in the shape's own coordinates.
        normal : (x, y, z)
            The way out of the shape there.

        Returns
        -------
        bool

        Raises
        ------
        SheetError
            If there is no such thing, or the part is not a given shape.
        """
        things = self.values.get("things") or []
        names = [str(thing.get("name", "")) for thing in things]
        if "shape" not in self.source.kind.model_fields or name not in names:
            raise SheetError(
                f"no thing is called {name!r}"
                if "shape" in self.source.kind.model_fields
                else "this part is not a given shape",
                code="widgets.nothing-to-put",
                remedy=f"There are: {', '.join(names) or 'none'}.",
            )
        self._remember()
        self._dragged = ""
        thing = things[names.index(name)]
        place = thing.get("place")
        spot = dict(place) if isinstance(place, dict) else {}
        spot["at"] = [f"{x:.2f} mm" for x in point_mm]
        spot["normal"] = [round(float(x), 4) + 0.0 for x in normal]
        thing["place"] = spot
        self.last_path = f"things.{names.index(name)}.place.at"
        return self.solve()

    def reset(self, path: str | None = None) -> bool:
        """Set one value, or all, back to where the source starts."""
        self._remember()
        if path is None:
            self.values = copy.deepcopy(dict(self.source.start))
            self.last_path = ""
        else:
            place, name = self._place(path)
            start = value_at(self.source.start, path)
            if start is None:
                place.pop(name, None)
            else:
                place[name] = copy.deepcopy(start)
            self.last_path = path
        return self.solve()

    def add(self, path: str) -> bool:
        """Add an item to a list: a copy of its last, or one at defaults; or an optional thing."""
        self._remember()
        if self._field(path).kind == "model":
            place, name = self._place(path)
            there = place.get(name)
            place[name] = there if isinstance(there, Mapping) else {}
            self.last_path = path
            return self.solve()
        items = self._list(path)
        items.append(copy.deepcopy(items[-1]) if items else {})
        self.last_path = path
        return self.solve()

    def remove(self, path: str, index: int) -> bool:
        """Take an item out of a list, or an optional thing away."""
        self._remember()
        if self._field(path).kind == "model":
            place, name = self._place(path)
            place.pop(name, None)
            self.last_path = path
            return self.solve()
        items = self._list(path)
        if 0 <= index < len(items):
            del items[index]
        self.last_path = path
        return self.solve()

    def undo(self) -> bool:
        """Take the last step back; tell whether there was one."""
        return self._step(self._past, self._future)

    def redo(self) -> bool:
        """Do again what was taken back; tell whether there was something."""
        return self._step(self._future, self._past)

    def _step(self, there: list[dict[str, Any]], back: list[dict[str, Any]]) -> bool:
        if not there:
            return False
        back.append(copy.deepcopy(self.values))
        self.values = there.pop()
        self._dragged = self.last_path = ""
        self.solve()
        return True

    def _remember(self) -> None:
        """Keep the values as they are before a step."""
        self._dragged = ""
        self._future.clear()
        if not self._past or self._past[-1] != self.values:
            self._past.append(copy.deepcopy(self.values))
            del self._past[:-_MOST_STEPS]

    def solve(self) -> bool:
        """Work out what to draw; keep the last that worked, and say what is wrong."""
        self.messages, self.trouble = {}, ""
        self._look_over(self.source.kind, self.values, "")
        found = None
        if not self.messages:
            try:
                found = self.source.solve(_for_template(self.source.kind, self.values))
            except FitkitError as error:
                self.blame(error)
        if found is not None:
            self.solved, self.old, self.stands_in = found, False, ""
        elif self.solved is None or self.stands_in:
            self.stand_in()
        else:
            self.old = True
        return found is not None

    def stand_in(self, *, sizes: bool = True) -> bool:
        """Draw what can be drawn where nothing has been built yet, rather than nothing.

        Parameters
        ----------
        sizes : bool
            Whether the values at which nothing is wrong are taken; else the template's alone.

        Returns
        -------
        bool
            Whether there is something to draw.
        """
        some = _for_template(self.source.kind, without(self.values, self.messages))
        for values, said in ((some, _SOME), ({}, _NONE))[0 if sizes else 1 :]:
            try:
                self.solved = self.source.solve(values)
            except FitkitError:
                continue
            self.old, self.stands_in = False, said
            return True
        return False

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

    def groups(self) -> list[dict[str, Any]]:
        """Controls by group, as plain data for a view."""
        return groups_of(self._known())

    def problems(self) -> list[dict[str, Any]]:
        """What is wrong or not measured yet, each with its field; see `problems_of`."""
        return problems_of(self._known(), self.groups())

    def _known(self) -> Known:
        return Known(
            source=self.source,
            values=self.values,
            solved=self.solved,
            messages=self.messages,
            trouble=self.trouble,
            waiting=self.waiting,
        )

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
                place = value_at(place, step) or {}
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
            if not isinstance(inner, Mapping):
                if field_.optional:
                    continue  # it is not there
                inner = {}
            yield from _paths(field_.model, inner, f"{here}.")


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


def _item(items: Any, number: int) -> Any:
    """Give an item of a list; None if it is not there."""
    return items[number] if isinstance(items, list | tuple) and number < len(items) else None
