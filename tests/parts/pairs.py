"""Rows of options such that every two values of two parameters meet in one row at least."""

from __future__ import annotations

from itertools import combinations, product
from typing import TYPE_CHECKING, Annotated, Any, Literal, get_args, get_origin

from annotated_types import Ge, Le

from fitkit.parts.contract import is_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.parts.contract import Template

Row = dict[str, Any]


def options(kind: type[Template], *, sizes: bool) -> dict[str, tuple[Any, ...]]:
    """Values of each parameter: all of a choice; both bounds and the default of a size."""
    found = {}
    for name, info in kind.model_fields.items():
        metadata = [part for item in info.metadata for part in getattr(item, "metadata", (item,))]
        annotation = info.annotation
        while get_origin(annotation) is Annotated:
            annotation, *more = get_args(annotation)
            metadata += [part for item in more for part in getattr(item, "metadata", (item,))]
        values: tuple[Any, ...] = ()
        if get_origin(annotation) is Literal:
            values = get_args(annotation)
        elif annotation is bool:
            values = (False, True)
        elif sizes and annotation in (int, float):
            ends = [part.ge for part in metadata if isinstance(part, Ge)]
            ends += [part.le for part in metadata if isinstance(part, Le)]
            unit = unit_of(info.annotation, info.metadata)
            if is_length(info.annotation, info.metadata) or unit:
                values = tuple(f"{value} {unit}" for value in (*ends, info.default))
            else:
                values = (*ends, info.default)
        if len(values) > 1:
            found[name] = values
    return found


def pairwise_rows(values: dict[str, tuple[Any, ...]]) -> Iterator[Row]:
    """Give rows that cover all pairs, greedily: first what is covered least."""
    names = list(values)
    left = {
        ((a, x), (b, y))
        for a, b in combinations(names, 2)
        for x, y in product(range(len(values[a])), range(len(values[b])))
    }
    if len(names) == 1:
        yield from ({names[0]: value} for value in values[names[0]])
    while left:
        (first, second) = min(left)
        row = dict((first, second))
        for name in names:
            if name in row:
                continue
            gain = {
                i: sum(
                    tuple(sorted(((name, i), (other, j)), key=lambda at: names.index(at[0])))
                    in left
                    for other, j in row.items()
                )
                for i in range(len(values[name]))
            }
            row[name] = max(gain, key=lambda i: gain[i])
        left -= {((a, row[a]), (b, row[b])) for a, b in combinations(names, 2)}
        yield {name: values[name][i] for name, i in row.items()}
