"""Each command that writes, killed at each of its file operations: all is as before, or it is done.

The same command, given again, then does it, and nothing of the stopped one is left. `make` and what
rests on it are killed in `tests/make`, `new` there too, `bring-in` in `tests/journal`.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PIL import Image

from fitkit.calibration import load_profile, save_profile, write_order
from fitkit.core.errors import FitkitError
from fitkit.demo import copy_demo, demo_source
from fitkit.journal import FitEntry, Journal, MachineRecord, PrintRecord, TrialRecord, trial_of
from fitkit.journal.binder import render_html
from fitkit.make import load_exhibit
from fitkit.readings import ReadingTable, load_instruments
from fitkit.views.shell import main
from fitkit.views.shell_options import settle_beside
from fitkit.workshop import begin_workshop, load_workshop
from tests.checks.test_strip_form import FILLED
from tests.kill_points import forks, killed_at

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitkit.calibration import PrinterProfile

CODE, VERDICT = "96KPEX9", "NMKMRNK"
EXHIBIT = f"""# the one in the hall
schema = 1
title = "hall"
[[parts]]
name = "case"  # at the left
sheet = "case.toml"
state = "to print"
code = "{CODE}"
"""
POST = 'schema = 1\ntitle = "post"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
READINGS = "feature,mode,reading,unit,mine\nbar,outside,17.44,mm,a\nbar,outside,17.93,mm,b\n"


INSTRUMENTS = """# my own words
schema = 1
[[instrument]]
name = "bench"
resolution = "0.01 mm"
mpe = "0.03 mm"
"""


def run(*words: str) -> None:
    """Run a command as a shell does, and say nothing."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    try:
        main(list(words))
    except SystemExit as end:
        if end.code:
            raise RuntimeError(words) from end


def room(folder: Path) -> None:
    """A workshop with a print, readings and a picture."""
    begin_workshop(folder)
    fit = FitEntry(
        name="lid", pair="lid and rim", wanted="slides", kind="outside", sense=-1, gap_mm=0.3,
        target_mm=60.0, drawn_mm=60.1, expected_mm=60.0, U95_mm=0.1,
    )  # fmt: skip
    Journal(folder / "journal").add(
        PrintRecord.new(
            code=CODE, title="case", template="board case", fits=[fit], printer="bench",
            material="PETG", made_at=datetime(2026, 3, 2, tzinfo=UTC),
        )
    )  # fmt: skip
    (folder / "r.csv").write_text(READINGS, encoding="utf-8")
    (folder / "wide.csv").write_text(WIDE, encoding="utf-8")
    (folder / "waiting.csv").write_text(WAITING, encoding="utf-8")
    (folder / "instruments.toml").write_text(INSTRUMENTS, encoding="utf-8")
    (folder / "strips.toml").write_text(FILLED, encoding="utf-8")
    (folder / "e.toml").write_text(EXHIBIT, encoding="utf-8")
    (folder / "post.toml").write_text(POST, encoding="utf-8")
    Image.new("RGB", (40, 30), "grey").save(folder / "a.png")


def records(folder: Path) -> int:
    """How many sound records there are; their pictures must be there and whole."""
    journal = Journal(folder / "journal")
    assert journal.damaged == ()
    found = journal.records(corrected=True)
    # A picture that no record names is under way, and a hidden plan names it.
    assert not lonely(folder) or list(journal.folder.glob(".*.plan"))
    for record in found:
        for photo in record.photos:
            for name in (photo.name, photo.thumbnail):
                with Image.open(journal.folder / "photos" / name) as picture:
                    picture.load()
    return len(found)


def lonely(folder: Path) -> set[str]:
    """Pictures in the journal that no record names."""
    journal = Journal(folder / "journal")
    photos = [photo for record in journal.records(corrected=True) for photo in record.photos]
    named = {name for photo in photos for name in (photo.name, photo.thumbnail)}
    return {path.name for path in (journal.folder / "photos").glob("[!.]*")} - named


def stated(folder: Path) -> int:
    """The state of the exhibit's one part, which is printed by the journal."""
    text = (folder / "e.toml").read_text(encoding="utf-8")
    assert text in (EXHIBIT, EXHIBIT.replace("to print", "printed"))
    return 1 + (text != EXHIBIT)


def added(folder: Path) -> int:
    """How many parts the exhibit has that is begun by adding one."""
    path = folder / "new.toml"
    return 1 + (len(load_exhibit(path).parts) if path.exists() else 0)


def decided(folder: Path) -> int:
    text = (folder / "r.csv").read_text(encoding="utf-8")
    table = ReadingTable.read(folder / "r.csv")
    assert list(table.frame["reading"]) == ["17.44", "17.93"]
    assert list(table.frame["mine"]) == ["a", "b"]
    return 1 + (text != READINGS and len(table.counted) == 1)


def decided_in_views(folder: Path) -> int:
    text = (folder / "r.csv").read_text(encoding="utf-8")
    table = ReadingTable.read(folder / "r.csv")
    assert list(table.frame["reading"]) == ["17.44", "17.93"]
    assert list(table.frame["mine"]) == ["a", "b"]
    return 1 + (text != READINGS and list(table.frame["kept"]) == ["", "it has a lug there"])


def decide_in_grid() -> None:
    from fitkit.widgets.grid_model import GridModel

    GridModel("r.csv").decide(0, 1, "keep", "it has a lug there")


WIDE = "feature,M1 (mm),M2 (mm)\nbar,17.44,17.93\n"


def decide_in_a_row_of_several() -> None:
    from fitkit.widgets.grid_model import GridModel

    GridModel("wide.csv").decide(0, 1, "again", "the jaws were tilted")


def decided_in_a_row(folder: Path) -> int:
    text = (folder / "wide.csv").read_text(encoding="utf-8")
    table = ReadingTable.read(folder / "wide.csv")
    assert list(table.frame["reading"]) == ["17.44", "17.93"]
    return 1 + (text != WIDE and len(table.counted) == 1)


WAITING = "feature,mode,reading,unit,mine\nbar,outside,,mm,a\nbar,outside,,mm,b\n"


def listen() -> None:
    """What `listen` does with what the calipers send."""
    from fitkit.readings.cable import Sent
    from fitkit.readings.waiting import fill_next

    settle_beside(Path("waiting.csv"))
    fill_next("waiting.csv", Sent(number="17.44", unit="mm"))


def listened(folder: Path) -> int:
    text = (folder / "waiting.csv").read_text(encoding="utf-8")
    table = ReadingTable.read(folder / "waiting.csv")
    assert list(table.frame["mine"]) == ["a", "b"]
    return 1 + (text != WAITING and table.frame["reading"][0] == "17.44")


def judge(folder: Path) -> None:
    journal = Journal(folder / "journal")
    verdict = trial_of(journal.print_of(CODE), {"lid": "tight"})
    journal.add(verdict.model_copy(update={"code": VERDICT}))


def withdrawn(folder: Path) -> int:
    """The verdict counts, or it is taken back: one record or two, and never a damaged one."""
    found = [one for one in Journal(folder / "journal").records() if isinstance(one, TrialRecord)]
    assert len(found) == 1
    return 1 + found[0].withdrawn


def checked_calipers(folder: Path) -> int:
    """The instruments file is old or new, and all else that it says is there."""
    path = folder / "instruments.toml"
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# my own words")
    return 1 + len(load_instruments(path)["bench"].checks)


def profile(folder: Path) -> int:
    path = folder / "p.toml"
    return 1 + (path.exists() and load_profile(path).name == kept_profile().name)


def save_kept_profile() -> None:
    """What `calibrate` does in the end; fitting the profile at each point would take a minute."""
    settle_beside(Path("p.toml"))
    save_profile(kept_profile(), "p.toml")


@cache
def kept_profile() -> PrinterProfile:
    return load_profile(sorted((demo_source() / "shared" / "profiles").glob("*.toml"))[0])


def written(name: str, start: bytes, end: bytes) -> Callable[[Path], int]:
    def whole(folder: Path) -> int:
        path = folder / name
        if not path.exists():
            return 1
        content = path.read_bytes().strip()
        assert content.startswith(start)
        assert content.endswith(end)
        return 2

    return whole


def begun(folder: Path) -> int:
    if not (folder / "other" / "workshop.toml").exists():
        return 1
    assert load_workshop(folder / "other" / "workshop.toml").title == "other"
    return 2


def copied(folder: Path) -> int:
    if not (folder / "demo").exists():
        return 1
    for path in (demo_source() / "shared").rglob("*.toml"):
        copy = folder / "demo" / path.relative_to(demo_source())
        assert copy.read_bytes() == path.read_bytes()
    workshop = folder / "demo" / "measurements" / "workshop.toml"
    assert not load_workshop(workshop).read_only
    return 2


def ordered(folder: Path) -> int:
    """What to read of a coupon: the empty readings file, and the page beside it."""
    if not (folder / "order" / "coupon_readings.csv").exists():
        return 1
    page = (folder / "order" / "coupon_order.html").read_text(encoding="utf-8").strip()
    assert page.endswith("</html>")
    assert (folder / "order" / "coupon_readings.csv").read_text(encoding="utf-8").count("\n") > 20
    return 2


def listed(folder: Path) -> int:
    """The list of records is made by the first look, and none of it is a record."""
    cache = folder / "journal" / ".index.json"
    if cache.exists():
        json.loads(cache.read_bytes())
    return 1 + cache.exists()


@dataclass(frozen=True)
class Case:
    """A command's words, and how far it has come: 1 before, 2 when done."""

    words: tuple[str, ...] | Callable[[], object]
    state: Callable[[Path], int]
    # Refused where it is done already.
    once: bool = False
    # What is there besides, in its own room.
    before: Callable[[Path], object] = lambda folder: None

    def do(self) -> object:
        return self.words() if callable(self.words) else run(*self.words)


CASES = {
    "fitted": Case(("fitted", CODE, "lid=tight", "--photo", "a.png"), records),
    "note": Case(("note", CODE, "kept in bin 4", "--photo", "a.png"), records),
    "broke": Case(("broke", CODE, "left arm", "--photo", "a.png"), records),
    "exhibit": Case(("exhibit", "e.toml"), stated),
    "exhibit, begun": Case(("exhibit", "new.toml", "--add", "post.toml"), added),
    "changed": Case(("changed", "bench", "nozzle"), records),
    "withdraw": Case(("withdraw", VERDICT), withdrawn, once=True, before=judge),
    "check-calipers": Case(
        ("check-calipers", "bench", "20 mm", "20.02", "20.01", "--instruments", "instruments.toml"),
        checked_calipers,
    ),
    "decide in the grid": Case(decide_in_grid, decided_in_views),
    "decide on one of a row": Case(decide_in_a_row_of_several, decided_in_a_row),
    "listen": Case(listen, listened),
    "readings --to": Case(
        ("readings", "wide.csv", "--to", "long.csv"),
        written("long.csv", b"item,", b""),
        once=True,
    ),
    "decide": Case(("decide", "r.csv", "3", "leave-out", "--because", "slipped"), decided),
    "calibrate": Case(save_kept_profile, profile),
    "begin": Case(lambda: begin_workshop("other", title="other"), begun, once=True),
    "demo": Case(lambda: copy_demo("demo"), copied, once=True),
    "order": Case(lambda: write_order("order"), ordered, once=True),
    "binder": Case(("binder", "b.html"), written("b.html", b"<!", b"</html>")),
    "tag": Case(("tag", CODE, "t.svg"), written("t.svg", b"<", b"</svg>")),
    "inspection": Case(("inspection", CODE, "i.csv"), written("i.csv", b"size,", b","), once=True),
    "material": Case(
        ("material", "strips.toml", "--name", "green"),
        written("materials/green.toml", b"schema", b'"'),
        once=True,
    ),
    "log": Case(("log",), listed),
}


@forks
@pytest.mark.parametrize("name", CASES)
def test_killed_at_each_file_operation_a_command_has_done_nothing_or_all(
    name, tmp_path, monkeypatch
):
    case = CASES[name]
    if name == "binder":  # what it draws with is loaded once, not in each process
        room(tmp_path / "warm")
        render_html(Journal(tmp_path / "warm" / "journal"))
    at, deaths = 0, 0
    while True:
        at += 1
        here = tmp_path / str(at)
        room(here)
        case.before(here)
        monkeypatch.chdir(here)
        # Every tenth operation on the demo's many files stands for all of them.
        died = killed_at(case.do, here, 10 * at - 9 if name == "demo" else at)
        reached = case.state(here)
        assert reached in (1, 2), at
        if not died:
            assert reached == 2
            break
        deaths += 1
        if case.once and reached == 2:
            with pytest.raises((FitkitError, RuntimeError)):
                case.do()
        else:
            assert not killed_at(case.do, here, 0)
        assert case.state(here) >= 2, at
        assert lonely(here) == set(), at
        left = [path for path in here.rglob(".*") if path.suffix in (".part", ".plan", ".old")]
        assert left == [], at
    assert deaths >= 2


def test_a_change_of_a_machine_is_what_the_case_takes_it_for(tmp_path):
    """The counts above see a record that came."""
    room(tmp_path)
    assert records(tmp_path) == 1
    Journal(tmp_path / "journal").add(MachineRecord(printer="bench", what="nozzle"))
    assert records(tmp_path) == 2
