"""The dimensioned sheet: one self-contained HTML page of pictures, sizes and findings.

Rendered with jinja2, which escapes every value; pictures are PNG and drawings SVG inside the page,
so that it can be mailed or printed and asks nothing of a network.
"""

from __future__ import annotations

import base64
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL.Image import Image

    from fitkit.core.finding import Finding
    from fitkit.core.format import FitTexts
    from fitkit.drawings import Drawing
    from fitkit.parts.contract import KeyDimension

__all__ = ["SheetPage", "render_sheet"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SheetPage:
    """All that a sheet shows."""

    title: str
    template: str
    code: str
    made_on: str
    printer: str
    rows: Sequence[FitTexts]
    notes: Sequence[str]
    dimensions: Sequence[KeyDimension]
    findings: Sequence[Finding]
    files: Sequence[str]
    provenance: Sequence[str]
    pictures: Sequence[tuple[str, Image]]
    drawings: Sequence[Drawing] = ()
    settings: Sequence[tuple[str, str]] = ()


def render_sheet(page: SheetPage) -> str:
    """Render the page as HTML text."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    from fitkit.drawings import svg_text

    environment = Environment(
        loader=PackageLoader("fitkit", "export"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["figure"] = _figure
    values: dict[str, Any] = {name: getattr(page, name) for name in SheetPage.__slots__}
    values["pictures"] = [
        {"caption": caption, "uri": _data_uri(image)} for caption, image in page.pictures
    ]
    values["drawings"] = [Markup(svg_text(drawing, in_page=True)) for drawing in page.drawings]
    return environment.get_template("sheet.html.j2").render(values)


def _figure(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:.3g} {unit}".rstrip()


def _data_uri(image: Image) -> str:
    stream = io.BytesIO()
    image.save(stream, "PNG")
    return "data:image/png;base64," + base64.b64encode(stream.getvalue()).decode()
