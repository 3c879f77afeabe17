"""The panel as JupyterLab would drive it, by its messages, without a browser."""

import subprocess
import sys
import threading
import time

import pytest
from rig import PlateTray

from fitkit.core.errors import JournalError, SheetError
from fitkit.flow import PartSheet, PrinterChoice, load_sheet
from fitkit.journal import Journal, trace_code
from fitkit.parts import register
from fitkit.widgets.panel import PartPanel, part_panel, preview
from fitkit.widgets.sources import TemplateSource

LONG = 90.0  # s: a limit for a stuck test, not a measure


class Heard:
    """What a view would receive."""

    def __init__(self, panel) -> None:
        self.messages = []
        panel.send = lambda content, buffers=None: self.messages.append((content, buffers))

    def of(self, kind):
        return [m for m in list(self.messages) if m[0]["kind"] == kind]


def until(condition):
    deadline = time.monotonic() + LONG
    while not condition():
        assert time.monotonic() < deadline, "waited in vain"
        time.sleep(0.01)


def told(panel, **content):
    panel._hear(panel, content, [])


@pytest.fixture
def panel():
    made = PartPanel(TemplateSource(PlateTray))
    assert made.wait(LONG)
    yield made
    made.close()


def shown_after(panel, act):
    before = panel._shown
    act()
    until(lambda: panel._shown > before and not panel.doc["building"])


def test_a_change_of_a_value_is_built_and_sent(panel):
    heard = Heard(panel)
    shown_after(panel, lambda: told(panel, kind="set", path="plate_length", text="80 mm"))
    content, buffers = heard.of("scene")[-1]
    assert content["head"]["bodies"][0]["size"] == [84.8, 48.8, 18.0]
    assert len(buffers) == sum(len(b["arrays"]) for b in content["head"]["bodies"])
    assert all(isinstance(buffer, bytes) for buffer in buffers)
    until(lambda: heard.of("gaps"))
    until(lambda: panel.doc["findings"])


def test_a_view_that_comes_later_gets_what_is_there(panel):
    until(lambda: panel._gaps is not None)
    heard = Heard(panel)
    told(panel, kind="ready")
    assert [content["kind"] for content, _ in heard.messages] == ["scene", "gaps"]


def test_a_still_picture_is_drawn_on_demand(panel):
    heard = Heard(panel)
    told(panel, kind="still", view="top")
    assert heard.of("still")[0][1][0].startswith(b"\x89PNG")


def test_thirty_values_in_a_second_end_at_the_last(panel):
    heard = Heard(panel)
    last = None
    for step in range(30):
        last = 64 + step
        told(panel, kind="set", path="plate_length", text=f"{last} mm")
    assert panel.doc["building"]
    until(lambda: panel._shown == panel._ticket)
    assert heard.of("scene")[-1][0]["head"]["bodies"][0]["size"][0] == pytest.approx(last + 4.8)
    assert len(heard.of("scene")) < 10  # what was overtaken was not built


def test_a_spot_that_is_pressed_in_the_picture_is_told_to_the_notebook(panel):
    assert panel.picked is None
    seen = []
    panel.observe(lambda change: seen.append(change["new"]), "picked")
    state = dict(panel.doc)
    told(panel, kind="pick", body="tray", at=[1.0, -24.4, 9.0], normal=[0.0, -1.0, 0.0])
    assert panel.picked == ("tray", (1.0, -24.4, 9.0), (0.0, -1.0, 0.0))
    assert [spot.body for spot in seen] == ["tray"]
    assert panel.doc == state  # looking at a part changes nothing of it


def test_a_trial_piece_is_written_from_the_panel(tmp_path):
    from fitkit.demo import copy_demo

    shop = copy_demo(tmp_path / "shop")
    panel = part_panel(shop / "sound_board.toml", workshop=shop)
    try:
        until(lambda: panel.model.ready and not panel.doc["building"])
        told(panel, kind="export", piece=True, size="lid lip outside length")
        assert panel.doc["exporting"]
        until(lambda: not panel.doc["exporting"])
        assert "Written under trace code" in panel.doc["said"], panel.doc["said"]
        code = panel.doc["said"].split("trace code ")[1][:7]
        record = Journal(shop / "journal").print_of(code)
        assert record.sheet["piece"] == "lid lip outside length"
    finally:
        panel.close()


def test_a_template_alone_has_no_trial_piece(panel):
    told(panel, kind="export", piece=True, size="pocket length")
    assert "a trial piece is of a part sheet" in panel.doc["said"]


def test_another_shape_is_laid_below_the_picture(panel):
    import numpy as np

    heard = Heard(panel)
    panel.lay_over(PlateTray.of(height="40 mm").build(), what="the tall one")
    content, buffers = heard.of("before")[-1]
    assert content["what"] == "the tall one"
    [ends] = (np.frombuffer(buffer, "<f4").reshape(-1, 2, 3) for buffer in buffers)
    assert ends[..., 2].max() == 40.0
    heard.messages.clear()
    told(panel, kind="ready")  # a view that comes later has it too
    assert len(heard.of("before")) == 1


def test_a_picked_size_and_its_readings_mark_each_other(tmp_path):
    from fitkit.demo import copy_demo
    from fitkit.widgets import readings_grid

    shop = copy_demo(tmp_path / "shop")
    panel = part_panel(shop / "sound_board.toml", workshop=shop)
    grid = readings_grid(panel.model.source.sheet.readings_paths[0])
    try:
        until(lambda: panel.model.ready and not panel.doc["building"])
        marked = []
        grid.send = lambda content, buffers=None: marked.append(content)
        told(panel, kind="size", name="pocket length")
        assert marked[-1]["kind"] == "mark"
        assert [name.replace("_", " ") for name in marked[-1]["features"]] == ["board length"]
        told(panel, kind="size", name="")
        assert marked[-1]["features"] == []
        heard = Heard(panel)
        rows = [row.feature.replace("_", " ") for row in grid.model.rows]
        grid._hear(grid, {"kind": "at", "row": rows.index("board width")}, [])
        assert [content["name"] for content, _ in heard.of("size")] == ["pocket width"]
    finally:
        grid.close()
        panel.close()


def prepare(panel, path, token=1):
    told(panel, kind="prepare", path=path, low=4.0, step=1.0, count=57, at=14, token=token)


def test_a_sliders_values_are_drawn_ahead_until_something_else_changes(panel):
    heard = Heard(panel)
    prepare(panel, "height")
    until(lambda: len(heard.of("draft")) > 3)
    content, buffers = heard.of("draft")[0]
    assert content["token"] == 1
    assert content["low"] <= 18 <= content["high"]
    assert len(buffers) == sum(len(body["arrays"]) for body in content["bodies"])
    assert content["bodies"][0]["arrays"][-2:] == ["rates", "edge_rates"]
    told(panel, kind="set", path="height", text="20 mm", dragging=True)
    assert heard.of("no-draft") == []  # the slider's own values are what they are for
    told(panel, kind="set", path="wall", text="2 mm")
    assert len(heard.of("no-draft")) == 1
    assert panel.doc["said"] == ""


def test_a_slider_that_is_not_there_is_not_drawn_ahead(panel):
    heard = Heard(panel)
    prepare(panel, "nowhere")
    assert heard.messages == []


def test_a_sheets_slider_is_drawn_ahead_with_its_own_fits():
    panel = part_panel(PlateTray, generic="PETG")
    try:
        assert panel.wait(LONG)
        until(lambda: not panel.doc["building"])
        heard = Heard(panel)
        prepare(panel, "height")
        until(lambda: heard.of("draft"))
        drafted = heard.of("draft")[0][0]["bodies"][0]["size"]
        # The pocket is drawn for the printer, as in the shape that is shown.
        assert drafted[:2] == panel._scene.head["bodies"][0]["size"][:2]
    finally:
        panel.close()


def test_an_impossible_value_keeps_the_last_good_shape(panel):
    shown = panel._shown
    told(panel, kind="set", path="wall", text="101.6 mm")
    field = next(c for g in panel.doc["groups"] for c in g["controls"] if c["path"] == "wall")
    assert "over the most, 6 mm" in field["message"]
    assert field["text"] == "101.6 mm"
    assert (panel._shown, panel.doc["building"]) == (shown, False)
    told(panel, kind="set", path="wall", text="2 mm")
    told(panel, kind="set", path="round_to", text="30 mm")  # found out while building
    until(lambda: panel.model.messages)
    assert "leaves no wall" in panel.model.messages["round_to"]
    assert panel._scene is not None


def test_a_crash_of_the_kernel_is_survived(panel):
    told(panel, kind="set", path="label", text="crash")
    until(lambda: panel.model.messages)
    assert "kernel stopped" in panel.model.messages["label"]
    assert not panel.doc["building"]
    shown_after(panel, lambda: told(panel, kind="set", path="label", text=""))
    assert panel.model.messages == {}


def test_files_are_written_in_a_process_of_their_own(panel, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    told(panel, kind="export")
    assert panel.doc["exporting"]
    until(lambda: not panel.doc["exporting"])
    assert panel.doc["said_bad"] is False, panel.doc["said"]
    names = sorted(path.name for path in (tmp_path / "made" / "plate-tray").iterdir())
    assert names == ["plate-tray-tray.stl", "plate-tray.3mf", "plate-tray.step"]
    assert len(panel.doc["files"]) == 3


def test_a_panel_displays_its_view_and_a_still_beside_it(panel, monkeypatch):
    shown = []
    import IPython.display

    monkeypatch.setattr(IPython.display, "display", lambda data, **_: shown.append(data))
    panel._ipython_display_()
    live, still = shown
    assert "application/vnd.jupyter.widget-view+json" in live
    assert panel.still_id in still["text/html"]
    assert still["image/png"]


def test_a_built_part_is_previewed_without_a_panel():
    view = preview(PlateTray.of().build(), bed_mm=(180, 180))
    heard = Heard(view)
    told(view, kind="ready")
    content, _ = heard.of("scene")[0]
    assert content["head"]["bed"] == [180, 180]
    assert not content["head"]["bed_assumed"]
    assert view.doc["groups"] == []
    assert repr(view) == "Preview('plate tray')"


@pytest.fixture
def sheet(tmp_path):
    register(PlateTray)
    return PartSheet(
        title="plate holder",
        template="plate tray",
        readings="plate.csv",
        printer=PrinterChoice(generic="PETG"),
        values={"plate_length": "plate length", "plate_width": "44 mm"},
        folder=tmp_path,
    )


def write(path, *readings):
    rows = "".join(f",plate length,outside,{mm},mm,,,\n" for mm in readings)
    path.write_text("item,feature,mode,reading,unit,instrument,taken_at,note\n" + rows)


def test_readings_saved_in_a_grid_move_the_panel(sheet, tmp_path):
    from fitkit.widgets import readings_grid

    write(tmp_path / "plate.csv", 64.0, 64.02, 64.01)
    grid = readings_grid(tmp_path / "plate.csv")
    panel = part_panel(sheet)
    assert panel.wait(LONG)
    before = panel.model.solved.drawn["pocket length"]
    for repeat in range(3):
        grid._hear(grid, {"kind": "cell", "row": 0, "repeat": repeat, "text": "70.00"}, [])
    assert panel.model.solved.drawn["pocket length"] == pytest.approx(before + 6, abs=0.1)
    panel.close()


def test_a_panel_shows_the_findings_that_making_would(sheet, tmp_path):
    """The panel gathers what checks need before the part is built, `make` after it."""
    from fitkit.flow import build, prepare
    from fitkit.flow.built import mesh_part
    from fitkit.make.checking import check
    from fitkit.widgets.findings import shown_finding

    write(tmp_path / "plate.csv", 64.0, 64.02, 64.51)
    panel = part_panel(sheet)
    until(lambda: panel.doc["checked"])
    plan = prepare(sheet)
    expected = [shown_finding(one) for one in check(plan, mesh_part(build(plan)))]
    assert panel.doc["findings"] == expected
    assert {"cost", "assembly", "readings"} <= {one["check"] for one in expected}
    assert not panel.doc["checking"]
    panel.close()


def test_a_shape_comes_though_its_checks_cannot_run(sheet, tmp_path):
    write(tmp_path / "plate.csv", 64.0, 64.02, 64.01)
    use = sheet.use.model_copy(update={"material": "none.toml"})
    panel = part_panel(sheet.model_copy(update={"use": use}))
    until(lambda: panel.doc["said_bad"])
    assert "The checks did not run." in panel.doc["said"]
    assert "none.toml" in panel.doc["said"]
    assert panel._scene is not None
    assert (panel.doc["checking"], panel.doc["checked"]) == (False, False)
    panel.close()


def test_a_sheet_is_saved_and_loaded(sheet, tmp_path):
    write(tmp_path / "plate.csv", 64.0, 64.02, 64.01)
    panel = part_panel(sheet)
    told(panel, kind="set", path="wall", text="0.125 in")
    told(panel, kind="save", path=str(tmp_path / "mine.toml"))
    assert panel.doc["said"] == "Saved as mine.toml."
    assert load_sheet(tmp_path / "mine.toml").values["wall"] == "0.125 in"
    told(panel, kind="set", path="wall", text="2 mm")
    told(panel, kind="load", path=str(tmp_path / "mine.toml"), sure=True)
    assert panel.model.solved.template.wall == pytest.approx(3.175)
    told(panel, kind="load", path=str(tmp_path / "none.toml"))
    assert panel.doc["said_bad"]
    told(panel, kind="save", path=str(tmp_path / "elsewhere" / "mine.toml"))
    assert "another folder" in panel.doc["said"]
    panel.close()


def test_closing_leaves_no_thread(panel):
    panel.close()
    until(lambda: not any(t.name == "fitkit worker" and t.is_alive() for t in threading.enumerate()
                          if t is panel._worker._thread))  # fmt: skip


def test_a_print_is_opened_by_its_code_changed_and_printed_again(sheet, tmp_path):
    write(tmp_path / "plate.csv", 64.0, 64.02, 64.01)
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    (tmp_path / "journal").mkdir()
    left = tmp_path / "journal" / f".note.json.{ended.pid}-0badcafe.part"
    left.write_text("unfinished", encoding="utf-8")
    panel = part_panel(sheet)
    told(panel, kind="set", path="wall", text="3.2 mm")
    told(panel, kind="export")
    until(lambda: not panel.doc["exporting"])
    assert panel.doc["said_bad"] is False, panel.doc["said"]
    # What the shell says of the making is said here too.
    assert "took away an unfinished copy that a stopped program had left." in panel.doc["said"]
    assert not left.exists()
    (record,) = Journal(tmp_path / "journal").files()
    assert panel.doc["files"][-1] == f"{record} (the record of this print)"
    drawn = panel.model.solved.drawn
    panel.close()
    code = record.stem.rpartition("-")[2]
    (tmp_path / "plate.csv").unlink()

    again = part_panel(code=code.lower(), journal=tmp_path / "journal")
    assert again.doc["said"].startswith(f"Opened {code}, printed on ")
    assert "plate.csv is no longer as when" in again.doc["said"]
    assert again.model.solved.template.wall == pytest.approx(3.2)
    # The doubt of the readings went with their file, and with it moves the best gap a little.
    assert again.model.solved.drawn == pytest.approx(drawn, abs=1e-3)
    assert again.doc["sheet_path"] == str(tmp_path / f"plate-holder-{code.lower()}.toml")
    told(again, kind="set", path="wall", text="2 mm")
    assert again.model.solved.template.wall == pytest.approx(2.0)
    told(again, kind="export")
    until(lambda: not again.doc["exporting"])
    assert again.doc["said_bad"] is False, again.doc["said"]
    assert len(Journal(tmp_path / "journal").records("print")) == 2
    again.close()


def test_a_panel_is_asked_for_one_thing(sheet, tmp_path):
    with pytest.raises(SheetError, match="a panel shows one thing"):
        part_panel()
    with pytest.raises(SheetError, match="a panel shows one thing"):
        part_panel(sheet, code="K7M3PXA")
    with pytest.raises(JournalError, match="no record"):
        part_panel(code=trace_code(), journal=tmp_path / "journal")
