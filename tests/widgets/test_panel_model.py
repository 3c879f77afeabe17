"""A panel's state without a screen: what is typed, what is refused, what follows."""

import pytest
from rig import PlateTray

from fitkit.core.errors import FaultList, FitkitError, PartError
from fitkit.flow import PartSheet, PrinterChoice
from fitkit.parts import register, template, templates
from fitkit.widgets.fields import fields_of
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import SheetSource, TemplateSource


@pytest.fixture
def model():
    return PanelModel(TemplateSource(PlateTray))


def control(model, path):
    def walk(controls):
        for one in controls:
            if one["path"] == path:
                return one
            for item in one.get("items", []):
                found = walk(item["controls"])
                if found:
                    return found
        return None

    return next(filter(None, (walk(group["controls"]) for group in model.groups())))


def test_controls_follow_the_parameter_types():
    kinds = {field.name: field.kind for field in fields_of(PlateTray)}
    assert kinds == {
        "label": "text",
        "plate_length": "length",
        "plate_width": "length",
        "wall": "length",
        "height": "length",
        "round_to": "length",
        "lid": "switch",
        "finish": "choice",
        "slots": "list",
    }
    wall = next(field for field in fields_of(PlateTray) if field.name == "wall")
    assert (wall.unit, wall.low, wall.high, wall.default) == ("mm", 0.8, 6.0, "2.4 mm")
    assert wall.bounds == "From 0.8 to 6 mm."


def test_groups_keep_the_templates_order_and_the_label_comes_last(model):
    assert [group["name"] for group in model.groups()] == ["Plate", "Tray", "Openings", "Label"]


@pytest.mark.parametrize(
    ("typed", "wanted_mm"),
    [("0.2 in", 5.08), ("3", 3.0), ("3.21 mm", 3.21), ("1/8 in", 3.175), ("2.777", 2.777)],
)
def test_a_length_field_takes_units_and_rounds_nothing(model, typed, wanted_mm):
    assert model.set("wall", typed)
    assert model.solved.template.wall == pytest.approx(wanted_mm, abs=1e-12)


@pytest.mark.parametrize("typed", ["101.6", "4 in", "0.79", "0.031 in"])
def test_a_value_out_of_bounds_is_refused_in_words_and_never_moved_to_the_bound(model, typed):
    assert not model.set("wall", typed)
    message = model.messages["wall"]
    assert typed.split()[0] in message
    assert "the most, 6 mm" in message or "the least, 0.8 mm" in message
    assert model.solved.template.wall == 2.4  # the last that worked
    assert control(model, "wall")["text"].startswith(typed)


@pytest.mark.parametrize("typed", ["thick", "2,4,4", "3 kg", "--2"])
def test_what_is_no_length_is_refused_beside_its_field(model, typed):
    assert not model.set("wall", typed)
    assert list(model.messages) == ["wall"]


def test_a_message_goes_when_the_value_is_mended(model):
    model.set("wall", "99")
    assert model.set("wall", "2 mm")
    assert model.messages == {}


def test_emptying_a_field_brings_its_default_back(model):
    model.set("wall", "3 mm")
    assert model.set("wall", "")
    assert model.solved.template.wall == 2.4


def test_reset_of_one_and_of_all(model):
    model.set("wall", "3 mm")
    model.set("lid", "yes")
    assert control(model, "wall")["changed"]
    model.reset("wall")
    assert (model.solved.template.wall, model.solved.template.lid) == (2.4, True)
    model.reset()
    assert not model.solved.template.lid


def test_items_of_a_list_are_added_set_and_taken_away(model):
    assert model.add("slots")
    assert model.set("slots.0.width", "12")
    assert model.add("slots")  # like the last
    assert [slot.width for slot in model.solved.template.slots] == [12, 12]
    assert not model.set("slots.1.width", "99 mm")
    assert list(model.messages) == ["slots.1.width"]
    assert control(model, "slots.1.width")["message"]
    assert model.remove("slots", 1)
    assert len(model.solved.template.slots) == 1


def test_choices_and_switches(model):
    assert model.set("finish", "sanded")
    assert model.set("lid", "yes")
    assert (model.solved.template.finish, model.solved.template.lid) == ("sanded", True)
    assert not model.set("finish", "chromed")
    assert "finish" in model.messages


def test_an_instance_gives_its_values_as_the_start():
    tray = PlateTray.of(wall="3 mm", slots=[{"name": "cable", "width": "7 mm"}])
    model = PanelModel(TemplateSource(tray))
    assert model.solved.template == tray
    assert control(model, "slots.0.width")["text"] == "7 mm"
    assert not control(model, "wall")["changed"]


def test_a_build_error_goes_beside_the_parameter_that_it_names(model):
    model.set("wall", "3 mm")
    model.blame(PartError("too round", where="plate tray", at=("round_to",), remedy="Give less."))
    assert model.messages == {"round_to": "too round. Give less."}
    assert model.trouble == ""


def test_a_build_error_that_names_nothing_goes_beside_the_last_change(model):
    model.set("height", "20 mm")
    model.blame(PartError("the kernel stopped"))
    assert model.messages == {"height": "not built: the kernel stopped"}
    assert "kernel" in model.trouble
    model.solve()
    model.blame(FaultList([PartError("a", at=("wall",)), PartError("b", at=("values", "height"))]))
    assert set(model.messages) == {"wall", "height"}


def test_two_errors_about_one_field_are_both_shown_there(model):
    model.blame(FaultList(PartError(what, at=("wall",)) for what in ("too thin", "not even")))
    assert model.messages == {"wall": "too thin not even"}


def test_an_error_about_a_whole_item_is_shown_at_its_list_with_its_number(model):
    model.blame(PartError("it runs into another", at=("slots", 1)))
    assert model.messages == {"slots": "Slot 2: it runs into another"}


def test_an_unknown_parameter_is_an_error(model):
    with pytest.raises(FitkitError, match="no parameter"):
        model.set("depth", "2 mm")


def test_fit_rows_of_a_template_alone_say_that_they_are_nominal(model):
    assert [row["drawn"] for row in model.solved.rows] == ["64.000", "44.000"]
    assert "nominal" in model.solved.basis


@pytest.fixture
def sheet(tmp_path):
    register(PlateTray)
    (tmp_path / "plate.csv").write_text(
        "item,feature,mode,reading,unit,instrument,taken_at,note\n"
        + "".join(
            f",plate length,outside,{mm},mm,,,\n,plate width,outside,{mm - 20},mm,,,\n"
            for mm in (63.98, 64.02, 64.00, 64.01)
        )
    )
    return PartSheet(
        title="plate holder",
        template="plate tray",
        readings="plate.csv",
        printer=PrinterChoice(generic="PETG"),
        values={"plate_length": "plate length", "plate_width": "plate width"},
        folder=tmp_path,
    )


def test_a_sheet_goes_through_readings_fits_and_printer(sheet):
    model = PanelModel(SheetSource(sheet))
    row = model.solved.rows[0]
    assert row["name"] == "pocket length"
    assert row["measured"].startswith("64.00")
    assert float(row["target"]) > 64.0  # a gap goes round the plate
    assert model.solved.drawn["pocket length"] == pytest.approx(float(row["drawn"]), abs=1e-3)
    assert control(model, "plate_length")["reading"].startswith("64.00")
    assert control(model, "plate_length")["reading"].endswith(" mm, from plate length")
    assert control(model, "plate_length")["text"] == "plate length"
    assert control(model, "plate_length")["value"] == pytest.approx(64.0, abs=0.01)


def test_a_sheets_field_takes_expressions_and_says_what_is_wrong_with_one(sheet):
    model = PanelModel(SheetSource(sheet))
    assert model.set("plate_length", "plate length + 1 mm")
    assert model.solved.template.plate_length == pytest.approx(65.0, abs=0.01)
    assert not model.set("plate_length", "plate lenth")
    assert "plate length" in model.messages["plate_length"]  # did you mean
    assert model.solved.template.plate_length == pytest.approx(65.0, abs=0.01)


def test_values_go_back_into_a_sheet(sheet, tmp_path):
    from fitkit.flow import load_sheet, save_sheet

    source = SheetSource(sheet)
    model = PanelModel(source)
    model.set("wall", "0.125 in")
    model.add("slots")
    save_sheet(source.with_values(model.values), tmp_path / "saved.toml")
    again = PanelModel(SheetSource(load_sheet(tmp_path / "saved.toml")))
    assert again.solved.template == model.solved.template
    assert again.values["wall"] == "0.125 in"  # as typed


@pytest.mark.parametrize("kind", templates().values(), ids=lambda kind: kind.title)
def test_a_template_with_values_starts_a_panel_as_it_is(kind):
    model = PanelModel(TemplateSource(kind.of()))
    assert (model.messages, model.trouble) == ({}, "")
    assert model.solved.template == kind.of()


@pytest.mark.parametrize("kind", templates().values(), ids=lambda kind: kind.title)
def test_each_choice_offered_is_one_that_the_template_takes(kind):
    for field in fields_of(kind):
        for choice in field.choices:
            model = PanelModel(TemplateSource(kind))
            # It may clash with other values; it must not be refused as no choice at all.
            model.set(field.name, str(choice))
            assert "Input should be" not in " ".join((*model.messages.values(), model.trouble))
            assert model.values[field.name] == choice


def test_a_row_of_lengths_is_typed_with_semicolons():
    model = PanelModel(TemplateSource(template("fit ladder")))
    assert model.set("gaps", "0.1; 0.2 mm;0,3 mm")
    assert model.solved.template.gaps == pytest.approx((0.1, 0.2, 0.3))
    assert control(model, "gaps")["text"] == "0.1 mm; 0.2 mm; 0,3 mm"
    assert not model.set("gaps", "0.1; wide")
    assert "wide" in control(model, "gaps")["message"]
    assert model.set("gaps", "")  # emptied: back to the default
    assert model.solved.template == template("fit ladder").of()


def test_a_parameter_is_labelled_in_the_words_of_its_own_if_it_has_any():
    from fitkit.parts import template
    from fitkit.widgets.fields import fields_of

    labels = {field.name: field.label for field in fields_of(template("board case"))}
    assert labels["ghost_step"] == "board file (STEP)"
    assert labels["ghost_origin"] == "origin of the board file"
    assert labels["board_length"] == "board length"
