"""Estimates, budgets and summaries as the reader sees them: each cell, its unit, its notes."""

from __future__ import annotations

import math

import pytest

from fitkit.calibration.compensation import CompensatedSize
from fitkit.core.format import interval, places_for, with_doubt
from fitkit.flow.plan import FitRow
from fitkit.journal.entries import FitEntry
from fitkit.parts.contract import FitSize
from fitkit.readings import ReadingTable
from fitkit.stats import Estimate, Source, pooled_repeatability, summarise
from fitkit.stats.places import compare_places

FEW = Source(type="A", distribution="student t", basis="5 readings")
GAP = Estimate.of("a <1>", 10.0, 0.03, df=5, source=FEW, notes=("doubt <x>",)) - Estimate.of(
    "b", 4.0, 0.04
)
CAPTION = "6.00 mm ± 0.10 mm (95 %, k = 2.0); u = 50.0 µm, 38.6 degrees of freedom"


def table() -> ReadingTable:
    rows = {"a": ("10.0", "10.02"), "b": ("5",), "c": ("3", "3.01", "3.02")}
    return ReadingTable.of(
        [{"feature": name, "reading": one} for name, some in rows.items() for one in some],
        unit="mm",
        name="box.csv",
    )


def test_a_budget_as_text_has_a_line_a_source_the_largest_first_then_the_notes() -> None:
    assert GAP.summary().splitlines() == [
        f"a <1> - b: {CAPTION}",
        "  b (B, normal): -40.0 µm; ",
        "  a <1> (A, student t): +30.0 µm; 5 readings",
        "  note: doubt <x>",
    ]


def test_a_budget_as_html_has_a_head_a_column_and_a_row_a_source() -> None:
    heads = (
        "source", "type", "distribution", "u", "degrees of freedom", "contribution", "basis",
    )  # fmt: skip
    left = ' style="text-align:left"'
    looks = (left, left, left, "", "", "", left)  # words to the left, numbers to the right
    head = "".join(
        f'<th scope="col"{look}>{name}</th>' for name, look in zip(heads, looks, strict=True)
    )
    plain = GAP._repr_html_().replace(left, "")
    assert f"<thead><tr>{head}</tr></thead>" in GAP._repr_html_()
    assert GAP._repr_html_().count(left) == 1 + 4 * 3  # the caption, and four columns of words
    head = "".join(f'<th scope="col">{name}</th>' for name in heads)
    assert plain == (
        f"<table><caption>a &lt;1&gt; - b: {CAPTION}</caption>"
        f"<thead><tr>{head}</tr></thead><tbody>"
        '<tr><th scope="row">b</th><td>B</td><td>normal</td><td>0.04 mm</td><td>∞</td>'
        "<td>-40.0 µm</td><td></td></tr>"
        '<tr><th scope="row">a &lt;1&gt;</th><td>A</td><td>student t</td><td>0.03 mm</td>'
        "<td>5</td><td>+30.0 µm</td><td>5 readings</td></tr></tbody></table>"
        "<ul><li>doubt &lt;x&gt;</li></ul>"
    )
    assert Estimate.of("x", 1.0, 0.1)._repr_html_().endswith("</table>")  # no notes, no list


def test_an_estimate_in_one_line() -> None:
    assert repr(GAP) == "Estimate('a <1> - b', 6.0000 mm, u 0.0500 mm)"
    assert str(GAP) == "6.00 mm ± 0.10 mm (95 %, k = 2.0)"
    assert interval(GAP.value_mm, GAP.U95_mm, GAP.k95) == str(GAP)


@pytest.mark.parametrize(
    ("u", "places"),
    [(0.0123, 3), (0.1, 2), (0.099, 3), (0.01, 3), (1.0, 1), (9.9, 1), (10.0, 0), (250.0, 0),
     (0.0, 3), (math.inf, 3), (math.nan, 3)],
)  # fmt: skip
def test_two_digits_of_an_uncertainty_are_shown(u: float, places: int) -> None:
    """GUM 7.2.6; powers of ten, whose logarithm may fall short by a rounding, have two as well."""
    assert places_for(u) == places


def test_a_summary_has_a_row_a_feature_and_says_what_it_does_not_know() -> None:
    summary = summarise(table())
    assert summary.summary().splitlines() == [
        "a: 10.01 mm ± 0.13 mm (n = 2)",
        "b: 5.000 mm ± unknown (n = 1)",
        "c: 3.010 mm ± 0.025 mm (n = 3)",
    ]
    heads = ("feature", "n", "mean", "s of one reading", "k (95 %)", "U95, repeats only")
    head = "".join(f'<th scope="col">{name}</th>' for name in heads)
    html = summary._repr_html_().replace(' style="text-align:left"', "")
    assert html.startswith(f"<table><caption>box.csv: features</caption><thead><tr>{head}</tr>")
    assert (
        '<tr><th scope="row">a</th><td>2</td><td>10.01 mm</td><td>0.014 mm</td><td>12.71</td>'
        "<td>0.13 mm</td></tr>"
    ) in html
    assert (
        '<tr><th scope="row">b</th><td>1</td><td>5.000 mm</td><td>unknown</td><td>unknown</td>'
        "<td>unknown</td></tr>"
    ) in html
    assert repr(summary) == "Summary('box.csv', 3 features)"


def test_a_summarys_columns_are_students() -> None:
    """k for 1 and 2 degrees of freedom is 12.706 and 4.303 (any t table)."""
    frame = summarise(table()).frame
    assert list(frame.columns) == ["n", "mean_mm", "s_mm", "u_mm", "k95", "U95_mm"]
    assert (frame.index.name, list(frame.index)) == ("feature", ["a", "b", "c"])
    assert frame.loc["c"].tolist() == pytest.approx(
        [3, 3.01, 0.01, 0.01 / math.sqrt(3), 4.303, 4.303 * 0.01 / math.sqrt(3)], abs=1e-3
    )
    assert frame.loc["a", "k95"] == pytest.approx(12.706, abs=1e-3)
    assert frame.loc["b"].isna().tolist() == [False, False, True, True, True, True]


def test_a_feature_all_left_out_has_no_row() -> None:
    summary = summarise(table().leave_out(4, "slipped"))
    assert list(summary.frame.index) == ["a", "c"]


def test_pooled_repeatability_says_what_it_was_pooled_over() -> None:
    assert str(pooled_repeatability(table())) == "0.0115 mm for one reading (3 df, 2 groups)"


def test_repeats_are_pooled_within_item_mode_place_and_instrument() -> None:
    """Of two readings 2 mm apart, each pair differs in one column: nothing was read twice."""
    plain = {"feature": "bar", "item": "1", "mode": "outside", "place": "mid", "instrument": "c"}
    for column, other in (
        ("feature", "lid"), ("item", "2"), ("mode", "inside"), ("place", "bed"),
        ("instrument", "d"),
    ):  # fmt: skip
        rows = [
            {**plain, "reading": "10.00"}, {**plain, "reading": "10.02"},
            {**plain, "reading": "12.00", column: other},
            {**plain, "reading": "12.02", column: other},
        ]  # fmt: skip
        pooled = pooled_repeatability(ReadingTable.of(rows, unit="mm"))
        assert (pooled.df, pooled.groups) == (2, 2)
        assert pooled.s_mm == pytest.approx(0.02 / math.sqrt(2))


def test_the_repeatability_of_one_instrument_leaves_others_out() -> None:
    rows = [
        {"feature": "bar", "reading": reading, "instrument": name}
        for name, readings in (("c", ("10.00", "10.02")), ("d", ("10.0", "10.5", "10.7")))
        for reading in readings
    ]
    one = pooled_repeatability(ReadingTable.of(rows, unit="mm"), instrument="c")
    assert (one.df, one.groups, one.s_mm) == (1, 1, pytest.approx(0.02 / math.sqrt(2)))


def test_places_are_compared_by_hand() -> None:
    """Means 1.5 and 4; between them 2.5 / sqrt 2; within, sqrt((0.5 + 2) / 3) of 3 freedoms."""
    found = compare_places([1.0, 2.0, 3.0, 4.0, 5.0], ["a", "a", "b", "b", "b"])
    assert dict(found.means_mm) == {"a": 1.5, "b": 4.0}
    assert found.between_mm == pytest.approx(2.5 / math.sqrt(2))
    assert found.within_mm == pytest.approx(math.sqrt(2.5 / 3))
    assert str(found) == "a 1.500 mm, b 4.000 mm (between 1.768 mm, within 0.913 mm)"
    alone = compare_places([1.0, 2.0], ["a", "b"])
    assert str(alone) == "a 1.000 mm, b 2.000 mm (between 0.707 mm, within unknown)"


@pytest.mark.parametrize(
    ("off", "level", "differ"),
    # Two places of two readings 0.02 mm apart: F is off² / 0.0002; of F(1, 2), 5 % lie above
    # 18.51 and 10 % above 8.53 (any F table), at 0.0609 and 0.0413 mm.
    [(0.060, 0.05, False), (0.062, 0.05, True), (0.040, 0.1, False), (0.042, 0.1, True)],
)
def test_places_differ_where_an_f_test_says_so(off: float, level: float, differ: bool) -> None:
    values = [10.0, 10.02, 10.0 + off, 10.02 + off]
    assert compare_places(values, ["a", "a", "b", "b"], level=level).differ is differ
    if level == 0.05:
        assert compare_places(values, ["a", "a", "b", "b"]).differ is differ


@pytest.mark.parametrize(
    ("values", "differ"),
    [
        ([10.0, 10.0, 10.01, 10.01], True),  # nothing within, so anything between counts
        ([10.0, 10.0, 10.0, 10.0], False),
    ],
)
def test_places_whose_readings_all_agree(values: list[float], differ: bool) -> None:
    assert compare_places(values, ["a", "a", "b", "b"]).differ is differ


def test_places_read_once_each_are_taken_to_differ_unless_equal() -> None:
    assert compare_places([10.0, 10.01], ["a", "b"]).differ
    assert not compare_places([10.0, 10.0], ["a", "b"]).differ


@pytest.mark.parametrize(
    ("value", "U", "text"),
    [(68.0281, 0.0402, "68.028 ± 0.040"), (68.4861, 0.118, "68.49 ± 0.12"),
     (17.597, 1.21, "17.6 ± 1.2"), (4.5, 0.0, "4.500"), (4.5, None, "4.500"),
     (-0.0001, 0.05, "0.000 ± 0.050")],
)  # fmt: skip
def test_a_size_is_written_to_the_place_of_its_doubt(value, U, text) -> None:
    """JCGM 100:2008, 7.2.6: two digits of the uncertainty at most, the value to the same place."""
    assert with_doubt(value, U) == text


@pytest.mark.parametrize(("sense", "wider"), [(1, 0.25), (-1, -0.25), (0, 0.0)])
def test_a_recorded_fit_reads_as_the_row_it_came_from_and_a_clearance_is_positive(
    sense: int, wider: float
) -> None:
    """The lip of a lid is drawn smaller than its box by the gap: it has clearance all the same."""
    thing = Estimate.of("box", 68.0281, 0.02)
    size = CompensatedSize(
        name="lid", kind="inside", axis="x", target_mm=68.0281 + wider, u_target_mm=0.02,
        drawn_mm=68.31, expected_mm=68.0281 + wider, u_print_mm=0.06, U95_mm=0.118,
        extrapolated=False, basis="profile",
    )  # fmt: skip
    fit = FitSize(
        name="lid", nominal_mm=68.0281, kind="inside", sense=sense,
        pair="peg and hole" if sense else None,
    )  # fmt: skip
    row = FitRow(
        fit=fit, measured=thing, gap=None, gap_mm=0.25 if sense else 0.0, wanted="slides",
        target=thing, size=size,
    )  # fmt: skip
    assert FitEntry.of(row).texts() == row.texts()
    assert row.texts().gap == ("+0.25" if sense else "–")
    assert row.texts().expected == f"{68.0281 + wider:.2f} ± 0.12"
    assert row.texts().measured == "68.028 ± 0.039"
