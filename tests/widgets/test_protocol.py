"""What page and kernel say to each other: described once, refused in one place, never stale."""

import importlib.util
import sys
from pathlib import Path
from typing import get_args, get_type_hints

import pytest
from pydantic import TypeAdapter
from rig import PlateTray
from typing_extensions import is_typeddict

from fitkit.core.errors import FitkitError
from fitkit.core.finding import MARKS, SEVERITIES
from fitkit.export.gaps import REACH_MM
from fitkit.fits import VERDICTS
from fitkit.flow import PartSheet, PrinterChoice, build, prepare
from fitkit.journal import Journal, PrintRecord
from fitkit.parts import register
from fitkit.solids.picture import PALETTE, VIEWS, picture
from fitkit.widgets import protocol, readings_grid
from fitkit.widgets.panel import PartPanel, part_panel, preview
from fitkit.widgets.sources import TemplateSource
from fitkit.widgets.trial import TrialEntry, TrialModel

WEB = Path(__file__).parents[2] / "web"
LONG = 90.0  # s: a limit for a stuck test, not a measure


@pytest.fixture(scope="module")
def script():
    """Load the script that writes the page's file."""
    spec = importlib.util.spec_from_file_location("web_protocol", WEB / "protocol.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


@pytest.fixture
def described(script, monkeypatch):
    """Give a function that holds plain data against its description, field by field."""
    for name, kind in script.NAMES.items():
        monkeypatch.setattr(protocol, name, kind, raising=False)
    for kind in vars(protocol).values():
        if is_typeddict(kind):
            strict = {"extra": "forbid", "strict": True}
            monkeypatch.setattr(kind, "__pydantic_config__", strict, raising=False)

    def hold(kind, data):
        TypeAdapter(kind).validate_python(data)

    return hold


class Heard:
    """What a view would receive, without its bytes."""

    def __init__(self, widget) -> None:
        self.messages, self.buffers = [], []
        widget.send = self._keep

    def _keep(self, content, buffers=None):
        self.messages.append(content)
        self.buffers.append(buffers)


# --- one description ------------------------------------------------------------------------------


def test_the_pages_file_is_as_it_would_be_written_now(script):
    assert script.TARGET.read_text(encoding="utf-8") == script.page_source()


def test_signs_and_colours_agree_with_every_other_place_that_shows_them():
    constants = protocol.constants()
    assert tuple(MARKS) == SEVERITIES
    assert constants["MARKS"] == MARKS
    assert tuple(protocol.SIGNS) == VERDICTS
    assert constants["BODY_COLOURS"] == list(PALETTE)
    assert [view["name"] for view in constants["VIEWS"]] == list(VIEWS)
    assert get_args(protocol.View) == tuple(VIEWS)
    assert get_args(protocol.Head) == tuple(constants["HEADS"])
    assert get_args(protocol.ArrayName) == tuple(protocol.ARRAYS)


def test_bands_of_gap_rise_to_where_gaps_are_no_longer_measured():
    ends = [end for end, _colour in protocol.GAP_BANDS]
    assert ends == sorted(set(ends))
    assert (ends[0], ends[-1]) == (0.0, REACH_MM)
    texts = [band["text"] for band in protocol.constants()["GAP_BANDS"]]
    assert texts[:2] == ["overlaps", "0 to 0.1 mm"]
    assert texts[-1] == "0.8 to 2 mm"


def test_each_view_has_kinds_of_its_own(script):
    for view, heard in protocol.HEARD.items():
        kinds = [get_args(get_type_hints(kind)["kind"])[0] for kind in get_args(heard)]
        assert len(set(kinds)) == len(kinds), view
    with pytest.raises(TypeError, match="has no words for the page"):
        script._type(complex, {})


def test_all_views_share_one_style():
    from fitkit.widgets.grid import ReadingsGrid

    styles = {str(widget._css) for widget in (PartPanel, ReadingsGrid, TrialEntry)}
    assert len(styles) == 1
    for name in ("part", "grid", "trial"):
        assert ".grid-scroll{" not in (WEB.parent / f"fitkit/widgets/static/{name}.js").read_text()


# --- what goes to the page ------------------------------------------------------------------------


def test_the_grid_says_what_is_described(described, tmp_path):
    grid = readings_grid(tmp_path / "a.csv", features=["board length"])
    described(protocol.GridSetup, grid.setup)
    heard = Heard(grid)
    grid._hear(grid, {"kind": "ready"}, [])
    for repeat, text in enumerate(("68.00", "68.02", "68.O1", "2.678")):
        grid._hear(grid, {"kind": "cell", "row": 0, "repeat": repeat, "text": text}, [])
    described(protocol.AllRows, heard.messages[0])
    for message in heard.messages[1:]:
        described(protocol.SomeRows, message)
    assert heard.messages[-1]["rows"][0]["flags"]


def test_panel_and_preview_say_what_is_described(described):
    panel = part_panel(PlateTray.of(slots=[{"width": "8 mm"}], lid=True))
    assert panel.wait(LONG)
    described(protocol.PanelDoc, panel.doc)
    panel._hear(panel, {"kind": "set", "path": "wall", "text": "101.6"}, [])
    described(protocol.PanelDoc, panel.doc)
    panel.close()
    shown = preview(PlateTray.of(lid=True).build({}))
    described(protocol.PanelDoc, shown.doc)
    heard = Heard(shown)
    shown._hear(shown, {"kind": "ready"}, [])
    shown._hear(shown, {"kind": "still", "view": "top"}, [])
    scene, gaps, still = heard.messages
    described(protocol.SceneMessage, scene)
    described(protocol.GapsMessage, gaps)
    described(protocol.StillMessage, still)
    arrays = [*shown._scene.arrays, *shown._gaps.arrays]
    named = [*scene["head"]["bodies"], *gaps["gaps"]]
    names = [name for entry in named for name in entry["arrays"]]
    assert len(names) == len(arrays)
    for name, array in zip(names, arrays, strict=True):
        assert array.dtype.str[1:] == protocol.ARRAYS[name], name
        assert array.dtype.str[0] in "<|" or sys.byteorder == "big"


def test_a_picture_gives_the_dimension_lines_of_the_view_that_asks(described):
    shown = preview(PlateTray.of(lid=True).build({}))
    heard = Heard(shown)
    shown._hear(shown, {"kind": "facing", "view": "top", "scale": 1.5}, [])
    (message,) = heard.messages
    message["placed"]["sizes"] = [
        {**one, "at": tuple(one["at"])} for one in message["placed"]["sizes"]
    ]
    described(protocol.FacingMessage, message)
    assert message["placed"]["sizes"]
    assert (message["placed"]["view"], message["placed"]["scale"]) == ("top", 1.5)
    shown._hear(shown, {"kind": "facing", "view": "iso", "scale": 1.5}, [])
    shown._hear(shown, {"kind": "facing", "view": "top", "scale": 0}, [])
    assert len(heard.messages) == 1


def test_a_sheets_panel_says_what_is_described(described):
    panel = part_panel(PlateTray, generic="PETG")
    described(protocol.PanelDoc, panel.doc)
    assert panel.doc["rows"]
    panel.close()


def test_the_trial_entry_says_what_is_described(described, tmp_path):
    described(protocol.TrialState, TrialEntry(TrialModel(Journal(tmp_path / "empty"))).state)
    register(PlateTray)
    sheet = PartSheet(title="holder", template="plate tray", printer=PrinterChoice(generic="PETG"))
    plan = prepare(sheet)
    made = PrintRecord.new(
        title="holder",
        template=plan.template,
        sheet=sheet,
        profile=plan.inputs.profile,
        fits=plan.rows,
        part=build(plan),
    )
    journal = Journal(tmp_path / "journal")
    journal.add(made)
    entry = TrialEntry(TrialModel(journal))
    content = {"verdicts": {"pocket length": "tight"}, "measured": {"pocket width": "44.4"}}
    entry._hear(entry, {"kind": "add", "finished": False, "notes": "", **content}, [])
    assert entry.state["tried"]
    assert entry.state["curve"]["trials"]
    described(protocol.TrialState, entry.state)


@pytest.mark.parametrize("view", get_args(protocol.View))
def test_every_view_of_the_page_can_be_drawn_still(view):
    shown = preview(PlateTray.of().build({}))
    assert picture(list(shown._scene.meshes.values()), size=(60, 40), view=view).size == (60, 40)


# --- what comes from the page ---------------------------------------------------------------------

STRANGE = [
    "ready",
    None,
    {},
    {"kind": "explode"},
    {"kind": "cell", "row": 0, "repeat": 0},
    {"kind": "cell", "row": "first", "repeat": 0, "text": "1"},
    {"kind": "cell", "row": -1, "repeat": 0, "text": "1"},
    {"kind": "head", "row": 0, "column": "colour", "text": "1"},
    {"kind": "remove", "row": 0, "index": 0, "path": "slots"},
    {"kind": "repeats", "count": 0},
    {"kind": "still", "view": "sideways"},
    {"kind": "set", "path": "wall"},
    {"kind": "add", "verdicts": ["tight"], "measured": {}, "finished": False, "notes": ""},
    {"kind": "pick"},
]


@pytest.mark.parametrize("content", STRANGE, ids=str)
@pytest.mark.parametrize(
    "read", [protocol.grid_message, protocol.picture_message, protocol.trial_message]
)
def test_what_is_not_described_is_refused_in_plain_words(read, content):
    with pytest.raises(FitkitError, match="the page sent a message") as told:
        read(content)
    assert "run the cell again" in told.value.remedy


def test_a_message_is_read_as_its_kind():
    content = {"kind": "cell", "row": 3, "repeat": 1, "text": "1/8 in"}
    assert protocol.grid_message(content) == protocol.TypeCell(row=3, repeat=1, text="1/8 in")
    assert protocol.picture_message({"kind": "reset"}) == protocol.ResetValues(path="")
    assert protocol.trial_message({"kind": "refresh"}) == protocol.Refresh()


@pytest.mark.parametrize("content", STRANGE, ids=str)
def test_a_strange_message_changes_nothing_in_a_grid_and_is_told(tmp_path, content):
    grid = readings_grid(tmp_path / "a.csv", features=["board length"])
    heard = Heard(grid)
    before = grid.model.rows
    grid._hear(grid, content, [])
    assert grid.model.rows is before
    assert heard.messages[-1]["bad"]


@pytest.mark.parametrize(
    "content",
    [
        {"kind": "cell", "row": 1, "repeat": 0, "text": "1"},
        {"kind": "head", "row": 7, "column": "mode", "text": "inside"},
        {"kind": "leave", "row": 1, "repeat": 0, "reason": "dropped"},
        {"kind": "remove", "row": 1},
    ],
    ids=str,
)
def test_a_change_of_a_row_that_is_gone_is_refused(tmp_path, content):
    grid = readings_grid(tmp_path / "a.csv", features=["board length"])
    heard = Heard(grid)
    grid._hear(grid, content, [])
    (message,) = heard.messages
    assert message["bad"]
    assert "is not in this grid any more" in message["said"]
    assert [row["feature"] for row in message["rows"]] == ["board length"]


def test_a_strange_message_changes_nothing_in_a_panel_and_is_told():
    panel = PartPanel(TemplateSource(PlateTray))
    assert panel.wait(LONG)
    for content in (
        *STRANGE[:4],
        {"kind": "set", "path": "nothing", "text": "3"},
        {"kind": "set", "path": "slots.4.width", "text": "3"},
        {"kind": "reset", "path": "slots.4.width"},
        {"kind": "add", "path": "nothing"},
    ):
        panel._said = ""
        panel._hear(panel, content, [])
        assert panel.model.values == {}, content
        assert panel.doc["said_bad"], content
        assert panel.doc["said"], content
    panel.close()


def test_a_strange_message_leaves_the_trial_form_as_it_is(tmp_path):
    entry = TrialEntry(TrialModel(Journal(tmp_path)))
    before = entry.state
    entry._hear(entry, {"kind": "add", "verdicts": {}}, [])
    told = {name for name in before if entry.state[name] != before[name]}
    assert told == {"said", "bad", "fault_at"}
    assert "run the cell again" in entry.state["said"]
