"""A mistake ends in one clear message and status 2, and leaves no file behind."""

from pathlib import Path

import pytest

from fitkit.demo import copy_demo
from fitkit.views.shell import main

ROOT = Path(__file__).parents[2]


@pytest.fixture
def bench(tmp_path, monkeypatch) -> Path:
    copy_demo(tmp_path)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def changed(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def refused(capsys, *arguments: str) -> str:
    with pytest.raises(SystemExit) as end:
        main(list(arguments))
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert "Traceback" not in said
    return said


SHEET = "measurements/sound_board.toml"
READINGS = "measurements/readings/sound_board.csv"

CASES = {
    "a missing sheet": (None, "", "", ["no such part sheet", " new 'NAME OF THE PART'"]),
    "a missing readings file": (SHEET, "sound_board.csv", "none.csv", ["none.csv"]),
    "an unknown unit": (READINGS, "68.00,mm", "68.00,furlong", ["row", "furlong"]),
    "text in a number cell": (READINGS, "68.00,mm", "abt 68,mm", ["row", "abt 68"]),
    "a feature that is not there": (
        SHEET,
        'board_length = "board_length"',
        'board_length = "bord_length"',
        ["values.board_length", "bord_length", "board_length"],
    ),
    "a negative wall": (SHEET, 'wall = "2.4 mm"', 'wall = "-2.4 mm"', ["wall", "-2.4", "1.6"]),
    "a case larger than the bed": (
        SHEET,
        'board_length = "board_length"',
        'board_length = "board_length + 220 mm"',
        ["bed"],
    ),
    "an unknown template": (SHEET, '"board case"', '"bord case"', ["bord case", "board case"]),
    "an unknown fit": (
        SHEET,
        '"lid and rim"',
        '"lid and rum"',
        ["fits.lid and rum", "lid and rim"],
    ),
    "an unknown behaviour": (SHEET, "snug by hand", "snugly", ["snugly", "snug by hand"]),
    "an unknown use": (SHEET, "watts = 1.5", "wats = 1.5", ["wats", "watts"]),
    "a missing profile": (
        SHEET,
        'coupon = "readings/coupon_petg.csv"',
        'profile = "none.toml"',
        ["none.toml"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_bad_input_is_told_where_and_what_to_do(bench, capsys, name):
    file, old, new, told = CASES[name]
    sheet = bench / SHEET if file else bench / "none.toml"
    if file:
        changed(bench / file, old, new)
    said = refused(capsys, "make", str(sheet), "--into", "out")
    for word in told:
        assert word in said
    assert not (bench / "out").exists()
    assert not [path for path in bench.iterdir() if path.name.startswith(".")]


def test_readings_are_shown_with_their_uncertainty(bench, capsys):
    main_ok(["readings", READINGS, "--instruments", "shared/instruments/bench.toml"])
    said = capsys.readouterr().out
    assert "board length" in said
    assert "left out by decision" in said


def test_a_new_part_starts_with_all_its_files_and_never_overwrites(bench, capsys):
    main_ok(["new", "relay box", "--folder", "parts"])
    made = {path.name for path in (bench / "parts").rglob("*") if path.is_file()}
    assert made == {"relay_box.toml", "relay_box.csv", "relay_box.ipynb", "instruments.toml",
                    "workshop.toml"}  # fmt: skip
    assert "is there already" in refused(capsys, "new", "relay box", "--folder", "parts")


def test_a_new_part_says_what_comes_next_and_an_empty_readings_file_is_told_once(bench, capsys):
    main_ok(["new", "relay box", "--folder", "my parts"])
    assert "fitkit make 'my parts/relay_box.toml'" in capsys.readouterr().out
    said = refused(capsys, "make", "my parts/relay_box.toml")
    assert said.count("\n") == 1
    assert "relay_box.csv: no reading is filled in yet. Type what the calipers show for:" in said
    assert "board length" in said


@pytest.mark.parametrize(
    ("sheet", "words"),
    [("ball_seat", ("rotates", "freely")), ("sound_board", ("standoff", "spacing", "diameter"))],
)
def test_no_word_of_a_table_is_broken(bench, capsys, monkeypatch, sheet, words):
    monkeypatch.setenv("COLUMNS", "80")
    main_ok(["make", f"measurements/{sheet}.toml", "--into", "made"])
    table = capsys.readouterr().out.rpartition("trace code")[0].split()
    assert set(words) <= set(table)


def test_calibrate_saves_a_profile_that_loads(bench, capsys):
    from fitkit.calibration import load_profile

    main_ok(
        ["calibrate", "measurements/readings/coupon_petg.csv", "mine.toml",
         "--instruments", "shared/instruments/bench.toml"]
    )  # fmt: skip
    assert not load_profile(bench / "mine.toml").generic
    said = " ".join(capsys.readouterr().out.split())
    assert "saved as mine.toml" in said
    assert "line width or flow is the likelier cause than shrinkage" in said
    assert "chamfer the bed edges of faces that must fit" in said


def main_ok(arguments: list[str]) -> None:
    with pytest.raises(SystemExit) as end:
        main(arguments)
    assert end.value.code == 0


def test_a_coupon_order_has_files_to_print_and_a_readings_file_to_fill(bench, capsys):
    from fitkit.readings import ReadingTable

    main_ok(["coupon", "cal", "--printer", "mine", "--prints", "2"])
    names = {path.name for path in (bench / "cal").iterdir()}
    assert {"calibration-coupon.3mf", "coupon_readings.csv", "coupon_order.html"} <= names
    table = ReadingTable.read(bench / "cal" / "coupon_readings.csv")
    assert len(table) > 50
    assert set(table.rejected["rejected"]) == {"the reading is empty"}
    assert " calibrate " in capsys.readouterr().out


def test_a_ladder_is_made_and_recorded_in_the_journal(bench, capsys):
    from fitkit.journal import Journal

    journal = bench / "measurements" / "journal"
    before = len(Journal(journal).records())
    main_ok(
        ["ladder", "lad", "peg and hole", "slides", "8 mm", "--specimens", "3",
         "--journal", str(journal), "--profile", "shared/profiles/bench-petg.toml"]
    )  # fmt: skip
    assert [path.suffix for path in (bench / "lad").iterdir()].count(".3mf") == 1
    assert len(Journal(journal).records()) == before + 1
    assert "wanted" in capsys.readouterr().out


def test_a_name_that_the_disk_cannot_take_is_told_in_one_line(bench, capsys):
    said = refused(capsys, "log", "--journal", "x" * 5000)
    assert "File name too long" in said
    assert len(said.splitlines()) == 1


def test_a_short_coupon_tells_beforehand_what_it_will_teach(bench, capsys):
    from fitkit.readings import ReadingTable

    main_ok(["coupon", "cal", "--printer", "mine", "--measure", "12", "--repeats", "1"])
    # What alone tells a habit comes twice.
    read = ReadingTable.read(bench / "cal" / "coupon_readings.csv").frame["feature"]
    assert (read.nunique(), len(read) - read.nunique() <= 5) == (12, True)
    assert "mm expected" in capsys.readouterr().out


def test_calibrate_finds_the_workshops_instruments_and_says_which_corrections_were_made(
    bench, capsys
):
    from fitkit.calibration import load_profile

    coupon = "measurements/readings/coupon_petg.csv"
    main_ok(["calibrate", coupon, "mine.toml"])
    said = " ".join(capsys.readouterr().out.split())
    (kept,) = load_profile(bench / "mine.toml").provenance.instruments
    assert (
        kept == "bench calipers (bench.toml): zero error of 2026-03-02 -0.020 mm, jaw faces 0.5 mm"
    )
    assert f"read with {kept}" in said
    (bench / "measurements" / "workshop.toml").unlink()
    main_ok(["calibrate", coupon, "other.toml"])
    (kept,) = load_profile(bench / "other.toml").provenance.instruments
    assert kept.startswith(
        "instrument 'bench calipers' is not described: usual calipers are assumed"
    )


def test_calibrate_learns_from_the_workshops_other_printers_unless_told_not_to(bench, capsys):
    first = bench / "measurements" / "readings" / "coupon_petg.csv"
    second = first.with_name("second.csv")
    second.write_text(first.read_text("utf-8").replace("bench printer A", "bench printer B"))
    main_ok(["calibrate", str(second), "second.toml"])
    said = " ".join(capsys.readouterr().out.split())
    assert "also rests on the workshop's other profiles: bench-petg (82 readings of printer" in said
    main_ok(["calibrate", str(second), "second.toml", "--alone"])
    assert "other profiles" not in capsys.readouterr().out


def test_new_lists_the_templates_and_takes_a_variant(bench, capsys):
    main_ok(["new", "--list"])
    said = capsys.readouterr().out
    assert "board case          Tray and lid for a circuit board" in said
    assert "template-board-case.png" in said
    assert "fitkit ladder\n" in said
    main_ok(["new", "relay box", "--folder", "parts", "--with", "standoff=heat-set"])
    assert ",insert,outside," in (bench / "parts/readings/relay_box.csv").read_text("utf-8")
    assert "NAME=VALUE" in refused(capsys, "new", "lid", "--with", "standoff")
    assert "--list" in refused(capsys, "new")


def test_two_profiles_of_one_coupon_have_not_drifted(bench, capsys):
    profile = "shared/profiles/bench-petg.toml"
    main_ok(["compare", profile, profile])
    assert "No drift beyond chance" in capsys.readouterr().out


def test_an_unforeseen_fault_is_one_line_and_a_file_for_the_report(bench, capsys, monkeypatch):
    import fitkit.make.new

    def broken(*_args, **_kwargs):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr(fitkit.make.new, "new_part", broken)
    with pytest.raises(SystemExit) as end:
        main(["new", "relay box"])
    assert end.value.code == 1
    said = capsys.readouterr().err.strip()
    assert len(said.splitlines()) == 1
    details = Path(said.rpartition("with ")[2])
    assert "RuntimeError: a fault of ours" in details.read_text(encoding="utf-8")
    details.unlink()
