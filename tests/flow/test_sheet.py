"""A part sheet is read whole, or every fault of it is told with its key."""

import tomllib

import pytest

from fitkit.core.errors import FaultList, SheetError
from fitkit.flow import load_sheet, save_sheet

GOOD = """
schema = 1
title = "relay box"
template = "board case"
readings = "relay.csv"
[printer]
generic = "PETG"
[values]
board_length = "board_length + 1 mm"
[fits.lid]
behaviour = "slides"
"""


@pytest.fixture
def write(tmp_path):
    def write(text: str | bytes):
        path = tmp_path / "relay.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return write


def test_a_sheet_is_read_and_its_paths_count_from_its_folder(write):
    path = write(GOOD)
    sheet = load_sheet(path)
    assert sheet.title == "relay box"
    assert sheet.path(sheet.readings) == path.parent / "relay.csv"
    assert sheet.fits["lid"].behaviour == "slides"


def test_a_byte_order_mark_does_no_harm(write):
    assert load_sheet(write(b"\xef\xbb\xbf" + GOOD.encode())).title == "relay box"


def test_saving_and_loading_lose_nothing(write, tmp_path):
    sheet = load_sheet(write(GOOD))
    save_sheet(sheet, tmp_path / "again.toml")
    assert load_sheet(tmp_path / "again.toml") == sheet


def test_all_faults_are_told_at_once_with_their_keys(write):
    text = GOOD.replace("title", "tittle").replace("behaviour", "behavior") + "depth = 3\n"
    with pytest.raises(FaultList) as caught:
        load_sheet(write(text))
    found = {fault.path: fault for fault in caught.value}
    assert found["title"].code == "key.missing"
    assert found["tittle"].code == "key.unknown"
    assert found["tittle"].remedy.startswith("Did you mean 'title'? The keys are: schema, title,")
    assert "workshop_named" not in found["tittle"].remedy  # no file holds it
    assert found["fits.lid.depth"].code == "key.unknown"
    assert found["fits.lid.depth"].remedy == "The keys are: behaviour, gap."


@pytest.mark.parametrize("line", ["", 'profile = "a.toml"\ngeneric = "PETG"'])
def test_the_printer_is_named_in_just_one_way(write, line):
    with pytest.raises(FaultList, match="name just one of profile, coupon, generic"):
        load_sheet(write(GOOD.replace('generic = "PETG"', line)))


def test_a_fit_takes_a_behaviour_or_a_gap_not_both(write):
    with pytest.raises(FaultList, match="give either behaviour or gap"):
        load_sheet(write(GOOD + 'gap = "0.2 mm"\n'))


def test_a_missing_file_says_so(tmp_path):
    with pytest.raises(SheetError, match="no such part sheet"):
        load_sheet(tmp_path / "none.toml")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("title = \n", "not valid TOML.*line 1"),
        (b"\xff\xfe\x00", "not UTF-8 text"),
        ("a = " + "[" * 100_000, "not valid TOML"),
        ("#" * 2_000_000, "larger than 1 MB"),
    ],
)
def test_what_is_no_sheet_is_refused_in_plain_words(write, text, told):
    with pytest.raises(SheetError, match=told):
        load_sheet(write(text))


def test_a_sheet_cannot_choose_its_own_folder(write, tmp_path):
    text = GOOD.replace("schema = 1", 'schema = 1\nfolder = "/etc"')
    assert load_sheet(write(text)).folder == tmp_path


SECTIONS = """
[finish]
coat = "0.08 mm"
u = "0.03 mm"
[use]
material = "PETG"
mains = true
[prices]
currency = "KES"
per_kwh = 25
"""


def test_finish_use_and_prices_keep_what_was_said_and_nothing_else(write, tmp_path):
    sheet = load_sheet(write(GOOD + SECTIONS))
    assert sheet.finish.kind == "paint"
    assert (sheet.use.mains, sheet.use.handling) == (True, "touched")
    assert sheet.prices.currency == "KES"
    save_sheet(sheet, tmp_path / "again.toml")
    said = tomllib.loads((tmp_path / "again.toml").read_text())
    assert {name: said[name] for name in ("finish", "use", "prices")} == tomllib.loads(SECTIONS)
    assert load_sheet(tmp_path / "again.toml") == sheet


def test_faults_of_finish_use_and_prices_are_told_with_their_keys_as_the_sheet_is_read(write):
    wrong = SECTIONS.replace('"0.08 mm"', "0.08").replace("mains", "mayns").replace("KES", "EURO")
    with pytest.raises(FaultList) as caught:
        load_sheet(write(GOOD + wrong + "machine_per_hour = -1\n"))
    told = str(caught.value)
    assert "key finish.coat: 0.08: Value error, 0.08 has no unit" not in told
    for key in ("finish.coat", "use.mayns", "prices.currency", "prices.machine_per_hour"):
        assert f"key {key}: " in told
    assert "0.08 has no unit" in told


def test_prices_left_empty_are_the_workshops(write):
    assert load_sheet(write(GOOD + "[prices]\n")).prices is None


def test_a_sheet_declares_the_unit_and_the_decimal_sign_of_its_readings(tmp_path):
    from fitkit.flow import load_sheet, prepare

    (tmp_path / "front.csv").write_text("feature;reading\ndisplay length;35,505\n")
    (tmp_path / "front.toml").write_text(
        'schema = 1\ntitle = "front"\ntemplate = "panel"\nreadings = "front.csv"\n'
        'journal = "journal"\nunit = "mm"\ndecimal = ","\n[printer]\ngeneric = "PETG"\n'
        '[values]\nlength = "display_length + 40 mm"\nwidth = "50 mm"\n'
    )
    plan = prepare(load_sheet(tmp_path / "front.toml"))
    assert plan.parameters["length"].value_mm == pytest.approx(75.505)
