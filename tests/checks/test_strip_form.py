"""From a form of test strips to a material that checks use."""

from __future__ import annotations

from datetime import date

import pytest

from fitkit.checks import load_material, published_material
from fitkit.checks.strip_form import empty_form, load_strips, material_of_strips, material_text
from fitkit.checks.strips import bending_modulus, borne_strain
from fitkit.core.errors import CheckError, FaultList, UnitError
from fitkit.core.units import to_grams

FILLED = """\
schema = 1
name = "green \\"PETG\\", second spool"
polymer = "PETG"
tested = 2026-11-27
[bending]
span = "80 mm"
width = ["12.02 mm", "12.05 mm"]
thickness = ["2.41 mm", "2.43 mm", "2.40 mm"]
loads = [
    { mass = "0 g", sag = "5.10 mm" },
    { mass = "0.25 kg", sag = "6.08 mm" },
    { mass = "500 g", sag = "7.02 mm" },
]
[snap]
thickness = ["0.61 mm", "0.60 mm", "0.62 mm"]
gave_way = ["21.4 mm", "19.8 mm", "22.0 mm"]
"""


@pytest.fixture
def form(tmp_path):
    path = tmp_path / "strips.toml"
    path.write_text(FILLED, encoding="utf-8")
    return path


def test_the_material_holds_what_was_tested_and_the_rest_is_published(form, tmp_path):
    found = material_of_strips(load_strips(form))
    path = tmp_path / "green.toml"
    path.write_text(material_text(found), encoding="utf-8")
    kept, table = load_material(path), published_material("PETG")
    assert kept.name == 'green "PETG", second spool'
    modulus, strain = kept.get("modulus"), kept.get("snap_strain")
    # 80³ / (4 x 12.035 x 2.4133³ x 1.92 mm / 4.903 N) by hand: 1932 MPa.
    assert modulus.low < 1932 < modulus.high
    assert (modulus.high - modulus.low) / 2 == pytest.approx(1932 * 0.071, rel=0.1)
    # 1.198 x 0.61 / (21.07 - 0.61): 3.6 %.
    assert strain.high == pytest.approx(3.58, abs=0.03)
    assert strain.low < strain.high
    assert "bending strip tested 2026-11-27" in modulus.source
    assert kept.get("strength") == table.get("strength")


def test_one_kind_of_strip_is_enough_and_none_is_not(form):
    text = form.read_text("utf-8")
    form.write_text(text[: text.index("[snap]")], "utf-8")
    assert set(material_of_strips(load_strips(form)).properties) == {"modulus"}
    form.write_text(text[: text.index("[bending]")], "utf-8")
    with pytest.raises(CheckError) as told:
        material_of_strips(load_strips(form))
    assert told.value.code == "material.no-readings"


def test_all_faults_of_a_form_are_told_at_once(form):
    text = form.read_text("utf-8").replace('"80 mm"', '"80"').replace('"0.25 kg"', '"0.25"')
    form.write_text(text, "utf-8")
    with pytest.raises(FaultList) as told:
        load_strips(form)
    assert [fault.at for fault in told.value.faults] == [
        ("bending", "span"),
        ("bending", "loads", 1, "mass"),
    ]


def test_an_empty_form_is_a_form_once_its_lines_are_uncommented(tmp_path):
    path = tmp_path / "strips.toml"
    path.write_text(empty_form("PLA", span_mm=80, snaps=4, today=date(2026, 11, 27)), "utf-8")
    assert load_strips(path).bending is None
    lines = [
        line[2:] if line.startswith(("# [", "# span", "# width", "# thick", "# load", "#     ",
                                     "# ]", "# gave")) else line
        for line in path.read_text("utf-8").splitlines()
    ]  # fmt: skip
    path.write_text("\n".join(lines), "utf-8")
    found = material_of_strips(load_strips(path))
    assert set(found.properties) == {"modulus", "snap_strain"}


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: bending_modulus([250], [1], span_mm=80, width_mm=[12], thickness_mm=[2]),
         "material.few-weights"),
        (lambda: bending_modulus([0, 250], [2, 1], span_mm=80, width_mm=[12], thickness_mm=[2]),
         "material.sags-upwards"),
        (lambda: borne_strain([20, 21], [0.6]), "material.few-strips"),
        (lambda: borne_strain([20, 21, 1], [0.6]), "material.jaws-too-close"),
    ],
)  # fmt: skip
def test_readings_that_cannot_be_are_refused(call, code):
    with pytest.raises(CheckError) as told:
        call()
    assert told.value.code == code


def test_a_mass_needs_a_unit():
    assert to_grams("1 lb") == pytest.approx(453.59237)
    for bad in ("250", 250, "250 mm", "-3 g"):
        with pytest.raises(UnitError):
            to_grams(bad)
