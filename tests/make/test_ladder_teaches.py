"""A fit ladder from its order to the next one: printed, tried, judged, learnt from."""

import re

import pytest
from click.testing import CliRunner

from fitkit.core.errors import SheetError
from fitkit.fits import choose_gap
from fitkit.flow import prepare
from fitkit.flow.sheet import sheet_of
from fitkit.journal import Journal, first_print_success, trials
from fitkit.make.orders import order_ladder
from fitkit.views.shell import commands
from fitkit.widgets.trial import TrialModel

PAIR, WANTED, SIZE = "peg and hole", "slides", 8.0


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return tmp_path_factory.mktemp("bench")


@pytest.fixture(scope="module")
def ladder(bench):
    return order_ladder(
        bench / "first", PAIR, WANTED, size_mm=SIZE, specimens=3, journal=bench / "journal"
    )


@pytest.fixture(scope="module")
def tried(bench, ladder):
    """The journal after the ladder was tried: all holes too tight on this printer."""
    _, second, third = (fit.name for fit in ladder.plan.template.fit_sizes()[:3])
    mark = ladder.plan.template.marks()[0]
    journal = bench / "journal"
    said = [f"{mark}=Will not go", f"{second}=TIGHT", f"{third}=tight"]
    result = CliRunner().invoke(commands, ["fitted", ladder.code, *said, "--journal", str(journal)])
    assert result.exit_code == 0, result.output
    return Journal(journal)


def test_each_hole_of_the_record_says_what_it_tries(ladder, bench):
    record = Journal(bench / "journal").print_of(ladder.code)
    gaps = ladder.plan.template.gaps
    found = [
        (fit.pair, fit.wanted, fit.gap_mm, fit.mark, fit.sense)
        for fit in record.fits
        if fit.name != "peg"
    ]
    assert found == [(PAIR, WANTED, gap, f"{round(100 * gap)}", 1) for gap in gaps]
    # What is drawn is what was asked for: the size and the gap.
    assert [fit.target_mm for fit in record.fits] == pytest.approx([*(8.0 + g for g in gaps), 8.0])


def test_the_form_shows_verdict_buttons_and_marks(ladder, bench):
    state = TrialModel(Journal(bench / "journal")).state()
    rows = {fit["name"]: (fit["judged"], fit["mark"]) for fit in state["fits"]}
    marks = ladder.plan.template.marks()
    assert rows["hole 1"] == (True, marks[0])
    assert rows["peg"] == (False, "")
    assert state["curve"]["about"].startswith("peg and hole, slides")


def test_verdicts_by_name_and_by_mark_are_trials_of_the_gaps_printed(ladder, tried):
    found = trials(tried)
    assert [t.verdict for t in found] == ["will not go", "tight", "tight"]
    assert {(t.pair, t.behaviour, t.size_mm, t.print_code) for t in found} == {
        (PAIR, WANTED, SIZE, ladder.code)
    }
    # Compensation rounds drawn sizes to a micrometre at most, so expected gaps are those asked for.
    assert [t.gap_mm for t in found] == pytest.approx(ladder.plan.template.gaps, abs=0.002)


def test_the_gap_chosen_next_and_the_next_ladder_are_wider(ladder, tried, bench):
    before = choose_gap(PAIR, WANTED, size_mm=SIZE)
    after = choose_gap(PAIR, WANTED, size_mm=SIZE, trials=trials(tried))
    assert after.gap_mm > before.gap_mm + 0.01
    assert after.basis == "3 trials on this printer"
    second = order_ladder(
        bench / "second", PAIR, WANTED, size_mm=SIZE, specimens=3, journal=tried.folder
    )
    first_gaps, next_gaps = ladder.plan.template.gaps, second.plan.template.gaps
    assert sum(next_gaps) / 3 > sum(first_gaps) / 3 + 0.01


def test_a_ladder_is_no_first_print_of_a_part(tried):
    assert len(tried.records("print")) >= 1
    assert first_print_success(tried).empty


def test_withdrawn_verdicts_of_a_ladder_teach_nothing(tried, ladder):
    result = CliRunner().invoke(
        commands, ["withdraw", ladder.code, "--because", "typed twice", "--journal",
                   str(tried.folder)]
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "hole 2 tight" in result.output
    assert trials(tried) == ()


def test_the_command_that_makes_a_ladder_ends_with_the_verdicts_command(bench, monkeypatch):
    monkeypatch.setenv("FITKIT_COMMAND", "python3 run.py")
    journal = bench / "of the shell"
    told = CliRunner().invoke(
        commands, ["ladder", str(bench / "shell"), PAIR, WANTED, "8 mm", "--specimens", "2",
                   "--journal", str(journal)]
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    (record,) = Journal(journal).records("print")
    typed = next(line for line in told.output.splitlines() if "run.py fitted" in line)
    assert typed.strip() == (
        f"python3 run.py fitted {record.code} 'hole 1=tight' --journal '{journal}'"
    )
    assert f"'{record.fits[0].mark}=tight'" in told.output
    # It can be typed as it stands.
    words = re.findall(r"'[^']*'|\S+", typed)[2:]
    done = CliRunner().invoke(commands, [word.strip("'") for word in words])
    assert done.exit_code == 0, done.output
    assert [trial.verdict for trial in trials(Journal(journal))] == ["tight"]


def test_in_a_workshop_nothing_need_be_named(tmp_path, monkeypatch):
    from fitkit.workshop import begin_workshop

    begin_workshop(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("FITKIT_COMMAND", "python3 run.py")

    def run(*words):
        done = CliRunner().invoke(commands, words)
        assert done.exit_code == 0, done.output
        return done.output

    order = ("ladder", "made/first", PAIR, WANTED, "8 mm", "--specimens", "2")
    told = run(*order)
    (record,) = Journal(tmp_path / "journal").records("print")
    assert f"\n  python3 run.py fitted {record.code} 'hole 1=tight'\n" in told
    run("fitted", record.code, "hole=will not go")
    run(*order[:1], "made/second", *order[2:])
    first, second = (
        [fit.gap_mm for fit in made.fits if fit.mark]
        for made in Journal(tmp_path / "journal").records("print")
    )
    assert sum(second) > sum(first) + 0.02


def test_a_mark_of_an_overlap_is_no_option_of_the_shell(tmp_path):
    order_ladder(
        tmp_path / "made", PAIR, "permanent interference", size_mm=SIZE, specimens=1,
        journal=tmp_path / "journal",
    )  # fmt: skip
    journal = Journal(tmp_path / "journal")
    (record,) = journal.records("print")
    mark = record.fits[0].mark
    assert mark.startswith("-")
    done = CliRunner().invoke(
        commands, ["fitted", record.code, f"{mark}=tight", "--journal", str(journal.folder)]
    )
    assert done.exit_code == 0, done.output
    (trial,) = trials(journal)
    assert trial.gap_mm == pytest.approx(int(mark) / 100, abs=0.002)


def test_a_sheet_cannot_set_the_gap_that_a_ladder_varies(tmp_path):
    content = {
        "title": "ladder",
        "template": "fit ladder",
        "printer": {"generic": "PETG"},
        "values": {"gaps": ["0.1 mm", "0.2 mm"]},
        "fits": {PAIR: {"behaviour": "snug by hand"}},
    }
    plan = prepare(sheet_of(content, path=tmp_path / "order.toml"))
    assert [row.wanted for row in plan.rows] == ["snug by hand", "snug by hand", "this size"]
    content["fits"] = {"hole 2": {"gap": "0.3 mm"}}
    with pytest.raises(SheetError, match=r"key fits\.hole 2: the part itself sets this gap"):
        prepare(sheet_of(content, path=tmp_path / "order.toml"))
