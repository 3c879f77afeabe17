"""The still picture that stays in a notebook when there is no kernel or no WebGL."""

from __future__ import annotations

import base64
import io
from html import escape
from typing import TYPE_CHECKING, Any

from fitkit.solids.picture import PALETTE, picture
from fitkit.widgets.protocol import OBJECT_COLOUR

if TYPE_CHECKING:
    from fitkit.export.scene import Scene

__all__ = ["still_bundle", "still_png"]

_OBJECT = f"{OBJECT_COLOUR}80"  # seen through, as in the live view


def still_png(scene: Scene, *, view: str = "iso", size: tuple[int, int] = (800, 460)) -> bytes:
    """Draw a scene as PNG."""
    names = [entry["name"] for entry in scene.head["bodies"]]
    solid = [entry["role"] == "body" for entry in scene.head["bodies"]]
    colours, bodies = [], 0
    for is_body in solid:
        colours.append(PALETTE[bodies % len(PALETTE)] if is_body else _OBJECT)
        bodies += is_body
    image = picture(
        [scene.meshes[name] for name in names],
        size=size,
        view=view,
        edges=[scene.edges[name] for name in names],
        colours=colours,
    )
    stream = io.BytesIO()
    image.save(stream, "PNG", optimize=True)
    return stream.getvalue()


def still_bundle(png: bytes, *, still_id: str, title: str) -> dict[str, Any]:
    """Give a picture for a notebook's output; a live view hides it."""
    data = base64.b64encode(png).decode()
    caption = f"{title}: still picture, as first built"
    html = (
        f'<figure data-fitkit-still="{escape(still_id)}" style="margin:0">'
        f'<img src="data:image/png;base64,{data}" alt="{escape(caption)}">'
        f'<figcaption style="font-size:12px">{escape(caption)}</figcaption></figure>'
    )
    return {"text/html": html, "image/png": data, "text/plain": caption}
