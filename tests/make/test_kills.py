"""Commands that make parts, stopped at each of their file operations: files and record together.

A folder holds one print, whole, whose code the journal knows, or what it held before; what belongs
to the files, such as a form to fill, comes with them. The next start says what it settles, and
leaves nothing of the stopped one.
"""

from __future__ import annotations

import re
import zipfile
from typing import TYPE_CHECKING

import pytest

from fitkit.core.errors import SheetError
from fitkit.core.staged import settle
from fitkit.journal import Journal
from fitkit.make import make_exhibit
from tests.kill_points import program, states_at_kills

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

SHEET = """\
schema = 1
title = "TITLE"
template = "spacer"
[printer]
generic = "PETG"
[values]
height = "10 mm"
[outputs]
files = ["3mf", "sheet"]
"""
TRAY = """\
schema = 1
title = "long tray"
template = "tray insert"
readings = "tray.csv"
[printer]
generic = "PETG"
[values]
drawer_length = "box_length"
drawer_width = "box_width"
[use]
handling = "decor only"
[outputs]
files = ["3mf", "sheet"]
"""
READINGS = "feature,mode,reading,unit\nbox length,inside,118.40,mm\nbox width,inside,64.30,mm\n"


def typed(*words: str) -> str:
    """Give code that runs a command as a shell does."""
    return f"from fitkit.views.shell import main\nmain({list(words)!r})"


def workshop(folder: Path) -> None:
    (folder / "workshop.toml").write_text('schema = 1\ntitle = "bench"\n', encoding="utf-8")
    (folder / "spacer.toml").write_text(SHEET.replace("TITLE", "spacer"), encoding="utf-8")
    (folder / "tray.toml").write_text(TRAY, encoding="utf-8")
    (folder / "tray.csv").write_text(READINGS, encoding="utf-8")
    rows = "title,values.height\nlow,8 mm\nhigh,12 mm\n"
    (folder / "many.csv").write_text(rows, encoding="utf-8")


def journal(folder: Path) -> Journal:
    return Journal(folder / "journal")


def codes(folder: Path) -> set[str]:
    held = journal(folder)
    assert held.damaged == ()
    found = held.records("print")
    bodies = {path.name for path in (held.folder / "bodies").glob("[!.]*")}
    assert bodies >= {one.bodies.name for one in found if one.bodies}
    return {one.code for one in found}


def code_of(folder: Path) -> str | None:
    """The one code of all files of a folder that bear one; None if there is no file."""
    if not folder.exists():
        return None
    found = set()
    for path in folder.glob("*.3mf"):
        with zipfile.ZipFile(path) as archive:
            model = archive.read("3D/3dmodel.model").decode()
        found |= set(re.findall(r"trace code ([0-9A-Z]{7})", model))
    for path in folder.glob("*.html"):
        found |= set(re.findall(r"trace code[^A-Z0-9]{1,40}([0-9A-Z]{7})", path.read_text("utf-8")))
    assert len(found) <= 1, found
    return found.pop() if found else None


def left(folder: Path) -> list[str]:
    kinds = (".part", ".plan", ".old", ".ready")
    return [path.name for path in folder.rglob(".*") if path.suffix in kinds]


def settled(here: Path, out: str) -> None:
    Journal(here / "journal").settle()
    settle(here, here / out)
    assert left(here) == []


def swept(
    act: str,
    here: Path,
    out: str,
    *,
    before: str = "",
    beside: tuple[str, ...] = (),
    again: Callable[[int], bool] = lambda at: at == 12,
) -> None:
    """Stop an act at each of its operations, and do it again after some of them."""
    if before:
        program(before, here)
    old_codes, old = codes(here), code_of(here / out)
    told = {"old": 0, "new": 0}
    for at in states_at_kills(act, here, here.with_name("kept")):
        assert code_of(here / out) in {None, *codes(here)}, at  # before anything is settled
        settled(here, out)
        known, code = codes(here), code_of(here / out)
        assert known in (old_codes, {*old_codes, code}), at
        assert (code != old) == (known != old_codes), at
        for name in beside:
            assert (here / out / name).is_file() == (code != old), (at, name)
        assert len(list((here / "journal" / "bodies").glob("[!.]*"))) == len(known), at
        told["old" if code == old else "new"] += 1
        if again(at) and not (beside and code != old):  # a form that may be filled stays
            program(act, here)
            assert code_of(here / out) in codes(here) - known, at
            assert left(here) == [], at
        if before:
            assert (here / out / "mine.txt").read_text("utf-8") == "keep"
    assert code != old
    assert told["old"] >= 10
    assert told["new"] >= 2


MAKE_FIRST = f"""
from pathlib import Path
try:
    {typed("make", "spacer.toml", "--into", "out").replace(chr(10), chr(10) + "    ")}
except SystemExit as end:
    assert not end.code
Path("out", "mine.txt").write_text("keep", encoding="utf-8")
"""


@pytest.fixture
def here(monkeypatch, tmp_path):
    folder = tmp_path / "bench"
    folder.mkdir()
    workshop(folder)
    monkeypatch.chdir(folder)
    return folder


ACTS = {
    "make": ("make", "spacer.toml", "--into", "out"),
    "trial piece": ("trial-piece", "tray.toml", "length", "--into", "out"),
    "coupon": ("coupon", "out", "--printer", "bench", "--piece", "check"),
    "ladder": ("ladder", "out", "peg and hole", "slides", "8 mm", "--generic", "PETG",
               "--specimens", "1"),
    "strips": ("strips", "out"),
}  # fmt: skip
_QUICK = ("make", "coupon")  # the others take their way through the same code
BESIDE = {
    "coupon": ("coupon_readings.csv", "coupon_order.html"),
    "strips": ("strips.toml",),
}


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if name in _QUICK else pytest.mark.slow) for name in ACTS],
)
def test_stopped_at_each_file_operation_files_and_record_come_together(here, name):
    swept(typed(*ACTS[name]), here, "out", beside=BESIDE.get(name, ()))


def test_into_a_folder_with_another_print_and_a_file_of_ones_own(here):
    swept(typed(*ACTS["make"]), here, "out", before=MAKE_FIRST)


@pytest.mark.slow
@pytest.mark.parametrize("there", [False, True], ids=["fresh", "existing"])
def test_the_same_command_again_makes_it_wherever_it_was_stopped(here, there):
    before = MAKE_FIRST if there else ""
    swept(typed(*ACTS["make"]), here, "out", before=before, again=lambda at: True)


@pytest.mark.parametrize(
    "there", [False, pytest.param(True, marks=pytest.mark.slow)], ids=["fresh", "existing"]
)
def test_reprint_stopped_at_each_file_operation_gives_all_files_or_what_was_there(here, there):
    program(MAKE_FIRST, here)
    (code,) = codes(here)
    if there:
        (here / "again").mkdir()
        (here / "again" / "mine.txt").write_text("keep", encoding="utf-8")
    record = journal(here).print_of(code)
    told = set()
    act = typed("reprint", code, "--into", "again")
    for at in states_at_kills(act, here, here.with_name("kept")):
        settled(here, "again")
        names = {path.name for path in (here / "again").glob("*")} - {"mine.txt"}
        assert names in (set(), {file.name for file in record.files}), at
        assert code_of(here / "again") == (code if names else None), at
        assert codes(here) == {code}, at
        assert not there or (here / "again" / "mine.txt").is_file(), at
        told.add(bool(names))
        if at == 3:
            program(act, here)
            assert code_of(here / "again") == code
            assert left(here) == []
    assert told == {True, False}


# What the processes of `make-many` do, a row after the other, and the report.
MANY = """
from pathlib import Path
from fitkit.make.many import do_job, jobs, write_report
into = Path("many")
write_report(into, [do_job(job) for job in jobs("many.csv", "spacer.toml", into)])
"""


def test_many_stopped_at_each_file_operation_has_each_row_whole_or_not_and_goes_on(here):
    for at in states_at_kills(MANY, here, here.with_name("kept")):
        Journal(here / "journal").settle()
        rows = [path for path in (here / "many").glob("[!.]*") if path.is_dir()]
        for row in rows:
            settle(row.parent, row)
        made = {code for row in rows if (code := code_of(row))}
        assert made == codes(here), at
        report = here / "many" / "report.csv"
        assert not report.exists() or report.read_text("utf-8").count("\n") == 3, at
        if at in (8, 40):  # in the midst of the first row, and of the second
            program(MANY, here)
            assert len(codes(here)) == 2
            assert made <= codes(here)  # a row that was made is not made again
            assert left(here) == [], at
    assert len(codes(here)) == 2


EXHIBIT = """\
# the one in the hall
schema = 1
title = "hall"
[[parts]]
name = "left"  # as seen from the door
sheet = "spacer.toml"
state = "to print"
[[parts]]
name = "right"
sheet = "spacer.toml"
state = "to print"
"""


@pytest.mark.slow
def test_an_exhibits_plates_stopped_anywhere_are_printed_once_and_named_in_its_file(here):
    from fitkit.make import load_exhibit

    def named() -> set[str]:
        return {part.code for part in load_exhibit(here / "hall.toml").parts if part.code}

    (here / "hall.toml").write_text(EXHIBIT, encoding="utf-8")
    act = typed("plate", "hall.toml", "--into", "job")
    told, taken_over = set(), 0
    for at in states_at_kills(act, here, here.with_name("kept")):
        settled(here, "job")
        known = codes(here)
        assert (len(known) == 2) == (here / "job").exists(), at
        for record in journal(here).records("print"):
            assert all((here / "job" / file.name).is_file() for file in record.files), at
        assert named() in (set(), known), at
        assert (here / "hall.toml").read_text("utf-8").startswith("# the one in the hall"), at
        told.add((len(known), len(named())))
        if known and not named():  # what was printed is written down, and not printed twice
            with pytest.raises(SheetError, match="made already by a run that was stopped"):
                make_exhibit(here / "hall.toml", into=here / "job")
            assert named() == known == codes(here), at
            taken_over += 1
    assert {(0, 0), (2, 2)} <= told
    assert taken_over


def test_a_part_whose_code_is_taken_out_by_hand_is_printed_once_more(here):
    """Nothing is taken over that is older than the last change of the exhibit's file."""
    (here / "hall.toml").write_text(EXHIBIT.partition('[[parts]]\nname = "right"')[0], "utf-8")
    make_exhibit(here / "hall.toml", into=here / "job")
    (here / "hall.toml").write_text(EXHIBIT.partition('[[parts]]\nname = "right"')[0], "utf-8")
    make_exhibit(here / "hall.toml", into=here / "second")
    assert len(codes(here)) == 2


@pytest.mark.slow
def test_a_page_to_share_is_whole_or_not_there_wherever_it_was_stopped(here):
    program(MAKE_FIRST, here)
    (code,) = codes(here)
    act = typed("share", code, "--into", "shared")
    told = set()
    for at in states_at_kills(act, here, here.with_name("kept")):
        settled(here, "shared")
        pages = list((here / "shared").glob("[!.]*"))
        for page in pages:
            assert page.read_text("utf-8").rstrip().endswith("</html>"), at
        assert codes(here) == {code}, at
        told.add(len(pages))
        if at == 1:
            program(act, here)
            assert left(here) == [], at
    assert told == {0, 1}
