"""Run notebooks from the top and keep what they show, without what only lives while they run.

    .venv/bin/python tests/notebooks/store.py notebooks/01_first_print.ipynb

Kept are texts, tables and still pictures. Left out are the live views' own state and the times of
execution: a reader without a kernel sees the still picture, and a run brings the live view back.
"""

from __future__ import annotations

import sys
from pathlib import Path

import nbformat
from nbclient import NotebookClient

# Live views have no kernel to speak to; a picture as PNG is the same as its JPEG, and exact.
LEFT_OUT = ("application/vnd.jupyter.widget-view+json", "image/jpeg")
KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


def store(path: Path) -> None:
    """Run one notebook in its own folder and write it back with its outputs."""
    notebook = nbformat.read(path, as_version=4)
    NotebookClient(notebook, timeout=120, resources={"metadata": {"path": path.parent}}).execute()
    notebook.metadata = {"kernelspec": KERNEL, "language_info": {"name": "python"}}
    for cell in notebook.cells:
        cell.metadata.pop("execution", None)
        if cell.cell_type == "code":
            cell.outputs = [_kept(output) for output in cell.outputs]
    nbformat.write(notebook, path)


def _kept(output):
    for kind in LEFT_OUT if "data" in output else ():
        output["data"].pop(kind, None)
    return output


if __name__ == "__main__":
    for name in sys.argv[1:]:
        store(Path(name))
        print(f"stored {name}")
