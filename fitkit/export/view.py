"""One page that shows a part live: turned, cut, with its sizes and gaps; a file, and no net.

The page holds its programs and its part. Its own policy forbids it to load or send anything: what
it runs is named by a hash, and it may reach no address. Whoever gets the file needs a browser.
"""

from __future__ import annotations

import base64
import hashlib
import json
from functools import cache
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.parts.contract import Part

__all__ = ["view_page"]

_STATIC = Path(__file__).parent / "static"
# Styles are set by the page's own program; nothing else may come from anywhere.
_POLICY = (
    "default-src 'none'; script-src 'sha256-{script}'; style-src 'unsafe-inline'; "
    "img-src data: blob:; base-uri 'none'; form-action 'none'"
)
_PAGE = """<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<noscript>This page draws the part with its own program: allow scripts for it.</noscript>
<script type="application/json" id="part">{data}</script>
<script>{script}</script>
</body>
</html>
"""


def view_page(
    part: Part, *, bed_mm: Sequence[float] | None = None, code: str = "", made_on: str = ""
) -> str:
    """Give the page as HTML text.

    Parameters
    ----------
    part : Part
    bed_mm : (x, y), mm, optional
        The printer's bed; one of 220 mm is assumed, and said to be, if None.
    code : str
        Trace code of the print, if it has one.
    made_on : str
        When it was made, if it was.

    Returns
    -------
    str
    """
    from fitkit.drawings.facing import every_facing
    from fitkit.export.scene import gaps_of, scene_of

    scene = scene_of(part, bed_mm=bed_mm)
    gaps = gaps_of(part, scene)
    data = {
        "head": scene.head,
        "arrays": [_text(array) for array in scene.arrays],
        "gaps": gaps.gaps,
        "gap_arrays": [_text(array) for array in gaps.arrays],
        "facing": every_facing(scene.head),
        "code": code,
        "made_on": made_on,
    }
    script, digest = _program()
    return _PAGE.format(
        policy=escape(_POLICY.format(script=digest)),
        title=escape(f"{part.title} {code}".strip()),
        style=(_STATIC / "fitkit.css").read_text(encoding="utf-8"),
        # A sign that would end the script early is written otherwise; it reads the same.
        data=json.dumps(data).replace("<", "\\u003c"),
        script=script,
    )


def _text(array: Any) -> str:
    return base64.b64encode(array.tobytes()).decode()


@cache
def _program() -> tuple[str, str]:
    """Give the page's program, and the hash that lets it run."""
    script = (_STATIC / "view.js").read_text(encoding="utf-8")
    digest = hashlib.sha256(script.encode()).digest()
    return script, base64.b64encode(digest).decode()
