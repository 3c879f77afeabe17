"""A part in two halves from its sheet to files, record and the same part again."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import trimesh

from fitkit.core.errors import FitkitError
from fitkit.demo import copy_demo
from fitkit.flow import build, prepare
from fitkit.flow.sheet import load_sheet, save_sheet
from fitkit.journal import Journal
from fitkit.make import make, reprint

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "larger-than-the-bed.md"
READINGS = "item,feature,reading,unit\nboard,board length,{} ,mm\nboard,board width,80.1,mm\n"


def example():
    (text,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    return text


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    folder = copy_demo(tmp_path_factory.mktemp("bench"))
    (folder / "readings" / "long_board.csv").write_text(READINGS.format(240.2), encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def made(bench):
    sheet = bench / "long_box.toml"
    sheet.write_text(example(), encoding="utf-8")
    return make(sheet, into=bench / "made")


def test_the_pages_example_is_short():
    assert len([line for line in example().splitlines() if line.strip()]) <= 30


def test_both_halves_are_in_the_files_and_fit_the_bed(made):
    solids = {}
    for path in made.files:
        if path.suffix == ".3mf":
            solids |= trimesh.load(path).geometry
    assert set(solids) == {"tray 1", "tray 2", "lid 1", "lid 2"}
    for one in solids.values():
        assert one.is_watertight
        assert max(one.extents[:2]) <= 216.0
    stl = [path for path in made.files if path.suffix == ".stl"]
    assert {"tray-1", "tray-2", "lid-1", "lid-2"} == {
        path.stem.removeprefix("long-box-") for path in stl
    }
    assert not any(one.severity == "stop" for one in made.findings if one.check == "bed")


def test_the_joints_sizes_are_compensated_with_a_gap(made):
    tail, socket = made.plan.row("split: tail"), made.plan.row("split: socket")
    assert tail.gap_mm == 0.0
    assert socket.gap_mm > 0.0
    assert socket.doubt is not None
    # An outside is drawn otherwise than an inside of the same size.
    assert tail.size.drawn_mm != pytest.approx(14.0, abs=1e-6)
    assert socket.size.expected_mm == pytest.approx(14.0 + socket.gap_mm, abs=0.01)
    shown = {one.name: one for one in made.part.dimensions}
    assert shown["split: socket"].value_mm == pytest.approx(socket.size.drawn_mm)
    assert shown["split: socket"].body == "tray 2"


def test_the_record_makes_the_same_halves_again(made, bench):
    record = Journal(bench / "journal").print_of(made.code)
    assert [one["at_mm"] for one in record.extra["split"]] == [118.0, 118.0]
    again = reprint(record, bench / "again", kinds=["stl"], journal=bench / "journal")
    assert again.differences == ()
    by_name = {path.name: path.read_bytes() for path in made.files}
    for path in again.files:
        assert path.read_bytes() == by_name[path.name]


def test_a_part_that_is_too_large_is_told_the_plane(bench):
    text = example()
    whole = text[: text.index("[split]")]
    sheet = bench / "whole.toml"
    sheet.write_text(whole, encoding="utf-8")
    with pytest.raises(FitkitError, match='body = "tray", along = "x"') as caught:
        make(sheet, into=bench / "whole")
    assert not (bench / "whole").exists()
    # What it says is a sheet that can be made.
    said = re.search(r'\[split\] body = "(\w+)", along = "(\w)", at = "([^"]+)"', str(caught.value))
    body, along, at = said.groups()
    sheet.write_text(f'{whole}\n[split]\nalong = "{along}"\nat = "{at}"\n', encoding="utf-8")
    part = build(prepare(load_sheet(sheet)))
    assert body == "tray"
    assert len(part.bodies) == 4


def test_an_empty_table_has_all_proposed_and_is_kept(bench):
    text = example()
    whole = text[: text.index("[split]")] + "\n[split]\n"
    path = bench / "proposed.toml"
    path.write_text(whole, encoding="utf-8")
    sheet = load_sheet(path)
    plan = prepare(sheet)
    found = [(one.body, one.along, one.joint) for one in plan.split]
    assert found == [("tray", "x", "dovetail"), ("lid", "x", "dovetail")]
    assert sheet.content()["split"] == {}
    save_sheet(sheet, bench / "saved.toml")
    assert tomllib.loads((bench / "saved.toml").read_text(encoding="utf-8"))["split"] == {}
    assert load_sheet(bench / "sound_board.toml").content().get("split") is None


@pytest.mark.parametrize(
    ("old", "new", "at"),
    [
        ('at = "118 mm"', 'at = "900 mm"', ("split", "at")),
        ('at = "118 mm"', 'at = "118"', ("split", "at")),
        ('along = "x"', 'body = "roof"', ("split", "body")),
        ('tail = "14 mm"', 'tail = "1 mm"', ("split",)),
        ('along = "x"', 'along = "u"', ("split", "along")),
    ],
)
def test_a_wrong_split_is_one_message_and_nothing_is_written(bench, old, new, at):
    sheet = bench / "wrong.toml"
    sheet.write_text(example().replace(old, new), encoding="utf-8")
    with pytest.raises(FitkitError) as caught:
        make(sheet, into=bench / "wrong")
    error = caught.value
    error = error.faults[0] if hasattr(error, "faults") else error
    assert error.at[: len(at)] == at
    assert not (bench / "wrong").exists()
