"""A drawing as SVG, in mm, with words as words."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from fitkit.drawings.elements import LOOKS, Circle, Line

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.drawings.drawing import Drawing
    from fitkit.drawings.elements import Element, Kind

__all__ = ["svg_of", "svg_text"]


def svg_text(drawing: Drawing, *, in_page: bool = False) -> str:
    """Write a drawing as one SVG element.

    Parameters
    ----------
    drawing : Drawing
    in_page : bool
        For the middle of an HTML page, which needs no namespace; else for a file of its own.

    Returns
    -------
    str
    """
    return svg_of(drawing.elements, drawing.size_mm, title=drawing.body, in_page=in_page)


def svg_of(
    elements: Iterable[Element],
    size_mm: tuple[float, float],
    *,
    title: str,
    in_page: bool = True,
) -> str:
    """Write elements as one SVG element at their true size.

    Parameters
    ----------
    elements : iterable of Element
        In mm from the lower left corner.
    size_mm : (width, height), mm
    title : str
        What the picture shows, for those who do not see it.
    in_page : bool
        As for `svg_text`.

    Returns
    -------
    str
    """
    width, height = size_mm
    space = "" if in_page else ' xmlns="http://www.w3.org/2000/svg"'
    lines = [
        f'<svg{space} width="{width:g}mm" height="{height:g}mm" '
        f'viewBox="0 0 {width:g} {height:g}" role="img">',
        f"<title>{escape(title)}</title>",
        '<g fill="none" stroke="#000" stroke-linecap="round" stroke-linejoin="round">',
    ]
    paths: dict[Kind, list[str]] = {}
    heads: list[str] = []
    jaws: list[str] = []
    words: list[str] = []
    for one in elements:
        if isinstance(one, Line):
            points = [f"{x:.4f} {height - y:.4f}" for x, y in one.points]
            path = "M" + "L".join(points)
            if one.filled:
                (jaws if one.kind == "jaw" else heads).append(path + "Z")
            else:
                paths.setdefault(one.kind, []).append(path)
        elif isinstance(one, Circle):
            x, y, r = one.middle[0], height - one.middle[1], one.radius
            ring = f"M{x - r:.4f} {y:.4f}a{r:.4f} {r:.4f} 0 1 0 {2 * r:.4f} 0"
            paths.setdefault(one.kind, []).append(f"{ring}a{r:.4f} {r:.4f} 0 1 0 {-2 * r:.4f} 0")
        else:
            x, y = one.at[0], height - one.at[1]
            turned = f' transform="rotate({-one.turn_deg:g} {x:.4f} {y:.4f})"' * bool(one.turn_deg)
            # Capitals of common sans faces are 0.73 of the size that is named.
            words.append(
                f'<text x="{x:.4f}" y="{y:.4f}" font-size="{one.height / 0.73:.3f}"{turned}>'
                f"{escape(one.text)}</text>"
            )
    for kind in LOOKS:
        if kind in paths:
            look = LOOKS[kind]
            dashes = " ".join(f"{dash:g}" for dash in look.dashes)
            dashed = f' stroke-dasharray="{dashes}"' * bool(dashes)
            lines.append(
                f'<path stroke-width="{look.width:g}"{dashed} d="{"".join(paths[kind])}"/>'
            )
    lines.append("</g>")
    if heads:
        lines.append(f'<path fill="#000" d="{"".join(heads)}"/>')
    if jaws:
        paint = f'stroke="#000" stroke-width="{LOOKS["jaw"].width:g}" fill="#9fb3b0"'
        lines.append(f'<path {paint} fill-opacity="0.75" d="{"".join(jaws)}"/>')
    lines.append('<g fill="#000" font-family="DejaVu Sans, Liberation Sans, Arial, sans-serif">')
    lines += [*words, "</g>", "</svg>"]
    return "\n".join(lines)
