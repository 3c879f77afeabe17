import tomllib

import numpy as np
import pytest
import tomlkit
from simulator import Truth

from fitkit.calibration import fit_profile, generic_profile, load_profile, save_profile
from fitkit.calibration.generic import generic_materials
from fitkit.calibration.model import TERMS
from fitkit.calibration.profile_file import profile_content
from fitkit.core.errors import CalibrationError, FaultList


def test_every_digit_comes_back(coupon, settings, tmp_path):
    made = fit_profile(
        coupon(Truth()), settings=settings, nozzle="brass 0.4", spool="blue 3", made_on="2026-11-25"
    )
    read = load_profile(save_profile(made, tmp_path / "sub" / "p.toml"))
    # What readings share is kept as columns, so it comes back but for the last digits.
    np.testing.assert_allclose(read.coef, made.coef, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(read.cov, made.cov, rtol=1e-6, atol=1e-15)
    np.testing.assert_array_equal(read.evidence.read_mm, made.evidence.read_mm)
    np.testing.assert_array_equal(read.prior.cov, made.prior.cov)
    assert read.evidence.sizes.asked == made.evidence.sizes.asked
    for name in ("name", "printer", "material", "bed_mm", "prints", "now", "provenance"):
        assert getattr(read, name) == getattr(made, name), name
    assert dict(read.valid_mm) == dict(made.valid_mm)
    assert read.provenance.nozzle == "brass 0.4"


@pytest.mark.parametrize("material", generic_materials())
def test_generic_profiles_are_marked_and_keep_their_mark(material, tmp_path):
    read = load_profile(save_profile(generic_profile(material), tmp_path / "g.toml"))
    assert read.generic
    assert "generic" in read.basis
    assert "no coupon" in read.basis
    assert "(as other printers do)" in read.summary()


def test_nylon_shrinks_more_than_petg_by_what_the_table_says():
    """Middles of 0.7 to 1.5 % and, of PLA and PETG, of 0.2 to 0.5 and 0.2 to 0.6 % (the table)."""
    usual, more = (generic_profile(name).value("scale_x")[0] for name in ("petg", "nylon"))
    assert more - usual == pytest.approx(-0.011 + 0.00375)


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
    np.testing.assert_allclose(load_profile(older).coef, profile.coef, rtol=1e-9, atol=1e-12)


def test_a_profile_of_the_first_form_is_read_with_a_note(tmp_path):
    """As release files of the first form have it: 13 terms with their covariance, no readings."""
    names = list(TERMS)[:13]
    path = tmp_path / "first.toml"
    document = {
        "schema": 1,
        "name": "bench-petg",
        "printer": "bench printer",
        "material": "PETG",
        "layer_height_mm": 0.2,
        "first_layer_mm": 0.24,
        "nozzle_mm": 0.4,
        "bed_mm": [200.0, 200.0, 200.0],
        "generic": False,
        "df": 30.0,
        "covariance": [
            [(1e-7 if i < 3 else 1e-4) * (i == j) for j in range(13)] for i in range(13)
        ],
        "terms": {n: -0.003 if n.startswith("scale") else 0.1 for n in names},
        "spread": {
            "print_width_mm": 0.025,
            "print_scale": 0.0003,
            "print_df": 4.0,
            "feature_mm": 0.02,
            "prints": 2,
        },
        "valid_mm": {"hole": [2.5, 16.0]},
        "provenance": {"made_on": "2026-10-02"},
    }
    path.write_text(tomlkit.dumps(document), encoding="utf-8")
    profile = load_profile(path)
    assert profile.value("hole_closing")[0] == pytest.approx(0.1)
    # The covariance of the fit, and the width of the mean of two prints, common to all offsets.
    u_mm = np.hypot(0.01, 0.025 / np.sqrt(2))
    assert profile.value("hole_closing")[1] == pytest.approx(u_mm, rel=0.05)
    assert profile.prints == 2
    assert any("older form" in note for note in profile.provenance.notes)
    assert 0.05 < float(profile.U95(10.0, kind="hole")) < 0.12
    again = load_profile(save_profile(profile, tmp_path / "second.toml"))
    np.testing.assert_array_equal(again.prior.mean, profile.prior.mean)


def test_the_plain_content_of_a_profile_is_what_its_file_holds(coupon, tmp_path):
    for profile in (fit_profile(coupon(Truth())), generic_profile("PETG")):
        path = save_profile(profile, tmp_path / f"{profile.name}.toml")
        held = tomllib.loads(path.read_text(encoding="utf-8"))
        assert profile_content(profile) == held
        assert list(profile_content(profile)) == list(held)
