"""The shell commands about readings: thin calls of the same functions that notebooks use.

`commands` holds them by name, for the command line to mount.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import click

from fitkit.core.errors import FaultList, ReadingError
from fitkit.readings.decisions import DECISIONS
from fitkit.views.output import say
from fitkit.views.shell_options import (
    PATH,
    decimal_option,
    json_option,
    say_json,
    settle_beside,
    unit_option,
    workshop_near,
    workshop_option,
)

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from fitkit.readings import Instrument, ReadingTable
    from fitkit.readings.decisions import Decision

__all__ = ["commands"]


@click.command(short_help="Show what a readings file says, with its doubts.")
@click.argument("file", type=PATH)
@click.option("--item", help="Only the readings of this item.")
@click.option("--instruments", type=PATH, help="Instruments file (TOML).")
@click.option("--to", type=PATH, help="Write them, a row a reading, to this new file as well.")
@json_option
@unit_option
@decimal_option
@workshop_option
def readings(
    file: Path,
    item: str | None,
    instruments: Path | None,
    to: Path | None,
    unit: str | None,
    decimal: Literal[".", ","] | None,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Show what a readings file says: doubts first, then each feature with its uncertainty."""
    from fitkit.readings import ReadingTable, load_instruments
    from fitkit.readings.items import shared_names
    from fitkit.stats import estimates
    from fitkit.stats.doubts import doubts
    from fitkit.views.terminal import print_doubts, print_estimates

    home = workshop_near(file.parent, workshop)
    if home:
        unit, decimal = unit or home.unit, decimal or home.decimal
    whole = ReadingTable.read(file, unit=unit, decimal=decimal)
    if instruments is None and home and home.instruments.is_file():
        instruments = home.instruments
    known: Mapping[str, Instrument] | None = load_instruments(instruments) if instruments else None
    table = _of_item(whole, item) if item else whole
    if to:
        _write_new(table, to, aside=as_json)
    found = doubts(table, instruments=known)
    if not as_json:
        _say_instruments(table, known)
        print_doubts(table, found)
    if not len(table.counted):
        raise FaultList(table.faults()) if len(table.rejected) else _nothing(table)
    # One thing after the other where features of one name belong to several.
    parts: dict[str, ReadingTable] = {"": table}
    if shared_names(table):
        parts = {name: table.of_item(name) for name in _items(table)}
    each = {name: estimates(part, instruments=known, whole=whole) for name, part in parts.items()}
    if as_json:
        from fitkit.views.results import ReadingsResult

        say_json(ReadingsResult.of(table, found, each))
        return
    for name, part in parts.items():
        print_estimates(part, each[name], item=name)


def _write_new(table: ReadingTable, path: Path, *, aside: bool) -> None:
    if path.exists():
        raise ReadingError(
            "is there already",
            file=path,
            code="readings.file-there",
            remedy="Name a new file for the readings.",
        )
    settle_beside(path)
    table.write(path)
    say(f"{path.name}: {len(table)} readings, each in a row of its own.", err=aside)


def _say_instruments(table: ReadingTable, known: Mapping[str, Instrument] | None) -> None:
    """Say of each described instrument what is corrected for, and how its error is bounded."""
    from fitkit.readings.instruments import Instruments

    every = Instruments(known)
    for name in table.counted["instrument"].unique():
        one = every.find(str(name))
        if not one.assumed:
            say(f"{one}; {one.limit_text()}")


def _items(table: ReadingTable) -> tuple[str, ...]:
    """Names of the items, each in its first spelling; rows without one come last."""
    names = {name.strip().casefold(): name for name in reversed(table.items())}
    found = tuple(name for name in table.items() if name in names.values())
    return (*found, "") if (table.accepted["item"] == "").any() else found


def _of_item(table: ReadingTable, item: str) -> ReadingTable:
    mine = table.of_item(item)
    if not len(mine):
        raise ReadingError(
            f"no reading is of an item {item!r}",
            file=table.name,
            code="readings.no-such-item",
            remedy=f"There are: {', '.join(table.items()) or 'rows without an item only'}.",
        )
    return mine


def _nothing(table: ReadingTable) -> ReadingError:
    return ReadingError(
        "it has no reading that counts" if len(table) else "it has a header, but no readings",
        file=table.name,
        code="readings.nothing-usable",
        remedy="Take one back, or read the features." if len(table) else "Type them below it.",
    )


@click.command(short_help="Decide on a doubted reading, and why.")
@click.argument("file", type=PATH)
@click.argument("row", type=click.IntRange(1))
@click.argument("decision", type=click.Choice(DECISIONS))
@click.option("--because", required=True, help="The reason, which is kept with the reading.")
@json_option
@unit_option
@decimal_option
@workshop_option
def decide(
    file: Path,
    row: int,
    decision: Decision,
    because: str,
    unit: str | None,
    decimal: Literal[".", ","] | None,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Write into FILE what is decided on the reading in ROW, as a doubt names it.

    Rows count from 1 at the top of the file; where a row holds several readings, as if each had a
    row of its own below the header.

    keep: it counts, and is not doubted any more. leave-out: it does not count. again: it does not
    count, and the feature is to be read again.
    """
    from fitkit.readings.decided import counts_now, decide as write_decision

    settle_beside(file)
    home = workshop_near(file.parent, workshop)
    if home:
        unit, decimal = unit or home.unit, decimal or home.decimal
    table = write_decision(file, row, decision, because=because, unit=unit, decimal=decimal)
    mine = table.frame[table.frame["row"] == row].iloc[0]
    if as_json:
        from fitkit.views.results import DecidedResult

        say_json(DecidedResult.of(file, mine, decision, because))
        return
    done = "counts" if counts_now(mine) else "does not count"
    say(f"{file.name}, row {row}, {mine['feature']} {mine['reading']}: {done} ({because})")


@click.command("check-calipers", short_help="Check calipers on a known length.")
@click.argument("instrument")
@click.argument("length")
@click.argument("shown", nargs=-1, required=True)
@click.option("--known-to", default="0.002 mm", show_default=True, help="How well LENGTH is known.")
@click.option("--zero", help="What the closed jaws showed just before, such as -0.02.")
@click.option(
    "--jaws", type=click.Choice(["outside", "inside"]), default="outside", show_default=True
)
@click.option("--instruments", type=PATH, help="Instruments file (TOML).")
@click.option("--unit", default="mm", show_default=True, help="Unit of bare numbers.")
@json_option
@workshop_option
def check_calipers(
    instrument: str,
    length: str,
    shown: tuple[str, ...],
    known_to: str,
    zero: str | None,
    jaws: str,
    instruments: Path | None,
    unit: str,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Check INSTRUMENT on a gauge block or bearing of LENGTH, of which it SHOWED these readings.

    The error is written with its day into the instruments file. From then on it is taken off
    readings, and the limit of error of the leaflet counts for less, the more lengths were checked.
    """
    from datetime import date

    from fitkit.readings.checked import record_check
    from fitkit.readings.checks import check_of

    home = workshop_near(None, workshop)
    file = instruments or (home.instruments if home else None)
    if file is None:
        raise ReadingError(
            "no instruments file is known here",
            code="readings.no-instruments-file",
            remedy="Name it with --instruments, or work in a workshop.",
        )
    from fitkit.readings.instruments import Instruments, load_instruments

    settle_beside(file)
    known = Instruments(load_instruments(file)).find(instrument)
    check = check_of(
        length,
        shown,
        known_to=known_to,
        zero=zero,
        usual_zero_mm=known.zero_error_mm,
        jaws=jaws,
        unit=unit,
        date=date.today(),
    )
    one = record_check(file, instrument, check, zeroed=zero is not None)
    within = abs(check.error_mm) <= one.mpe_mm + 2 * check.u_mm(one.resolution_mm)
    if as_json:
        from fitkit.views.results import CheckedResult

        say_json(CheckedResult.of(file, one, check, within=within))
        return
    say(f"{one.name} reads {check.error_mm:+.3f} mm at {check.length_mm:g} mm, zero taken off.")
    if not within:
        say(f"That is beyond its limit of error of ± {one.mpe_mm:g} mm: clean the jaws, zero it, "
            "and check again; if it stays, do not use it.")  # fmt: skip
    say(f"{file.name}: {one.name}: {one.limit_text()}.")


@click.command(short_help="Take readings from calipers on a serial port.")
@click.argument("port")
@click.argument("file", type=PATH, required=False)
@click.option("--baud", type=int, default=9600, show_default=True, help="Speed of the port.")
@click.option(
    "--stream",
    is_flag=True,
    help="The calipers send text all the time: a value is read when it rests for half a second.",
)
@json_option
def listen(port: str, file: Path | None, baud: int, stream: bool, as_json: bool) -> None:
    """Take readings from calipers on PORT into the rows of FILE that wait; without FILE, show them.

    PORT is such as COM3 or /dev/ttyUSB0. A line of text is a reading. Lines of 24 bits are read
    when two in a row agree and the value rests; open the jaws between two readings. Ctrl+C ends.
    With --json each reading is one line of JSON.
    """
    from fitkit.readings.cable import sent_by
    from fitkit.readings.waiting import fill_next

    if file:
        settle_beside(file)
    unit = ""
    say("listening; Ctrl+C ends", err=True)
    try:
        for sent in sent_by(port, baud=baud, stream=stream):
            before = unit if unit and sent.unit and sent.unit != unit else ""
            if before:
                say(f"the calipers changed from {unit} to {sent.unit} in mid-series: look at the "
                    "display", err=True)  # fmt: skip
            unit = sent.unit or unit
            filled = fill_next(file, sent) if file else None
            if as_json:
                from fitkit.views.results import HeardResult

                say_json(HeardResult.heard(sent, filled, changed_from=before), lines=True)
            elif filled:
                say(f"{filled.feature}, {filled.repeat} of {filled.of}: {sent.text}")
            else:
                say(sent.text)
            if file and filled and not filled.left:
                say(f"{file.name}: no row waits any more", err=as_json)
                return
    except KeyboardInterrupt:
        say("ended", err=True)


commands: dict[str, click.Command] = {
    "readings": readings,
    "decide": decide,
    "check-calipers": check_calipers,
    "listen": listen,
}
