"""A panel at hand: nothing typed is lost or shown as what it is not, and all can be undone."""

from pathlib import Path

import pytest
from rig import PlateTray
from test_panel import LONG, Heard, told, until, write
from test_panel_model import control

from fitkit.core.errors import SheetError
from fitkit.flow import PartSheet, PrinterChoice, load_sheet, save_sheet
from fitkit.journal import Journal
from fitkit.parts import register, template
from fitkit.widgets.panel import PartPanel, part_panel
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import SheetSource, TemplateSource

DEMO = Path(__file__).parents[2] / "measurements"
SHEET = """# The holder on the bench.
title = "plate holder"
template = "plate tray"
readings = "plate.csv"  # read by the window

[printer]
generic = "PETG"

[values]
plate_length = "plate length"  # the long side
plate_width = "44 mm"

# Through the front wall.
[[values.slots]]
width = "9 mm"
"""


@pytest.fixture
def path(tmp_path):
    register(PlateTray)
    write(tmp_path / "plate.csv", 64.0, 64.02, 64.01)
    (tmp_path / "holder.toml").write_text(SHEET, encoding="utf-8")
    return tmp_path / "holder.toml"


@pytest.fixture
def opened():
    """Open a panel, and close it at the end."""
    panels = []

    def opener(*args, **kwargs):
        panels.append(part_panel(*args, **kwargs))
        assert panels[-1].wait(LONG)
        return panels[-1]

    yield opener
    for panel in panels:
        panel.close()


def settled(panel):
    until(lambda: panel._shown == panel._ticket and not panel._checking)


# --- things that may be absent --------------------------------------------------------------------


@pytest.fixture
def case():
    return PanelModel(TemplateSource(template("board case")))


def test_a_cable_exit_is_there_only_when_it_is_added_and_goes_again(case):
    cable = control(case, "cable")
    assert (cable["kind"], cable["items"], cable["can_add"]) == ("list", [], True)
    assert not case.knows("cable.diameter")
    assert case.solved.template.cable is None
    case.add("cable")
    assert case.solved.template.cable.diameter == 4
    (item,) = control(case, "cable")["items"]
    assert item["title"] == "cable"
    assert [one["label"] for one in item["controls"]] == ["wall", "along", "diameter"]
    assert not control(case, "cable")["can_add"]
    case.set("cable.diameter", "5 mm")
    case.remove("cable", 0)
    assert case.solved.template.cable is None
    assert case.values == {}


def test_a_full_list_takes_no_more(case):
    for _ in range(12):
        assert control(case, "windows")["can_add"]
        case.add("windows")
    assert not control(case, "windows")["can_add"]


def test_only_the_fields_of_the_chosen_variant_are_used(case):
    assert not control(case, "insert")["used"]
    assert not control(case, "lug_screw")["used"]
    assert not control(case, "ledge_sides")["used"]
    case.set("standoff", "heat-set")
    case.set("lugs", "2")
    assert control(case, "insert")["used"]
    assert control(case, "lug_screw")["used"]
    case.set("standoff", "edge rails")
    assert not control(case, "insert")["used"]
    assert not control(case, "hole_spacing_x")["used"]
    assert control(case, "ledge_sides")["used"]
    case.set("insert", "99 mm")  # a fault is never out of sight
    assert control(case, "insert")["used"]


# --- what is not measured yet ---------------------------------------------------------------------


def sheet_of(tmp_path, **values):
    register(PlateTray)
    return PartSheet(
        title="plate holder",
        template="plate tray",
        readings="plate.csv",
        printer=PrinterChoice(generic="PETG"),
        values={"plate_length": "plate length", "plate_width": "plate width"} | values,
        folder=tmp_path,
    )


def empty(path, *rows):
    head = "item,feature,mode,reading,unit,instrument,taken_at,note\n"
    path.write_text(head + "".join(f",{name},outside,{said},mm,,,\n" for name, said in rows))


def test_what_has_no_reading_is_drawn_at_its_default_and_named(tmp_path):
    empty(tmp_path / "plate.csv", ("plate length", "70.00"), ("plate width", ""))
    model = PanelModel(SheetSource(sheet_of(tmp_path)))
    assert model.solved.template.plate_length == pytest.approx(70.0)
    assert model.solved.template.plate_width == 44
    assert not model.ready
    assert model.messages == {}
    (problem,) = model.problems()
    assert (problem["path"], problem["kind"]) == ("plate_width", "waiting")
    assert "No reading yet of 'plate width'" in problem["text"]
    assert "44 mm" in problem["text"]
    assert control(model, "plate_width")["waiting"] == problem["text"]
    assert control(model, "plate_width")["text"] == "plate width"  # what is typed stays


def test_a_first_sight_without_any_reading_is_a_picture(tmp_path, opened):
    empty(tmp_path / "plate.csv", ("plate length", ""), ("plate width", ""))
    panel = opened(sheet_of(tmp_path))
    assert panel._scene is not None or panel._early is not None
    until(lambda: panel._scene is not None)
    assert len(panel.doc["problems"]) == 2
    assert panel.doc["faulty"]
    with pytest.raises(SheetError, match="no files are written yet"):
        panel.export()


def test_a_first_sight_with_a_fault_is_a_picture_that_is_named_as_a_stand_in(tmp_path, opened):
    write(tmp_path / "plate.csv", 64.0)
    panel = opened(sheet_of(tmp_path, plate_width="plate wdth", wall="9 mm"))
    until(lambda: panel._scene is not None)
    assert panel.model.stands_in
    assert panel.doc["stands_in"]
    assert set(panel.model.messages) == {"wall"}
    told(panel, kind="set", path="wall", text="3 mm")
    assert panel.model.stands_in  # the other fault is found now
    assert set(panel.model.messages) == {"plate_width"}
    told(panel, kind="set", path="plate_width", text="40 mm")
    assert panel.doc["stands_in"] == ""
    settled(panel)
    assert panel.model.ready


def test_sizes_that_do_not_build_at_first_sight_leave_no_blank(opened):
    panel = opened(PlateTray.of(round_to="35 mm"))
    until(lambda: panel._scene is not None)
    assert panel.doc["stands_in"]
    assert "leaves no wall" in " ".join(one["text"] for one in panel.doc["problems"])
    told(panel, kind="set", path="round_to", text="2 mm")
    settled(panel)
    assert panel.doc["stands_in"] == ""


# --- measured sizes -------------------------------------------------------------------------------


def test_a_measured_size_can_go_back_to_its_reading(path):
    model = PanelModel(SheetSource(load_sheet(path)))
    shown = control(model, "plate_length")
    assert shown["reading"].startswith("64.0")
    assert "±" in shown["reading"]
    assert shown["back"] == ""
    model.set("plate_length", "120 mm", dragging=True)
    shown = control(model, "plate_length")
    assert (shown["reading"], shown["back"]) == ("", "plate length")
    assert model.solved.rows[0]["measured"] == "120.000 (typed)"
    model.set("plate_length", shown["back"])
    assert control(model, "plate_length")["reading"]


def test_a_sheet_with_a_typed_size_can_go_to_the_reading_that_its_template_declares(tmp_path):
    write(tmp_path / "plate.csv", 64.0)
    model = PanelModel(SheetSource(sheet_of(tmp_path, plate_length="60 mm", plate_width="44 mm")))
    assert control(model, "plate_length")["back"] == "plate_length"
    assert control(model, "plate_width")["back"] == ""  # it has no reading


# --- steps back -----------------------------------------------------------------------------------


def test_steps_are_taken_back_and_done_again(case):
    case.set("wall", "3 mm")
    for place in ("3.1 mm", "3.4 mm", "4 mm"):  # one drag is one step
        case.set("floor", place, dragging=True)
    case.set("floor", "4 mm")
    case.add("ports")
    case.reset()
    assert case.values == {}
    case.undo()
    assert len(case.values["ports"]) == 1
    case.undo()
    case.undo()
    assert case.values == {"wall": "3 mm"}
    case.redo()
    assert case.values == {"wall": "3 mm", "floor": "4 mm"}
    case.set("lid_thickness", "3 mm")
    assert not case.can_redo
    for _ in range(3):
        case.undo()
    assert case.values == {}
    assert not case.undo()


# --- files and sheets -----------------------------------------------------------------------------


def test_what_belongs_to_values_before_is_marked_as_old(opened):
    panel = opened(PlateTray)
    settled(panel)
    assert not panel.doc["old"]
    assert not panel.doc["findings_old"]
    told(panel, kind="set", path="wall", text="101.6 mm")
    assert panel.doc["old"]
    assert panel.doc["findings_old"]
    assert panel.doc["faulty"]
    told(panel, kind="export")
    assert panel.doc["said_bad"]
    assert not panel.doc["exporting"]
    told(panel, kind="step", back=True)
    settled(panel)
    assert not panel.doc["old"]


def test_a_file_that_is_written_keeps_what_was_typed_in_its_sheet(path, tmp_path, opened):
    panel = opened(path)
    settled(panel)
    told(panel, kind="set", path="wall", text="3.2 mm")
    assert panel.doc["unsaved"]
    told(panel, kind="export")
    until(lambda: not panel.doc["exporting"])
    assert panel.doc["said_bad"] is False, panel.doc["said"]
    assert "What you typed is saved in holder.toml." in panel.doc["said"]
    assert not panel.doc["unsaved"]
    text = path.read_text(encoding="utf-8")
    assert 'wall = "3.2 mm"' in text
    assert text.startswith("# The holder on the bench.")
    assert load_sheet(path).values["wall"] == "3.2 mm"
    assert len(Journal(tmp_path / "journal").records("print")) == 1


def test_a_sheet_that_another_program_changed_is_left_as_it_is(path, opened):
    panel = opened(path)
    settled(panel)
    told(panel, kind="set", path="wall", text="3.2 mm")
    path.write_text(SHEET + "# changed meanwhile\n", encoding="utf-8")
    told(panel, kind="save", path=str(path))
    assert "has changed since" in panel.doc["question"]["text"]
    assert path.read_text(encoding="utf-8").endswith("# changed meanwhile\n")
    told(panel, kind="export")
    until(lambda: not panel.doc["exporting"])
    assert "left as it is" in panel.doc["said"]
    assert path.read_text(encoding="utf-8").endswith("# changed meanwhile\n")
    told(panel, kind="save", path=str(path), sure=True)
    assert load_sheet(path).values["wall"] == "3.2 mm"


def test_comments_and_order_of_a_sheet_stay_when_it_is_saved(path):
    sheet = load_sheet(path)
    values = sheet.values | {"wall": "3 mm", "slots": [{"width": "9 mm"}, {"width": "5 mm"}]}
    save_sheet(sheet.model_copy(update={"values": values}), path, like=SHEET)
    wanted = SHEET.replace('"44 mm"\n', '"44 mm"\nwall = "3 mm"\n')
    assert path.read_text(encoding="utf-8").startswith(wanted.rstrip())
    assert load_sheet(path).values == values
    save_sheet(sheet, path, like=path.read_text(encoding="utf-8"))
    assert path.read_text(encoding="utf-8").split() == SHEET.split()


def test_another_parts_sheet_is_replaced_only_after_a_yes(path, tmp_path, opened):
    other = tmp_path / "other.toml"
    other.write_text("# another part\n", encoding="utf-8")
    panel = opened(path)
    told(panel, kind="save", path=str(other))
    assert "another sheet named other.toml" in panel.doc["question"]["text"]
    assert other.read_text(encoding="utf-8") == "# another part\n"
    told(panel, kind="leave")
    assert panel.doc["question"] is None
    told(panel, kind="save", path=str(tmp_path / "other"))  # its ending is understood
    question = panel.doc["question"]
    told(panel, kind="save", path=question["path"], sure=True)
    assert panel.doc["said"] == "Saved as other.toml."
    assert load_sheet(other).title == "plate holder"
    assert "# the long side" in other.read_text(encoding="utf-8")


def test_loading_a_sheet_asks_before_changes_are_given_up(path, opened):
    panel = opened(path)
    told(panel, kind="set", path="wall", text="3 mm")
    told(panel, kind="load", path=str(path))
    assert "not saved" in panel.doc["question"]["text"]
    assert panel.model.values["wall"] == "3 mm"
    told(panel, kind="load", path=str(path), sure=True)
    assert "wall" not in panel.model.values
    assert not panel.doc["unsaved"]


def test_each_message_changes_the_document_so_that_a_view_knows_it_was_heard():
    panel = PartPanel(TemplateSource(PlateTray))
    Heard(panel)
    before = panel.doc
    told(panel, kind="set", path="wall", text="2.4")
    told(panel, kind="set", path="wall", text="2.4 mm")
    assert panel.doc["answers"] == before["answers"] + 2
    panel.close()


@pytest.mark.parametrize(
    "sheet",
    [path for path in sorted(DEMO.glob("*.toml")) if path.stem != "workshop"],
    ids=lambda path: path.stem,
)
def test_each_sheet_of_the_demo_opens_ready(sheet):
    model = PanelModel(SheetSource(load_sheet(sheet)))
    assert model.ready, model.problems()
    paths = [one["path"] for group in model.groups() for one in group["controls"]]
    assert len(paths) == len(set(paths))
