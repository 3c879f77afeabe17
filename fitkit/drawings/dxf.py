"""A drawing as DXF, in mm at full size, each kind of line on a layer of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.drawings.elements import LOOKS, Circle, Line

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.drawings.drawing import Drawing

__all__ = ["write_dxf"]


def write_dxf(path: Path, drawing: Drawing) -> None:
    """Write a drawing to a DXF file; what is 1 mm long on the part is 1 unit long there.

    Parameters
    ----------
    path : Path
    drawing : Drawing
    """
    import ezdxf
    from ezdxf.enums import TextEntityAlignment

    document = ezdxf.new("R2010", setup=True)
    document.header["$INSUNITS"] = 4  # mm
    for kind, look in LOOKS.items():
        layer = document.layers.add(kind)
        layer.dxf.lineweight = round(100 * look.width)
        if look.dashes:
            layer.dxf.linetype = "DASHED" if kind == "hidden" else "CENTER"
    document.layers.add("words")
    space, full = document.modelspace(), 1 / drawing.scale
    for one in drawing.elements:
        if isinstance(one, Line):
            points = [(full * x, full * y) for x, y in one.points]
            on = {"layer": one.kind}
            if one.filled:
                space.add_solid([points[0], points[1], points[2]], dxfattribs=on)
            elif len(points) == 2:
                space.add_line(*points, dxfattribs=on)
            else:
                space.add_lwpolyline(points, dxfattribs=on)
        elif isinstance(one, Circle):
            middle = (full * one.middle[0], full * one.middle[1])
            space.add_circle(middle, full * one.radius, dxfattribs={"layer": one.kind})
        else:
            words = space.add_text(
                one.text,
                height=full * one.height,
                rotation=one.turn_deg,
                dxfattribs={"layer": "words"},
            )
            words.set_placement(
                (full * one.at[0], full * one.at[1]), align=TextEntityAlignment.LEFT
            )
    document.saveas(path)
