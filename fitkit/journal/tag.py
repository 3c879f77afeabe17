"""The label for the bin or the part's bag: code, title, date, and a QR code of the trace code.

An SVG of real size, black on white, to be printed on paper or label stock. The QR code holds the
trace code and title as plain text, no address, so it asks nothing of a network.
"""

from __future__ import annotations

import io
import unicodedata
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitkit.journal.records import PrintRecord

__all__ = ["tag_svg", "tag_text"]

WIDTH_MM, HEIGHT_MM = 62.0, 29.0
_QUIET_MM = 1.5


def tag_text(record: PrintRecord) -> str:
    """What the QR code says."""
    return f"{record.code} {_printable(record.title)}"[:120]


def tag_svg(record: PrintRecord) -> str:
    """Draw the label.

    Parameters
    ----------
    record : PrintRecord

    Returns
    -------
    str
        SVG, 62 mm x 29 mm.
    """
    import segno

    stream = io.BytesIO()
    # Level M bears a scratch on 15 % of the code (ISO/IEC 18004).
    segno.make(tag_text(record), error="m", micro=False).save(
        stream, kind="svg", border=4, xmldecl=False, svgns=False, omitsize=True, nl=False
    )
    side = HEIGHT_MM - 2 * _QUIET_MM
    code = stream.getvalue().decode()
    code = code.replace(
        "<svg ", f'<svg x="{_QUIET_MM}" y="{_QUIET_MM}" width="{side}" height="{side}" ', 1
    )
    left = side + 2 * _QUIET_MM
    lines = (
        (9.0, 6.2, "bold", f"{record.code[:4]} {record.code[4:]}"),
        (15.0, 3.2, "normal", _cut(record.title, 24)),
        (19.5, 2.6, "normal", _cut(f"{record.made_at:%Y-%m-%d}  {record.material}", 28)),
        (23.5, 2.6, "normal", _cut(record.printer, 28)),
    )
    texts = "".join(
        f'<text x="{left}" y="{y}" font-size="{size}" font-weight="{weight}">{escape(text)}</text>'
        for y, size, weight, text in lines
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}" role="img" font-family="sans-serif" '
        f'aria-label="{escape(tag_text(record))}">'
        f'<rect width="{WIDTH_MM}" height="{HEIGHT_MM}" fill="#fff"/>{code}{texts}</svg>'
    )


def _printable(text: str) -> str:
    return "".join(c for c in text if unicodedata.category(c)[0] != "C")


def _cut(text: str, most: int) -> str:
    text = _printable(text)
    return text if len(text) <= most else text[: most - 1] + "…"
