"""Run notebooks from the top and keep what they show, without what only lives while they run.

    .venv/bin/python tests/notebooks/store.py notebooks/01_first_print.ipynb
    .venv/bin/python tests/notebooks/store.py --as-run notebooks/*.ipynb     without running them

Kept are texts, tables and still pictures. Left out are the live views' own state and the times of
execution: a reader without a kernel sees the still picture, and a run brings the live view back. Pictures are
kept in a few dozen colours, which is all that lines and shaded faces need, so that a notebook stays
small.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

# Live views have no kernel to speak to; a picture as PNG is the same as its JPEG, and exact.
LEFT_OUT = ("application/vnd.jupyter.widget-view+json", "image/jpeg")
COLOURS = 32
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


_IN_HTML = re.compile(r"data:image/png;base64,([A-Za-z0-9+/=]+)")


def store(path: Path, *, run: bool = True) -> None:
    """Run one notebook in its own folder, if so wanted, and write it back with its outputs."""
    notebook = nbformat.read(path, as_version=4)
    if run:
        places = {"metadata": {"path": path.parent}}
        NotebookClient(notebook, timeout=120, resources=places).execute()
    notebook.metadata = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    for cell in notebook.cells:
        cell.metadata.pop("execution", None)
        if cell.cell_type == "code":
            cell.outputs = [_kept(output) for output in cell.outputs]
    nbformat.write(notebook, path)


def _kept(output):
    data = output.get("data", {})
    for kind in LEFT_OUT:
        data.pop(kind, None)
    if "image/png" in data:
        data["image/png"] = small(data["image/png"])
    if "text/html" in data:
        data["text/html"] = _IN_HTML.sub(
            lambda found: f"data:image/png;base64,{small(found.group(1))}", data["text/html"]
        )
    return output


def small(picture: str) -> str:
    """Give a picture (PNG in base64) in few colours, unless it is smaller as it is."""
    import base64
    import io

    from PIL import Image

    given = base64.b64decode(picture)
    image = Image.open(io.BytesIO(given)).convert("RGB")
    # Not dithered: even faces stay even.
    image = image.quantize(COLOURS, dither=Image.Dither.NONE)
    held = io.BytesIO()
    image.save(held, "PNG", optimize=True)
    return picture if held.tell() >= len(given) else base64.b64encode(held.getvalue()).decode()


if __name__ == "__main__":
    names = sys.argv[1:]
    as_run = names[:1] == ["--as-run"]
    for name in names[as_run:]:
        store(Path(name), run=not as_run)
        print(f"stored {name}")
