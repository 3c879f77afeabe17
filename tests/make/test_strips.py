"""Strips are ordered, tested, and their result is used by the checks of a later part."""

from __future__ import annotations

import pytest
import trimesh
from click.testing import CliRunner

from fitkit.core.errors import CheckError, InputError
from fitkit.flow import load_sheet
from fitkit.make.checking import declared
from fitkit.make.orders import order_strips
from fitkit.views.shell import commands
from fitkit.workshop import begin_workshop
from tests.checks.test_strip_form import FILLED


def test_strips_are_made_with_a_form_that_is_never_overwritten(tmp_path):
    order = order_strips(tmp_path / "strips", material="PLA")
    assert any(path.suffix == ".3mf" for path in order.made.files)
    assert 'polymer = "PLA"' in order.form.read_text("utf-8")
    with pytest.raises(InputError) as told:
        order_strips(tmp_path / "strips", material="PLA")
    assert told.value.code == "make.form-exists"


def test_what_the_strips_tell_is_kept_and_a_sheet_uses_it(tmp_path):
    begin_workshop(tmp_path)
    form = tmp_path / "strips.toml"
    form.write_text(FILLED, "utf-8")
    ran = CliRunner().invoke(commands, ["material", str(form), "--name", "green"])
    assert ran.exit_code == 0, ran.output
    assert "modulus: " in ran.output
    kept = tmp_path / "materials" / "green.toml"
    assert kept.exists()
    sheet = tmp_path / "spacer.toml"
    sheet.write_text(
        'schema = 1\ntitle = "s"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
        '[use]\nmaterial = "green.toml"\n',
        "utf-8",
    )
    from fitkit.flow import read_inputs

    found = load_sheet(sheet)
    material = declared(found, read_inputs(found).profile).material
    assert "bending strip tested" in material.get("modulus").source
    # A second time it is not overwritten: it may hold a price.
    before = kept.read_bytes()
    again = CliRunner().invoke(commands, ["material", str(form), "--name", "green"])
    assert isinstance(again.exception, CheckError)
    assert again.exception.code == "material.exists"
    assert kept.read_bytes() == before


def test_the_coupons_plate_has_the_strips_too_and_one_print_gives_both(tmp_path):
    folder = tmp_path / "coupon"
    ran = CliRunner().invoke(
        commands, ["coupon", str(folder), "--printer", "bench", "--material", "PLA", "--strips"]
    )
    assert ran.exit_code == 0, ran.output
    form = folder / "strips.toml"
    assert f"material {form}" in ran.output
    alone = order_strips(tmp_path / "alone", material="PLA").form
    assert form.read_text("utf-8") == alone.read_text("utf-8")
    assert {path.name for path in folder.glob("*.csv")} == {"coupon_readings.csv"}
    (packed,) = folder.rglob("*.3mf")
    scene = trimesh.load(packed)
    sizes = sorted(tuple(sorted(one.extents.round(3))) for one in scene.geometry.values())
    assert len(sizes) == 6
    assert sizes.count((0.6, 10.0, 120.0)) == 4
    assert (2.4, 12.0, 100.0) in sizes
    # Nothing stands over anything else on the bed.
    boxes = [(one.bounds[0], one.bounds[1]) for one in scene.dump()]
    for i, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[i + 1 :]:
            assert (low > other_high).any() or (other_low > high).any()
    before = form.read_bytes()
    again = CliRunner().invoke(
        commands, ["coupon", str(folder), "--printer", "bench", "--material", "PLA", "--strips"]
    )
    assert again.exit_code != 0
    assert form.read_bytes() == before
