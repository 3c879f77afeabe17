"""Each refusal of this room as the user reads it, whole: where, what, and what to do."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

from fitkit.core.errors import StatsError
from fitkit.readings import Instrument, ReadingTable
from fitkit.stats import (
    Estimate,
    Source,
    agreement,
    centre_distance,
    crossed_study,
    estimate,
    estimates,
    grubbs,
    one_way_study,
    pooled_repeatability,
    port_offset,
    propagate,
    repeats_needed,
    robust,
)
from fitkit.stats.average import _celsius
from fitkit.stats.figures import study_figure
from fitkit.stats.montecarlo import draw

if TYPE_CHECKING:
    from collections.abc import Callable

CALIPERS = Instrument(name="c", resolution_mm=0.01, mpe_mm=0.03, inside_face_mm=3.5)
LENGTH = Estimate.of("length", 10.0, 0.1)
BOX = {"long": LENGTH, "wide": Estimate.of("wide", 4.0, 0.1)}
NOT_ONE = (
    "is not an estimate. Give a finite value, an uncertainty of zero or more, and one degree of "
    "freedom or more."
)
TOO_FEW = "there are fewer than two parts or appraisers, or nothing was read twice."
ABOVE = "Give a spread of zero or more, and the others above zero."
EDGES = "Give edges as one of: far, near, left, right, same side, zeroed on the hole."
ENOUGH = "Let two or more read two or more parts, each twice or more."
TWO_PARTS = (
    "a study needs two parts, read twice or more. "
    "Read each part twice or more; once is enough for some of them."
)


def told(act: Callable[[], object]) -> str:
    with pytest.raises(StatsError) as error:
        act()
    return str(error.value)


def table(*rows: dict[str, str]) -> ReadingTable:
    return ReadingTable.of([{"feature": "bar", **row} for row in rows], unit="mm", name="box.csv")


def bars(*readings: str) -> ReadingTable:
    return table(*({"reading": reading} for reading in readings))


def study(rows: str) -> pd.DataFrame:
    """Parts, persons and readings from ``part person value`` a line."""
    cells = [line.split() for line in rows.strip().splitlines()]
    return pd.DataFrame(
        {
            "part": [c[0] for c in cells],
            "who": [c[1] for c in cells],
            "mm": [float(c[2]) for c in cells],
        }
    )


def crossed(rows: str) -> Callable[[], object]:
    return lambda: crossed_study(study(rows), part="part", appraiser="who", value="mm")


INSIDE = {"mode": "inside", "instrument": "c"}
# A hole of which it is said that it is not round keeps its reading, here smaller than the jaws.
TIGHT_HOLE = table(
    {"feature": "hole", "reading": "3.1", "round": "no", **INSIDE},
    {"feature": "span", "reading": "60", "between": "hole", **INSIDE},
)
NO_HOLE = table(
    {"feature": "hole", "reading": "3.1", **INSIDE},
    {"feature": "span", "reading": "60", "between": "hat", **INSIDE},
)
PLACED = table({"reading": "9", "place": "bed"}, {"reading": "8", "place": "mid"})


@pytest.mark.parametrize(
    ("act", "message"),
    [
        (lambda: estimate(bars("9", "8"), "lid"),
         "box.csv: no reading of 'lid' can be used. It has: bar."),
        (lambda: estimate(table({"reading": "9"}, {"feature": "cap", "reading": "8"}), "lid"),
         "box.csv: no reading of 'lid' can be used. It has: bar, cap."),
        (lambda: estimate(bars("?"), "bar"),
         "box.csv: no reading of 'bar' can be used. It has: none at all."),
        (lambda: estimates(bars("9").leave_out(2, "typo")),
         "bar: every reading is left out. Take one back, or read the feature again."),
        (lambda: estimates(table({"reading": "9", "mode": "inside"}, {"reading": "8"})),
         "bar: its readings differ in mode: 'inside', 'outside'. "
         "Use two feature names for what was read in two ways."),
        (lambda: estimates(table({"reading": "9", "round": "yes"}, {"reading": "8"})),
         "bar: its readings differ in round: 'yes', ''. "
         "Use two feature names for what was read in two ways."),
        (lambda: estimates(PLACED, place="seam"),
         "bar: no reading was taken at 'seam'. There are: bed, mid."),
        (lambda: estimates(bars("9", "8"), repeatability="pooled"),
         "bar, instrument: has no pooled repeatability. "
         "Give repeatability and repeatability_df in the instruments file."),
        (lambda: estimates(NO_HOLE, instruments=[CALIPERS]),
         "span: the column 'between' names 'hat', which is not a hole of this table. "
         "Read the hole too, or write its name as it is: hole."),
        (lambda: estimates(TIGHT_HOLE, instruments=[CALIPERS]),
         "span: jaws of 3.5 mm over their faces do not enter 'hole' of 3.10 mm. "
         "Check both, or read the span over the near edges with the outside jaws."),
        (lambda: _celsius("warm"), "'warm' is not a temperature. Write '45 °C'."),
        (lambda: centre_distance(BOX, "long", holes="wide"),
         f"centre distance: the edges over which 'long' was read are not given. {EDGES}"),
        (lambda: centre_distance(BOX, "long", holes="hole", edges="far"),
         "there is no feature 'hole'. There are: long, wide."),
        (lambda: centre_distance({}, "long", holes="hole", edges="far"),
         "there is no feature 'long'. There are: none."),
        (lambda: port_offset(BOX, "long", "wide", edge="left"),  # type: ignore[arg-type]
         "port offset: it is not said to which edge 'long' was read. "
         "Give edge as 'near' or 'far'."),
        (lambda: agreement([LENGTH]),
         "one way to a size cannot be compared. Give two or more."),
        (lambda: Estimate.of("rim", math.inf, 0.1),
         f"rim: inf mm with u = 0.1 mm and inf degrees of freedom {NOT_ONE}"),
        (lambda: Estimate.of("rim", 1.0, math.inf),
         f"rim: 1 mm with u = inf mm and inf degrees of freedom {NOT_ONE}"),
        (lambda: Estimate.of("rim", 1.0, 0.1, df=0.9),
         f"rim: 1 mm with u = 0.1 mm and 0.9 degrees of freedom {NOT_ONE}"),
        (lambda: (LENGTH + BOX["wide"]).without("temperature"),
         "length + wide: does not rest on 'temperature'. It rests on: length, wide."),
        (lambda: LENGTH * BOX["wide"],  # type: ignore[operator]
         "'length' times 'wide' gives an area, not a length. "
         "Work with `.uncertain`, which has no unit."),
        (lambda: LENGTH / BOX["wide"],  # type: ignore[operator]
         "'length' over 'wide' gives a plain number, not a length. "
         "Work with `.uncertain`, which has no unit."),
        (lambda: 2.5 / LENGTH,
         "length: 2.5 divided by a length is not a length. "
         "Work with `.uncertain`, which has no unit."),
        (lambda: grubbs([1.0, 2.0]),
         "2 readings cannot show an outlier. Take three or more."),
        (lambda: robust([1.0, 2.0]),
         "2 readings cannot show an outlier. Take three or more."),
        (lambda: pooled_repeatability(bars("9")),
         "box.csv: nothing was read twice. Read some features again."),
        (lambda: propagate(lambda x: x, {"x": LENGTH}, rng=np.random.default_rng(1), draws=999),
         "999 draws are too few for a 95 % interval. Draw 1000 or more."),
        (lambda: propagate(lambda x: x * math.nan, {"x": LENGTH}, rng=np.random.default_rng(1)),
         "the model gives a value that is not finite for some draws. "
         "Check the model at the ends of its inputs, such as a root of a difference."),
        (lambda: draw(Estimate(name="sum", uncertain=LENGTH.uncertain), 9, np.random.default_rng()),
         "sum: the distribution of 'length' is not known. Make it with Estimate.of."),
        (lambda: study_figure(
            ReadingTable.of([{"feature": "a", "reading": "1 mm", "by": who} for who in "ABCDEFG"]),
            part="feature", appraiser="by"),
         "7 readers cannot be told apart in one picture. Draw at most 6."),
        (lambda: one_way_study(study("a A 1\na A 2"), part="part", value="mm"), TWO_PARTS),
        (lambda: one_way_study(study("a A 1\nb A 2"), part="part", value="mm"), TWO_PARTS),
        (lambda: one_way_study(study("a A 1\nb A 2"), part="part", value="size"),
         "there is no column 'size'. There are: part, who, mm."),
        (lambda: one_way_study(study("a A 1").iloc[:0], part="part", value="mm"),
         "no reading counts. Fill in the readings first."),
        (crossed("a A 1\na A 2\na B 1\na B 2"),
         f"{TOO_FEW} {ENOUGH}"),
        (crossed("a A 1\na A 2\nb A 1\nb A 2"),
         f"{TOO_FEW} {ENOUGH}"),
        (crossed("a A 1\nb A 2\na B 1\nb B 2"),
         f"{TOO_FEW} {ENOUGH}"),
        (crossed("a A 1\na A 2\nb A 1\nb B 2"),
         "crossed gauge study: B has not read a. Let everyone read every part at least once, or "
         "leave that part or person out; `one_way_study` does without persons."),
        (crossed("a A 1\na A 2\nb B 1\nb B 2\nc C 1"),
         "crossed gauge study: A has not read b; A has not read c; B has not read a, and 3 more. "
         "Let everyone read every part at least once, or leave that part or person out; "
         "`one_way_study` does without persons."),
        (crossed("a A 1\nb B 1\nc A 1"),
         "crossed gauge study: A has not read b; B has not read a; B has not read c. "
         "Let everyone read every part at least once, or leave that part or person out; "
         "`one_way_study` does without persons."),
        (lambda: repeats_needed(-0.1, 4, wanted_U_mm=0.1),
         f"a spread of -0.1 mm, 4 degrees of freedom or a wanted U of 0.1 mm cannot be. {ABOVE}"),
        (lambda: repeats_needed(0.1, 0, wanted_U_mm=0.1),
         f"a spread of 0.1 mm, 0 degrees of freedom or a wanted U of 0.1 mm cannot be. {ABOVE}"),
        (lambda: repeats_needed(0.1, 4, wanted_U_mm=0.0),
         f"a spread of 0.1 mm, 4 degrees of freedom or a wanted U of 0 mm cannot be. {ABOVE}"),
        (lambda: repeats_needed(0.02, 40, wanted_U_mm=0.02, other_u_mm=0.018),
         "no number of repeats up to 1000 gives U = 0.02 mm; 0.035 mm stays however often you "
         "read. Use a better instrument, check its zero, or allow a larger U."),
    ],
)  # fmt: skip
def test_a_refusal_reads(act: Callable[[], object], message: str) -> None:
    assert told(act) == message


def test_a_history_of_less_than_one_degree_of_freedom_is_none() -> None:
    def asked(df: float) -> Estimate:
        one = Instrument(
            name="c", resolution_mm=0.01, mpe_mm=0.03, repeatability_mm=0.02, repeatability_df=df
        )
        rows = table({"reading": "9", "instrument": "c"})
        return estimate(rows, "bar", instruments=[one], repeatability="pooled")

    assert told(lambda: asked(0.9)).startswith("bar, instrument: has no pooled repeatability.")
    assert any(row.df == 1 for row in asked(1).budget)


def test_several_rows_that_name_other_holes_are_refused() -> None:
    rows = [{"mode": "inside", "reading": "60", "between": name} for name in ("b", "a")]
    assert told(lambda: estimates(table(*rows))) == (
        "bar: the column 'between' says 'a', 'b'. "
        "Write the same in every row of this feature: one hole's name if both holes have the same "
        "diameter, or two names with a semicolon between them."
    )


def test_the_smallest_that_is_enough_is_enough() -> None:
    assert math.isfinite(robust([1.0, 2.0, 3.0]).statistic)
    assert grubbs([1.0, 2.0, 3.0]).critical > 1
    flat = Source(type="B", distribution="rectangular")
    one = Estimate.of("x", 1.0, 0.1, source=flat)
    assert (
        propagate(lambda x: x, {"x": one}, rng=np.random.default_rng(1), draws=1000).draws == 1000
    )
    assert repeats_needed(0.0, 1, wanted_U_mm=0.1) == 1
    both = one_way_study(study("a A 1\na A 2\nb A 5"), part="part", value="mm")
    assert both.anova["part"].df == both.anova["repeats"].df == 1
