"""Build the documentation's pages, offline, into ``artefacts/docs``; or draw its pictures again.

.venv/bin/python docs/build.py             the pages, with their search
.venv/bin/python docs/build.py pictures    docs/pictures: templates and the demo's parts

The pages are this folder's, and those that `generators` makes from the code: they are put together
in ``artefacts/docs/source``, and Sphinx makes ``artefacts/docs/html`` of them. A link that leads
nowhere is an error.
"""

from __future__ import annotations

import shutil
import sys
from itertools import chain
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"
OUT = ROOT / "artefacts" / "docs"
_NOT_PAGES = shutil.ignore_patterns("*.py", "__pycache__", "generators")


def put_together(source: Path, *, drawings: bool = True) -> Path:
    """Copy the written pages and make the others, in a folder that is begun again.

    Parameters
    ----------
    source : path
    drawings : bool
        Whether to draw the templates' sizes, which takes the CAD kernel and some ten seconds.

    Returns
    -------
    Path
        The same.
    """
    from generators import (
        assumptions,
        commands,
        files,
        functions,
        gallery,
        lessons,
        results,
        templates,
    )

    shutil.rmtree(source, ignore_errors=True)
    shutil.copytree(DOCS, source, ignore=_NOT_PAGES)
    made = (
        templates.pages(drawings=drawings), files.pages(), commands.pages(), results.pages(),
        functions.pages(),
    )  # fmt: skip
    for name, text in chain.from_iterable(made):
        _write(source / "reference" / name, text)
    for name, content in lessons.pages():
        _write(source / "lessons" / name, content)
    _write(source / "reference" / "gallery.md", gallery.page())
    _write(source / "explanation" / "assumptions.md", assumptions.page())
    return source


def _write(path: Path, content: str | bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content if isinstance(content, bytes) else content.encode())


def build(out: Path = OUT) -> int:
    """Build the pages; every warning of Sphinx is an error.

    Parameters
    ----------
    out : path
        ``html/index.html`` below it is the first page.

    Returns
    -------
    int
        Exit status: 0 if all went well.
    """
    from sphinx.cmd.build import build_main

    source = put_together(out / "source")
    # All of them anew: what is left of another state of the code would be searched, too.
    options = ["-b", "html", "-q", "-n", "-W", "--keep-going", "-E", "-a"]
    places = ("-c", str(DOCS), "-d", str(out / "doctrees"), str(source), str(out / "html"))
    return build_main([*options, *places])


def main(words: list[str]) -> int:
    """Build the pages, or draw what they show."""
    for place in (str(ROOT), str(DOCS)):  # this checkout's fitkit, whatever is installed
        sys.path.insert(0, place)
    if words == ["pictures"]:
        from generators import gallery

        gallery.draw()
        return 0
    if words:
        print(__doc__)
        return 2
    status = build()
    if status == 0:
        print(OUT / "html" / "index.html")
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
