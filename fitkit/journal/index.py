"""A cache of what tables and searches need of each record, rebuilt from the files at any time.

Records never change, so a row holds as long as its file has the same size and time of change. The
cache lies beside the records as ``.index.json``; deleting it, damaging it, or two programs writing
it at once costs a rebuild and nothing else.
"""

from __future__ import annotations

import contextlib
import json
import os
from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import FitkitError
from fitkit.core.files import read_plain, write_atomic
from fitkit.journal.files import RECORD_NAME, Damage, doubt_of, read_file

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.files import HasFolder
    from fitkit.journal.records import Record

__all__ = ["CACHE", "Index", "forget", "row_of"]

CACHE = ".index.json"
# Raised when rows hold other things than before; an older cache is then dropped.
_LAYOUT = 5
# A row has less than 2 kB, so this is enough for 100,000 records.
_MOST_BYTES = 200_000_000
_HELD = ("of", "supersedes", "template", "printer", "material", "maker")
_WORDS = (*_HELD, "file", "kind", "code", "made_at", "part", "text", "doubt")
Row = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Index:
    """Rows of all sound records, oldest first, and the files that cannot be read as records.

    A row holds: file, stamp, kind, code, made_at, of, supersedes, part, template, printer,
    material, verdicts (of a trial, by fit), withdrawn, maker, doubt, text (all words, in small
    letters).
    """

    rows: tuple[Row, ...]
    damaged: tuple[Damage, ...]

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is doubtful about records that count, a sentence each."""
        return tuple(row["doubt"] for row in self.rows if row["doubt"])

    @classmethod
    def of(cls, journal: HasFolder) -> Index:
        """Bring the cache of a journal up to date, and give it."""
        return _index(journal.folder)


def _index(folder: Path) -> Index:
    stamps = _stamps(folder)
    cached = _load(folder)
    rows: list[Row] = []
    fresh = len(cached) != len(stamps)
    for name, stamp in stamps.items():
        row = cached.get(name)
        if row is None or row.get("stamp") != stamp:
            row, fresh = _row(folder / name, stamp), True
        rows.append(row)
    if fresh and stamps:
        _save(folder, rows)
    good = [row for row in rows if "damage" not in row]
    good.sort(key=lambda row: (row["made_at"], row["file"]))
    damaged = tuple(Damage(name=row["file"], why=row["damage"]) for row in rows if "damage" in row)
    return Index(rows=tuple(good), damaged=damaged)


def _stamps(folder: Path) -> dict[str, list[int]]:
    """Size and time of change of each record's file, by name."""
    if not folder.is_dir():
        return {}
    found = {}
    with os.scandir(folder) as entries:
        for entry in entries:
            if RECORD_NAME.match(entry.name):
                try:
                    stat = entry.stat()
                    found[entry.name] = [stat.st_size, stat.st_mtime_ns]
                except FileNotFoundError:  # moved away since, or a link to nothing
                    if entry.is_symlink():
                        found[entry.name] = [0, 0]
                except OSError:  # a ring of links
                    found[entry.name] = [0, 0]
    return dict(sorted(found.items()))


def _load(folder: Path) -> dict[str, Row]:
    try:
        content = json.loads(read_plain(folder / CACHE, max_bytes=_MOST_BYTES))
        if content["layout"] != _LAYOUT:
            return {}
        return {row["file"]: row for row in content["rows"] if _is_row(row)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _is_row(row: Row) -> bool:
    """Tell whether a row of the cache holds what `row_of` puts into one, or a damage."""
    if "damage" in row:
        return isinstance(row["damage"], str)
    return (
        all(isinstance(row[name], str) for name in _WORDS)
        and isinstance(row["verdicts"], dict)
        and isinstance(row["withdrawn"], bool)
    )


def forget(folder: Path) -> None:
    """Drop the cache, where a record no longer says what it did: it is made again when asked."""
    with contextlib.suppress(OSError):
        (folder / CACHE).unlink()


def _save(folder: Path, rows: list[Row]) -> None:
    # A journal on a read-only or full disk still reads; it is only slower.
    with contextlib.suppress(FitkitError):
        write_atomic(folder / CACHE, json.dumps({"layout": _LAYOUT, "rows": rows}))
        ignore = folder / ".gitignore"
        if not ignore.exists():
            write_atomic(
                ignore,
                "# rebuilt from the records at any time\n.index.json\n*.part\n.*.lock\n.*.plan\n",
            )


def _row(path: Path, stamp: list[int]) -> Row:
    try:
        return {"file": path.name, "stamp": stamp} | row_of(read_file(path))
    except FitkitError as error:
        why = error.advice
    except Exception as error:  # no record, whatever it holds, may stop the others
        why = f"it cannot be used: {error!r:.200}"
    return {"file": path.name, "stamp": stamp, "damage": why}


def row_of(record: Record) -> Row:
    """Take from a record what tables and searches need."""
    held = {name: getattr(record, name, None) or "" for name in _HELD}
    fits = getattr(record, "fits", ())
    words = [record.code, *held.values(), *record.notes, record.reason]
    words += [getattr(record, name, "") for name in ("title", "spool", "what", "was", "now")]
    for fit in fits:
        words += [fit.name, fit.pair or "", getattr(fit, "wanted", ""), getattr(fit, "note", "")]
    words += [photo.caption for photo in record.photos]
    return {
        "kind": record.kind,
        "code": record.code,
        "made_at": record.made_at.astimezone(UTC).isoformat(),
        "part": getattr(record, "title", ""),
        "verdicts": {fit.name: fit.verdict for fit in fits if getattr(fit, "verdict", None)},
        "withdrawn": getattr(record, "withdrawn", False),
        "doubt": doubt_of(record),
        "text": " ".join(filter(None, words)).casefold(),
    } | held
