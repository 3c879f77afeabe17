"""Several things in one case, from readings to files, record and the same part again."""

from __future__ import annotations

import json

import pytest
import trimesh

from fitkit.demo import copy_demo
from fitkit.journal import Journal
from fitkit.make import make, reprint


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench")
    copy_demo(folder)
    return make(folder / "measurements" / "listening_post.toml", into=folder / "made")


def test_one_make_writes_tray_and_lid_with_all_things(made):
    assert {body.name for body in made.part.bodies} == {"tray", "lid"}
    names = {ghost.name.split(":")[0] for ghost in made.part.ghosts}
    assert names == {
        "sound board",
        "terminal blocks",
        "cells",
        "left button",
        "right button",
        "display",
    }
    for file in made.folder.glob("*.stl"):  # read back by a reader that is not ours
        assert trimesh.load_mesh(file).is_watertight
    checks = {finding.check for finding in made.findings}
    assert {"layout", "things to buy", "cautions", "heat", "cost"} <= checks
    assert not any(finding.severity == "stop" for finding in made.findings)


def test_the_record_keeps_the_sheets_words_and_makes_the_same_part_again(made):
    content = json.loads(made.record.read_text(encoding="utf-8"))
    assert content["sheet"]["carrier"] == "case"
    assert content["sheet"]["things"][0]["name"] == "sound board"
    assert len(content["values"]["things"]) == 6
    journal = Journal(made.record.parent)
    again = reprint(journal.print_of(made.code), made.folder.parent / "again", kinds=["stl"])
    assert again.differences == ()
