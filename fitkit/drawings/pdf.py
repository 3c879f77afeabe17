"""Drawings as a PDF, a page each, at their true size on paper."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from fitkit.drawings.elements import LOOKS, Circle, Line

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from fitkit.drawings.drawing import Drawing
    from fitkit.drawings.elements import Element

__all__ = ["paint", "write_pdf"]

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
        paint(pdf, drawing.elements, foot=(0.0, height), font="label")
    pdf.output(str(path))


def paint(
    pdf: Any,
    elements: Iterable[Element],
    *,
    foot: tuple[float, float],
    font: str,
    scale: float = 1.0,
) -> None:
    """Draw elements on the present page of a PDF.

    Parameters
    ----------
    pdf : FPDF
        With mm as its unit.
    elements : iterable of Element
    foot : (x, y), mm
        Where their lower left corner goes, from the upper left corner of the page.
    font : str
        A font that was added.
    scale : float
        Of lengths, line widths and letters alike.
    """
    left, low = foot

    def at(x: float, y: float) -> tuple[float, float]:
        return left + scale * x, low - scale * y

    for one in elements:
        if isinstance(one, Line | Circle):
            look = LOOKS[one.kind]
            pdf.set_line_width(scale * look.width)
            if look.dashes:
                pdf.set_dash_pattern(dash=scale * look.dashes[0], gap=scale * look.dashes[1])
            if isinstance(one, Circle):
                pdf.circle(*at(*one.middle), scale * one.radius)
            else:
                points = [at(x, y) for x, y in one.points]
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
        # Capitals of common fonts are 0.73 of their size.
        pdf.set_font(font, size=scale * one.height / 0.73 / _POINT_MM)
        x, y = at(*one.at)
        if one.turn_deg:
            with pdf.rotation(one.turn_deg, x, y):
                pdf.text(x, y, one.text)
        else:
            pdf.text(x, y, one.text)
