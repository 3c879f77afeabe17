"""Flat inside jaws over the far walls of two round holes, against a search over all positions."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fitkit.core.errors import StatsError
from fitkit.readings import Instrument, ReadingTable
from fitkit.readings.corrections import far_walls_error
from fitkit.stats import centre_distance, estimate, estimates

WIDTH, CENTRES = 0.6, 58.0


def largest_span(first: float, other: float, *, swung: bool) -> float:
    """Largest span of two flats side by side, each within its own hole, by searching.

    Each flat is 0.3 mm wide, the one beside the other across the beam. All sideways positions are
    tried, and if `swung` all small turns of the calipers.
    """
    flat = WIDTH / 2
    turns = np.linspace(-0.02, 0.02, 2001) if swung else np.zeros(1)
    aside = np.linspace(-WIDTH, WIDTH, 2001)  # of the line between the flats, from the first centre
    best = 0.0
    for turn in turns:
        along, across = CENTRES * math.cos(turn), CENTRES * math.sin(turn)
        with np.errstate(invalid="ignore"):
            reach = [
                np.minimum(*(np.sqrt(d * d / 4 - (y + s * flat / 2) ** 2) for s in (-1, 1)))
                for d, y in ((first, aside - flat / 2), (other, aside + flat / 2 - across))
            ]
        best = max(best, along + float(np.nanmax(reach[0] + reach[1])))
    return best


@pytest.mark.parametrize(("first", "other"), [(3.2, 3.2), (2.5, 2.5), (8.0, 8.0), (3.0, 6.0)])
def test_both_ends_of_the_error_are_those_of_a_search(first: float, other: float) -> None:
    whole = CENTRES + (first + other) / 2
    least, most = far_walls_error([first], [other], face_mm=WIDTH)
    # The swing itself shortens the span by (w/2)^2 / (2 L), under 0.001 mm.
    assert whole - largest_span(first, other, swung=True) == pytest.approx(least[0], abs=1e-3)
    along = whole - largest_span(first, other, swung=False)
    # Held along, holes of two sizes let the flats shift to where the sum is best.
    assert along == pytest.approx(most[0], abs=1e-3 if first == other else 0.02)
    assert along <= most[0] + 1e-3


def table(spans: list[str], **more: str) -> ReadingTable:
    rows = [
        {"feature": "hole", "mode": "inside", "reading": "3.144 mm", "round": "yes"},
        *(
            {"feature": "span", "mode": "inside", "reading": f"{span} mm", "between": "hole"} | more
            for span in spans
        ),
    ]
    return ReadingTable.of([row | {"instrument": "c"} for row in rows])


CALIPERS = Instrument(
    name="c", resolution_mm=0.001, mpe_mm=0.0, inside_face_mm=WIDTH, inside_face_tol_mm=0.05
)


@pytest.mark.parametrize("swung", [True, False])
def test_the_centre_distance_is_held_by_its_interval_however_the_jaws_lay(swung: bool) -> None:
    shown = largest_span(3.2, 3.2, swung=swung)
    found = estimates(table([f"{shown:.4f}"] * 3), instruments=[CALIPERS])
    assert found["hole"].value_mm == pytest.approx(math.hypot(3.144, WIDTH), abs=1e-9)
    way = centre_distance(found, "span", edges="far", holes="hole")
    assert abs(way.value_mm - CENTRES) < way.U95_mm < 0.06
    rows = {row.name: row for row in found["span"].budget}
    assert 0 < rows["span: how the jaws lay"].contribution_mm < 0.02
    assert any("two round holes: +0.03" in note for note in found["span"].notes)


@pytest.mark.parametrize("swung", [True, False])
@pytest.mark.parametrize("zeroed_on", [0, 1])
def test_calipers_zeroed_in_one_of_two_unequal_holes_show_the_distance(swung, zeroed_on) -> None:
    sizes = (3.0, 5.01)
    chords = [math.sqrt(size**2 - WIDTH**2) for size in sizes]
    shown = largest_span(*sizes, swung=swung) - chords[zeroed_on]
    rows = [
        *(
            {"feature": name, "reading": f"{chord:.4f}", "mode": "inside", "instrument": "c"}
            for name, chord in zip(("hole a", "hole b"), chords, strict=True)
        ),
        {
            "feature": "hole a to hole b", "reading": f"{shown:.4f}", "mode": "inside",
            "instrument": "c", "zeroed": f"{chords[zeroed_on]:.3f} mm",
        },
    ]  # fmt: skip
    found = estimates(ReadingTable.of(rows, unit="mm"), instruments=[CALIPERS])
    names = ("hole a", "hole b") if zeroed_on == 0 else ("hole b", "hole a")
    way = centre_distance(found, "hole a to hole b", edges="zeroed on the hole", holes=names)
    assert abs(way.value_mm - CENTRES) < 0.03  # 1.0 mm off, if the holes were taken for equal
    assert abs(way.value_mm - CENTRES) < way.U95_mm


@pytest.mark.parametrize(
    ("span", "holes"),
    [
        ("holes x far edges", ["mounting hole"]),
        ("Hole spacing", ["corner hole"]),
        ("post hole to pin hole", ["pin hole", "post hole", "other hole"]),
    ],
)
def test_names_say_what_is_round_and_what_a_span_lies_between(span, holes) -> None:
    """No column but those that everybody fills in."""
    shown = largest_span(3.2, 3.2, swung=False)
    chord = math.sqrt(3.2**2 - WIDTH**2)
    rows = [{"feature": name, "reading": f"{chord:.4f}"} for name in holes]
    rows.append({"feature": span, "reading": f"{shown:.4f}"})
    rows = [row | {"mode": "inside", "instrument": "c"} for row in rows]
    found = estimates(ReadingTable.of(rows, unit="mm"), instruments=[CALIPERS])
    assert found[holes[0]].value_mm == pytest.approx(3.2, abs=1e-4)
    way = centre_distance(found, span, edges="far", holes=holes[0])
    assert way.value_mm == pytest.approx(CENTRES, abs=0.025)  # as read: 0.06 off
    assert any("flat jaws in two round holes" in note for note in found[span].notes)


def test_a_span_of_which_it_is_not_clear_between_which_holes_says_so() -> None:
    rows = [
        {"feature": name, "reading": size, "mode": "inside", "instrument": "c"}
        for name, size in (("hole a", "3.0"), ("hole b", "5.0"), ("hole distance", "60"))
    ]
    notes = estimates(ReadingTable.of(rows, unit="mm"), instruments=[CALIPERS])[
        "hole distance"
    ].notes
    assert any("Write their names under 'between'" in note for note in notes)


@pytest.mark.parametrize(
    ("feature", "mode", "said"),
    [
        ("square hole", "inside", {}),
        ("hole", "outside", {}),
        ("hole", "depth", {}),
        ("hole", "inside", {"round": "no"}),
        ("cell width", "inside", {}),
    ],
)
def test_what_is_not_a_round_hole_is_left_as_it_is(feature, mode, said) -> None:
    row = {"feature": feature, "mode": mode, "reading": "8.00", "instrument": "c"} | said
    found = estimates(ReadingTable.of([row], unit="mm"), instruments=[CALIPERS])
    assert found[feature].value_mm == 8.0


def test_between_none_keeps_a_span_from_being_corrected() -> None:
    rows = [
        {"feature": "hole", "reading": "3.1"},
        {"feature": "hole spacing", "reading": "60", "between": "none"},
    ]
    table = ReadingTable.of([r | {"mode": "inside", "instrument": "c"} for r in rows], unit="mm")
    assert estimates(table, instruments=[CALIPERS])["hole spacing"].value_mm == 60.0


def test_one_feature_alone_is_as_among_others() -> None:
    readings = table(["61.15", "61.16"])
    alone = estimate(readings, "span", instruments=[CALIPERS])
    among = estimates(readings, instruments=[CALIPERS])["span"]
    assert (alone.value_mm, alone.u_mm) == pytest.approx((among.value_mm, among.u_mm))


def test_without_a_jaw_width_it_says_that_nothing_was_corrected() -> None:
    plain = estimates(table(["61.15"]), instruments=None)["span"]
    assert plain.value_mm == pytest.approx(61.15)
    assert any("between round holes, but no correction" in note for note in plain.notes)


@pytest.mark.parametrize(
    ("between", "says"),
    [("hat", "not a hole of this table"), ("a; b; c", "two names with a semicolon")],
)
def test_holes_that_are_not_there_are_named(between: str, says: str) -> None:
    with pytest.raises(StatsError, match=says):
        estimates(table(["61.15"], between=between), instruments=[CALIPERS])
