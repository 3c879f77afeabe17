"""A verdict or breakage taken back: it counts for nothing, and stays in the journal as history.

Records are never rewritten. A withdrawn trial is a correction of it that says ``withdrawn``; tables
and lessons leave it out, the part's history and the log show it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.journal.breakages import KEY, as_breakage
from fitkit.journal.records import NoteRecord, PrintRecord, TrialRecord

if TYPE_CHECKING:
    from fitkit.journal.records import Record
    from fitkit.journal.store import Journal

__all__ = ["trials_of", "withdraw"]


def trials_of(journal: Journal, made: PrintRecord) -> tuple[TrialRecord, ...]:
    """Give what was written down of a print, as last corrected, oldest first; withdrawn ones too.

    Parameters
    ----------
    journal : Journal
    made : PrintRecord
        As last corrected. Trials of the records that it corrects are its trials.
    """
    from fitkit.journal.index import Index

    rows = Index.of(journal).rows
    earlier = {row.code: row.supersedes for row in rows}
    codes: list[str] = []
    code = made.code
    while code and code not in codes:
        codes.append(code)
        code = earlier.get(code, "")
    replaced = {row.supersedes for row in rows}
    found = (
        journal.get(row.code)
        for row in rows
        if row.kind == "trial" and row.of in codes and row.code not in replaced
    )
    return tuple(record for record in found if isinstance(record, TrialRecord))


def withdraw(
    journal: Journal, code: str, *, because: str = "", maker: str = ""
) -> TrialRecord | NoteRecord:
    """Take a verdict or a breakage back.

    Parameters
    ----------
    journal : Journal
    code : str
        Of the trial's or the breakage's record; or of a print, whose newest verdict is then taken
        back.
    because : str
        Why, for the history.
    maker : str
        Who takes it back.

    Returns
    -------
    TrialRecord or NoteRecord
        The record that was written: the old one's content, and that it is withdrawn.

    Raises
    ------
    JournalError
        If there is no such record, nothing left to take back, or it is the record of something
        else.
    """
    found = journal.get(code)
    one = as_breakage(found)
    withdrawn: TrialRecord | NoteRecord
    if one is not None and isinstance(found, NoteRecord):
        _refuse_twice(journal, found.code, one.withdrawn)
        said = {"feature": one.feature, "how": one.how, "withdrawn": True}
        withdrawn = found.corrected(
            because,
            maker=maker,
            notes=tuple(f"taken back: {note}" for note in found.notes),
            extra=found.extra | {KEY: said},
        )
    else:
        withdrawn = _meant(journal, found).corrected(because, withdrawn=True, maker=maker)
    withdrawn = withdrawn.model_copy(update={"code": journal.new_code()})
    journal.add(withdrawn)
    return withdrawn


def _meant(journal: Journal, record: Record) -> TrialRecord:
    """Find the trial that a code means."""
    if isinstance(record, PrintRecord):
        counting = [trial for trial in trials_of(journal, record) if not trial.withdrawn]
        if not counting:
            raise JournalError(
                f"there is no verdict on {record.title!r} left to withdraw",
                where=record.code,
                code="journal.nothing-to-withdraw",
                remedy="List its trials with 'log --all'.",
            )
        return counting[-1]
    if not isinstance(record, TrialRecord):
        raise JournalError(
            f"{record.code} is a {record.kind} record; only verdicts and breakages are withdrawn",
            code="journal.not-a-verdict-record",
            remedy="Give the code of the trial, or the code that is on the part.",
        )
    _refuse_twice(journal, record.code, record.withdrawn)
    return record


def _refuse_twice(journal: Journal, code: str, withdrawn: bool) -> None:
    if withdrawn:
        raise JournalError(
            f"{code} is withdrawn already",
            where=str(journal.folder),
            code="journal.withdrawn-already",
        )
