"""Everyday jobs, begun from readings as a maker types them, get files without a stop or a trick.

The pieces are invented, of usual sizes: figures of no product.
"""

from __future__ import annotations

import csv
from typing import TYPE_CHECKING

import pytest

from fitkit.make import make, new_part

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from fitkit.make import Made


def _made(
    folder: Path,
    title: str,
    readings: Mapping[str, float],
    lines: str,
    *,
    template: str = "board case",
    **choices: object,
) -> Made:
    """Start a part, type its readings twice each, add what the sheet says beside, and make it."""
    table, sheet, *_ = new_part(title, template=template, folder=folder, choices=choices)
    with table.open(newline="") as file:
        rows = list(csv.DictReader(file))
    seen: dict[str, int] = {}
    for row in rows:
        name = row["feature"]
        seen[name] = seen.get(name, 0) + 1
        row["reading"] = f"{readings[name] + (0.01 if seen[name] % 2 else -0.01):.2f}"
    assert seen.keys() == readings.keys()
    with table.open("w", newline="") as file:
        writer = csv.DictWriter(file, rows[0].keys(), lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows)
    text = sheet.read_text()
    head, mark, rest = text.partition("# People often change these")
    sheet.write_text(f"{head}{lines}\n{mark}{rest}")
    return make(sheet, into=folder / "out")


CONTROLLER = {
    "board length": 90.0,
    "board width": 60.0,
    "board thickness": 1.6,
    "over tallest part": 13.6,
    "solder side": 2.0,
    "mounting hole": 3.2,
    "holes x far edges": 85.2,
    "holes y far edges": 55.2,
}


def test_a_controller_board_with_sockets_over_two_edges_gets_files(tmp_path: Path) -> None:
    made = _made(
        tmp_path,
        "controller case",
        CONTROLLER,
        """
vent_area = "400 mm²"
lugs = 4
ports = [
  { wall = "left", along = "14 mm", above = "1.6 mm", width = "9 mm", height = "3.2 mm", depth = "1 mm", recess = "2 mm" },
  { wall = "left", along = "36 mm", above = "5.5 mm", width = "9 mm", height = "11 mm", depth = "3 mm" },
  { wall = "front", along = "30 mm", above = "3 mm", width = "14.5 mm", height = "7 mm", depth = "2 mm" },
]
windows = [ { x = "45 mm", y = "58.5 mm", length = "52 mm", width = "5.2 mm" } ]
""",
        lid_fixing="rim",
    )
    assert not [f for f in made.findings if f.severity == "stop"]
    assert {path.suffix for path in made.files} >= {".3mf", ".html"}


def test_a_module_without_holes_whose_pins_stay_in_reach_gets_files(tmp_path: Path) -> None:
    made = _made(
        tmp_path,
        "module case",
        {
            "board length": 36.0,
            "board width": 24.0,
            "board thickness": 1.6,
            "over tallest part": 5.0,
            "solder side": 1.8,
        },
        """
lugs = 2
ledge_sides = "left and right"
ports = [
  { wall = "left", along = "12 mm", above = "1.6 mm", width = "9 mm", height = "3.2 mm", depth = "0.8 mm" },
]
windows = [
  { x = "19 mm", y = "1.3 mm", length = "31 mm", width = "3 mm" },
  { x = "19 mm", y = "22.7 mm", length = "31 mm", width = "3 mm" },
]
""",
        standoff="edge rails",
    )
    assert not [f for f in made.findings if f.severity == "stop"]
    assert made.files[0].stat().st_size > 1000


def test_a_tray_of_four_terminal_blocks_with_screw_holes_gets_files(tmp_path: Path) -> None:
    made = _made(
        tmp_path,
        "terminal tray",
        {"block length": 20.0, "block width": 10.0, "block height": 15.0},
        'rows = 2\ncolumns = 2\n',
        template="clip tray",
    )
    assert not [f for f in made.findings if f.severity == "stop"]
