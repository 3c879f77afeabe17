"""One record's file: its name, how it is read, and what to say if it cannot be."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from fitkit.core.errors import FitkitError, JournalError
from fitkit.journal.migrate import MAX_BYTES, read_record

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.records import Record

__all__ = ["RECORD_NAME", "Damage", "HasFolder", "read_file"]

# Day and trace code, in groups 1 and 2.
RECORD_NAME = re.compile(r"(\d{4}-\d{2}-\d{2})-([0-9A-Z]+)\.json$")


class HasFolder(Protocol):
    """What has the records of one folder, such as a `Journal`."""

    folder: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Damage:
    """A file that could not be read as a record, and why."""

    name: str
    why: str

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.name}: {self.why}"


def read_file(path: Path) -> Record:
    """Read one record's file.

    Raises
    ------
    JournalError
        If it cannot be read, or bears another record's code.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JournalError(
                "this file is too large for a record",
                file=path.name,
                code="journal.record-too-large",
            )
        raw = path.read_bytes()
    except FitkitError:
        raise
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
    return record
