"""A cache of what tables and searches need of each record, rebuilt from the files at any time.

Records never change, so a row holds as long as its file has the same size and time of change. The
cache lies beside the records as ``.index.json``; deleting it, damaging it, or two programs writing
it at once costs a rebuild and nothing else.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NamedTuple

from fitkit.core.bulk import without_collector
from fitkit.core.errors import FitkitError
from fitkit.core.files import read_plain, write_atomic
from fitkit.journal.files import RECORD_NAME, Damage, doubt_of, read_file

if TYPE_CHECKING:
    from pathlib import Path

    from fitkit.journal.files import HasFolder
    from fitkit.journal.records import Record

__all__ = ["CACHE", "Index", "Row", "forget"]

CACHE = ".index.json"
# Raised when rows hold other things than before; an older cache is then dropped.
_LAYOUT = 7
# A row has less than 2 kB, so this is enough for 100,000 records.
_MOST_BYTES = 200_000_000
_HELD = ("of", "supersedes", "template", "printer", "material", "maker")


class Row(NamedTuple):
    """What is kept of one record: a tuple, because a journal may have 100,000 of them.

    `size` and `changed` are those of its file, bytes and ns; `verdicts` are a trial's, by fit;
    `doubt` is a sentence, `text` all words in small letters.
    """

    file: str
    kind: str
    code: str
    made_at: str
    of: str
    supersedes: str
    part: str
    template: str
    printer: str
    material: str
    maker: str
    doubt: str
    text: str
    size: int
    changed: int
    withdrawn: bool
    verdicts: dict[str, str]


class _Bad(NamedTuple):
    """What is kept of a file that cannot be read as a record."""

    file: str
    why: str
    size: int
    changed: int
    newer: bool


_ROW_TYPES = [*[str] * 13, int, int, bool, dict]
_BAD_TYPES = [str, str, int, int, bool]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Index:
    """Rows of all sound records, oldest first, and the files that cannot be read as records."""

    rows: tuple[Row, ...]
    damaged: tuple[Damage, ...]

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is doubtful about records that count, a sentence each."""
        return tuple(row.doubt for row in self.rows if row.doubt)

    @classmethod
    def of(cls, journal: HasFolder) -> Index:
        """Bring the cache of a journal up to date, and give it."""
        return _index(journal.folder)


@without_collector()
def _index(folder: Path) -> Index:
    stamps = _stamps(folder)
    cached = _load(folder)
    rows: list[Row] = []
    bad: list[_Bad] = []
    fresh = len(cached) != len(stamps)
    for name, stamp in stamps.items():
        row = cached.get(name)
        if row is None or (row.size, row.changed) != stamp:
            row, fresh = _row(folder / name, *stamp), True
        if isinstance(row, Row):
            rows.append(row)
        else:
            bad.append(row)
    if fresh and stamps:
        _save(folder, rows, bad)
    rows.sort(key=attrgetter("made_at", "file"))
    damaged = tuple(Damage(name=one.file, why=one.why, newer=one.newer) for one in bad)
    return Index(rows=tuple(rows), damaged=damaged)


def _stamps(folder: Path) -> dict[str, tuple[int, int]]:
    """Size and time of change of each record's file, by name."""
    if not folder.is_dir():
        return {}
    found = {}
    with os.scandir(folder) as entries:
        for entry in entries:
            if RECORD_NAME.match(entry.name):
                try:
                    stat = entry.stat()
                    found[entry.name] = (stat.st_size, stat.st_mtime_ns)
                except FileNotFoundError:  # moved away since, or a link to nothing
                    if entry.is_symlink():
                        found[entry.name] = (0, 0)
                except OSError:  # a ring of links
                    found[entry.name] = (0, 0)
    return dict(sorted(found.items()))


def _load(folder: Path) -> dict[str, Row | _Bad]:
    try:
        content = json.loads(read_plain(folder / CACHE, max_bytes=_MOST_BYTES))
        if content["layout"] != _LAYOUT:
            return {}
        rows = {row[0]: Row._make(row) for row in content["rows"] if _is_row(row)}
        return rows | {row[0]: _Bad._make(row) for row in content["bad"] if _is_bad(row)}
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _is_row(row: list[Any]) -> bool:
    """Tell whether a row of the cache holds what a `Row` does."""
    return [type(one) for one in row] == _ROW_TYPES


def _is_bad(row: list[Any]) -> bool:
    return [type(one) for one in row] == _BAD_TYPES


def forget(folder: Path) -> None:
    """Drop the cache, where a record no longer says what it did: it is made again when asked."""
    with suppress(OSError):
        (folder / CACHE).unlink()


def _save(folder: Path, rows: list[Row], bad: list[_Bad]) -> None:
    # A journal on a read-only or full disk still reads; it is only slower.
    with suppress(FitkitError):
        text = json.dumps({"layout": _LAYOUT, "rows": rows, "bad": bad}, separators=(",", ":"))
        write_atomic(folder / CACHE, text)
        ignore = folder / ".gitignore"
        if not ignore.exists():
            write_atomic(
                ignore,
                "# rebuilt from the records at any time\n.index.json\n*.part\n.*.lock\n.*.plan\n",
            )


def _row(path: Path, size: int, changed: int) -> Row | _Bad:
    try:
        return _row_of(read_file(path), file=path.name, size=size, changed=changed)
    except FitkitError as error:
        damage = Damage.of(path.name, error)
    except Exception as error:  # no record, whatever it holds, may stop the others
        damage = Damage(name=path.name, why=f"it cannot be used: {error!r:.200}")
    return _Bad(file=path.name, why=damage.why, size=size, changed=changed, newer=damage.newer)


def _row_of(record: Record, *, file: str, size: int, changed: int) -> Row:
    """Take from a record what tables and searches need."""
    held = {name: getattr(record, name, None) or "" for name in _HELD}
    fits = getattr(record, "fits", ())
    words = [record.code, *held.values(), *record.notes, record.reason]
    words += [getattr(record, name, "") for name in ("title", "spool", "what", "was", "now")]
    for fit in fits:
        words += [fit.name, fit.pair or "", getattr(fit, "wanted", ""), getattr(fit, "note", "")]
    words += [photo.caption for photo in record.photos]
    return Row(
        file=file,
        size=size,
        changed=changed,
        kind=record.kind,
        code=record.code,
        made_at=record.made_at.astimezone(UTC).isoformat(),
        part=getattr(record, "title", ""),
        verdicts={fit.name: fit.verdict for fit in fits if getattr(fit, "verdict", None)},
        withdrawn=getattr(record, "withdrawn", False),
        doubt=doubt_of(record),
        text=" ".join(filter(None, words)).casefold(),
        **held,
    )
