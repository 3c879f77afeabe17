"""Trial entry without a browser."""

import threading

import pytest
from rig import PlateTray

from fitkit.core.errors import JournalError
from fitkit.flow import PartSheet, PrinterChoice, build, prepare
from fitkit.journal import Journal, PrintRecord, trials
from fitkit.parts import register
from fitkit.widgets.trial import TrialEntry, TrialModel


@pytest.fixture(scope="module")
def made():
    register(PlateTray)
    sheet = PartSheet(
        title="plate holder", template="plate tray", printer=PrinterChoice(generic="PETG")
    )
    plan = prepare(sheet)
    return PrintRecord.new(
        title="plate holder",
        template=plan.template,
        sheet=sheet,
        profile=plan.inputs.profile,
        fits=plan.rows,
        part=build(plan),
    )


@pytest.fixture
def model(tmp_path, made):
    journal = Journal(tmp_path)
    journal.add(made)
    return TrialModel(journal)


def test_the_newest_print_is_picked_with_its_fits(model, made):
    state = model.state()
    assert state["code"] == made.code
    assert [fit["name"] for fit in state["fits"]] == ["pocket length", "pocket width"]
    assert state["verdicts"][0] == "will not go"


def test_a_verdict_is_written_down_and_moves_the_curve(model, made):
    before = model.curve()
    code = model.add({"pocket length": "tight"}, measured={"pocket length": "64.31"})
    record = model.journal.get(code)
    assert record.of == made.code
    assert record.fits[0].measured_mm == pytest.approx(64.31)
    after = model.curve()
    assert after["best"] > before["best"]  # tight: a wider gap is wanted next
    assert len(after["trials"]) == 1
    assert len(trials(model.journal)) == 1
    assert model.state()["before"]["chance"] == before["chance"]


def test_chances_are_chances(model):
    curve = model.curve()
    assert len(curve["gap"]) == len(curve["chance"])
    assert min(curve["chance"]) >= 0
    assert max(curve["chance"]) <= 1
    assert curve["band"][0] < curve["best"] < curve["band"][1]


def test_what_makes_no_sense_is_refused_and_nothing_written(model):
    with pytest.raises(JournalError, match="no size was judged"):
        model.add({})
    with pytest.raises(JournalError, match="not a verdict"):
        model.add({"pocket length": "perfect"})
    with pytest.raises(ValueError, match="kg"):
        model.add({}, measured={"pocket length": "3 kg"})
    assert model.journal.records("trial") == []


def test_an_empty_journal_is_said_to_be_empty(tmp_path):
    state = TrialModel(Journal(tmp_path)).state()
    assert (state["prints"], state["fits"], state["curve"]) == ([], [], None)


def test_messages_of_the_view_reach_the_model(model, made):
    entry = TrialEntry(model)
    entry._hear(entry, {"kind": "pick", "code": "ZZZZ"}, [])
    assert (entry.state["bad"], entry.state["fault_at"]) == (True, "code")
    assert "ZZZZ" in entry.state["said"]
    entry._hear(entry, {"kind": "pick", "code": made.code.lower()}, [])
    assert (entry.state["bad"], entry.state["fault_at"]) == (False, "")
    entry._hear(entry, {"kind": "fit", "name": "pocket width"}, [])
    assert entry.state["fit"] == "pocket width"
    content = {
        "verdicts": {"pocket width": "loose"},
        "measured": {},
        "finished": False,
        "notes": "",
    }
    entry._hear(entry, {"kind": "add", **content}, [])
    assert entry.state["saved"] == 1
    assert "Written down" in entry.state["said"]


def test_an_error_is_told_at_the_field_that_it_is_about(model):
    entry = TrialEntry(model)

    def add(measured):
        content = {"verdicts": {}, "measured": measured, "finished": False, "notes": ""}
        entry._hear(entry, {"kind": "add", **content}, [])
        return entry.state["fault_at"], entry.state["said"]

    place, said = add({"pocket length": "64.3", "pocket width": "3 kg"})
    assert place == "pocket width"
    assert said.startswith("'3 kg': 'kg' is not a unit of length")
    place, said = add({})
    assert place == "form"
    assert "no size was judged or measured" in said
    assert entry.state["saved"] == 0


def test_after_a_misread_code_no_print_is_shown_or_written_to(model, made):
    entry = TrialEntry(model)
    entry._hear(entry, {"kind": "pick", "code": "ZZZZ"}, [])
    assert (entry.state["code"], entry.state["fits"], entry.state["curve"]) == ("", [], None)
    assert [p["code"] for p in entry.state["prints"]] == [made.code]  # still there to be picked
    content = {"verdicts": {"pocket length": "tight"}, "measured": {}, "finished": False}
    entry._hear(entry, {"kind": "add", "notes": "", **content}, [])
    assert "no print is picked" in entry.state["said"]
    assert model.journal.records("trial") == []


def test_an_open_form_shows_a_new_print_when_it_is_turned_to(model, made):
    entry = TrialEntry(model)
    before = entry.state
    entry._hear(entry, {"kind": "refresh"}, [])
    assert entry.state is before  # nothing came, so nothing is drawn again
    later = PrintRecord.new(title="second holder", template="plate tray", fits=made.fits)
    model.journal.add(later)
    entry._hear(entry, {"kind": "refresh"}, [])
    assert entry.state["prints"][0]["code"] == later.code
    assert entry.state["said"] == f"New in the journal: {later.code} second holder."
    assert entry.state["code"] == made.code  # what is being judged stays picked


def test_a_form_on_an_empty_journal_picks_its_first_print(tmp_path, made):
    entry = TrialEntry(TrialModel(Journal(tmp_path)))
    entry.model.journal.add(made)
    entry._hear(entry, {"kind": "refresh"}, [])
    assert entry.state["code"] == made.code
    assert len(entry.state["fits"]) == 2


def test_a_misread_code_stays_misread_when_a_print_comes(model, made):
    entry = TrialEntry(model)
    entry._hear(entry, {"kind": "pick", "code": "ZZZZ"}, [])
    later = PrintRecord.new(title="second holder", template="plate tray", fits=made.fits)
    model.journal.add(later)
    entry._hear(entry, {"kind": "refresh"}, [])
    assert (entry.state["code"], entry.state["fault_at"]) == ("", "code")
    assert "ZZZZ" in entry.state["said"]


def test_a_verdict_can_be_taken_back_in_the_form(model):
    entry = TrialEntry(model)
    chance = model.curve()["chance"]
    code = model.add({"pocket length": "Tight"})
    (trial,) = model.state()["tried"]
    assert (trial["code"], trial["said"], trial["withdrawn"]) == (
        code,
        "pocket length: tight",
        False,
    )
    entry._hear(entry, {"kind": "withdraw", "code": code}, [])
    assert "counts for nothing" in entry.state["said"]
    assert [trial["withdrawn"] for trial in entry.state["tried"]] == [True]
    assert entry.state["curve"]["chance"] == chance
    entry._hear(entry, {"kind": "withdraw", "code": code}, [])
    assert (entry.state["bad"], entry.state["fault_at"]) == (True, "form")
    assert "is withdrawn already" in entry.state["said"]


def test_the_form_gives_a_picture_of_the_picked_print_with_its_fits_marked(model, made):
    """Drawn in a process of its own, from a template that this notebook alone knows."""
    entry = TrialEntry(model)
    came = threading.Event()
    heard = []

    def keep(content, buffers=None):
        heard.append((content, buffers))
        came.set()

    entry.send = keep
    entry._hear(entry, {"kind": "picture"}, [])
    assert came.wait(90)
    entry.close()
    ((content, (png,)),) = heard
    assert content["trouble"] == ""
    assert (content["kind"], content["code"]) == ("picture", made.code)
    assert [mark["name"] for mark in content["marks"]] == ["pocket length", "pocket width"]
    assert png.startswith(b"\x89PNG")
