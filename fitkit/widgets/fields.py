"""From a template's parameters to the controls of a panel: what to type, its unit, bounds and help.

Works for any pydantic model whose fields are lengths, angles, areas, numbers, rows of these,
switches, choices, texts, models or lists of models. Values are held as typed text in nested plain
data, addressed by paths such as ``ports.0.width``, which is also how a part sheet holds them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from fitkit.parts.contract import Template, unit_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pydantic.fields import FieldInfo

__all__ = ["Field", "bounds_fault", "fields_of", "number_in", "row_of", "with_unit"]

Kind = Literal[
    "length", "angle", "area", "count", "number", "lengths", "numbers", "switch", "choice", "text",
    "list", "model",
]  # fmt: skip
_KINDS: dict[str, Kind] = {"mm": "length", "deg": "angle", "mm²": "area"}
_UNITS = {kind: unit for unit, kind in _KINDS.items()} | {"lengths": "mm"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One parameter as a panel shows it.

    Attributes
    ----------
    name : str
    kind : str
    label, help, group : str
    unit : str
        Of bare numbers typed here; empty if it takes none.
    low, high : float or None
        Inclusive bounds, in `unit`.
    default : object
        As plain data: text for lengths and angles.
    choices : tuple
        Texts or numbers, as the template takes them.
    model : type or None
        Of the items of a list, or of a nested model.
    optional : bool
        Whether an empty text means none.
    measured : bool
        Whether it is a size of the real object.
    most : int or None
        Items that a list can have; 1 for a model that may be absent.
    when : tuple of mappings of field name to values
        Variants that use it, by the values of fields beside it; any one of them is enough. Empty if
        every variant does.
    """

    name: str
    kind: Kind
    label: str
    help: str
    group: str
    unit: str
    low: float | None
    high: float | None
    default: Any
    choices: tuple[Any, ...]
    model: type[BaseModel] | None
    optional: bool
    measured: bool
    most: int | None = None
    when: tuple[Mapping[str, tuple[object, ...]], ...] = ()

    @property
    def one(self) -> str:
        """What an item of a list is called."""
        return self.label.removesuffix("s")

    def used(self, values: Mapping[str, Any]) -> bool:
        """Tell whether the variant that these values of the fields beside it make uses it."""
        # As texts: a count that was typed is one.
        return not self.when or any(
            all(str(values.get(name)) in map(str, allowed) for name, allowed in one.items())
            for one in self.when
        )

    def model_of(self, item: Any) -> type[BaseModel]:
        """Find the model of one item of a list, whose items may be of several kinds."""
        assert self.model is not None
        choose = getattr(self.model, "model_for", None)
        return choose(item) if choose is not None and isinstance(item, Mapping) else self.model

    @property
    def bounds(self) -> str:
        """Bounds in words, empty if there are none."""
        if self.kind in ("lengths", "numbers"):
            return "Several, with ; between them."
        unit = f" {self.unit}" if self.unit else ""
        match self.low, self.high:
            case None, None:
                return ""
            case low, None:
                return f"At least {low:g}{unit}."
            case None, high:
                return f"At most {high:g}{unit}."
            case low, high:
                return f"From {low:g} to {high:g}{unit}."


def fields_of(model: type[BaseModel]) -> Iterator[Field]:
    """Describe each field of a model, in order."""
    variants = _variants(model)
    for name, info in model.model_fields.items():
        kind, inner = _kind(info.annotation, tuple(info.metadata))
        extra = info.json_schema_extra if isinstance(info.json_schema_extra, dict) else {}
        low, high = _bound(info, "ge", "gt"), _bound(info, "le", "lt")
        yield Field(
            name=name,
            kind=kind,
            label=str(extra.get("label") or info.title or name.replace("_", " ")),
            help=info.description or "",
            group=str(extra.get("group") or "Sizes"),
            unit=_UNITS.get(kind, ""),
            low=low,
            high=high,
            default=_default(info, kind, extra),
            choices=get_args(inner) if kind == "choice" else (),
            model=inner if kind in ("list", "model") else None,
            optional=_may_be_absent(info.annotation),
            measured=bool(extra.get("measured")),
            most=1 if kind == "model" else _most(info),
            when=tuple(variants.get(name, ())),
        )


def _variants(model: type[BaseModel]) -> dict[str, list[Mapping[str, tuple[object, ...]]]]:
    """Say which variants use a field: as the model declares it, else as its readings do."""
    declared: Mapping[str, Any] = getattr(model, "used_when", {})
    found: dict[str, list[Mapping[str, tuple[object, ...]]]] = {
        name: [when] for name, when in declared.items()
    }
    if issubclass(model, Template):
        sizes = model.how_measured().sizes
        always = {one.parameter for one in sizes if not one.when}
        for one in sizes:
            if one.parameter not in always and one.parameter not in declared:
                found.setdefault(one.parameter, []).append(one.when)
    return found


def _most(info: FieldInfo) -> int | None:
    for item in info.metadata:
        if getattr(item, "max_length", None) is not None:
            return int(item.max_length)
    return None


def _may_be_absent(annotation: Any) -> bool:
    """Tell whether a value may be left out: by None, or by a word that stands for a model."""
    parts = get_args(annotation)
    words = any(get_origin(part) is Literal for part in parts)
    models = any(isinstance(part, type) and issubclass(part, BaseModel) for part in parts)
    return NoneType in parts or (words and models)


def _kind(annotation: Any, metadata: tuple[Any, ...]) -> tuple[Kind, Any]:
    if get_origin(annotation) in (tuple, list):
        inner = get_args(annotation)[0]
        model = get_args(inner)[0] if get_origin(inner) is Annotated else inner
        if isinstance(model, type) and issubclass(model, BaseModel):
            return "list", model
        return ("lengths" if unit_of(inner) else "numbers"), None
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in (Union, UnionType):
        rows = [part for part in inner if get_origin(part) in (tuple, list)]
        if rows:  # a row, or none
            return _kind(rows[0], metadata)
    if unit := unit_of(annotation, metadata):
        return _KINDS[unit], None
    if origin is Annotated:
        return _kind(inner[0], inner[1:])
    if origin in (Union, UnionType):
        return _kind(next(part for part in inner if part is not NoneType), metadata)
    if origin is Literal:
        return "choice", annotation
    if isinstance(annotation, type):
        if issubclass(annotation, BaseModel):
            return "model", annotation
        for base, kind in ((bool, "switch"), (int, "count"), (float, "number")):
            if issubclass(annotation, base):
                return kind, None  # type: ignore[return-value]
    return "text", None


def _bound(info: FieldInfo, *names: str) -> float | None:
    for item in info.metadata:
        for name in names:
            if getattr(item, name, None) is not None:
                return float(getattr(item, name))
    return None


def _default(info: FieldInfo, kind: Kind, extra: Mapping[str, Any]) -> Any:
    if "typed_default" in extra:
        return extra["typed_default"]
    default = info.get_default(call_default_factory=True)
    if default is PydanticUndefined or default is None:
        return [] if kind in ("list", "lengths", "numbers") else ""
    return plain(default, kind)


def plain(value: Any, kind: Kind) -> Any:
    """Turn a parameter's value back into what a person would type."""
    if value is None:
        return ""
    if kind == "model" and not isinstance(value, BaseModel):
        return ""  # a word that stands for the model, such as auto
    if kind in ("length", "angle", "area"):
        return f"{value:g} {_UNITS[kind]}"
    if kind in ("lengths", "numbers"):
        return [f"{item:g} mm" if kind == "lengths" else f"{item:g}" for item in value]
    if kind in ("switch", "choice"):
        return value  # a choice among numbers stays a number
    if kind == "list":
        return [plain(item, "model") for item in value]
    if kind == "model":
        fields = fields_of(type(value))
        return {field.name: plain(getattr(value, field.name), field.kind) for field in fields}
    return str(value)


def row_of(field: Field, text: str) -> list[str]:
    """Cut a typed row into its values, each with the field's unit."""
    return [with_unit(field, part) for part in text.split(";") if part.strip()]


def with_unit(field: Field, text: str) -> str:
    """Add the field's unit to a bare number; leave anything else as typed."""
    text = text.strip()
    if not field.unit or not text:
        return text
    try:
        float(text.replace("−", "-"))
    except ValueError:
        if not any(sign.isdigit() for sign in text) or any(sign.isalpha() for sign in text):
            return text
        return f"{text} {field.unit}" if set(text) <= set("0123456789.,+-− ") else text
    return f"{text} {field.unit}"


def number_in(field: Field, text: str) -> float | None:
    """Read a text as the field's number, in its unit; None if it is none (or an expression).

    Raises
    ------
    FitkitError
        If the text is a number with a unit that cannot be used.
    """
    from fitkit.core.units import to_degrees, to_mm, to_mm2

    text = with_unit(field, text)
    try:
        if field.kind == "length":
            return to_mm(text)
        if field.kind == "angle":
            return to_degrees(text)
        if field.kind == "area":
            return to_mm2(text)
        return float(text) if field.kind in ("count", "number") else None
    except ValueError:
        return None


def bounds_fault(field: Field, text: str, value: float) -> str:
    """Say how a number is out of bounds, empty if it is not; it is never moved to one."""
    unit = f" {field.unit}" if field.unit else ""
    shown = f"{value:g}{unit}"
    as_typed = "" if with_unit(field, text) == shown else f"{text.strip()} = "
    if field.low is not None and value < field.low - 1e-9:
        return f"{as_typed}{shown} is under the least, {field.low:g}{unit}."
    if field.high is not None and value > field.high + 1e-9:
        return f"{as_typed}{shown} is over the most, {field.high:g}{unit}."
    return ""
