"""The columns of a readings table, and the schema that every row is held against.

The schema is pandera's, since it names the failing cells of a whole frame at once, column by
column, which pydantic would do a row at a time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["COLUMNS", "COMPUTED", "MODES", "OPTIONAL", "faults"]

COLUMNS = ("item", "feature", "mode", "reading", "unit", "instrument", "taken_at", "note")
# round: is the feature round; between: round holes whose far walls the inside jaws touch, one name
# for two alike or two apart by a semicolon; place: where on the part; zeroed: length at which the
# display was set to zero; temperature: of the part, when read; left_out: why it does not count.
OPTIONAL = ("round", "between", "place", "zeroed", "temperature", "left_out")
# Worked out from the text columns, and never written.
COMPUTED = ("row", "value_mm", "step_mm", "stated_mm", "zeroed_mm", "rejected", "remark", "counts")
MODES = ("outside", "inside", "depth", "step")
_YES_NO = ("", "yes", "no")

_TEMPERATURE = r"(?:[-+]?\d+(?:[.,]\d+)?\s*(?:°\s*[CF]|deg[CF]|K))?"
_DATE = r"(?:\d{4}-\d{2}-\d{2}(?:[ T]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?(?:Z|[+-]\d{2}:?\d{2})?)?)?"
_REASONS = {
    "feature": "the feature has no name",
    "mode": f"mode {{!r}} is none of {', '.join(MODES)}",
    "round": "round {!r} is neither yes nor no",
    "temperature": "temperature {!r} is not such as '45 °C'",
    "taken_at": "taken_at {!r} is not a date such as 2026-03-16 or 2026-03-16T09:30",
    "value_mm": "the size is not above zero",
}


def _schema() -> Any:
    import pandera.pandas as pa

    text = {"dtype": object, "coerce": True}
    return pa.DataFrameSchema(
        {
            "feature": pa.Column(checks=pa.Check.str_length(min_value=1), **text),
            "mode": pa.Column(checks=pa.Check.isin(MODES), **text),
            "round": pa.Column(checks=pa.Check.isin(_YES_NO), required=False, **text),
            "temperature": pa.Column(
                checks=pa.Check.str_matches(f"^{_TEMPERATURE}$"), required=False, **text
            ),
            "taken_at": pa.Column(checks=pa.Check.str_matches(f"^{_DATE}$"), **text),
            # Depths and steps may be nil or turned round; outsides and insides may not.
            "value_mm": pa.Column(float, nullable=True),
        },
        checks=pa.Check(
            lambda frame: (frame["value_mm"] > 0) | ~frame["mode"].isin(("outside", "inside")),
            name="value_mm",
        ),
    )


def faults(frame: pd.DataFrame) -> dict[int, str]:
    """Find what each row lacks: index of the row to reasons in plain words.

    A row whose reading is not a number is left to the parser, which knows why.
    """
    from pandera.errors import SchemaErrors

    readable = frame[frame["value_mm"].notna()]
    try:
        _schema().validate(readable, lazy=True)
    except SchemaErrors as error:
        found: dict[int, list[str]] = {}
        for case in error.failure_cases.itertuples():
            if case.index is None:
                raise
            # A check of the whole row is reported once for each of its columns.
            whole_row = case.schema_context == "DataFrameSchema"
            reason = _REASONS["value_mm" if whole_row else case.column]
            reasons = found.setdefault(int(case.index), [])
            text = reason.format(case.failure_case)
            if text not in reasons:
                reasons.append(text)
        return {index: "; ".join(reasons) for index, reasons in found.items()}
    return {}
