"""Results as tables: units beside numbers, user text escaped, unknown left out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from fitkit.calibration import generic_profile
from fitkit.calibration.compensation import compensate
from fitkit.core.finding import Finding
from fitkit.fits import choose_gap, next_ladder
from fitkit.flow import load_sheet, prepare
from fitkit.journal import Journal, history
from fitkit.parts.contract import SnapArm
from fitkit.stats import Estimate
from fitkit.views.notebook import facts, features, findings, sizes, story

DEMO = Path(__file__).parents[2] / "measurements" / "sound_board.toml"


def test_an_estimate_shows_two_digits_of_its_uncertainty():
    shown = features({"board": Estimate.of("board", 68.02837, 0.0202, df=120)})
    assert shown.rows == [("board", "68.028", "0.040", "120")]


def test_each_size_of_a_sheet_stands_with_its_number_drawn():
    plan = prepare(load_sheet(DEMO))
    rows = {row[0]: row for row in sizes(plan).rows}
    assert set(rows) == set(plan.drawn)
    assert rows["pocket length"][4] == f"{plan.drawn['pocket length']:.3f}"


def test_a_finding_has_a_word_beside_its_mark_and_its_text_is_escaped():
    html = findings([Finding(check="bed", severity="stop", text="<b> & co")])._repr_html_()
    assert "■ stop" in html
    assert "&lt;b&gt; &amp; co" in html


def test_facts_take_the_unit_from_the_name_and_a_chance_as_percent():
    choice = choose_gap("peg and hole", "slides", size_mm=10.0)
    rows = dict(facts(choice).rows)
    assert rows["gap"] == f"{choice.gap_mm:.2f} mm"
    assert rows["chance as wanted"] == f"{100 * choice.p_wanted:.0f} %"
    assert rows["best gap lies within (90 %)"] == "{:.2f} to {:.2f} mm".format(*choice.best_mm)
    assert facts(choice).notes == choice.notes


def test_facts_are_never_certain_and_their_labels_are_words():
    ladder = replace(
        next_ladder("peg and hole", "slides", size_mm=10.0, specimens=2), sure_now=0.99996
    )
    rows = dict(facts(ladder).rows)
    assert rows["sure of the best gap, now"] == "over 99.9 %"
    assert rows["what the verdicts should tell"].endswith(" bits")


def test_facts_of_a_size_show_what_is_drawn_and_its_uncertainty_to_the_micrometre():
    size = compensate("4.5 mm", generic_profile("PETG"), kind="hole")
    rows = dict(facts(size).rows)
    assert rows["drawn"] == f"{size.drawn_mm:.3f} mm"
    assert rows["target"] == "4.50 mm"
    assert rows["target, standard uncertainty"] == "0.00 mm"
    # Two digits of a doubt above 0.1 mm.
    assert rows["expected, standard uncertainty"] == f"{size.u_print_mm:.2f} mm"


def test_facts_of_an_arm_name_the_unit_of_its_place_and_no_minus_nought():
    arm = SnapArm(
        name="arm", body="tray", length_mm=10.0, thickness_mm=1.6, width_mm=8.0,
        deflection_mm=0.6, at=(-16.17, -0.001, 16.0), along=(0.0, -1.0, 0.0),
    )  # fmt: skip
    rows = dict(facts(arm).rows)
    assert rows["root at x, y, z"] == "-16.17, 0.00, 16.00 mm"
    assert rows["direction to the tip, x, y, z"] == "0.00, -1.00, 0.00"
    assert rows["layers run across it"] == "no"
    assert rows["lead angle"] == "30.0 °"


def test_facts_list_more_than_two_numbers():
    ladder = next_ladder("peg and hole", "slides", size_mm=10.0, specimens=4)
    gaps = dict(facts(ladder).rows)["gaps"]
    assert gaps == ", ".join(f"{gap:.2f}" for gap in ladder.gaps_mm) + " mm"
    assert repr(facts(ladder)).startswith("ladder\n")


def test_the_story_of_a_part_tells_what_changed_before_the_print_that_fitted():
    versions = history(Journal(DEMO.parent / "journal"), "sound board case")
    first, second = story(versions).rows
    assert first[3] == ""
    assert "spool" in second[3]
    assert second[2] == "as wanted"
