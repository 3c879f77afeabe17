"""A readings table as HTML for a notebook: as typed, in mm, and what is doubted in words."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitkit.readings.table import ReadingTable

__all__ = ["table_html"]

_MOST_ROWS = 200


def table_html(table: ReadingTable) -> str:
    """Captioned table with row headers; user text is escaped; long tables are cut and say so."""
    bad = len(table.rejected)
    caption = f"{table.name}: {len(table)} readings, {bad} rejected"
    if len(table) > _MOST_ROWS:
        caption += f"; the first {_MOST_ROWS} are shown"
    doubts: dict[int, list[str]] = {}
    for flag in table.flags:
        for row in flag.rows:
            doubts.setdefault(row, []).append(f"doubt: {flag.text}")
    head = "".join(
        f'<th scope="col">{name}</th>'
        for name in ("row", "feature", "mode", "as typed", "unit", "in mm", "remarks")
    )
    body = []
    for one in table.frame.head(_MOST_ROWS).to_dict("records"):
        says = [f"rejected: {one['rejected']}"] if one["rejected"] else []
        says += [one["remark"]] if one["remark"] else []
        says += [f"left out: {one['left_out']}"] if one.get("left_out") else []
        says += doubts.get(int(one["row"]), [])
        size = "" if one["rejected"] else f"{one['value_mm']:.3f} mm"
        cells = (one["feature"], one["mode"], one["reading"], one["unit"], size, "; ".join(says))
        body.append(
            f'<tr><th scope="row">{one["row"]}</th>'
            + "".join(f"<td>{escape(str(cell))}</td>" for cell in cells)
            + "</tr>"
        )
    notes = "".join(f"<li>{escape(note)}</li>" for note in table.notes)
    return (
        f"<table><caption>{escape(caption)}</caption><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table>" + (f"<ul>{notes}</ul>" if notes else "")
    )
