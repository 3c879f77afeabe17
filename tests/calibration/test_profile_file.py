import tomllib

import numpy as np
import pytest
import tomlkit
from simulator import Truth

from fitkit.calibration import fit_profile, generic_profile, load_profile, save_profile
from fitkit.calibration.generic import generic_materials
from fitkit.calibration.profile_file import profile_content
from fitkit.core.errors import CalibrationError, FaultList


def test_every_digit_comes_back(coupon, settings, tmp_path):
    made = fit_profile(
        coupon(Truth()), settings=settings, nozzle="brass 0.4", spool="blue 3", made_on="2026-11-25"
    )
    read = load_profile(save_profile(made, tmp_path / "sub" / "p.toml"))
    np.testing.assert_array_equal(read.coef, made.coef)
    np.testing.assert_array_equal(read.cov, made.cov)
    for name in ("name", "printer", "material", "bed_mm", "terms", "df", "spread", "provenance"):
        assert getattr(read, name) == getattr(made, name), name
    assert dict(read.valid_mm) == dict(made.valid_mm)
    assert read.provenance.nozzle == "brass 0.4"


@pytest.mark.parametrize("material", generic_materials())
def test_generic_profiles_are_marked_and_keep_their_mark(material, tmp_path):
    read = load_profile(save_profile(generic_profile(material), tmp_path / "g.toml"))
    assert read.generic
    assert "generic" in read.basis
    assert "no coupon" in read.basis
    assert "(generic)" in read.summary()


def test_generic_shrinkage_is_the_middle_of_its_range():
    """PETG 0.2 to 0.6 %, as the shipped table says: 0.4 ± 0.115 % (range over root 12)."""
    value, u = generic_profile("petg").value("scale_x")
    assert value == pytest.approx(-0.004)
    assert u == pytest.approx(0.004 / np.sqrt(12))


def test_unknown_material_names_those_there_are():
    with pytest.raises(CalibrationError, match=r"'wood'.*PLA, PETG, ABS"):
        generic_profile("wood")


def test_a_missing_file_is_said():
    with pytest.raises(CalibrationError, match="no such profile"):
        load_profile("nowhere.toml")


def broken(tmp_path, change):
    path = save_profile(generic_profile("PLA"), tmp_path / "p.toml")
    document = tomlkit.parse(path.read_text(encoding="utf-8"))
    change(document)
    path.write_text(tomlkit.dumps(document), encoding="utf-8")
    return path


def test_all_faults_of_a_file_are_told_at_once(tmp_path):
    def change(document):
        document["layer_height_mm"] = -1.0
        document["colour"] = "blue"
        document["schema"] = 7

    with pytest.raises(FaultList) as caught:
        load_profile(broken(tmp_path, change))
    text = str(caught.value)
    assert all(key in text for key in ("layer_height_mm", "colour", "schema"))


def test_an_edited_covariance_is_refused(tmp_path):
    def change(document):
        document["covariance"][0][1] = 5.0

    with pytest.raises(FaultList, match="not symmetric"):
        load_profile(broken(tmp_path, change))


def test_an_unknown_term_is_refused(tmp_path):
    def change(document):
        document["terms"]["warp"] = 0.1

    with pytest.raises(FaultList, match="no term 'warp'"):
        load_profile(broken(tmp_path, change))


def test_no_toml_is_said(tmp_path):
    path = tmp_path / "p.toml"
    path.write_text("= what", encoding="utf-8")
    with pytest.raises(CalibrationError) as caught:
        load_profile(path)
    assert (caught.value.code, caught.value.file) == ("file.not-toml", str(path))


def test_a_profile_draws_itself_with_units_and_escapes_names(coupon):
    from dataclasses import replace

    profile = replace(fit_profile(coupon(Truth())), printer="<b>A</b>")
    page = profile._repr_html_()
    assert "&lt;b&gt;A" in page
    assert "<b>" not in page
    assert page.count('scope="row"') == len(profile.terms)
    assert all(row in profile.summary() for row in ("upright round holes close by: +", "(95 %)"))


def test_a_profile_written_before_instruments_were_noted_is_read(tmp_path, coupon):
    profile = fit_profile(coupon(Truth()))
    path = save_profile(profile, tmp_path / "new.toml")
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    older = tmp_path / "older.toml"
    older.write_text("".join(line for line in lines if not line.startswith("instruments =")))
    assert len(older.read_text().splitlines()) == len(lines) - 1
    assert load_profile(older).provenance.instruments == ()
    assert np.array_equal(load_profile(older).coef, profile.coef)


def test_the_plain_content_of_a_profile_is_what_its_file_holds(coupon, tmp_path):
    for profile in (fit_profile(coupon(Truth())), generic_profile("PETG")):
        path = save_profile(profile, tmp_path / f"{profile.name}.toml")
        held = tomllib.loads(path.read_text(encoding="utf-8"))
        assert profile_content(profile) == held
        assert list(profile_content(profile)) == list(held)
