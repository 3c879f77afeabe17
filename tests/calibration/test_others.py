"""A second printer of a workshop: what the first one taught counts, and what is told of it."""

from dataclasses import replace

import numpy as np
import pytest
from simulator import Truth

from fitkit.calibration import (
    CouponSizes,
    PrintSettings,
    coupon_features,
    fit_profile,
    generic_profile,
    load_profile,
    profiles_in,
    save_profile,
)
from fitkit.calibration.coupon import first_readings
from fitkit.calibration.model import TERMS
from fitkit.calibration.others import prior_beside
from fitkit.calibration.prior import learned_prior

FIRST = PrintSettings(printer="first printer", material="PETG", first_layer_mm=0.2)
SECOND = PrintSettings(printer="second printer", material="PETG", first_layer_mm=0.2)
SHORT, THIRD = coupon_features(), coupon_features(CouponSizes.second_printer())
# What the prior's terms are called by the simulated printer.
HABITS = {
    "scale_x": "scale_x",
    "scale_y": "scale_y",
    "scale_z": "scale_z",
    "outside_offset": "outside",
    "peg_offset": "peg",
    "inside_closing": "inside",
    "hole_closing": "hole",
    "hole_curvature": "hole_curve",
    "lying_width_closing": "lying_width",
    "lying_height_closing": "lying_height",
    "height_offset": "height",
    "bed_flare": "flare",
    "skew": "skew",
    "pocket_closing": "pocket",
    "wall_bow": "bow",
    "roof_sag": "sag",
}
PROBES = (
    ("hole", "xy", 3.0),
    ("hole", "xy", 8.0),
    ("outside", "x", 20.0),
    ("outside", "y", 80.0),
    ("inside", "x", 20.0),
    ("pocket", "x", 30.0),
    ("peg", "xy", 6.0),
    ("height", "z", 15.0),
)


def pair(seed, own=0.4):
    """Two printers of which the second has this share of the spread of its own."""
    rng = np.random.default_rng(seed)
    prior = learned_prior("PETG")
    draws = rng.multivariate_normal(np.zeros(len(TERMS)), prior.cov, 2, method="eigh")
    alike = np.sqrt(1.0 - own**2)
    both = prior.mean + draws[0], prior.mean + alike * draws[0] + own * draws[1]
    noise = {"print_width": 0.02, "print_scale": 0.0003, "feature": 0.015}
    return [
        Truth(**{HABITS[t]: float(v) for t, v in zip(TERMS, terms, strict=True)}, **noise)
        for terms in both
    ]


def errors(profile, truth):
    """Error of each probe, of its mean over prints, and U95 of a fresh one, shape (probes, 2)."""
    rows = []
    for kind, axis, n in PROBES:
        error = float(profile.predict(n, kind=kind, axis=axis)[0])
        error -= float(truth.mean(n, kind, axis, wall=n))
        rows.append((error, float(profile.U95(n, kind=kind, axis=axis))))
    return rows


def test_a_second_printer_needs_a_third_of_the_coupon(coupon):
    """With 0.4 of the spread of printers its own, which the model takes it to have, nearly."""
    assert len(first_readings(THIRD)) <= 0.4 * len(first_readings(SHORT))
    found = {"whole": [], "third": [], "lone": []}
    for seed in range(12):
        one, two = pair(seed)
        first = fit_profile(coupon(one, seed, SHORT), settings=FIRST)
        few, many = (coupon(two, 100 + seed, features) for features in (THIRD, SHORT))
        found["whole"].append(errors(fit_profile(many, settings=SECOND), two))
        third = fit_profile(few, settings=SECOND, others=[first])
        found["third"].append(errors(third, two))
        found["lone"].append(errors(fit_profile(few, settings=SECOND), two))
    rms = {way: np.sqrt(np.mean(np.array(rows)[..., 0] ** 2)) for way, rows in found.items()}
    wide = {way: np.mean(np.array(rows)[..., 1]) for way, rows in found.items()}
    # Nearly what a whole coupon gives, and far from what so few readings give alone.
    assert rms["third"] < 1.25 * rms["whole"]
    assert wide["third"] < 1.35 * wide["whole"]
    assert rms["third"] < 0.8 * rms["lone"]
    assert wide["third"] < 0.85 * wide["lone"]
    error, U = np.moveaxis(np.array(found["third"]), -1, 0)
    assert np.mean(np.abs(error) <= U) >= 0.95


@pytest.fixture
def first(coupon):
    return fit_profile(
        coupon(Truth(hole=0.3), 1), settings=FIRST, spool="blue 3", made_on="2026-03-01"
    )


def test_what_joined_is_told_and_kept(coupon, first, tmp_path):
    alone = fit_profile(coupon(Truth(), 2, THIRD), settings=SECOND)
    both = fit_profile(coupon(Truth(), 2, THIRD), settings=SECOND, others=[first])
    note = next(n for n in both.provenance.notes if n.startswith("also rests on"))
    assert "first-printer-petg (23 readings of printer 'first printer'" in note
    assert both.evidence is not None
    assert len(both.evidence.sizes) == len(THIRD)  # the others' readings stay theirs
    again = load_profile(save_profile(both, tmp_path / "second.toml"))
    for kind in ("hole", "pocket"):
        assert again.U95(6.0, kind=kind) == pytest.approx(both.U95(6.0, kind=kind), rel=1e-6)
        assert both.U95(6.0, kind=kind) < alone.U95(6.0, kind=kind)
    assert note in again.prior.says


def test_the_same_printer_with_another_spool_counts_more_than_another_printer(coupon, first):
    asked = fit_profile(coupon(Truth(), 3, THIRD), settings=FIRST, spool="red 1")
    other = replace(asked, printer="second printer")
    start = learned_prior("PETG")
    spool, printer = (prior_beside([first], one)[0] for one in (asked, other))
    at = list(TERMS).index("hole_closing")
    assert spool.cov[at, at] < printer.cov[at, at] < start.cov[at, at]


def test_readings_of_the_very_same_printer_nozzle_and_spool_do_not_count_twice(coupon, first):
    for words in ({"spool": "blue 3"}, {}, {"spool": "blue 3", "nozzle": "brass"}):
        same = fit_profile(coupon(Truth(), 4, THIRD), settings=FIRST, others=[first], **words)
        assert not any(n.startswith("also rests on") for n in same.provenance.notes)
    # Nor one and the same coupon that two profiles of the folder hold.
    twin = replace(first, name="twin")
    asked = fit_profile(coupon(Truth(), 5), settings=SECOND)
    once, twice = prior_beside([first], asked)[0], prior_beside([first, twin], asked)[0]
    assert np.array_equal(once.cov, twice.cov)
    assert prior_beside([generic_profile("PETG")], asked) == (learned_prior("PETG"), ())


def test_another_material_teaches_beside_its_own_shrinkage(coupon, settings):
    """ABS that prints as ABS usually does leaves PETG at what PETG usually is."""
    usual = learned_prior("ABS").mean
    abs_like = Truth(**{HABITS[t]: float(v) for t, v in zip(TERMS, usual, strict=True)})
    abs_ = replace(FIRST, material="ABS")
    first = fit_profile(coupon(replace(abs_like, feature=0.005), 6), settings=abs_)
    asked = fit_profile(coupon(Truth(), 7), settings=FIRST)
    at = list(TERMS).index("scale_x")
    start, found = learned_prior("PETG"), prior_beside([first], asked)[0]
    assert found.mean[at] == pytest.approx(start.mean[at], abs=0.0006)
    assert usual[at] < start.mean[at] - 0.001
    assert found.cov[at, at] < start.cov[at, at]


def test_a_folder_of_profiles_is_read_but_for_the_one_to_write_and_the_torn(first, tmp_path):
    save_profile(first, tmp_path / "first.toml")
    save_profile(replace(first, name="second"), tmp_path / "second.toml")
    (tmp_path / "torn.toml").write_text("name = ")
    found, unread = profiles_in(tmp_path, besides=tmp_path / "second.toml")
    assert [one.name for one in found] == ["first-printer-petg"]
    assert len(unread) == 1
    assert unread[0].startswith("torn.toml could not be read, so it teaches nothing: ")
    assert profiles_in(tmp_path / "nowhere") == ([], [])
