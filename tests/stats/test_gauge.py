"""Gauge studies small enough to work out by hand, and how they are shown.

Sums of squares, components and limits come from the effects that the readings are made of; the
published example and simulations are in `tests/outside/test_gauge_study.py`.
"""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from scipy.stats import chi2

from fitkit.core.errors import StatsError
from fitkit.readings import ReadingTable
from fitkit.stats import crossed_study, one_way_study, repeats_needed

if TYPE_CHECKING:
    from fitkit.stats.gauge import GaugeStudy

SIGNS = (-1, 1)
POOLED = "the interaction is not larger than the repeats and is counted with them"
NO_PARTS = "parts differ by no more than the readings do"


def two_parts(*, between: float = 2.0) -> pd.DataFrame:
    """Two parts at 4 ± `between`, each read one under and one over."""
    rows = [("ab"[i > 0], 4 + i * between + j) for i, j in itertools.product(SIGNS, SIGNS)]
    return pd.DataFrame(rows, columns=["part", "mm"])


def one_way(**more: float) -> GaugeStudy:
    return one_way_study(two_parts(**more), part="part", value="mm")


def crossed(
    part: float = 4.0, reader: float = 1.0, mixed: float = 0.5, repeat: float = 0.25
) -> GaugeStudy:
    """Two parts, two readers, two repeats, each effect plus or minus its figure."""
    rows = [
        (f"part {p}", f"reader {a}", part * p + reader * a + mixed * p * a + repeat * r)
        for p, a, r in itertools.product(SIGNS, SIGNS, SIGNS)
    ]
    frame = pd.DataFrame(rows, columns=["part", "who", "mm"]).sample(frac=1, random_state=1)
    return crossed_study(frame, part="part", appraiser="who", value="mm")


def lines(study: GaugeStudy) -> dict[str, tuple[float, int]]:
    return {name: (pytest.approx(line.ss), line.df) for name, line in study.anova.items()}


def test_two_parts_read_twice_by_hand() -> None:
    """Mean squares 16 and 2; the parts' variance is (16 - 2) / 2 = 7."""
    study = one_way()
    assert lines(study) == {"part": (16.0, 1), "repeats": (4.0, 2)}
    assert (study.anova["part"].mean_square, study.anova["repeats"].mean_square) == (16.0, 2.0)
    assert study.repeatability_mm == study.gauge_mm == pytest.approx(math.sqrt(2))
    assert (study.df, study.reproducibility_mm, study.pooled) == (2, None, False)
    assert (study.part_mm, study.total_mm) == pytest.approx((math.sqrt(7), 3.0))
    assert study.gauge_share == pytest.approx(math.sqrt(2) / 3)
    assert study.distinct_categories == pytest.approx(math.sqrt(7))
    assert study.notes == ()


def test_parts_that_differ_less_than_readings_have_no_spread_of_their_own() -> None:
    study = one_way(between=0.5)  # mean squares 1 and 2
    assert (study.part_mm, study.total_mm) == (0.0, study.gauge_mm)
    assert study.distinct_categories == 0.0
    assert study.gauge_share == 1.0
    assert study.notes == (NO_PARTS,)


def test_limits_of_mean_squares_are_those_of_chi_squared() -> None:
    study = one_way(between=200.0)
    for name, line, per in (("repeatability", "repeats", 1), ("parts", "part", 2)):
        source = study.anova[line]
        exact = np.sqrt(source.ss / per / chi2.ppf([0.975, 0.025], source.df))
        # The repeats take next to nothing from parts this far apart.
        assert study.limits[name] == pytest.approx(tuple(exact), rel=0.1)
    assert study.limits["reproducibility"] == (0.0, 0.0)
    assert study.limits["gauge"] == study.limits["repeatability"]
    assert study.limits["total"][0] >= study.limits["gauge"][0]


def test_limits_are_the_same_each_time_unless_drawn_anew() -> None:
    frame = two_parts()
    first, second = one_way(), one_way()
    assert dict(first.limits) == dict(second.limits)
    again = one_way_study(frame, part="part", value="mm", rng=np.random.default_rng(1))
    assert again.limits["parts"] != first.limits["parts"]
    frame["who"] = ["A", "B"] * 2
    frame = pd.concat([frame, frame.assign(who=["B", "A"] * 2)])
    both = [
        crossed_study(frame, part="part", appraiser="who", value="mm", rng=rng)
        for rng in (None, None, np.random.default_rng(1))
    ]
    assert dict(both[0].limits) == dict(both[1].limits)
    assert both[2].limits["parts"] != both[0].limits["parts"]


def test_a_crossed_study_by_hand() -> None:
    """Sums of squares are counts times squared effects: 8 x 16, 8 x 1, 8 x 1/4, 8 x 1/16."""
    study = crossed()
    assert lines(study) == {
        "part": (128.0, 1),
        "appraiser": (8.0, 1),
        "interaction": (2.0, 1),
        "repeats": (0.5, 4),
    }
    readers = (8 - 2) / 4 + (2 - 0.125) / 2
    assert not study.pooled
    assert study.df == 4
    assert study.repeatability_mm**2 == pytest.approx(0.125)
    assert study.reproducibility_mm == pytest.approx(math.sqrt(readers))
    assert study.gauge_mm**2 == pytest.approx(0.125 + readers)
    assert study.part_mm**2 == pytest.approx((128 - 2) / 4)
    assert study.total_mm**2 == pytest.approx(0.125 + readers + 31.5)
    assert study.notes == ()


def test_interaction_below_the_repeats_is_counted_with_them() -> None:
    study = crossed(mixed=0.05)  # F = 0.02 / 0.125, whose chance is 0.7
    noise = (0.5 + 0.02) / 5
    assert study.pooled
    assert study.df == 5
    assert lines(study)["interaction"] == (0.02, 1)  # the table is as computed, before pooling
    assert study.repeatability_mm**2 == pytest.approx(noise)
    assert study.reproducibility_mm == pytest.approx(math.sqrt((8 - noise) / 4))
    assert study.part_mm**2 == pytest.approx((128 - noise) / 4)
    assert study.notes == (POOLED,)


@pytest.mark.parametrize(("mixed", "pooled"), [(0.16, True), (0.17, False)])
def test_interaction_is_pooled_where_its_chance_is_over_a_quarter(mixed, pooled) -> None:
    """F is 8 mixed² / 0.125; of F(1, 4), a quarter lies above 1.807, at mixed = 0.168."""
    assert crossed(mixed=mixed).pooled is pooled


def test_readers_that_differ_less_than_their_interaction_have_no_spread_of_their_own() -> None:
    study = crossed(reader=0.1)
    assert study.reproducibility_mm == pytest.approx(math.sqrt((2 - 0.125) / 2))
    assert crossed(part=0.1).notes == (NO_PARTS,)
    assert crossed(part=0.1, mixed=0.05).notes == (POOLED, NO_PARTS)


def test_repeats_without_spread_leave_the_interaction_as_it_is() -> None:
    study = crossed(repeat=0.0)
    assert not study.pooled
    assert study.repeatability_mm == 0.0
    assert study.reproducibility_mm == pytest.approx(math.sqrt((8 - 2) / 4 + 2 / 2))


def test_a_study_without_any_spread_shares_nothing() -> None:
    still = crossed(0, 0, 0, 0)
    assert math.isnan(still.gauge_share)
    assert still.distinct_categories == math.inf


def test_unequal_repeats_count_by_their_harmonic_mean() -> None:
    frame = pd.DataFrame({"part": list("abbb"), "mm": [0.0, 9.0, 10.0, 11.0]})
    study = one_way_study(frame, part="part", value="mm")
    # One and three readings are as 2 / (1/1 + 1/3) = 1.5 each; means 0 and 10, variance 50.
    assert lines(study) == {"part": (1.5 * 50, 1), "repeats": (2.0, 2)}
    assert study.part_mm**2 == pytest.approx(50 - 1 / 1.5)
    assert study.notes == ("1 to 3 readings a cell: unweighted means, as if of 1.50 readings each",)


def test_a_reading_table_is_studied_by_its_features_without_what_was_left_out() -> None:
    rows = [
        {"feature": name, "reading": f"{size} mm"}
        for name, sizes in (("a", (1, 3)), ("b", (5, 7, 70)))
        for size in sizes
    ]
    study = one_way_study(ReadingTable.of(rows).leave_out(6, "slipped"))
    assert lines(study) == {"part": (16.0, 1), "repeats": (4.0, 2)}


def test_a_reading_table_is_studied_by_a_column_of_the_users_own() -> None:
    rows = [
        {"feature": f"part {p}", "who": f"reader {a}", "reading": f"{20 + 4 * p + a + r / 4} mm"}
        for p, a, r in itertools.product(SIGNS, SIGNS, SIGNS)
    ]
    study = crossed_study(ReadingTable.of(rows), part="feature", appraiser="who")
    assert lines(study)["part"] == (128.0, 1)
    assert lines(study)["appraiser"] == (8.0, 1)


@pytest.mark.parametrize("blank", [None, math.nan, "", "  "])
def test_a_row_without_part_or_appraiser_is_refused(blank: object) -> None:
    """Its reading belongs to no cell; the study would be of unequal lists, or not a number."""
    frame = pd.DataFrame(
        {"part": list("aabb") * 2, "who": list("xxxxyyyy"), "mm": np.arange(8.0)}, dtype=object
    )
    for column in ("part", "who"):
        changed = frame.copy()
        changed.loc[5, column] = blank
        with pytest.raises(StatsError) as error:
            crossed_study(changed, part="part", appraiser="who", value="mm")
        assert str(error.value) == (
            f"gauge study, index 5, column {column!r}: the cell is blank. "
            "Fill in what is known, or leave the row out of the study."
        )
    changed = two_parts().astype(object)
    changed.loc[:, "part"] = blank
    with pytest.raises(StatsError, match=r"index 0, 1, 2 and 1 more, column 'part': 4 cells are"):
        one_way_study(changed, part="part", value="mm")


def test_a_blank_reading_of_a_frame_is_refused() -> None:
    frame = two_parts()
    frame.loc[2, "mm"] = math.nan
    with pytest.raises(StatsError, match="index 2, column 'mm': the cell is blank"):
        one_way_study(frame, part="part", value="mm")


def test_a_blank_appraiser_of_a_readings_file_is_named_by_its_row_there() -> None:
    rows = [
        {"feature": p, "who": a, "reading": f"{n} mm"}
        for n, (p, a, _) in enumerate(itertools.product("ab", "xy", "12"), start=1)
    ]
    rows[4]["who"] = ""
    table = ReadingTable.of(rows, name="study.csv")
    with pytest.raises(StatsError, match=r"study\.csv, row 6, column 'who': the cell is blank"):
        crossed_study(table, part="feature", appraiser="who")
    left_out = table.leave_out(6, "nobody knows who read it")
    assert crossed_study(left_out, part="feature", appraiser="who").anova["repeats"].df == 3


def test_the_text_has_a_line_a_component_and_the_notes() -> None:
    study = crossed(mixed=0.05)
    low, high = study.limits["parts"]
    assert study.summary().splitlines()[3] == f"parts: 5.6546 mm (95 %: {low:.4f} to {high:.4f} mm)"
    names = [line.split(":")[0] for line in study.summary().splitlines()[:5]]
    assert names == ["repeatability", "reproducibility", "gauge", "parts", "total"]
    assert study.summary().splitlines()[5:] == [POOLED]
    assert "reproducibility" not in one_way().summary()


def test_the_table_has_heads_units_and_the_notes_under_it() -> None:
    html = crossed(mixed=0.05)._repr_html_()
    assert ">gauge study</caption>" in html
    for head in ("component", "standard deviation", "95 % limits"):
        assert f">{head}</th>" in html
    assert ">repeatability</th><td>0.3225 mm</td>" in html
    assert html.endswith(f"</table><ul><li>{POOLED}</li></ul>")


def test_a_study_plans_from_its_own_repeatability() -> None:
    study = crossed()
    for other in (0.0, 0.05):
        assert study.repeats_needed(0.3, other_u_mm=other) == repeats_needed(
            study.repeatability_mm, 4, wanted_U_mm=0.3, other_u_mm=other
        )
    assert study.repeats_needed(0.3) < study.repeats_needed(0.3, other_u_mm=0.13)
