"""Doubts about readings become findings, as bad as what hangs on them."""

from __future__ import annotations

import pytest

from fitkit.core.errors import FaultList
from fitkit.flow import load_sheet, prepare
from fitkit.flow.doubted import half_band_mm, moved_mm, reading_findings
from fitkit.readings.decided import decide
from fitkit.stats.doubts import doubts
from tests.flow.fronts import SHEET


def _plan(folder, *sizes, **others):
    rows = [f"display length,outside,{size},mm\n" for size in sizes]
    rows += [f"{name},outside,{size},mm\n" for name, them in others.items() for size in them]
    (folder / "front.csv").write_text("feature,mode,reading,unit\n" + "".join(rows))
    (folder / "front.toml").write_text(SHEET)
    return prepare(load_sheet(folder / "front.toml"))


def test_a_doubt_on_which_a_drawn_size_hangs_stops_until_it_is_decided(tmp_path):
    plan = _plan(tmp_path, "35.50", "36.00", "35.51")
    (finding,) = reading_findings(plan)
    assert finding.severity == "stop"
    assert finding.check == "readings"
    # With it the mean is 35.67 mm, without it 35.505 mm, which the printer shrinks by little.
    # The gap is chosen by how well the size is known, too, so it moves a little with it.
    assert finding.value == pytest.approx(35.67 - 35.505, abs=0.006)
    assert finding.limit == pytest.approx(half_band_mm(plan.row("cut-out 1 width")) / 3)
    assert "decide" in finding.remedy
    assert "front.csv 3 leave-out" in finding.remedy
    for decision, mean in (("keep", 35.67), ("leave-out", 35.505)):
        decide(tmp_path / "front.csv", 3, decision, because="seen again")
        decided = prepare(plan.sheet)
        assert reading_findings(decided) == ()
        assert decided.row("cut-out 1 width").measured.value_mm == pytest.approx(mean)


def test_nothing_is_made_while_such_a_doubt_is_undecided(tmp_path):
    from fitkit.make import make

    plan = _plan(tmp_path, "35.50", "36.00")
    with pytest.raises(FaultList, match=r"0\.500 mm apart"):
        make(plan.sheet, into=tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert not list((tmp_path / "journal").rglob("*.toml"))


def test_a_small_doubt_warns_and_one_that_no_size_hangs_on_is_noted(tmp_path):
    plan = _plan(tmp_path, *["35.50", "35.51"] * 8, "35.62", bezel=("3.00", "3.40"))
    found = {finding.severity: finding.text for finding in reading_findings(plan)}
    assert set(found) == {"warn", "note"}
    assert "35.620 mm stands out" in found["warn"]
    assert found["note"].startswith("bezel")


def test_the_move_is_the_widest_that_two_decisions_differ(tmp_path):
    plan = _plan(tmp_path, "35.50", "36.00")
    (flag,) = doubts(plan.inputs.table)
    moved = moved_mm(plan, flag)
    assert moved["cut-out 1 width"] == pytest.approx(0.5, rel=0.01)


def test_two_doubts_that_only_together_move_a_size_by_too_much_stop(tmp_path):
    (tmp_path / "front.csv").write_text(
        "feature,mode,reading,unit\n"
        + "".join(f"display length,outside,{n},mm\n" for n in ("35.50", "35.51", "35.50", "35.66"))
        + "".join(f"bezel,outside,{n},mm\n" for n in ("3.00", "3.01", "3.00", "3.16"))
    )
    text = SHEET.replace('"display_length"', '"display_length + bezel"')
    (tmp_path / "front.toml").write_text(text)
    plan = prepare(load_sheet(tmp_path / "front.toml"))
    first, *single = reading_findings(plan)
    assert [finding.severity for finding in single] == ["warn", "warn"]
    assert first.severity == "stop"
    assert "2 doubts together (display length, row 5; bezel, row 9)" in first.text
    # Each of four readings is 0.16 mm off: 0.04 mm in its mean, 0.08 mm in the sum of both.
    assert first.value == pytest.approx(sum(finding.value for finding in single))
    assert max(finding.value for finding in single) < first.limit < first.value


def _closed_jaws(folder, *shown):
    plan = _plan(folder, "35.50", "35.51", "35.50")
    with (folder / "front.csv").open("a") as file:
        file.writelines(f"closed jaws,outside,{size},mm\n" for size in shown)
    return prepare(plan.sheet)


@pytest.mark.parametrize(
    ("shown", "says", "row", "decision"),
    [
        (("0.90",), "is it so much", 5, "keep"),
        (("0.00", "0.30"), "which of them is right", 6, "leave-out"),
    ],
)
def test_closed_jaws_far_off_stop_until_it_is_decided_whether_they_are(
    tmp_path, shown, says, row, decision
):
    plan = _closed_jaws(tmp_path, *shown)
    (finding,) = reading_findings(plan)
    assert finding.severity == "stop"
    assert says in finding.text
    decide(tmp_path / "front.csv", row, decision, because="looked again")
    assert all(one.severity != "stop" for one in reading_findings(prepare(plan.sheet)))


def test_a_zero_check_left_out_by_decision_does_not_shift_the_sizes(tmp_path):
    plan = _closed_jaws(tmp_path, "0.90")
    assert plan.row("cut-out 1 width").measured.value_mm == pytest.approx(35.503 - 0.90, abs=0.001)
    decide(tmp_path / "front.csv", 5, "leave-out", because="the jaws were not closed")
    decided = prepare(plan.sheet)
    assert reading_findings(decided) == ()
    assert decided.row("cut-out 1 width").measured.value_mm == pytest.approx(35.503, abs=0.001)


def test_closed_jaws_in_order_are_not_doubted(tmp_path):
    assert reading_findings(_closed_jaws(tmp_path, "-0.02", "-0.01")) == ()
