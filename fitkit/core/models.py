"""From a TOML file, or plain data, to a checked model, every fault told at its key.

One mapper from pydantic's `ValidationError` to fitkit's faults, and one way to say why a file is
not the TOML that was wanted. pydantic's own sentences are kept only where there is no plainer one.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from types import UnionType
from typing import (
    TYPE_CHECKING,
    Annotated,
    Any,
    TypeVar,
    Union,
    get_args,
    get_origin,
)

from pydantic import BaseModel, ConfigDict, ValidationError

from fitkit.core.errors import FaultList, FitkitError, InputError
from fitkit.core.files import read_toml

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from os import PathLike

__all__ = ["StrictModel", "faults_of", "load_model", "load_toml"]

_Model = TypeVar("_Model", bound=BaseModel)
# More of a typed value tells a reader nothing.
_MOST_SHOWN = 80


class StrictModel(BaseModel):
    """Base of what is read from a file: never changed once made, and it refuses unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid")


def load_toml(
    path: str | PathLike[str],
    *,
    kind_of_file: str,
    error: type[FitkitError] = InputError,
    max_bytes: int = 2_000_000,
    if_absent: str = "Check the name.",
) -> dict[str, Any]:
    """Read a TOML file, or say why it cannot be read.

    Parameters
    ----------
    path : path
    kind_of_file : str
        What it should be, with no article: ``part sheet``.
    error : type of FitkitError
        What to raise.
    max_bytes : int
    if_absent : str
        What to do if there is no such file.

    Returns
    -------
    dict

    Raises
    ------
    FitkitError
        Of the kind given. Codes: ``file.absent``, ``file.unreadable``, ``file.not-utf8``,
        ``file.not-toml``.
    """
    try:
        content = read_toml(path, max_bytes=max_bytes)
    except FileNotFoundError:
        raise error(
            f"there is no such {kind_of_file}", file=path, code="file.absent", remedy=if_absent
        ) from None
    except OSError as trouble:
        raise error(
            f"this {kind_of_file} cannot be read: {trouble.strerror or trouble}",
            file=path,
            code="file.unreadable",
            remedy="Check the file.",
        ) from trouble
    except UnicodeDecodeError as trouble:
        raise error(
            f"this {kind_of_file} is not UTF-8 text",
            file=path,
            code="file.not-utf8",
            remedy="Save it as UTF-8.",
        ) from trouble
    except ValueError as trouble:
        raise error(
            f"this {kind_of_file} is not valid TOML: {trouble}",
            file=path,
            code="file.not-toml",
            remedy="Correct that place.",
        ) from trouble
    if (at := _place_of_nul(content)) is not None:
        raise error(
            "this text holds a NUL character, which no name or path can have",
            file=path,
            at=at,
            code="file.nul",
            remedy="Type it again.",
        )
    return content


def _place_of_nul(content: Any) -> tuple[str | int, ...] | None:
    """Find the first text with a NUL character in plain data."""
    if isinstance(content, str):
        return () if "\0" in content else None
    pairs = content.items() if isinstance(content, dict) else enumerate(content)
    for key, value in pairs:
        if isinstance(value, (str, dict, list)) and (at := _place_of_nul(value)) is not None:
            return (key, *at)
    return None


def load_model(
    source: str | PathLike[str] | Mapping[str, Any],
    model: type[_Model],
    *,
    kind_of_file: str,
    error: type[FitkitError] = InputError,
    file: str | PathLike[str] | None = None,
    at: tuple[str | int, ...] = (),
    max_bytes: int = 2_000_000,
    if_absent: str = "Check the name.",
) -> _Model:
    """Read a TOML file, or take plain data, as a model.

    Parameters
    ----------
    source : path or mapping
        The file, or its content.
    model : type of pydantic model
    kind_of_file : str
        What it should be, with no article: ``part sheet``.
    error : type of FitkitError
        What to raise.
    file : path, optional
        What the messages name; the path of `source` if not given.
    at : tuple of str and int
        Keys under which plain data lies in its file.
    max_bytes, if_absent
        As `load_toml` takes them.

    Returns
    -------
    model

    Raises
    ------
    FitkitError
        Of the kind given, if the file cannot be read.
    FaultList
        All keys at fault, each of the kind given.
    """
    if isinstance(source, Mapping):
        content = dict(source)
    else:
        file = source if file is None else file
        content = load_toml(
            source,
            kind_of_file=kind_of_file,
            error=error,
            max_bytes=max_bytes,
            if_absent=if_absent,
        )
    try:
        return model.model_validate(content)
    except ValidationError as trouble:
        raise faults_of(trouble, model=model, error=error, file=file, at=at) from trouble


def faults_of(
    trouble: ValidationError,
    *,
    model: Any = None,
    error: type[FitkitError] = InputError,
    file: str | PathLike[str] | None = None,
    where: str | None = None,
    at: tuple[str | int, ...] = (),
    thing: str = "key",
    remedy: str | None = None,
    unit: Callable[[tuple[str | int, ...]], str] = lambda _: "",
) -> FaultList:
    """Say each fault that pydantic found in plain words, at its path of keys.

    Parameters
    ----------
    trouble : ValidationError
    model : type, optional
        What was validated, so that an unknown key can be told which there are.
    error : type of FitkitError
        Of each fault.
    file, where, at
        Place of the whole; `at` comes before each key.
    thing : str
        What a key is called: ``key``, ``parameter``.
    remedy : str, optional
        In place of the one that the kind of fault suggests.
    unit : function of a path
        Unit of a number, told behind it.

    Returns
    -------
    FaultList
        Codes: ``KEY.unknown``, ``KEY.missing``, ``KEY.too-low``, ``KEY.too-high``,
        ``KEY.not-a-choice``, ``KEY.wrong``, with `thing` for KEY; those of the errors that
        validators raised stay.
    """
    faults: list[FitkitError] = []
    found = trouble.errors()
    for item in found:
        if item["type"] == "too_short" and _any_inside(item["loc"], found):
            continue  # items are short in number because they are at fault themselves
        path, inner = _walked(model, item["loc"])
        if item["type"] in ("union_tag_invalid", "union_tag_not_found"):
            path = (*path, item["ctx"]["discriminator"].strip("'"))
        place: dict[str, Any] = {"file": file, "where": where, "at": (*at, *path)}
        context = item.get("ctx", {})
        cause = context.get("error")
        if isinstance(cause, FaultList):
            faults += [
                fault.placed(error, **place | {"at": (*place["at"], *fault.at)}) for fault in cause
            ]
            continue
        if isinstance(cause, FitkitError):
            at_cause = {"at": (*place["at"], *cause.at), "where": where or cause.about or None}
            fault = cause.placed(error, **place | at_cause)
            fault.code = fault.code or f"{thing}.wrong"
            faults.append(fault)
            continue
        name, what, advice = _in_words(item, thing, unit(path))
        if name == "unknown" and inner is not None and not remedy:
            advice = _which_there_are(str(item["loc"][-1]), inner, thing)
        faults.append(error(what, code=f"{thing}.{name}", remedy=remedy or advice or None, **place))
    return FaultList(faults)


def _in_words(item: Any, thing: str, unit: str) -> tuple[str, str, str]:
    """Give the code's end, what is wrong, and what mends it; empty if that is not known."""
    context, given = item.get("ctx", {}), item.get("input")
    unit = f" {unit}" if unit else ""
    # What was typed is told as it was typed; a bare number gets its unit.
    number = isinstance(given, int | float) and not isinstance(given, bool)
    number = number and (isinstance(given, float) or abs(given) < 10**15)  # more has no float
    typed = f"{given:.6g}{unit}" if number else f"{given!r:.{_MOST_SHOWN}}"
    bare = given if isinstance(given, str) else typed
    match item["type"]:
        case "extra_forbidden":
            return "unknown", f"there is no such {thing}", "Check the spelling, or leave it out."
        case "missing":
            return "missing", f"this {thing} is missing", "Add it."
        case "greater_than_equal":
            return "too-low", f"{bare} is below {context['ge']:g}{unit}", "Give a larger value."
        case "less_than_equal":
            return "too-high", f"{bare} is above {context['le']:g}{unit}", "Give a smaller value."
        case "greater_than":
            return "too-low", f"{bare} is not above {context['gt']:g}{unit}", "Give a larger value."
        case "less_than":
            return (
                "too-high",
                f"{bare} is not below {context['lt']:g}{unit}",
                ("Give a smaller value."),
            )
        case "union_tag_not_found":
            return "missing", f"this {thing} is missing", "Add it."
        case "union_tag_invalid":
            what = f"{context['tag']!r} is not one of {context['expected_tags']}"
            return "not-a-choice", what, "Write one of these."
        case "literal_error":
            choices = str(context["expected"])
            return "not-a-choice", f"{typed} is not one of {choices}", "Write one of these."
        case "value_error":
            said = str(context.get("error") or item["msg"].removeprefix("Value error, "))
        case kind:
            return _of_the_wrong_kind(kind, given, bare, context)
    # A whole table is too much to be told again.
    shown = not isinstance(given, Mapping | BaseModel)
    return "wrong", f"{typed}: {said}" if shown else said, ""


def _of_the_wrong_kind(
    fault: str, given: Any, typed: str, context: Mapping[str, Any]
) -> tuple[str, str, str]:
    """Say in our own words what pydantic says of a value whose kind or length is not the wanted."""
    typed = typed if len(typed) <= _MOST_SHOWN else f"{typed[:_MOST_SHOWN]} ..."
    match fault:
        case "string_too_long":
            what = f"{typed!r} has {len(given)} letters, over {context['max_length']}"
            return "wrong", what, "Shorten it."
        case "string_too_short":
            least = context["min_length"]
            advice = f"Give {least} letter{'' if least == 1 else 's'} or more."
            return "wrong", f"{typed!r} has {len(given)} letters", advice
        case "too_long":
            what = f"{context['actual_length']} are given, over {context['max_length']}"
            return "wrong", what, "Leave some out."
        case "too_short":
            least = context["min_length"]
            return "wrong", f"{context['actual_length']} are given", f"Give {least} or more."
        case "finite_number":
            return "wrong", f"{typed} is not a finite number", "Give a number."
        case "int_from_float":
            return "wrong", f"{typed} is not a whole number", "Give one, such as 3."
    if isinstance(given, Mapping | BaseModel):
        typed = "a table"
    for start, (wanted, advice) in _KINDS.items():
        if fault.startswith(start):
            return "wrong", f"{typed} is not {wanted}", advice
    return "wrong", f"{typed} cannot be used here", ""


# How the names of pydantic's faults begin, what was wanted there, and what to do.
_KINDS = {
    "int_": ("a whole number", "Give one, such as 3."),
    "float_": ("a number", "Give one, such as 2.5."),
    "bool_": ("yes or no", "Write true or false."),
    "string_": ("a text", "Put it between quotes."),
    "list_": ("a list", "Write it between square brackets."),
    "tuple_": ("a list", "Write it between square brackets."),
    "dict_": ("a table", "Write its keys below a heading in square brackets."),
    "model_": ("a table", "Write its keys below a heading in square brackets."),
    "mapping_": ("a table", "Write its keys below a heading in square brackets."),
    "datetime_": ("a date and time", "Write one such as 2026-11-27T09:30:00."),
    "date_": ("a date", "Write one such as 2026-11-27."),
    "path_": ("the path of a file", "Put it between quotes."),
    "none_": ("empty", "Leave it out."),
}


def _any_inside(loc: tuple[Any, ...], found: Sequence[Any]) -> bool:
    """Tell whether a fault lies inside the place of another."""
    return any(len(one["loc"]) > len(loc) and one["loc"][: len(loc)] == loc for one in found)


def _which_there_are(name: str, model: type[BaseModel], thing: str) -> str:
    """Name the nearest of the keys of a model, and all of them."""
    known = _names(model)
    near = difflib.get_close_matches(name, known, 1)
    nearest = f"Did you mean {near[0]!r}? " if near else ""
    return f"{nearest}The {thing}s are: {', '.join(known)}."


def _names(model: type[BaseModel]) -> list[str]:
    """Names by which a file gives a model's fields, without those that no file holds."""
    return [
        info.alias or name for name, info in model.model_fields.items() if info.exclude is not True
    ]


def _walked(
    annotation: Any, loc: Sequence[str | int]
) -> tuple[tuple[str | int, ...], type[BaseModel] | None]:
    """Follow pydantic's place through the types.

    Returns
    -------
    path : tuple of str and int
        The keys alone: pydantic also names the member of a union that it tried.
    model : type or None
        The innermost model on the way that the last key belongs to.
    """
    path: list[str | int] = []
    holder: type[BaseModel] | None = None
    for step in loc:
        annotation = _bare(annotation)
        members = _members(annotation)
        if members:
            picked = next((m for m in members if _is_named(m, step)), None)
            if picked is not None:
                annotation = picked
                continue
            # Of the members, the one that has such a key.
            annotation = next((m for m in members if _inner(m, step) is not None), members[0])
        holder = annotation if _is_model(annotation) else None
        inner = _inner(annotation, step)
        if inner is None and isinstance(step, str) and step.endswith("]"):
            continue  # how pydantic names a validator that it tried
        path.append(step)
        annotation = inner
    return tuple(path), holder


def _is_model(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _bare(annotation: Any) -> Any:
    while True:
        if get_origin(annotation) is Annotated:
            annotation = get_args(annotation)[0]
        else:
            return annotation


def _members(annotation: Any) -> list[Any]:
    if get_origin(annotation) not in (Union, UnionType):
        return []
    return [_bare(m) for m in get_args(annotation) if m is not type(None)]


def _is_named(member: Any, step: str | int) -> bool:
    """Tell whether a step of a place is the name of a union's member, or its mark."""
    if not isinstance(step, str):
        return False
    if _is_model(member):
        kind = member.model_fields.get("kind")
        return step == member.__name__ or (kind is not None and kind.default == step)
    return step == getattr(member, "__name__", "") or step.startswith(
        f"{getattr(get_origin(member), '__name__', '?')}["
    )


def _inner(annotation: Any, step: str | int) -> Any:
    """Type of what lies under a key; None if nothing can."""
    if _is_model(annotation):
        for name, info in annotation.model_fields.items():
            if step in (info.alias or name, name):
                return info.annotation
        return None
    inner = get_args(annotation)
    match get_origin(annotation):
        case origin if origin in (tuple, list) and isinstance(step, int):
            return inner[0] if origin is list or inner[-1] is Ellipsis else inner[step]
        case origin if isinstance(origin, type) and issubclass(origin, Mapping):
            return inner[1]
    return None
