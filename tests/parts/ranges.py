"""Hypothesis strategies that draw whole parameter sets of a template from its declared bounds."""

from __future__ import annotations

import types
from typing import TYPE_CHECKING, Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Le
from hypothesis import strategies as st

from fitkit.core.errors import FaultList, FitkitError
from fitkit.parts.contract import Template, is_length, unit_of

if TYPE_CHECKING:
    from pydantic import BaseModel

# Lengths that are None by default have no bounds of their own.
_LOOSE = {"diagonal": (0.0, 0.0)}


def _bounds(metadata: Any) -> tuple[float, float]:
    low = next(item.ge for item in metadata if isinstance(item, Ge))
    high = next(item.le for item in metadata if isinstance(item, Le))
    return low, high


def _value(annotation: Any, metadata: Any) -> st.SearchStrategy[Any]:
    if get_origin(annotation) is Annotated:
        inner, *more = get_args(annotation)
        return _value(inner, (*metadata, *_flat(more)))
    if get_origin(annotation) is Literal:
        return st.sampled_from(get_args(annotation))
    if get_origin(annotation) in (Union, types.UnionType):
        kinds = [a for a in get_args(annotation) if a is not type(None)]
        return st.none() | _value(kinds[0], metadata)
    if annotation is bool:
        return st.booleans()
    if is_length(annotation, metadata):
        low, high = _bounds(metadata)
        hundredths = st.integers(round(low * 100), round(high * 100))
        return hundredths.map(lambda n: f"{n / 100:.2f} mm")
    if unit := unit_of(annotation, metadata):
        return st.integers(*map(round, _bounds(metadata))).map(lambda n: f"{n} {unit}")
    if annotation is int:
        return st.integers(*map(int, _bounds(metadata)))
    return st.floats(*_bounds(metadata))


def _flat(items: Any) -> Any:
    for item in items:
        yield from getattr(item, "metadata", (item,))


def values(model: type[BaseModel], **fixed: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """Draw a dict of typed values over the whole declared range of a model."""
    drawn = {
        name: fixed[name] if name in fixed else _value(info.annotation, info.metadata)
        for name, info in model.model_fields.items()
        if name not in ("label", *_LOOSE) or name in fixed
    }
    return st.fixed_dictionaries(drawn)


def refused(cls: type[Template], error: FitkitError) -> bool:
    """Whether an error is a refusal of parameters, each named, and not a build that failed."""
    faults = error.faults if isinstance(error, FaultList) else (error,)
    return all(
        (fault.where or "").startswith(f"{cls.title}, ") and fault.remedy for fault in faults
    )
