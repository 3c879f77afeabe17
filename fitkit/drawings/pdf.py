"""Drawings as a PDF, a page each, at their true size on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.drawings.elements import LOOKS, Circle, Line

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fitkit.drawings.drawing import Drawing

__all__ = ["write_pdf"]

_POINT_MM = 25.4 / 72


def write_pdf(path: Path, drawings: Sequence[Drawing], *, title: str) -> None:
    """Write drawings to a PDF file.

    Parameters
    ----------
    path : Path
    drawings : sequence of Drawing
    title : str
        Of the document.
    """
    from importlib.resources import as_file, files

    from fpdf import FPDF

    from fitkit.solids.label import FONT

    pdf = FPDF(unit="mm")
    pdf.set_title(title)
    pdf.set_auto_page_break(False)
    with as_file(files("fitkit.data") / "fonts" / FONT) as font:
        pdf.add_font("label", fname=str(font))
    for drawing in drawings:
        width, height = drawing.size_mm
        pdf.add_page(orientation="landscape", format=(height, width))
        for one in drawing.elements:
            if isinstance(one, Line | Circle):
                look = LOOKS[one.kind]
                pdf.set_line_width(look.width)
                if look.dashes:
                    pdf.set_dash_pattern(dash=look.dashes[0], gap=look.dashes[1])
                if isinstance(one, Circle):
                    pdf.circle(one.middle[0], height - one.middle[1], one.radius)
                else:
                    points = [(x, height - y) for x, y in one.points]
                    if one.filled:
                        pdf.set_fill_color(0)
                        pdf.polygon(points, style="F")
                    elif len(points) == 2:
                        pdf.line(*points[0], *points[1])
                    else:
                        pdf.polyline(points)
                if look.dashes:
                    pdf.set_dash_pattern()
                continue
            # Capitals of the font are 0.73 of its size.
            pdf.set_font("label", size=one.height / 0.73 / _POINT_MM)
            x, y = one.at[0], height - one.at[1]
            if one.turn_deg:
                with pdf.rotation(one.turn_deg, x, y):
                    pdf.text(x, y, one.text)
            else:
                pdf.text(x, y, one.text)
    pdf.output(str(path))
