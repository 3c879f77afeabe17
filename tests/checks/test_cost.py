"""Plastic, time and money."""

from __future__ import annotations

import pytest

from fitkit.checks import Material, Prices, published_material
from fitkit.checks.cost import (
    _duration,
    check_cost,
    money,
    print_estimate,
    print_price,
)
from fitkit.checks.material import currency_digits
from fitkit.checks.moves import Moves, moves_of
from fitkit.checks.print_time import TimedPrint, print_time
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


def laid(mesh: Mesh, **values: float) -> Moves:
    settings = {"line_mm": 0.4, "layer_mm": 0.2, "perimeters": 3, "infill": 0.15} | values
    return moves_of([mesh], **settings)


def test_a_solid_block_weighs_its_volume() -> None:
    assert laid(box(20, 20, 20), infill=1.0).plastic_mm3 == pytest.approx(8000)


def test_a_hollow_block_is_its_skin() -> None:
    """By hand: 20 mm cube less 17.6 x 17.6 x 18.4 mm, three lines round and 0.8 mm above, below."""
    found = laid(box(20, 20, 20), infill=0.0)
    assert found.plastic_mm3 == pytest.approx(8000 - 17.6 * 17.6 * 18.4, rel=0.02)
    # 100 layers of 80 mm, with four corners each.
    assert found.length_mm[0] == pytest.approx(8000)
    assert found.count[0] == pytest.approx(500, abs=1)


def test_a_thin_floor_is_not_missed() -> None:
    """An open tray with a floor of 0.8 mm, all skin: 90 x 65 x 0.8 mm of it and its walls."""
    inner = box(85.2, 60.2, 29.2, (2.4, 2.4, 0.8))
    tray = joined(box(90, 65, 30), Mesh(inner.vertices, inner.triangles[:, ::-1].copy()))
    found = laid(tray)
    assert found.plastic_mm3 == pytest.approx(tray.volume(), rel=0.02)
    assert found.length_mm[3] < 0.002 * sum(found.length_mm)


def test_moves_survive_a_record_and_rubbish_does_not() -> None:
    found = laid(box(20, 20, 20))
    again = Moves.read(found.content())
    assert again is not None
    assert again.length_mm == pytest.approx(found.length_mm, abs=0.1)
    assert Moves.read({}) is None
    assert Moves.read(found.content() | {"count": [1.0]}) is None
    assert Moves.read(found.content() | {"count": "many"}) is None


def test_the_time_is_told_as_unlearned_until_three_prints_were_timed() -> None:
    case = palm_size_case()
    moves = laid(case)
    for timed, words in ((0, "not learned yet: 0 of 3"), (2, "2 of 3"), (3, "from 3 timed")):
        known = tuple(TimedPrint(moves, 1.4) for _ in range(timed))
        (found, _) = check_cost(part(), context(case, material=PETG, timed=known))
        assert words in found.text
        assert ("--took" in found.remedy) == (timed < 3)
    assert found.value == pytest.approx(1.4, rel=0.05)


def test_timed_prints_narrow_the_band() -> None:
    moves = [laid(box(x, 30, 12)) for x in (20, 40, 60, 80)]
    prior = print_time(moves[3])
    after = print_time(moves[3], [TimedPrint(m, print_time(m).hours) for m in moves[:3]])
    assert after.high / after.low < 0.5 * prior.high / prior.low


def test_one_print_timed_with_a_pause_does_not_spoil_the_rest() -> None:
    moves = [laid(box(x, 30, 12)) for x in (20, 30, 40, 50, 60, 80)]
    true = [print_time(m).hours for m in moves]
    timed = [TimedPrint(m, h) for m, h in zip(moves[:5], true, strict=False)]
    timed[2] = TimedPrint(moves[2], 9.0)
    assert print_time(moves[5], timed).hours == pytest.approx(true[5], rel=0.1)


def test_a_wider_nozzle_and_thicker_layers_are_faster() -> None:
    case = palm_size_case()
    slow = print_estimate(part(), context(case, layer_height_mm=0.1), PETG)
    fast = print_estimate(part(), context(case, layer_height_mm=0.4, nozzle_mm=0.8), PETG)
    assert slow is not None
    assert fast is not None
    assert fast.hours[0] < slow.hours[0]


def test_price_adds_up_by_hand() -> None:
    # 8 cm³ of 1.25 g/cm³ at least, solid; one figure of each range worked out by hand.
    made = print_estimate(part(), context(box(20, 20, 20), infill=1.0), PETG)
    assert made is not None
    assert made.grams[0] == pytest.approx(0.95 * 10.0)
    assert made.metres[0] == pytest.approx(0.95 * 8000 / (3.14159 * 0.875**2) * 1e-3, rel=1e-5)
    hours = made.hours[0]
    prices = Prices.of(EURO | {"machine_per_hour": 0.5, "failure_share": 0.2})
    expected = (0.95 * 10.0e-3 * 20 + 0.060 * hours * 0.30 + 0.5 * hours) / 0.8
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
