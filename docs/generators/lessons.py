"""A page for each lesson, from its notebook as it stands, with the outputs that are stored there.

Nothing is run. Widgets leave no picture in a notebook, so a line says that one stands there.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

NOTEBOOKS = Path(__file__).resolve().parents[2] / "notebooks"
_WIDGET = "application/vnd.jupyter.widget-view+json"
_PICTURES = {"image/png": "png", "image/jpeg": "jpg"}


def pages() -> Iterator[tuple[str, str | bytes]]:
    """Give each file's path below ``lessons/`` and its content."""
    titles = []
    for path in sorted(NOTEBOOKS.glob("*.ipynb")):
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        text, pictures = _page(path.stem, cells)
        yield f"{path.stem}.md", text
        yield from pictures
        titles.append(path.stem)
    index = [
        "# Lessons",
        "",
        "Each is a notebook that takes a quarter of an hour. `python3 run.py lab` opens them to be",
        "run and changed; here they stand as they were run.",
        "",
        "```{toctree}",
        ":maxdepth: 1",
        "",
        *titles,
        "```",
        "",
    ]
    yield "index.md", "\n".join(index)


def _page(stem: str, cells: list[dict[str, object]]) -> tuple[str, list[tuple[str, bytes]]]:
    import base64

    lines: list[str] = []
    pictures: list[tuple[str, bytes]] = []
    for cell in cells:
        source = "".join(cell["source"])  # type: ignore[arg-type]
        if cell["cell_type"] == "markdown":
            lines += [re.sub(r"\]\((\d\d_\w+)\.ipynb", r"](\1.md", source), ""]
            continue
        if not source.strip():
            continue
        lines += ["```python", source, "```", ""]
        for output in cell["outputs"]:  # type: ignore[attr-defined]
            data = output.get("data", {})
            name = next((kind for kind in _PICTURES if kind in data), "")
            if name:
                file = f"{stem}-{len(pictures) + 1}.{_PICTURES[name]}"
                pictures.append((file, base64.b64decode("".join(data[name]))))
                alt = "".join(data.get("text/plain", "a picture"))
                lines += [f"![{_alt(alt)}]({file})", ""]
            elif "image/svg+xml" in data:
                file = f"{stem}-{len(pictures) + 1}.svg"
                pictures.append((file, "".join(data["image/svg+xml"]).encode()))
                lines += [f"![a figure]({file})", ""]
            elif _WIDGET in data:
                lines += ["*(In the lab a widget stands here.)*", ""]
            elif "text/html" in data:
                # A blank line would end the block of HTML.
                html = re.sub(r"\n\s*\n", "\n", "".join(data["text/html"]))
                lines += ["```{raw} html", html.strip(), "```", ""]
            else:
                words = output.get("text") or data.get("text/plain") or output.get("traceback", "")
                words = re.sub(r"\x1b\[[\d;]*m", "", "".join(words))
                lines += ["```text", words.rstrip(), "```", ""]
    return "\n".join(lines), pictures


def _alt(text: str) -> str:
    return "a picture" if text.startswith("<") else re.sub(r"[\[\]\n]", " ", text)[:120]
