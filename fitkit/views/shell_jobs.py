"""The shell commands for jobs of several parts, and for the exhibits that they belong to.

`commands` holds them by name, for the command line to mount.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from fitkit.views.output import say
from fitkit.views.shell_options import (
    PATH,
    despite_options,
    json_option,
    open_journal,
    reasons_by_check,
    say_json,
    settle_beside,
    workshop_option,
)
from fitkit.views.shell_trust import asking, trust_option

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from fitkit.flow import PartSheet
    from fitkit.make import Plated

__all__ = ["commands"]


def _pairs(paths: Sequence[Path], workshop: Path | None) -> list[PartSheet]:
    """Read each sheet, and give it and its mirror image."""
    from fitkit.flow import load_sheet

    read = [load_sheet(path, workshop=workshop) for path in paths]
    return [one for sheet in read for one in (sheet, sheet.changed(mirrored=not sheet.mirrored))]


@click.command(short_help="Make several parts on few plates, and list what to buy.")
@click.argument("sheets", type=PATH, nargs=-1, required=True)
@click.option("--copies", type=click.IntRange(1), default=1, show_default=True, help="Of each.")
@click.option("--pairs", is_flag=True, help="Of each, its mirror image besides.")
@click.option("--into", type=PATH, help="Folder for the files.")
@click.option("--quiet", is_flag=True, help="Say only where the files are.")
@despite_options
@json_option
@trust_option
@workshop_option
def plate(
    sheets: tuple[Path, ...],
    copies: int,
    pairs: bool,
    into: Path | None,
    quiet: bool,
    despite: tuple[str, ...],
    because: str,
    trust: bool,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Make the parts of SHEETS on as few plates as are found: one 3MF a plate.

    Each copy has a trace code and a record of its own. A sheet that is named twice is made twice;
    --copies makes that many of each, --pairs a left and a right one. Instead of sheets, name an
    exhibit's file: what it says is to print is made, and the trace codes are written into it.
    """
    from fitkit.make.exhibit import is_exhibit, make_exhibit
    from fitkit.make.plates import make_plates
    from fitkit.views.terminal import progress
    from fitkit.views.terminal_jobs import print_plated

    reasons = reasons_by_check(despite, because)
    exhibits = [path for path in sheets if is_exhibit(path)]
    if exhibits and (len(sheets) > 1 or copies > 1 or pairs):
        raise click.UsageError(
            f"{exhibits[0]} lists the parts of an exhibit: name it alone, without --copies and "
            "--pairs."
        )

    for path in exhibits:
        settle_beside(path)

    def make_it() -> Plated:
        with progress(quiet) as step:
            if exhibits:
                return make_exhibit(
                    exhibits[0], into=into, despite=reasons, workshop=workshop, step=step
                )
            return make_plates(
                _pairs(sheets, workshop) if pairs else sheets,
                copies=copies,
                into=into,
                despite=reasons,
                workshop=workshop,
                step=step,
            )

    job = asking(make_it, trust=trust)
    if as_json:
        from fitkit.views.results import PlatedResult

        say_json(PlatedResult.of(job))
        return
    print_plated(job, quiet=quiet)


@click.command(short_help="Show the parts of an exhibit and their states.")
@click.argument("file", type=PATH)
@click.option("--add", type=PATH, multiple=True, metavar="SHEET", help="Add a part to print.")
@click.option("--again", multiple=True, metavar="NAME", help="Set a part back to print.")
@click.option("--title", default="", help="Of an exhibit whose file is begun by --add.")
@json_option
@workshop_option
def exhibit(
    file: Path,
    add: tuple[Path, ...],
    again: tuple[str, ...],
    title: str,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Show the parts of the exhibit in FILE, and bring their states up to date from the journal.

    States: to print, printed, fitted, broken, spare. A part that names a trace code is printed,
    fitted once all verdicts on it are as wanted, and broken once something of it broke.
    """
    from fitkit.core.typed import command
    from fitkit.journal import Journal
    from fitkit.make.exhibit import (
        add_parts,
        load_exhibit,
        print_again,
        standing,
        update_states,
    )
    from fitkit.views.terminal_jobs import print_exhibit
    from fitkit.workshop import find_workshop

    home = find_workshop(file.resolve().parent, named=workshop)
    if not home.read_only:
        settle_beside(file)
    changed: list[str] = []
    if add:
        known = add_parts(file, add, title=title)
        changed += [f"added: {part.name}" for part in known.parts[-len(add) :]]
    if again:
        changed += print_again(file, again)
    found = load_exhibit(file)
    journal = Journal(home.journal)
    if not home.read_only:
        journal = open_journal(home.journal, None, must_exist=False)
    stands = standing(found, journal)
    if not home.read_only:
        changed += [f"state changed: {line}" for line in update_states(file, stands)]
    if as_json:
        from fitkit.views.results import ExhibitResult

        say_json(ExhibitResult.of(found.title, stands, changed))
        return
    for line in changed:
        say(line)
    print_exhibit(found.title, stands)
    if any(one.state == "to print" for one in stands):
        say(f"to make what is to print: {command('plate', str(file))}")
    if any(one.state == "broken" for one in stands):
        say(f"to print a broken part again: {command('exhibit', str(file), '--again', 'NAME')}")


commands: dict[str, click.Command] = {str(command.name): command for command in (plate, exhibit)}
