"""A term of the printer model stands in one place: what is true of all, and a new one."""

from __future__ import annotations

import numpy as np
import pytest

from fitkit.calibration import fit_coupon, generic_profile
from fitkit.calibration.coupon import CouponSizes, coupon_features
from fitkit.calibration.model import TERMS, Seen, Term, Words, design, loads, print_loads
from fitkit.core.sizes import kinds
from fitkit.stats.uncertainty import Estimate


def test_every_term_is_known_beforehand_and_acts_on_some_size() -> None:
    profile = generic_profile("PETG")
    assert profile.terms == tuple(TERMS)
    assert (np.diag(profile.cov) > 0.0).all()
    features = (*coupon_features(CouponSizes.thorough()), *coupon_features())
    for name, term in TERMS.items():
        assert term.name == name
        acts = [term.on(Seen(f.kind, f.axis, f.place, f.diagonal, f.wall_mm)) for f in features]
        assert any(acts), name


@pytest.mark.parametrize("kind", kinds(), ids=str)
def test_every_term_that_a_kind_names_is_a_term(kind: str) -> None:
    assert {name for k in kinds() if k == kind for name in k.own_terms} <= set(TERMS)


def test_a_term_goes_with_the_line_width_just_where_its_sizes_do() -> None:
    # A wider line moves a size and the term that is its offset alike, or the term would be
    # fitted as if all prints were one.
    for kind in kinds():
        for axis in ("x", "z"):
            width = float(print_loads(10.0, kind, axis)[0])
            offsets = [
                load
                for name, load in loads(kind, axis).items()
                if TERMS[name].power == 0 and TERMS[name].varies == "width"
            ]
            if width:
                assert sum(offsets) == width, (kind, axis)
            else:
                assert not offsets, (kind, axis)


@pytest.fixture
def rib(monkeypatch: pytest.MonkeyPatch) -> Term:
    """Term that fitkit does not ship: slots read along y close further than those along x."""
    term = Term(
        name="slot_y_closing",
        power=0,
        unit="mm",
        says="slots along y close further by",
        acts=lambda seen: -float(seen.kind.flat and seen.kind.sense < 0 and seen.axis == "y"),
        varies="width",
        words=Words("slots along y close further by"),
        known=(0.1, 0.06),
    )
    monkeypatch.setitem(TERMS, term.name, term)
    return term


def test_a_new_term_is_fitted_spoken_of_and_varies_from_print_to_print(rib: Term, settings) -> None:
    features = coupon_features(CouponSizes.thorough())
    truth = {"outside_offset": 0.1, "inside_closing": 0.12, "hole_closing": 0.15, rib.name: 0.2}
    coef = np.array([truth.get(name, 0.0) for name in TERMS])
    rng = np.random.default_rng(5)
    readings = {}
    for f in features:
        row = design(tuple(TERMS), f.drawn_mm, f.kind, f.axis, place=f.place, diagonal=f.diagonal)
        value = f.drawn_mm + float(row @ coef) + rng.normal(0, 0.004)
        readings[f.name] = Estimate.of(f.name, value, 0.004)
    profile = fit_coupon(readings, settings=settings).profile
    value, u = profile.value(rib.name)
    assert abs(value - 0.2) < 2 * u
    assert "slots along y close further by" in profile.provenance.verdict
    assert rib.says in profile.summary()
    plain, y = (profile.fitted(30.0, kind="inside", axis=axis)[0] for axis in ("x", "y"))
    assert float(plain - y) == pytest.approx(0.2, abs=0.04)


def test_a_new_term_is_lent_where_no_feature_shows_it(rib: Term, settings) -> None:
    features = [f for f in coupon_features() if f.axis != "y" or f.mode == "outside"]
    readings = {f.name: Estimate.of(f.name, f.drawn_mm, 0.01) for f in features}
    profile = fit_coupon(readings, settings=settings).profile
    assert rib.name in profile.provenance.borrowed
    assert profile.value(rib.name)[0] == pytest.approx(0.1, abs=0.02)
    assert "slots along y" not in profile.provenance.verdict
