"""A template file of one's own with its part sheet, and the shell's commands in a process each."""

import os
import subprocess
import sys
from pathlib import Path

TEMPLATE = '''\
"""A cap on the end of a round post."""

from __future__ import annotations

from functools import cache
from typing import ClassVar

from fitkit.parts import Body, FitSize, KeyDimension, Length, Part, Template, size
from fitkit.solids.profiles import circle
from fitkit.solids.bodies import checked, cut, extrude

DEPTH_MM = 12.0


@cache
def high(wall_mm):
    return DEPTH_MM + wall_mm


class PostCap(Template):
    title: ClassVar[str] = "post cap"
    post: Length = size("20 mm", low="5 mm", high="80 mm", help="Diameter.", measured=True)
    wall: Length = size("2.4 mm", low="1.2 mm", high="8 mm", help="Wall and top.")

    def fit_sizes(self):
        fit = {"pair": "object in pocket", "behaviour": "snug by hand"}
        return (FitSize(name="bore", nominal_mm=self.post, of="post", kind="hole", sense=1, **fit),)

    def build(self, drawn=None, *, title=""):
        bore, top = self.drawn_sizes(drawn)["bore"], high(self.wall)
        outside, inside = circle(bore + 2 * self.wall), circle(bore)
        shape = cut(extrude(outside, top), extrude(inside, DEPTH_MM, z=self.wall))
        volume = outside.area * top - inside.area * DEPTH_MM
        ends = {"start": (-bore / 2, 0, top), "end": (bore / 2, 0, top)}
        return Part(
            title=title or self.title,
            template=self.title,
            bodies=(Body(name="cap", solid=checked(shape, "cap", volume=volume)),),
            dimensions=(KeyDimension(name="bore", value_mm=bore, body="cap", kind="hole", **ends),),
        )
'''
SHEET = """\
schema = 1
title = "cap for the upright"
template = "post cap"
template_file = "post_cap.py"
journal = "journal"
[printer]
generic = "PETG"
[values]
post = "20 mm"
[outputs]
files = ["stl"]
"""


def set_up(folder: Path, template: str = TEMPLATE) -> Path:
    """Write the template file and the sheet that names it; give the sheet's path."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "post_cap.py").write_text(template, encoding="utf-8")
    sheet = folder / "cap.toml"
    sheet.write_text(SHEET, encoding="utf-8")
    return sheet


def fitkit(folder: Path, *arguments: object, typed: str = "") -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own, whose user keeps what was said yes to in ``state``."""
    ours = {"XDG_STATE_HOME": str(folder / "state"), "COLUMNS": "200"}
    return subprocess.run(
        [sys.executable, "-m", "fitkit", *map(str, arguments)],
        cwd=folder,
        env={k: v for k, v in os.environ.items() if k != "FITKIT_WORKSHOP"} | ours,
        input=typed,
        capture_output=True,
        text=True,
        timeout=300,
    )
