"""Plastic, time and money."""

from __future__ import annotations

import pytest

from fitkit.checks import Material, Prices, published_material
from fitkit.checks.cost import (
    _duration,
    check_cost,
    money,
    plastic_volume_mm3,
    print_estimate,
    print_price,
)
from fitkit.checks.material import currency_digits
from fitkit.core.errors import FaultList
from fitkit.solids.mesh import Mesh
from tests.checks.gallery import box, context, joined, part

PETG = published_material("PETG")
EURO = {"currency": "EUR", "per_kwh": 0.30}


def palm_size_case() -> Mesh:
    """An open tray of 90 x 65 x 30 mm with walls of 2.4 mm, as two shells pulled into one."""
    inner = box(85.2, 60.2, 27.6, (2.4, 2.4, 2.4))
    return joined(box(90, 65, 30), Mesh(inner.vertices, inner.triangles[:, ::-1].copy()))


def test_a_palm_size_case_takes_one_to_two_hours_and_small_change() -> None:
    """Common practice, no source: the issue of every maker's first board case."""
    setting = context(palm_size_case(), material=PETG)
    made = print_estimate(part(), setting, PETG)
    assert made is not None
    assert made.hours[0] < 2.0
    assert made.hours[1] > 1.0
    assert made.hours[1] < 4 * made.hours[0]
    assert 25 < made.grams[0] < made.grams[1] < 60
    low, high = print_price(made, Prices.of(EURO), per_kg=22.0)
    assert 0.3 < low < high < 3.0


def test_a_solid_block_weighs_its_volume() -> None:
    cube = box(20, 20, 20)
    assert plastic_volume_mm3(cube, skin_mm=1.2, infill=1.0) == pytest.approx(8000)
    assert plastic_volume_mm3(cube, skin_mm=1.2, infill=0.0) == pytest.approx(2400 * 1.2)
    assert plastic_volume_mm3(cube, skin_mm=9.0, infill=0.0) == pytest.approx(8000)


def test_a_wider_nozzle_and_thicker_layers_are_faster() -> None:
    case = palm_size_case()
    slow = print_estimate(part(), context(case, layer_height_mm=0.1), PETG)
    fast = print_estimate(part(), context(case, layer_height_mm=0.4, nozzle_mm=0.8), PETG)
    assert slow is not None
    assert fast is not None
    assert fast.hours[0] < slow.hours[0]


def test_price_adds_up_by_hand() -> None:
    # 8 cm³ of 1.27 g/cm³, solid; one figure of each range worked out by hand.
    made = print_estimate(part(), context(box(20, 20, 20), infill=1.0), PETG)
    assert made is not None
    assert made.grams[0] == pytest.approx(0.95 * 10.16)
    hours = (0.95 * 8000 / 10 + 100 * 1.0 + 4 * 60) / 3600
    assert made.hours[0] == pytest.approx(hours)
    prices = Prices.of(EURO | {"machine_per_hour": 0.5, "failure_share": 0.2})
    expected = (0.95 * 10.16e-3 * 20 + 0.060 * hours * 0.30 + 0.5 * hours) / 0.8
    assert print_price(made, prices, per_kg=20.0)[0] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("amount", "currency", "text"),
    [
        ((0.734, 1.41), "EUR", "0.73 to 1.40 EUR"),
        ((118.2, 260.0), "JPY", "120 to 260 JPY"),
        ((0.2, 3.456), "JPY", "0 to 3 JPY"),
        ((0.0347, 0.5), "KWD", "0.035 to 0.500 KWD"),
        ((12345.0, 45678.0), "IDR", "12,000 to 46,000 IDR"),
    ],
)
def test_money_has_two_figures_and_no_finer_than_its_coin(amount, currency, text: str) -> None:
    assert money(amount, currency) == text


@pytest.mark.parametrize(
    ("hours", "text"),
    [
        (0.01, "5 min"),
        (0.75, "45 min"),
        (0.99, "1 h"),
        (2.3, "2 h 15 min"),
        (4.9, "5 h"),
        (7.6, "8 h"),
    ],
)
def test_a_time_is_told_in_hours_and_minutes(hours: float, text: str) -> None:
    assert _duration(hours) == text


@pytest.mark.parametrize("currency", ["EURO", "eur", "", "€", "ZZZ"])
def test_what_is_no_currency_code_is_refused(currency: str) -> None:
    with pytest.raises(FaultList, match="ISO 4217"):
        Prices.of(EURO | {"currency": currency})


def texts(material: Material | None, prices: Prices | None) -> str:
    setting = context(box(20, 20, 20), material=material, prices=prices)
    return " ".join(item.text for item in check_cost(part(), setting))


def test_what_is_missing_is_said() -> None:
    priced = PETG.model_copy(update={"price_per_kg": 20.0, "currency": "EUR"})
    assert "not run, because no material is named" in texts(None, None)
    bare = PETG.model_copy(update={"properties": {}})
    assert "not run, because PETG has no density" in texts(bare, None)
    assert "the price was not worked out, because no prices are given" in texts(PETG, None)
    assert "PETG has no price_per_kg" in texts(PETG, Prices.of(EURO))
    other = Prices.of(EURO | {"currency": "KES"})
    assert "priced in EUR and the rest in KES" in texts(priced, other)
    assert "EUR for plastic, power and machine" in texts(priced, Prices.of(EURO))
    own = Prices.of({"currency": "KES", "per_kwh": 25, "material_per_kg": 2800})
    assert "KES for plastic" in texts(priced, own)


def test_all_bodies_count() -> None:
    (found,) = check_cost(part(), context(material=PETG))
    assert "a body has no mesh" in found.text


def test_currencies_are_those_of_the_unicode_cldr():
    """Source: Babel, which ships the data of the Unicode CLDR."""
    from babel.numbers import get_currency_precision, list_currencies

    assert dict(currency_digits()) == {
        code: get_currency_precision(code) for code in list_currencies()
    }
    # ISO 4217, list one: minor units of currencies whose coin is as fine as the standard says.
    standard = {"EUR": 2, "USD": 2, "JPY": 0, "KES": 2, "KWD": 3, "BHD": 3, "CLF": 4, "VND": 0}
    assert {code: currency_digits()[code] for code in standard} == standard
