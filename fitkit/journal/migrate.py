"""Old records read as new ones: one step a schema version, each a function of plain data.

The file itself is never rewritten. A record of a later schema is refused by name, not guessed at.
So each change to the fields of a record raises `SCHEMA`: an older release then says that the record
is newer, and does not call it damaged.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import Field, TypeAdapter, ValidationError

from fitkit.core.errors import JournalError
from fitkit.core.models import faults_of
from fitkit.journal.records import (
    SCHEMA,
    CouponRecord,
    MachineRecord,
    NoteRecord,
    PrintRecord,
    Record,
    TrialRecord,
)

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["MAX_BYTES", "NEWER", "read_record"]

# A record with every field filled takes some tens of kB.
MAX_BYTES = 10_000_000
# Code of the refusal of a record that is sound, and too new for this release.
NEWER = "journal.later-schema"
# We write no more than 30 levels in any one field.
MOST_DEEP = 60

_ANY = Annotated[
    PrintRecord | TrialRecord | CouponRecord | MachineRecord | NoteRecord,
    Field(discriminator="kind"),
]
_AnyRecord = TypeAdapter[Record](_ANY)


def read_record(raw: bytes, *, where: str = "record") -> Record:
    """Read a record of any schema version from its file's content.

    Raises
    ------
    JournalError
        If it is half a file, no JSON, of a later fitkit, or lacks what a record must hold.
    """
    if len(raw) > MAX_BYTES:
        raise JournalError(
            "it is too large for a record", file=where, code="journal.record-too-large"
        )
    try:
        content = json.loads(raw)
    except (ValueError, RecursionError) as error:
        what = "it is empty" if not raw.strip() else f"it is not whole JSON: {error}"
        raise JournalError(what, file=where, code="journal.not-json", remedy=_RESTORE) from error
    if _depth_beyond(content, MOST_DEEP):
        raise JournalError(
            f"it is nested more than {MOST_DEEP} deep",
            file=where,
            code="journal.too-deep",
            remedy=_RESTORE,
        )
    if not isinstance(content, dict):
        raise JournalError(
            "it is not a record", file=where, code="journal.not-a-record", remedy=_RESTORE
        )
    try:
        return _AnyRecord.validate_python(upgraded(content, where=where))
    except ValidationError as error:
        raise faults_of(error, model=_ANY, error=JournalError, file=where, remedy=_RESTORE).faults[
            0
        ] from error


def _depth_beyond(content: Any, most: int) -> bool:
    """Tell whether plain data is nested deeper than this."""
    level = [content]
    for _ in range(most):
        level = [
            inner
            for item in level
            if isinstance(item, (dict, list))
            for inner in (item.values() if isinstance(item, dict) else item)
            if isinstance(inner, (dict, list))
        ]
        if not level:
            return False
    return True


_RESTORE = "Restore the file from a copy or the version history."


def upgraded(content: dict[str, Any], *, where: str = "record") -> dict[str, Any]:
    """Bring plain data to the present schema.

    Raises
    ------
    JournalError
        If its schema is missing or later than this fitkit knows.
    """
    version = content.get("schema")
    if not isinstance(version, int) or version < 1:
        raise JournalError(
            "it names no schema version", file=where, code="journal.no-schema", remedy=_RESTORE
        )
    if version > SCHEMA:
        raise JournalError(
            f"a newer release of fitkit wrote it (schema {version}; this one reads up to {SCHEMA})",
            file=where,
            code=NEWER,
            remedy="Update fitkit. The file is sound.",
        )
    for step in range(version, SCHEMA):
        content = _STEPS[step](content) | {"schema": step + 1}
    return content


def _from_1(old: dict[str, Any]) -> dict[str, Any]:
    """Schema 1 had a date without time or zone, one text as notes, and hashes as a mapping."""
    new = dict(old)
    made_on = new.pop("made_on", None)
    if made_on is not None:
        # The hour is not known; noon UTC is the same day in most time zones.
        new["made_at"] = f"{made_on}T12:00:00Z"
    if isinstance(new.get("notes"), str):
        new["notes"] = [new["notes"]] if new["notes"] else []
    for key in ("readings", "files"):
        if isinstance(new.get(key), dict):
            new[key] = [{"name": name, "sha256": value} for name, value in new[key].items()]
    return new


def _from_2(old: dict[str, Any]) -> dict[str, Any]:
    """Schema 3 has more fields, all of which may be absent; its number keeps older releases off."""
    return old


_STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {1: _from_1, 2: _from_2}
