"""What checks are given, and the words where someone can be hurt."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.checks import Coat, Use, load_material, published_material
from fitkit.checks.cautions import caution_names, check_cautions
from fitkit.core.errors import CheckError, FaultList
from fitkit.data import load_table
from tests.checks.gallery import context, part

MATERIALS = Path(__file__).parents[2] / "shared" / "materials"


@pytest.mark.parametrize("name", ["petg", "pla", "abs"])
def test_the_workshops_materials_load_with_a_source_for_each_figure(name: str) -> None:
    made = load_material(MATERIALS / f"{name}.toml")
    assert made.price_per_kg
    assert made.drying
    for wanted in ("density", "strength", "layer_factor", "snap_strain", "softening", "modulus"):
        span = made.get(wanted)
        assert span is not None
        assert span.source


def test_the_workshops_own_figure_wins() -> None:
    own, table = load_material(MATERIALS / "petg.toml"), published_material("PETG")
    assert own.get("density") != table.get("density")
    assert own.get("strength") == table.get("strength")


def test_a_gap_in_the_table_stays_a_gap() -> None:
    assert published_material("nylon").get("strength") is None


def test_an_unknown_polymer_names_the_known_ones() -> None:
    with pytest.raises(
        CheckError, match=r"no published figures for 'jelly'\. Use one of ABS, PETG"
    ):
        published_material("jelly")


def test_faults_of_a_material_file_come_all_at_once(tmp_path: Path) -> None:
    path = tmp_path / "bad.toml"
    path.write_text(
        'schema = 1\nname = "x"\npolymer = "PLA"\nprice_per_kg = -1\ncolour = "red"\n'
        '[properties.density]\nlow = 2\nhigh = 1\nsource = "mine"\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultList) as caught:
        load_material(path)
    text = str(caught.value)
    assert "price_per_kg" in text
    assert "colour" in text
    assert "low 2 is above high 1" in text


@pytest.mark.parametrize(
    ("content", "code"),
    [("= nonsense", "file.not-toml"), (None, "file.absent")],
)
def test_a_file_that_is_none(tmp_path: Path, content: str | None, code: str) -> None:
    path = tmp_path / "material.toml"
    if content is not None:
        path.write_text(content, encoding="utf-8")
    with pytest.raises(CheckError) as caught:
        load_material(path)
    assert (caught.value.code, caught.value.file) == (code, str(path))


def test_a_property_without_source_or_of_no_known_name_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "material.toml"
    for body, words in (
        (
            "[properties.density]\nlow = 1\nhigh = 1\n",
            "properties.density.source: this key is missing",
        ),
        ('currency = "GOLD"\n', "not an ISO 4217 currency code"),
        ('[properties.shine]\nlow = 1\nhigh = 1\nsource = "mine"\n', "no property 'shine'"),
    ):
        path.write_text(f'schema = 1\nname = "x"\npolymer = "PLA"\n{body}', encoding="utf-8")
        with pytest.raises(FaultList, match=words):
            load_material(path)


def test_faults_of_a_use_come_all_at_once() -> None:
    with pytest.raises(FaultList) as caught:
        Use.of({"handling": "gently", "watts": -2, "mayns": True}, where="post.toml, use")
    text = str(caught.value)
    assert "post.toml, use.handling" in text
    assert "'gently'" in text
    assert "post.toml, use.watts" in text
    assert "post.toml, use.mayns" in text


FLAGS = {
    "mains": "mains without a qualified person",
    "battery": "battery",
    "overhead": "overhead",
    "load_bearing": "load bearing",
    "near_children": "near children",
    "magnets": "magnets",
    "food": "food",
    "hot": "hot",
    "sharp": "sharp",
    "resin": "resin",
}


@pytest.mark.parametrize(("flag", "caution"), FLAGS.items())
def test_a_declared_use_sets_off_its_caution_alone(flag: str, caution: str) -> None:
    assert caution_names(context(use=Use.of({flag: True}))) == (caution,)


def test_combinations_and_materials_set_off_theirs() -> None:
    use = Use(near_children=True, magnets=True, small_parts=True)
    assert caution_names(context(use=use)) == (
        "magnets near children",
        "small parts near children",
        "near children",
    )
    assert caution_names(context(material=published_material("ABS"))) == ("styrene",)
    for kind in ("resin", "paint"):
        assert caution_names(context(coat=Coat(thickness_mm=0.1, u_mm=0.03, kind=kind))) == (kind,)
    assert caution_names(context()) == ()


def test_every_caution_of_the_table_can_be_set_off_and_has_advice() -> None:
    table = load_table("cautions").frame
    reached = {
        name
        for setting in (
            context(use=Use(**dict.fromkeys(FLAGS, True), small_parts=True)),
            context(use=Use(magnets=True)),
            context(use=Use(mains=True, qualified_person=True)),
            context(material=published_material("ABS")),
            context(coat=Coat(thickness_mm=0.1, u_mm=0.03, kind="paint")),
        )
        for name in caution_names(setting)
    }
    assert set(table["caution"]) == reached
    assert table["remedy"].str.len().min() > 30


def test_mains_defers_to_local_codes_and_qualified_persons() -> None:
    for use in (Use(mains=True), Use(mains=True, qualified_person=True)):
        (found,) = check_cautions(part(), context(use=use))
        assert "local electrical code" in found.remedy
        assert "qualified person" in found.remedy
