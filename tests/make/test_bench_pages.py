"""Pages for the bench: a ladder's order sheet and the inspection page, each with room to write."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest
from click.testing import CliRunner

from fitkit.demo import copy_demo
from fitkit.journal import Journal
from fitkit.make import make
from fitkit.make.orders import order_ladder
from fitkit.views.shell import commands
from fitkit.workshop import begin_workshop


class Table(HTMLParser):
    """Cells of a page's one table, row by row, and what else it has."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.pictures = 0
        self.inside = False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self.inside = True
        self.pictures += tag == "svg"

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.inside = False

    def handle_data(self, data):
        if self.inside:
            self.rows[-1][-1] += data.strip()


@pytest.fixture(scope="module")
def ladder(tmp_path_factory):
    home = tmp_path_factory.mktemp("home")
    begin_workshop(home)
    return order_ladder(home / "ladder", "peg and hole", "slides", size_mm=8.0, specimens=3)


def test_a_ladders_order_sheet_has_each_hole_in_turn_with_room_for_two_readings(ladder):
    text = (ladder.folder / "ladder_order.html").read_text("utf-8")
    assert any("ladder_order.html" in line for line in ladder.told)
    table = Table(text)
    head, *rows = table.rows
    assert head[-3:] == ["reading 1", "reading 2", "how it fits"]
    marks = ladder.plan.template.marks()
    assert [row[:3] for row in rows] == [
        *([str(n), f"hole {n}", mark] for n, mark in enumerate(marks, 1)),
        ["4", "peg", ""],
    ]
    assert all(row[-3:] == ["", "", ""] for row in rows)
    assert table.pictures == 1
    assert ">FRONT</text>" in text
    assert ladder.code in text
    assert "http" not in text.replace("http-equiv", "")


def test_the_inspection_page_shows_where_the_jaws_go_for_each_size(tmp_path):
    made = make(copy_demo(tmp_path / "demo") / "sound_board.toml")
    page = tmp_path / "inspection.html"
    words = ["inspection", made.code, str(page), "--journal", str(made.record.parent)]
    result = CliRunner().invoke(commands, words)
    assert result.exit_code == 0, result.output
    record = Journal(made.record.parent).print_of(made.code)
    table = Table(page.read_text("utf-8"))
    head, *rows = table.rows
    assert len(rows) == table.pictures == len(record.fits)
    assert [row[0] for row in rows] == [
        fit.name for fit in sorted(record.fits, key=lambda one: one.sense == 0)
    ]
    for row in rows:
        fit = next(one for one in record.fits if one.name == row[0])
        assert row[2:4] == [fit.texts().drawn, fit.texts().expected]
        assert row[-5:] == [""] * 5
    assert head[-5:] == ["lowest", "highest", "read 1", "read 2", "verdict"]
    again = CliRunner().invoke(commands, words)
    assert again.exit_code != 0
    assert "may be filled in" in str(again.exception)
