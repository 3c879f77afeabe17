"""Options that several commands share, so that each is spelt and explained once."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitkit.core.errors import NoRecordError, NoWorkshopError
from fitkit.views.output import say

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from fitkit.journal import Journal
    from fitkit.views.results import Result
    from fitkit.workshop import Workshop

__all__ = [
    "PATH",
    "decimal_option",
    "despite_options",
    "journal_option",
    "journal_options",
    "json_option",
    "open_journal",
    "reasons_by_check",
    "say_json",
    "settle_beside",
    "unit_option",
    "workshop_near",
    "workshop_option",
]

PATH = click.Path(path_type=Path)

workshop_option = click.option(
    "--workshop",
    type=PATH,
    help="Workshop to work in; the one that this folder belongs to, if not given.",
)
json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    help="Print the result as JSON alone; 'fitkit schema COMMAND --result' gives its JSON Schema.",
)
unit_option = click.option("--unit", help="Unit of bare numbers in the readings, such as mm.")
decimal_option = click.option(
    "--decimal", type=click.Choice([".", ","]), help="Decimal sign of the readings."
)
journal_option = click.option(
    "--journal", "folder", type=PATH, help="Folder of the journal; the workshop's, if not given."
)


def despite_options(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options by which a check that says stop is overruled."""
    despite = click.option(
        "--despite",
        multiple=True,
        metavar="CHECK",
        help="Make it though this check says stop; may be given again.",
    )
    because = click.option(
        "--because", default="", metavar="TEXT", help="Why; it is kept in the record."
    )
    return despite(because(command))


def reasons_by_check(despite: Sequence[str], because: str) -> dict[str, str]:
    """Put what `despite_options` gave together: the reason for each check that is overruled.

    Parameters
    ----------
    despite : sequence of str
        Names of checks.
    because : str
        The reason for all of them.

    Returns
    -------
    dict of check name to reason

    Raises
    ------
    click.UsageError
        If there is a reason and no check.
    """
    if because and not despite:
        raise click.UsageError("--because says why a check is overruled: name it by --despite.")
    return dict.fromkeys(despite, because)


def journal_options(
    *, writes: bool = False, must_exist: bool = True
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Give a command the options that find a journal, and hand it the `journal` that they name.

    Parameters
    ----------
    writes, must_exist : bool
        As for `open_journal`.

    Returns
    -------
    callable
        A decorator for a click command.
    """

    def decorated(command: Callable[..., None]) -> Callable[..., None]:
        @journal_option
        @workshop_option
        @functools.wraps(command)
        def opened(*args: Any, folder: Path | None, workshop: Path | None, **rest: Any) -> None:
            journal = open_journal(folder, workshop, writes=writes, must_exist=must_exist)
            command(*args, journal=journal, **rest)

        return opened

    return decorated


def workshop_near(folder: Path | None, workshop: Path | None) -> Workshop | None:
    """Find the workshop of a journal given by hand, or of this folder; None if there is none.

    Parameters
    ----------
    folder : path or None
        A journal's folder, as given by hand.
    workshop : path or None
        A workshop, as given by hand; it wins.

    Returns
    -------
    Workshop or None
    """
    from fitkit.workshop import find_workshop

    try:
        return find_workshop(folder, named=workshop)
    except NoWorkshopError:
        return None


def open_journal(
    folder: Path | None, workshop: Path | None, *, writes: bool = False, must_exist: bool = True
) -> Journal:
    """Open the journal that a command names, or that of the workshop.

    Parameters
    ----------
    folder : path or None
        The journal's folder, as given by hand.
    workshop : path or None
        The workshop, as given by hand.
    writes : bool
        Whether the command writes into it: a read-only workshop then refuses.
    must_exist : bool
        Whether a folder given by hand must be there already.

    Returns
    -------
    Journal

    Raises
    ------
    JournalError
        If the folder given by hand is not there.
    WorkshopError
        If there is no workshop, with how to begin one; or if it is read-only.
    """
    from fitkit.journal import Journal
    from fitkit.workshop import find_workshop

    if folder is not None:
        if must_exist and not folder.is_dir():
            raise NoRecordError(
                "there is no such journal",
                where=str(folder),
                code="views.no-journal",
                remedy="Check the folder after --journal, or leave it out: then the workshop's "
                "journal is used.",
            )
        return _settled(Journal(folder))
    found = find_workshop(named=workshop)
    if writes:
        found.refuse_if_read_only()
    if found.note:
        say(found.note, err=True)
    journal = Journal(found.journal)
    return journal if found.read_only else _settled(journal)


def _settled(journal: Journal) -> Journal:
    """Finish or take back what a stopped program left in a journal, and say so."""
    for line in journal.settle():
        say(line, err=True)
    return journal


def settle_beside(file: Path) -> None:
    """Take away what a stopped program left beside a file that is to be written, and say so."""
    from fitkit.core.staged import settle

    for line in settle(file.parent):
        say(line, err=True)


def say_json(result: Result, *, lines: bool = False) -> None:
    """Print a result as JSON, in plain ASCII: any terminal, pipe or program takes it.

    Parameters
    ----------
    result : Result
    lines : bool
        Print it as one line, where more of them follow.
    """
    import json

    click.echo(json.dumps(result.model_dump(mode="json"), indent=None if lines else 2))
