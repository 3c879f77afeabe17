"""What a template makes by itself passes its own checks, in each material with known figures.

Made for the generic printer of the material, as the checks of a sheet's part are run, with no size
given: whoever starts from the defaults must not be stopped by them.
"""

from __future__ import annotations

import pytest

from fitkit.data import load_table
from fitkit.demo import copy_demo
from fitkit.flow import build, load_sheet, mesh_part, prepare
from fitkit.make import make
from fitkit.make.checking import check
from fitkit.parts.registry import SPECIMENS, shipped

TITLES = [title for title in shipped() if title not in SPECIMENS]
MATERIALS = sorted({str(m) for m in load_table("materials").frame["material"]} - {"any"})


def _stops(path, title, material):
    path.write_text(
        f'schema = 1\ntitle = "as it comes"\ntemplate = "{title}"\n'
        f'[printer]\ngeneric = "{material}"\n[use]\nmaterial = "{material}"\n',
        encoding="utf-8",
    )
    plan = prepare(load_sheet(path))
    return [one.text for one in check(plan, mesh_part(build(plan))) if one.severity == "stop"]


def test_the_published_materials_are_the_ones_tried():
    assert MATERIALS == ["ABS", "PETG", "PLA", "nylon"]


@pytest.mark.parametrize("material", MATERIALS)
def test_the_default_ball_seat_is_not_stopped(material, tmp_path):
    assert _stops(tmp_path / "part.toml", "ball seat", material) == []


@pytest.mark.slow
@pytest.mark.parametrize("material", MATERIALS)
@pytest.mark.parametrize("title", TITLES)
def test_defaults_are_not_stopped_by_their_own_checks(title, material, tmp_path):
    assert _stops(tmp_path / "part.toml", title, material) == []


@pytest.mark.parametrize("material", ["pla", "petg", "abs"])
def test_a_wall_mount_for_the_coated_ball_is_made_in_each_material_of_the_workshop(
    material, tmp_path
):
    """The everyday job: from readings, with a coat, and no stop to be overruled."""
    sheet = copy_demo(tmp_path / "bench") / "ball_seat.toml"
    text = sheet.read_text(encoding="utf-8").replace("petg.toml", f"{material}.toml")
    text = text.replace('coupon = "readings/coupon_petg.csv"', f'generic = "{material.upper()}"')
    sheet.write_text(text + '\n[finish]\ncoat = "0.08 mm"\nu = "0.03 mm"\n', encoding="utf-8")
    made = make(load_sheet(sheet))
    assert not [one.text for one in made.findings if one.severity == "stop"]
    assert {path.suffix for path in made.files} >= {".3mf", ".step", ".stl"}
