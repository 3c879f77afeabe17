"""A table that says no modes is read as the template reads its features."""

import pytest

from fitkit.flow import load_sheet
from fitkit.flow.plan import read_inputs

SHEET = """schema = 1
title = "bell case"
template = "board case"
readings = "readings.csv"
printer = { generic = "PETG" }
"""
PLAIN = """feature;1;2;3;unit
board length;68,62;68,60;68,64;mm
mounting hole;3,18;3,20;3,19;mm
holes x far edges;55,10;55,12;55,10;mm
"""


@pytest.fixture
def inputs_of(tmp_path):
    def read(text):
        (tmp_path / "readings.csv").write_text(text, encoding="utf-8")
        (tmp_path / "sheet.toml").write_text(SHEET, encoding="utf-8")
        return read_inputs(load_sheet(tmp_path / "sheet.toml")).estimates

    return read


def test_a_hole_without_a_mode_is_an_inside_reading_where_the_template_says_so(inputs_of):
    hole = inputs_of(PLAIN)["mounting hole"]
    assert any("taken as inside readings" in note for note in hole.notes)
    assert any("flat jaws" in note for note in hole.notes)


def test_it_comes_out_as_if_the_mode_were_typed(inputs_of):
    bare = inputs_of(PLAIN)
    typed = inputs_of(
        PLAIN.replace("feature;", "feature;mode;")
        .replace("board length;", "board length;outside;")
        .replace("mounting hole;", "mounting hole;inside;")
        .replace("edges;", "edges;inside;")
    )
    for name, one in bare.items():
        assert (one.value_mm, one.u_mm) == (typed[name].value_mm, typed[name].u_mm)
        assert set(typed[name].notes) <= set(one.notes)


def test_a_typed_mode_counts_and_is_pointed_out_where_the_template_means_another(inputs_of):
    typed = PLAIN.replace("feature;", "feature;mode;").replace("edges;", "edges;inside;")
    for name in ("length", "hole"):
        typed = typed.replace(f"{name};", f"{name};outside;")
    hole = inputs_of(typed)["mounting hole"]
    assert hole.value_mm == pytest.approx(3.19)
    assert any("typed as outside readings" in note for note in hole.notes)
