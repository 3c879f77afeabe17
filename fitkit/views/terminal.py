"""What the commands print: tables and findings on a terminal, through rich; computes nothing."""

from __future__ import annotations

import os
import shutil
import sys
from contextlib import contextmanager
from typing import TYPE_CHECKING

from fitkit.core.finding import MARKS
from fitkit.core.format import doubted
from fitkit.core.notes import gathered
from fitkit.flow.whole import chance_line
from fitkit.views.output import shown, visible
from fitkit.views.tables import print_table, the_console

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

    from rich.console import Console

    from fitkit.calibration import PrinterProfile
    from fitkit.core.finding import Finding, Severity
    from fitkit.make import Made
    from fitkit.make.pieces import Weighed
    from fitkit.readings import ReadingTable
    from fitkit.readings.flags import Flag
    from fitkit.stats import Estimate

__all__ = [
    "print_chance",
    "print_doubts",
    "print_estimates",
    "print_findings",
    "print_made",
    "print_profile",
    "progress",
]

_STYLES: Mapping[Severity, str] = {"stop": "bold red", "warn": "yellow", "note": "cyan"}


# Back to the line's start, and the line is taken away (ECMA-48).
_ERASED = "\r\x1b[2K"
# Columns of a terminal from which on a size's whole row is shown.
_ROOMY = 76


def _marked(severity: Severity) -> str:
    """Write a severity with its sign, in its colour."""
    return f"[{_STYLES[severity]}]{MARKS[severity]} {severity}[/]"


@contextmanager
def progress(quiet: bool = False) -> Iterator[Callable[[str], None]]:
    """Show the step that is being worked on; the callback takes each step's plain words.

    It is one line of the error stream, on a terminal alone, that the next step overwrites and the
    end takes away. It is written at once and by no thread: the CAD kernel lets none run meanwhile.
    """
    stream = sys.stderr
    if quiet or not stream.isatty() or os.environ.get("TERM") == "dumb":
        yield lambda text: None
        return

    def show(text: str) -> None:
        # A line as wide as the terminal would begin another one.
        room = shutil.get_terminal_size().columns - 1
        stream.write(f"{_ERASED}{visible(text)} …"[: room + len(_ERASED)])
        stream.flush()

    show("starting")
    try:
        yield show
    finally:
        stream.write(_ERASED)
        stream.flush()


def print_made(made: Made, *, quiet: bool = False) -> None:
    """Print what was made: the table of sizes, the findings, the files.

    Parameters
    ----------
    made : Made
    quiet : bool
        Print the trace code, the files and the record alone.
    """
    console = the_console()
    if not quiet:
        # First, so that whatever happens to the rest, the print can be found again.
        console.print(f"trace code [bold]{made.code}[/bold]\n")
        # Measured size and target stand on the sheet; a narrow terminal has no room for them.
        narrow = console.width < _ROOMY
        heads = ("gap", "drawn") if narrow else ("measured", "gap", "target", "drawn")
        figures = (*heads, "expected\n± U95")
        print_table(
            ("size", *figures, "wanted"),
            [
                (row.name, *(getattr(row, name) for name in (*heads, "expected")), row.wanted)
                for row in made.page.rows
            ],
            title=f"{made.part.title}: sizes that must fit, mm",
            numbers=figures,
            console=console,
        )
        for note in made.page.notes:
            console.print(f"  {shown(note)}")
        print_findings(made.findings, console)
    console.print(f"\ntrace code [bold]{made.code}[/bold]   files in {shown(str(made.folder))}:")
    for path in made.files:
        console.print(f"  {shown(path.name)}")
    for line in made.told:
        console.print(f"  {shown(line)}", soft_wrap=True)
    # A path is copied whole, so it is not broken over lines.
    console.print(f"record of the print: {shown(str(made.record))}", soft_wrap=True)


def print_chance(weighed: Weighed) -> None:
    """Print how likely a part fits, fit by fit, and the acts that would raise the chance."""
    from fitkit.core.chances import say_chance
    from fitkit.fits.trial import AS_WANTED

    console = the_console()
    chance = weighed.chance
    console.print(f"{shown(weighed.title)}: {shown(chance_line(chance))}")
    figures = ("can be used", AS_WANTED)
    print_table(
        ("fit", *figures),
        [(name, say_chance(chance.usable[name]), say_chance(p)) for name, p in chance.each.items()],
        numbers=figures,
        console=console,
    )
    for name in chance.left_out:
        console.print(f"  {shown(name)}: the sheet sets its gap, so nobody can say how it behaves")
    console.print(f"its print: about {weighed.minutes:.0f} min, {weighed.grams:.0f} g")
    if not weighed.acts:
        console.print("nothing that could be done before it raises the chance: print the part")
        return
    console.print("\nwhat raises the chance that all is as wanted, most per minute first:")
    for act in weighed.acts:
        console.print(
            f"  {shown(act.says)}: {say_chance(act.p_all)} for about {act.minutes:.0f} min, "
            f"{act.grams:.0f} g"
        )
        if act.typed:
            console.print(f"    {shown(act.typed)}", soft_wrap=True)
    if weighed.advice:
        console.print(f"\n{shown(weighed.advice)}")


def print_findings(findings: Sequence[Finding], console: Console | None = None) -> None:
    """Print findings, the worst first, each with a mark and a word for how bad it is.

    Parameters
    ----------
    findings : sequence of Finding
    console : Console, optional
        The usual one if not given.
    """
    console = console or the_console()
    if not findings:
        console.print("\nthe checks that ran found nothing")
        return
    console.print("\nbefore you print:")
    for finding in findings:
        console.print(
            f"  {_marked(finding.severity)}  {shown(finding.check)}: "
            f"{shown(finding.text)} {shown(finding.remedy)}".rstrip()
        )


def print_doubts(table: ReadingTable, flags: Sequence[Flag]) -> None:
    """Print what was taken as what, the rows that could not be read, then every doubt.

    Parameters
    ----------
    table : ReadingTable
    flags : sequence of Flag
        Doubts that a size may hang on come first.
    """
    console = the_console()
    for note in table.notes:
        console.print(shown(f"{table.name}: {note}"))
    rows: list[tuple[Severity, str]] = [
        ("stop", f"does not count: {fault}") for fault in table.faults()
    ]
    rows += [("warn", str(flag)) for flag in flags if flag.kind != "remark" and flag.ways]
    rows += [("warn", str(flag)) for flag in flags if flag.kind != "remark" and not flag.ways]
    rows += [("note", str(flag)) for flag in flags if flag.kind == "remark"]
    for severity, text in rows:
        console.print(f"  {_marked(severity)}  {shown(text)}")


def print_estimates(
    table: ReadingTable, estimates: Mapping[str, Estimate], *, item: str = ""
) -> None:
    """Print each feature's estimate: how it was read, how often, and how sure it is.

    Parameters
    ----------
    table : ReadingTable
    estimates : mapping of feature name to Estimate
    item : str
        What the features belong to, where a table holds several things.
    """
    console = the_console()
    title = f"{item}: features, mm" if item else "features, mm"
    figures = ("readings", "best value", "U95", "k", "degrees of\nfreedom")
    counted = table.counted.groupby("feature", sort=False)["mode"].agg(["first", "size"])
    rows = []
    for name, estimate in estimates.items():
        mode, number = counted.loc[name]
        rows.append(
            (
                name,
                str(mode),
                str(number),
                *doubted(estimate.value_mm, estimate.U95_mm),
                f"{estimate.k95:.2f}",
                f"{estimate.df:.0f}" if estimate.df <= 1000 else "over 1000",
            )
        )
    print_table(
        ("feature", "read as", *figures), rows, title=title, numbers=figures, console=console
    )
    for note in gathered((e.name, note) for e in estimates.values() for note in e.notes):
        console.print(f"  {shown(note)}")


def standing_lines(profile: PrinterProfile) -> list[str]:
    """Say what a profile rests on, which grade it reaches, and what to measure next."""
    from fitkit.calibration.next_reading import proposals, rests_on
    from fitkit.core.sizes import kind_of
    from fitkit.fits.printer_grades import printer_grades

    grades = [
        f"{kind_of(kind).plural} {f'IT{grade}' if grade else 'beyond IT18'} at {size_mm:.0f} mm"
        for kind, (size_mm, grade) in printer_grades(profile).items()
    ]
    lines = [rests_on(profile), f"Reaches by ISO 286, in 95 % of sizes: {', '.join(grades)}."]
    return lines + [f"Next: {one}" for one in proposals(profile)[:1]]


def print_profile(profile: PrinterProfile, path: Path) -> None:
    """Print what a fitted profile says, in plain words, and where it was saved.

    Parameters
    ----------
    profile : PrinterProfile
    path : Path
        Where it was saved.
    """
    console = the_console()
    for line in profile.summary().splitlines():
        console.print(shown(line))
    for one in profile.provenance.instruments:
        console.print(f"  read with {shown(one)}")
    for note in profile.provenance.notes:
        console.print(f"  {shown(note)}")
    for line in standing_lines(profile):
        console.print(shown(line))
    console.print(f"\nsaved as {shown(str(path))}")
