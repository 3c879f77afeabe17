"""Each command that writes, on a disk that fills up or may not be written: told, nothing half done.

The system refuses what takes room from one operation on, and goes on refusing. The command ends
with status 2 and a message, or does without what it could not write; what was there is as it was.
With room again, the same command does it, and leaves nothing of its first try.
"""

from __future__ import annotations

import errno
import os
from typing import TYPE_CHECKING

import pytest

from fitkit.journal import Journal
from fitkit.journal.binder import render_html
from fitkit.views.shell import main
from tests.kill_points import forks, killed_at, refused_from
from tests.views.test_kills import CASES, lonely, room

if TYPE_CHECKING:
    from pathlib import Path


def kept(folder: Path) -> dict[str, bytes]:
    """All that was typed or made, which a command that fails leaves as it was."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }


def do(name: str) -> None:
    case = CASES[name]
    if callable(case.words):
        case.words()
    else:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        main(list(case.words))


# One of each way in which files are written; the others take theirs through the same code.
_QUICK = ("fitted", "decide", "decide in the grid", "begin", "demo", "order", "tag", "material")


@forks
@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EROFS], ids=["full", "read-only"])
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if name in _QUICK else pytest.mark.slow) for name in CASES],
)
def test_a_disk_that_takes_no_more_leaves_all_as_it_was_or_done(name, error, tmp_path, monkeypatch):
    case = CASES[name]
    if name == "binder":  # what it draws with is loaded once, not in each process
        room(tmp_path / "warm")
        render_html(Journal(tmp_path / "warm" / "journal"))
    refused = 0
    for at in range(1, 500):
        here = tmp_path / str(at)
        room(here)
        case.before(here)
        monkeypatch.chdir(here)
        before = kept(here)
        first = 10 * at - 9 if name == "demo" else at
        if not refused_from(lambda: do(name), here, first, error):
            assert case.state(here) == 2
            break
        refused += 1
        reached = case.state(here)
        assert reached in (1, 2), at
        if reached == 1:
            assert kept(here) == before, at
        if error == errno.EROFS and at > 1:
            break  # a disk that may not be written refuses from the start
        if not (case.once and reached == 2):
            assert not killed_at(case.do, here, 0)
        assert case.state(here) >= 2, at
        assert lonely(here) == set(), at
        left = [path for path in here.rglob(".*") if path.suffix in (".part", ".plan", ".old")]
        assert left == [], at
    assert refused >= 1
