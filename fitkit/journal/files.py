"""One record's file: its name, how it is read, and what to say if it cannot be."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Protocol

from fitkit.core.errors import JournalError
from fitkit.core.files import read_plain
from fitkit.journal.migrate import MAX_BYTES, NEWER, read_record

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fitkit.core.errors import FitkitError
    from fitkit.journal.records import Record

__all__ = ["RECORD_NAME", "Damage", "HasFolder", "doubt_of", "read_file", "set_aside"]

# Day and trace code, in groups 1 and 2.
RECORD_NAME = re.compile(r"(\d{4}-\d{2}-\d{2})-([0-9A-Z]+)\.json$")


# Clocks of several machines differ; by more than this, one is wrong.
AHEAD = timedelta(days=1)
FUTURE = "dated in the future,"


class HasFolder(Protocol):
    """What has the records of one folder, such as a `Journal`."""

    folder: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """A file that could not be read as a record, and why.

    A `newer` one is sound, and was written by a release of fitkit that knows more than this one.
    """

    name: str
    why: str
    newer: bool = False

    @classmethod
    def of(cls, name: str, error: FitkitError) -> Damage:
        """Take name and reason of the file whose reading ended with an error."""
        return cls(name=name, why=error.advice, newer=error.code == NEWER)

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.name}: {self.why}"


def read_file(path: Path) -> Record:
    """Read one record's file.

    A record from the future, which a clock that was wrong has dated, counts as made when its file
    was written, and says so in its notes: it must not have the last word for ever.

    Raises
    ------
    JournalError
        If it cannot be read, is not a plain file, or bears another record's code.
    """
    try:
        raw = read_plain(path, max_bytes=MAX_BYTES)
        written = path.stat().st_mtime
    except OSError as error:
        raise JournalError(
            f"this file cannot be read: {error.strerror}",
            file=path.name,
            code="journal.record-unreadable",
        ) from error
    record = read_record(raw, where=path.name)
    match = RECORD_NAME.match(path.name)
    if match and match[2] != record.code:
        raise JournalError(
            f"its name is not that of record {record.code}, which it holds",
            file=path.name,
            code="journal.record-misnamed",
            remedy="Rename the file.",
        )
    now = datetime.now(UTC)
    if record.made_at <= now + AHEAD:
        return record
    when = min(datetime.fromtimestamp(written, UTC), now)
    return record.model_copy(
        update={
            "made_at": when,
            "notes": (
                *record.notes,
                f"{FUTURE} {record.made_at:%Y-%m-%d}: a clock was wrong. It counts as made on "
                f"{when:%Y-%m-%d}, when its file was written",
            ),
        }
    )


def set_aside(damaged: Sequence[Damage], *, most: int = 20) -> tuple[str, ...]:
    """Say which files an answer leaves out, a line each, and how many more there are.

    Parameters
    ----------
    damaged : sequence of Damage
    most : int
        How many are named of those that are damaged, and of those that are newer.

    Returns
    -------
    tuple of str
        Empty if there are none.
    """
    lines: list[str] = []
    for newer, head in (
        (False, "set aside and not counted, because it cannot be read"),
        (True, "set aside and not counted, because this release of fitkit is too old for it"),
    ):
        these = [item for item in damaged if item.newer is newer]
        lines += [f"{head}: {item}" for item in these[:most]]
        if len(these) > most:
            lines.append(f"{head}: {len(these) - most} further records")
    return tuple(lines)


def doubt_of(record: Record) -> str:
    """Say what is doubtful about a record as it was read; empty if nothing is."""
    said = [note for note in record.notes if note.startswith(FUTURE)]
    return f"record {record.code} is {said[-1]}" if said else ""
