"""What is fed hostile bytes: each target loads them, and may end in nothing but a plain refusal.

A target takes bytes and returns; any error but a `FitkitError` with a message fit for a person is a
find. The same functions serve the quick tests and the long runs of `python -m tests.fuzz`.
"""

from __future__ import annotations

import atexit
import contextlib
import functools
import io
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import FitkitError
from fitkit.demo import copy_demo

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["ROOT", "TARGETS", "run", "seeds"]

ROOT = Path(__file__).parents[2]
CORPUS = Path(__file__).parent / "corpus"


@functools.cache
def _folder() -> Path:
    """A folder of our own, with the demo's files for sheets to name; in memory where there is."""
    memory = Path("/dev/shm")
    folder = Path(tempfile.mkdtemp(prefix="fuzz-", dir=memory if memory.is_dir() else None))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    copy_demo(folder)
    return folder


def _file(name: str, data: bytes) -> Path:
    path = _folder() / "measurements" / name
    path.write_bytes(data)
    return path


def _text(data: bytes) -> str:
    return data.decode("utf-8", errors="surrogateescape")


def length(data: bytes) -> None:
    """A typed length; the first byte chooses the table's unit and decimal sign."""
    from fitkit.core.units import parse_length

    first = data[0] if data else 0
    parse_length(_text(data[1:]), (None, "mm", "in")[first % 3], (None, ".", ",")[first // 3 % 3])


def expression(data: bytes) -> None:
    from fitkit.flow.expressions import evaluate

    evaluate(_text(data), _estimates())


@functools.cache
def _estimates():
    from fitkit.stats.uncertainty import Estimate

    names = ("board length", "board_width", "span-x outer", "1st hole", "max")
    return {name: Estimate.of(name, 10.0 + n, 0.02) for n, name in enumerate(names)}


def trace_code(data: bytes) -> None:
    from fitkit.journal.codes import normal_code

    normal_code(_text(data))


def record(data: bytes) -> None:
    from fitkit.journal.migrate import read_record

    read_record(data, where="record")


def journal_folder(data: bytes) -> None:
    """A folder whose newest record is damaged still lists the others."""
    from fitkit.journal import Journal

    folder = _folder() / "journal"
    folder.mkdir(exist_ok=True)
    good = sorted((ROOT / "measurements" / "journal").glob("2*.json"))[0]
    shutil.copy(good, folder / good.name)
    (folder / "2026-11-25-K7M3PXA.json").write_bytes(data)
    (folder / ".index.json").unlink(missing_ok=True)
    journal = Journal(folder)
    assert good.stem.rpartition("-")[2] in {r.code for r in journal.records(corrected=True)}
    journal.table()


def trials_table(data: bytes) -> None:
    from fitkit.journal.spreadsheet import read_trials

    read_trials(_file("trials.csv", data))


def readings(data: bytes) -> None:
    """A readings file; what was read is also summed up, which finds what averages cannot bear."""
    from fitkit.readings import ReadingTable
    from fitkit.stats import estimates

    first = data[0] if data else 0
    table = ReadingTable.read(_file("readings.csv", data[1:]), unit=(None, "mm")[first % 2])
    estimates(table)


def round_trip(data: bytes) -> None:
    """What is read and written reads back: each cell of the user's own, and what counts."""
    from fitkit.readings import ReadingTable
    from fitkit.readings.schema import COMPUTED

    table = ReadingTable.read(_file("trip.csv", data), unit="mm")
    path = _folder() / "measurements" / "again.csv"
    path.unlink(missing_ok=True)
    again = ReadingTable.read(table.write(path), unit="mm")
    # A declared unit and decimal sign are written out with each reading that took them.
    changed = ("unit", *(("reading",) if table.decimal == "," else ()))
    names = [name for name in table.frame if name not in COMPUTED]
    assert [name for name in again.frame if name not in COMPUTED] == names
    for name in names:
        if name not in changed:
            before, after = table.frame[name].tolist(), again.frame[name].tolist()
            assert before == after, (
                name,
                [c for c in zip(before, after, strict=False) if c[0] != c[1]],
            )
    assert table.counted["value_mm"].tolist() == again.counted["value_mm"].tolist()


def workshop_file(data: bytes) -> None:
    from fitkit.workshop import find_workshop

    folder = _folder() / "a workshop"
    folder.mkdir(exist_ok=True)
    (folder / "workshop.toml").write_bytes(data)
    find_workshop(folder)


def cache(data: bytes) -> None:
    """A journal whose cache is damaged in any way says what it says without one."""
    from fitkit.journal import Journal
    from fitkit.journal.index import CACHE

    folder = _folder() / "cached"
    if not folder.exists():
        folder.mkdir()
        for path in sorted((ROOT / "measurements" / "journal").glob("2*.json"))[:3]:
            shutil.copy(path, folder / path.name)
    (folder / CACHE).write_bytes(data)
    journal = Journal(folder)
    assert len(journal.records(corrected=True)) == 3
    journal.table()


def pasted(data: bytes) -> None:
    from fitkit.readings import ReadingTable

    ReadingTable.paste(_text(data), unit="mm")


def workbook(data: bytes) -> None:
    from fitkit.readings import ReadingTable

    ReadingTable.read(_file("readings.xlsx", data), unit="mm")


def sheet(data: bytes) -> None:
    from fitkit.flow import load_sheet

    load_sheet(_file("sheet.toml", data))


def plan(data: bytes) -> None:
    """A sheet that loads is worked out as well: readings, profile, expressions, fits, sizes."""
    from fitkit.flow import load_sheet, prepare

    prepare(load_sheet(_file("plan.toml", data)))


def profile(data: bytes) -> None:
    """A profile that loads also predicts."""
    from fitkit.calibration import load_profile

    loaded = load_profile(_file("profile.toml", data))
    loaded.predict(20.0, kind="outside", axis="x")
    loaded.summary()


def instruments(data: bytes) -> None:
    from fitkit.readings import load_instruments

    load_instruments(_file("instruments.toml", data))


def material(data: bytes) -> None:
    from fitkit.checks import load_material

    load_material(_file("material.toml", data))


def variants(data: bytes) -> None:
    """The table of `make-many`."""
    from fitkit.make.many import jobs

    folder = _folder()
    jobs(_file("many.csv", data), folder / "measurements" / "sound_board.toml", folder / "made")


def mesh_file(data: bytes) -> None:
    from fitkit.export.threemf import read_3mf

    read_3mf(_file("part.3mf", data))


def command_line(data: bytes) -> None:
    """Words of a command; status 0, 1 or 2 and no traceback, whatever they are."""
    from fitkit.views.shell import main

    words = [word for word in _text(data).split("\n")[:8] if "\0" not in word]
    # Words that name files stay in our folder, and no word makes a part, a server or a new folder.
    if not words or words[0] not in _COMMANDS or any(".." in w or w.startswith("/") for w in words):
        return
    said, error = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(_folder() / "measurements"),
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(error),
    ):
        code = None
        try:
            main(words)
        except SystemExit as end:
            code = end.code
    assert code in (0, 1, 2), code
    assert "Traceback" not in error.getvalue()


_COMMANDS = ("readings", "calibrate", "log", "show", "history", "success", "note", "fitted", "tag")

TARGETS: dict[str, Callable[[bytes], None]] = {
    target.__name__: target
    for target in (
        length,
        expression,
        trace_code,
        record,
        journal_folder,
        trials_table,
        readings,
        round_trip,
        workshop_file,
        cache,
        pasted,
        workbook,
        sheet,
        plan,
        profile,
        instruments,
        material,
        variants,
        mesh_file,
        command_line,
    )
}


def run(target: Callable[[bytes], None], data: bytes) -> None:
    """Run a target; a refusal in plain words is what it may do."""
    try:
        target(data)
    except FitkitError as error:
        message = str(error)
        assert message.strip(), "refused without a word"
        assert "Traceback" not in message


@functools.cache
def _a_cache() -> bytes:
    from fitkit.journal import Journal
    from fitkit.journal.index import CACHE

    with tempfile.TemporaryDirectory() as folder:
        for path in sorted((ROOT / "measurements" / "journal").glob("2*.json"))[:3]:
            shutil.copy(path, folder)
        Journal(folder).records()
        return (Path(folder) / CACHE).read_bytes()


def seeds(name: str) -> list[bytes]:
    """Inputs to begin with: the fixed corpus (every find among it), and the demo's own files."""
    folder = CORPUS / name
    kept = [path.read_bytes() for path in sorted(folder.iterdir())] if folder.is_dir() else []
    demo = {
        "record": "measurements/journal/2*.json",
        "journal_folder": "measurements/journal/2*.json",
        "sheet": "measurements/*.toml",
        "plan": "measurements/*.toml",
        "profile": "shared/profiles/*.toml",
        "instruments": "shared/instruments/*.toml",
        "material": "shared/materials/*.toml",
        "readings": "measurements/readings/sound_board.csv",
        "round_trip": "measurements/readings/sound_board.csv",
        "trials_table": "tests/fuzz/corpus/trials_table/*",
        "workshop_file": "measurements/workshop.toml",
        "pasted": "measurements/readings/sound_board.csv",
    }.get(name)
    own = [path.read_bytes() for path in sorted(ROOT.glob(demo))][:3] if demo else []
    if name == "readings":
        own = [b"\1" + own[0][:1500]]
    if name in ("round_trip", "pasted"):
        own = [own[0][:1500]]
    if name == "cache":
        own = [_a_cache()]
    return kept + own
