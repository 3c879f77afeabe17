"""A folder of records, one JSON file each: written once, atomically, by anyone at any time.

Files are named by date and trace code, ``2026-11-25-K7M3PXA.json``, so two people's folders merge
by putting all files into one. A file that cannot be read is set aside (left where it is, out of all
answers) and named in `Journal.damaged`; the rest loads. Photos lie in ``photos/`` under the hash of
their content.
"""

from __future__ import annotations

from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Literal, overload

from fitkit.core.bulk import without_collector
from fitkit.core.errors import FitkitError, JournalError, NoRecordError, RecordWriteError
from fitkit.core.files import create_atomic, refuse_closed_folder
from fitkit.journal.codes import normal_code, trace_code
from fitkit.journal.files import RECORD_NAME, Damage, read_file

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from os import PathLike

    import pandas as pd

    from fitkit.journal.entries import Photo
    from fitkit.journal.records import (
        CouponRecord,
        MachineRecord,
        NoteRecord,
        PrintRecord,
        Record,
        TrialRecord,
    )

__all__ = ["Damage", "Journal"]


class Journal:
    """The records in one folder.

    Parameters
    ----------
    folder : path
        Made with the first record.
    """

    def __init__(self, folder: str | PathLike[str]) -> None:
        self.folder = Path(folder)
        self._rotten: dict[str, Damage] = {}
        self._photos: dict[Path, bytes] = {}  # taken in, and not yet in a record

    def __repr__(self) -> str:
        return f"Journal({str(self.folder)!r})"

    def _repr_html_(self) -> str:
        from fitkit.journal.lookup import table_html

        return table_html(self)

    # --- writing ---------------------------------------------------------------------------------

    def add(self, record: Record) -> Path:
        """Write a record with its photos, whole or not at all.

        Parameters
        ----------
        record : Record
            Its photos are those that `keep_photo` gave, or that another record has.

        Returns
        -------
        Path
            Its file.

        Raises
        ------
        JournalError
            If its code is taken, or what it corrects or belongs to is not there.
        ExportError
            If the file cannot be written, as on a full disk; nothing is then left of it.
        """
        path = self.place_of(record)
        try:
            if record.photos:
                return self._add_with_photos(path, record)
            return create_atomic(path, record.to_json())
        except FileExistsError:
            raise self.taken(record.code) from None

    def _add_with_photos(self, path: Path, record: Record) -> Path:
        from fitkit.core.locks import sole_writer
        from fitkit.core.plain_errors import plain_errors
        from fitkit.core.staged import create_together
        from fitkit.journal import photos
        from fitkit.journal.names import inside

        named = [
            inside(self.folder, photos.FOLDER, name)
            for photo in record.photos
            for name in (photo.name, photo.thumbnail)
        ]
        with plain_errors(path), sole_writer(self.folder / photos.FOLDER):
            # What somebody was stopped with is taken back before it is taken for kept.
            self.settle()
            new = [file for file in dict.fromkeys(named) if not file.exists()]
            lost = [file.name for file in new if file not in self._photos]
            if lost and not record.supersedes:
                raise JournalError(
                    f"its photo {lost[0]} is not in the journal",
                    where=record.code,
                    code="journal.photo-lost",
                    remedy="Take the picture in with keep_photo of the same journal, and add the "
                    "record then.",
                )
            contents: dict[Path, str | bytes] = {
                file: self._photos[file] for file in new if file in self._photos
            }
            create_together({**contents, path: record.to_json()})
        for file in named:
            self._photos.pop(file, None)
        return path

    def add_all(self, records: Sequence[Record]) -> tuple[Path, ...]:
        """Write several records, all of them or none, even if the program is stopped meanwhile.

        Parameters
        ----------
        records : sequence of Record

        Returns
        -------
        tuple of Path
            Their files.

        Raises
        ------
        JournalError
            As `add`; none is then written.
        ExportError
            If one cannot be written; none is then left.
        """
        from fitkit.core.staged import create_together

        names = self._names()
        contents: dict[Path, str | bytes] = {}
        for record in records:
            path = self.place_of(record, names=names)
            names[record.code] = [path.name]
            contents[path] = record.to_json()
        try:
            return create_together(contents)
        except FileExistsError as error:
            match = RECORD_NAME.match(Path(str(error.filename2 or error.filename)).name)
            raise self.taken(match[2] if match else "") from None

    def codes(self) -> set[str]:
        """Give the trace codes of all records, those that cannot be read too."""
        return set(self._names())

    def place_of(self, record: Record, *, names: Mapping[str, list[str]] | None = None) -> Path:
        """Give the file that a new record goes into, which is not there yet.

        Parameters
        ----------
        record : Record
        names : mapping of trace code to file names, optional
            Of the records that there are; looked up if not given.

        Returns
        -------
        Path

        Raises
        ------
        JournalError
            If its code is taken, or what it corrects or belongs to is not there.
        """
        names = self._names() if names is None else names
        if record.code in names:
            raise self.taken(record.code)
        for role, code in (("corrects", record.supersedes), ("is of", getattr(record, "of", None))):
            if code is not None and code not in names:
                raise NoRecordError(
                    f"there is no record {code}, which record {record.code} {role}",
                    where=str(self.folder),
                    code="journal.no-record",
                    remedy="Check the code.",
                )
        day = record.made_at.astimezone(UTC).date().isoformat()
        return self.folder / f"{day}-{record.code}.json"

    def file_of(self, code: str) -> Path:
        """Give the file of a record that is there.

        Raises
        ------
        NoRecordError
            If there is no such record.
        """
        return self.folder / self._names()[self.get(code).code][0]

    def refuse_if_closed(self) -> None:
        """Refuse a folder into which no record can be written, before long work rests on it.

        Raises
        ------
        RecordWriteError
            If the folder cannot be made or written into.
        """
        try:
            refuse_closed_folder(self.folder)
        except OSError as error:
            raise RecordWriteError(
                f"no record can be written here: {error.strerror or error}",
                where=str(self.folder),
                code="journal.not-written",
                remedy="Nothing was made. Check that you may write into this folder and that its "
                "disk has room, or name another journal.",
            ) from error

    def settle(self) -> tuple[str, ...]:
        """Finish or take back what a stopped program left in the folder; say so, a line each."""
        from fitkit.core.staged import settle
        from fitkit.journal import kept_bodies, kept_views, photos

        return settle(
            self.folder, *(self.folder / own.FOLDER for own in (photos, kept_bodies, kept_views))
        )

    def new_code(self) -> str:
        """Draw a trace code that no record here has."""
        taken = self._names()
        while (code := trace_code()) in taken:
            continue
        return code

    def keep_photo(self, path: str | PathLike[str], *, caption: str = "") -> Photo:
        """Take in a picture with a thumbnail; it is written with the record that names it.

        Parameters
        ----------
        path : path
            Of the picture.
        caption : str

        Returns
        -------
        Photo
            Names of the copy and of its thumbnail, to go into a record that is added here.

        Raises
        ------
        JournalError
            If it is not a JPEG, PNG or WebP picture, or too large.
        """
        from fitkit.journal.photos import packed_photo

        photo, contents = packed_photo(self.folder, Path(path), caption=caption)
        self._photos |= contents
        return photo

    def taken(self, code: str) -> JournalError:
        """Make the error that says that another record has this code."""
        return JournalError(
            f"trace code {code} is taken",
            where=str(self.folder),
            code="journal.code-taken",
            remedy="Records are never rewritten: make a new one, or a correction.",
        )

    # --- reading ---------------------------------------------------------------------------------

    def files(self) -> Iterator[Path]:
        """Go through the records' files, oldest day first."""
        if not self.folder.is_dir():
            return iter(())
        names = sorted(p.name for p in self.folder.iterdir() if RECORD_NAME.match(p.name))
        return (self.folder / name for name in names)

    @property
    def damaged(self) -> tuple[Damage, ...]:
        """Files that are set aside because they could not be read, with the reason."""
        from fitkit.journal.index import Index

        found = Index.of(self).damaged
        known = {item.name for item in found}
        return (*found, *(item for name, item in self._rotten.items() if name not in known))

    @property
    def doubts(self) -> tuple[str, ...]:
        """What is doubtful about records that count, such as a date in the future."""
        from fitkit.journal.index import Index

        return Index.of(self).doubts

    @overload
    def records(self, kind: Literal["print"], *, corrected: bool = ...) -> list[PrintRecord]: ...
    @overload
    def records(self, kind: Literal["trial"], *, corrected: bool = ...) -> list[TrialRecord]: ...
    @overload
    def records(self, kind: Literal["coupon"], *, corrected: bool = ...) -> list[CouponRecord]: ...
    @overload
    def records(
        self, kind: Literal["machine"], *, corrected: bool = ...
    ) -> list[MachineRecord]: ...
    @overload
    def records(self, kind: Literal["note"], *, corrected: bool = ...) -> list[NoteRecord]: ...
    @overload
    def records(self, kind: None = ..., *, corrected: bool = ...) -> list[Record]: ...

    def records(self, kind: str | None = None, *, corrected: bool = False) -> list:  # type: ignore[type-arg]
        """Read records, oldest first.

        Parameters
        ----------
        kind : {"print", "trial", "coupon", "machine", "note"}, optional
            All if not given.
        corrected : bool
            Also give those that a later record corrects.

        Returns
        -------
        list of Record
            Those that cannot be read are left out; `damaged` names them.
        """
        from fitkit.journal.index import Index

        rows = Index.of(self).rows
        replaced = set() if corrected else {row.supersedes for row in rows}
        wanted = [
            row.file
            for row in rows
            if (kind is None or row.kind == kind) and row.code not in replaced
        ]
        with without_collector():
            return [record for file in wanted if (record := self._sound(file)) is not None]

    def get(self, code: str, *, corrected: bool = False) -> Record:
        """Find a record by its trace code, as typed.

        Parameters
        ----------
        code : str
        corrected : bool
            Give the record as first written, even if a later one corrects it.

        Returns
        -------
        Record
            The newest correction, unless `corrected`.

        Raises
        ------
        JournalError
            If the code is misread, unknown, borne by two records, or its file is damaged.
        """
        code = normal_code(code)
        path = self._path(code)
        if corrected:
            return self._read(path)
        from fitkit.journal.index import Index

        later = {row.supersedes: row.file for row in Index.of(self).rows}
        record = self._read(path)
        # Bounded: each step goes to another file, and a ring of corrections ends.
        for _ in range(len(later)):
            if record.code not in later:
                break
            record = self._read(self.folder / later[record.code])
        return record

    def prints_of(self, title: str) -> list[PrintRecord]:
        """Read the records of the prints of one title, corrected ones too, oldest first."""
        from fitkit.journal.index import Index
        from fitkit.journal.records import PrintRecord

        found = (
            self._sound(row.file)
            for row in Index.of(self).rows
            if row.kind == "print" and row.part == title
        )
        return [record for record in found if isinstance(record, PrintRecord)]

    def print_of(self, code: str) -> PrintRecord:
        """Find the record of a print.

        Raises
        ------
        JournalError
            As `get`, or if the code is that of a record of another kind.
        """
        from fitkit.journal.records import PrintRecord

        record = self.get(code)
        if not isinstance(record, PrintRecord):
            raise JournalError(
                f"{record.code} is a {record.kind} record, not a print",
                code="journal.not-a-print",
                remedy="Give the code that is on the part.",
            )
        return record

    def table(self, **wanted: str) -> pd.DataFrame:
        """Tabulate the records, newest first; see `fitkit.journal.lookup.table`."""
        from fitkit.journal.lookup import table

        return table(self, **wanted)

    def _names(self) -> dict[str, list[str]]:
        """File names by trace code."""
        found: dict[str, list[str]] = {}
        if self.folder.is_dir():
            for path in self.folder.iterdir():
                if match := RECORD_NAME.match(path.name):
                    found.setdefault(match[2], []).append(path.name)
        return found

    def _path(self, code: str) -> Path:
        names = self._names().get(code, [])
        if len(names) > 1:
            raise JournalError(
                f"{code} is the code of {len(names)} records: {', '.join(sorted(names))}",
                where=str(self.folder),
                code="journal.code-of-several",
                remedy="Look at their dates, and move the wrong one out of the folder.",
            )
        if not names:
            raise NoRecordError(
                f"there is no record {code}",
                where=str(self.folder),
                code="journal.no-record",
                remedy=_LOOK,
            )
        return self.folder / names[0]

    def _sound(self, file: str) -> Record | None:
        """Read a record that the index knows; set it aside if it is not what it was any more.

        A disk may spoil a file and leave its size and time, by which the index knows it.
        """
        from fitkit.journal.index import forget

        try:
            return self._read(self.folder / file)
        except FitkitError as error:
            self._rotten[file] = Damage.of(file, error)
            forget(self.folder)
            return None

    def _read(self, path: Path) -> Record:
        return read_file(path)


_LOOK = "Check the code, or list the journal to find it."
