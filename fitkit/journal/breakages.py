"""What broke: a feature of a print, how, and when; and how often the like of it has broken.

A breakage is a note of its print, so that every release shows its words; what broke stands beside
them as data. It is taken back as a verdict is: by a record in its place that says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.journal.records import NoteRecord

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime

    from fitkit.journal.records import PrintRecord, Record
    from fitkit.journal.store import Journal

__all__ = ["KEY", "Breakage", "as_breakage", "breakages", "broke", "by_feature"]

# Key of a note's `extra` under which a breakage stands.
KEY = "broke"
_MOST_LETTERS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Breakage:
    """One breakage that was written down.

    Attributes
    ----------
    code : str
        Of the record that says so.
    of : str
        Trace code of the print.
    feature : str
        What broke, in the words of whoever wrote it: ``left arm``.
    how : str
        How it broke; empty if nobody said.
    made_at : datetime
    withdrawn : bool
        It was taken back, and counts for nothing.
    """

    code: str
    of: str
    feature: str
    how: str
    made_at: datetime
    withdrawn: bool = False

    def __str__(self) -> str:
        """Give one line."""
        how = f": {self.how}" if self.how else ""
        taken = "taken back, " if self.withdrawn else ""
        return f"{taken}broke on {self.made_at:%Y-%m-%d}: {self.feature}{how}"


def broke(
    made: PrintRecord, feature: str, *, how: str = "", maker: str = "", code: str | None = None
) -> NoteRecord:
    """Make the record of a breakage; the journal's `add` writes it.

    Parameters
    ----------
    made : PrintRecord
        What broke.
    feature : str
        Which piece of it: the name of an arm, a lug, a screw's boss or a wall as findings and
        sheet give it, or words of one's own.
    how : str
        What happened: ``pulled out by its cable``.
    maker : str
        Who says so.
    code : str, optional
        Of the new record; drawn if not given.

    Returns
    -------
    NoteRecord

    Raises
    ------
    JournalError
        If no feature is named, or its name or story is too long.
    """
    feature, how = " ".join(feature.split()), " ".join(how.split())
    if not feature:
        raise JournalError(
            "what broke is not named",
            where=made.code,
            code="journal.nothing-broke",
            remedy="Name the feature, such as 'left arm'.",
        )
    for words in (feature, how):
        if len(words) > _MOST_LETTERS:
            raise JournalError(
                f"{words[:40]!r} and so on has {len(words)} letters",
                where=made.code,
                code="journal.breakage-too-long",
                remedy=f"Say it in {_MOST_LETTERS} letters; 'note' takes the rest.",
            )
    said = f"broke: {feature}{', ' if how else ''}{how}"
    content = {"code": code} if code else {}
    return NoteRecord(
        of=made.code,
        notes=(said,),
        maker=maker,
        extra={KEY: {"feature": feature, "how": how}},
        **content,
    )


def as_breakage(record: Record) -> Breakage | None:
    """Read a note as a breakage; None for other records.

    Parameters
    ----------
    record : Record

    Returns
    -------
    Breakage or None
    """
    if not isinstance(record, NoteRecord) or record.of is None:
        return None
    said = record.extra.get(KEY)
    if not isinstance(said, dict) or not isinstance(said.get("feature"), str):
        return None
    return Breakage(
        code=record.code,
        of=record.of,
        feature=said["feature"],
        how=str(said.get("how", "")),
        made_at=record.made_at,
        withdrawn=said.get("withdrawn") is True,
    )


def breakages(
    journal: Journal, made: Iterable[PrintRecord] | None = None, *, withdrawn: bool = False
) -> tuple[Breakage, ...]:
    """Give the breakages of a journal, oldest first.

    Parameters
    ----------
    journal : Journal
    made : iterable of PrintRecord, optional
        Of these prints alone, as last corrected.
    withdrawn : bool
        Give those too that were taken back.

    Returns
    -------
    tuple of Breakage
    """
    from fitkit.journal.index import Index

    rows = Index.of(journal).rows
    replaced = {row.supersedes for row in rows}
    # The index tells which notes speak of it, so that no other file is opened.
    notes = (
        journal.get(row.code, corrected=True)
        for row in rows
        if row.kind == "note" and f"{KEY}: " in row.text and row.code not in replaced
    )
    found = [one for record in notes if (one := as_breakage(record))]
    if made is not None:
        codes = {code for record in made for code in (record.code, record.supersedes)}
        found = [one for one in found if one.of in codes]
    return tuple(one for one in found if withdrawn or not one.withdrawn)


def by_feature(found: Iterable[Breakage]) -> dict[str, Sequence[Breakage]]:
    """Group breakages by what broke, in any case of letters; the most broken first.

    Parameters
    ----------
    found : iterable of Breakage

    Returns
    -------
    dict of feature, as first written, to its breakages
    """
    groups: dict[str, list[Breakage]] = {}
    for one in found:
        groups.setdefault(one.feature.casefold(), []).append(one)
    ordered = sorted(groups.values(), key=lambda group: -len(group))
    return {group[0].feature: group for group in ordered}
