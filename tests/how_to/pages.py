"""Run a how-to page as a reader would: files written, commands typed, Python run, in their order.

A block ``shell`` has a command on each line; a block ``python`` is run; a ``{code-block}`` with a
caption is a file of that name. In a command, ``CODE`` stands for the trace code of what was made
last, as the page's reader would have read it off. A page that begins with ``<!-- start: demo -->``
starts in a folder that holds a copy of the demo, one with ``<!-- start: made -->`` in one where the
demo's ball seat has been made, too.
"""

from __future__ import annotations

import json
import os
import re
import shlex
import sys
import types
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from fitkit.views.shell import commands

__all__ = ["Step", "run", "start_of", "steps_of"]

_BLOCK = re.compile(r"^```(\S+)(?: [^\n]*)?\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_CAPTION = re.compile(r"\A:caption: (.+)\n\n?")
_START = re.compile(r"\A<!-- start: (\w+) -->")


@dataclass(frozen=True)
class Step:
    """One thing that a reader does: of the kind ``file``, ``shell`` or ``python``."""

    kind: str
    text: str
    name: str = ""


def start_of(text: str) -> str:
    found = _START.match(text)
    return found.group(1) if found else "empty"


def steps_of(text: str) -> list[Step]:
    found = []
    for kind, body in _BLOCK.findall(text):
        if kind == "python":
            found.append(Step("python", body))
        elif kind == "shell":
            found += [Step("shell", line) for line in body.splitlines() if line.strip()]
        elif kind == "{code-block}" and (caption := _CAPTION.match(body)):
            found.append(Step("file", body[caption.end() :], caption.group(1)))
    return found


def run(steps: list[Step], folder: Path) -> None:
    """Do the steps in a folder; a command that ends in an error fails with what it said."""
    page = types.ModuleType("how_to_page")
    sys.modules[page.__name__] = page  # dataclasses look their module up
    for step in steps:
        if step.kind == "file":
            path = Path(step.name).absolute()  # from where the reader is now
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(step.text, encoding="utf-8")
        elif step.kind == "python":
            exec(compile(step.text, "page", "exec", dont_inherit=True), page.__dict__)
        else:
            _type(step.text, folder)


def _type(line: str, folder: Path) -> None:
    program, *words = shlex.split(line)
    if program == "cd":
        os.chdir(words[0])
        return
    assert program == "fitkit", line
    words = [newest_code(folder) if word == "CODE" else word for word in words]
    said = CliRunner().invoke(commands, words, catch_exceptions=True)
    if said.exit_code:
        raise AssertionError(f"{line}\n{said.output}\n{said.exception!r}")


def newest_code(folder: Path) -> str:
    """Find the code of the print that was made last; verdicts have codes of their own."""
    records = [
        path
        for path in folder.rglob("journal/*.json")
        if re.fullmatch(r"\d{4}-\d\d-\d\d-[A-Z0-9]{7}", path.stem)
        and json.loads(path.read_text("utf-8"))["kind"] == "print"
    ]
    return max(records, key=lambda path: (path.stat().st_mtime_ns, path.name)).stem[-7:]
