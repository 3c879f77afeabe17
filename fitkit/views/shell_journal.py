"""The journal's shell commands: thin calls of the same functions that notebooks use.

`commands` holds them by name, for the command line to mount.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fitkit.core.errors import JournalError
from fitkit.fits.trial import AS_WANTED, VERDICTS
from fitkit.journal.files import set_aside
from fitkit.views.output import say
from fitkit.views.shell_options import (
    PATH,
    journal_option,
    journal_options,
    json_option,
    open_journal,
    say_json,
    settle_beside,
    workshop_near,
    workshop_option,
)
from fitkit.views.shell_trust import asking, trust_option
from fitkit.views.tables import print_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from fitkit.journal import Journal, PrintRecord
    from fitkit.journal.inspection import Inspected
    from fitkit.journal.records import Record

__all__ = ["commands", "tell_judging"]

# Lines of each sort of complaint that a listing says in full.
MOST_SAID = 20
_by = click.option("--by", "maker", default="", help="Who you are, for the record.")


def tell_judging(record: PrintRecord, folder: Path) -> None:
    """Say what to type once a print is tried; `folder` is that of the journal which holds it.

    Parameters
    ----------
    record : PrintRecord
    folder : Path
        Of the journal.
    """
    from fitkit.views.judging import judging

    where = () if _is_usual(folder) else ("--journal", str(_from_here(folder)))
    said = judging(record, *where)
    if said:
        say(f"\n{said}")


def _is_usual(folder: Path) -> bool:
    """Tell whether a command typed here finds this journal by itself."""
    found = workshop_near(None, None)
    return found is not None and found.journal == folder.resolve()


def _from_here(folder: Path) -> Path:
    """Give the shorter path of a folder that lies below the current one."""
    folder, here = folder.resolve(), Path.cwd()
    return folder.relative_to(here) if folder.is_relative_to(here) else folder


def _pairs(items: Iterable[str], option: str) -> dict[str, str]:
    """Read ``lid=as wanted``."""
    found = {}
    for item in items:
        name, sign, value = item.partition("=")
        if not sign or not name.strip() or not value.strip():
            raise JournalError(
                f"{item!r} is not of the form NAME=VALUE",
                where=option,
                code="views.not-a-pair",
                remedy="Write 'name of the fit=what you found'.",
            )
        found[name.strip()] = value.strip()
    return found


@click.command(short_help="List what was printed and how it fitted.")
@journal_options()
@click.option("--part", help="A piece of the part's name.")
@click.option("--printer")
@click.option("--material")
@click.option("--verdict", help=f"{', '.join(VERDICTS)}, not tried, withdrawn.")
@click.option("--kind", help="print, trial, coupon, machine or note; prints unless given.")
@click.option("--since", help="First day, as 2026-11-25.")
@click.option("--until", help="Last day.")
@click.option("--all", "every", is_flag=True, help="All kinds of record.")
@click.option(
    "--most",
    type=click.IntRange(min=1),
    default=200,
    show_default=True,
    help="How many to list, the newest first.",
)
@json_option
@click.argument("words", nargs=-1)
def log(
    journal: Journal,
    words: tuple[str, ...],
    every: bool,
    most: int,
    as_json: bool,
    **wanted: str | None,
) -> None:
    """List what was printed and how it fitted; WORDS must occur in the record."""
    if not every and not wanted["kind"]:
        wanted["kind"] = "print"
    frame = journal.table(text=" ".join(words), **{k: v for k, v in wanted.items() if v})
    heads = ["code", "date", "kind", "part", "printer", "material", "verdict"]
    if as_json:
        from fitkit.views.results import Logged, LogResult

        found = frame[heads].head(most).to_numpy().tolist()
        listed = [Logged(**dict(zip(heads, map(str, row), strict=True))) for row in found]
        say_json(LogResult(records=listed, left_out=max(len(frame) - most, 0)))
        _tell_damage(journal)
        return
    count = f"{len(frame)} record{'' if len(frame) == 1 else 's'}, newest first"
    rows = [list(map(str, row)) for row in frame[heads].head(most).to_numpy().tolist()]
    print_table(heads, rows, title=count, numbers=("code", "date"))
    if (more := len(frame) - most) > 0:
        say(f"{more} older records are not listed; '--most {len(frame)}' lists them too")
    _tell_damage(journal)


def _tell_damage(journal: Journal) -> None:
    """Name the files that an answer leaves out, which no answer may do in silence."""
    for line in set_aside(journal.damaged, most=MOST_SAID):
        say(line, err=True)
    doubts = journal.doubts
    for text in doubts[:MOST_SAID]:
        say(f"doubtful: {text}", err=True)
    if len(doubts) > MOST_SAID:
        say(f"doubtful: {len(doubts) - MOST_SAID} further records", err=True)


@click.command()
@journal_options()
@click.argument("code")
def show(journal: Journal, code: str) -> None:
    """Show the whole record of a trace code."""
    say(journal.get(code).to_json(), nl=False)


class _Marked(click.Command):
    """A command whose words may begin with a mark such as -5, which is not an option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Keep marks of overlaps apart from options."""
        marked = (f" {word}" if re.match(r"-\d", word) else word for word in args)
        return super().parse_args(ctx, list(marked))


@click.command(
    cls=_Marked,
    short_help="Write down how a print fitted, as 'lid=tight'.",
    epilog=f"Verdicts: {', '.join(VERDICTS)}.",
)
@journal_options(writes=True)
@click.argument("code")
@click.argument("verdicts", nargs=-1)
@click.option("--measured", multiple=True, help="Size as printed, such as 'lid=60.12 mm'.")
@click.option("--sheet", type=PATH, help="A filled inspection sheet (CSV) of this print.")
@click.option("--took", default="", help="How long it printed, such as '1:35' or '95 min'.")
@click.option("--finished", is_flag=True, help="The part had been coated before it was tried.")
@click.option("--photo", "photos", type=PATH, multiple=True)
@click.option("--note", default="")
@json_option
@_by
def fitted(
    journal: Journal,
    code: str,
    verdicts: tuple[str, ...],
    measured: tuple[str, ...],
    sheet: Path | None,
    took: str,
    finished: bool,
    photos: tuple[Path, ...],
    note: str,
    maker: str,
    as_json: bool,
) -> None:
    """Write down how the print CODE fitted: VERDICTS such as 'lid=as wanted' 'board=tight'.

    A hole of a ladder is called by its name or by the mark on the plate: 'hole 2=tight' '25=tight'.

    From three prints on whose time was given (--took), the time of the next one is predicted from
    them.
    """
    from fitkit.journal import trial_of

    made = journal.print_of(code)
    read: dict[str, object] = {}
    judged = _pairs(verdicts, "VERDICTS")
    sizes: tuple[Inspected, ...] = ()
    if sheet:
        from fitkit.journal.inspection import read_inspection

        filled = read_inspection(sheet, made)
        read = {one.name: one for one in filled.sizes}
        judged, sizes = filled.verdicts | judged, filled.sizes
    record = trial_of(
        made,
        judged,
        measured=read | _pairs(measured, "--measured"),
        took=took,
        finished=finished,
        notes=note,
        maker=maker,
    )
    kept = tuple(journal.keep_photo(photo) for photo in photos)
    record = record.model_copy(update={"photos": kept, "code": journal.new_code()})
    path = journal.add(record)
    if as_json:
        from fitkit.views.results import FittedResult, SizeRead

        said = {fit.name: fit.verdict for fit in record.fits if fit.verdict}
        say_json(
            FittedResult(
                code=record.code,
                of=made.code,
                record=str(path),
                verdicts=said,
                sizes=[SizeRead.of(one) for one in sizes],
            )
        )
        return
    for one in sizes:
        say(one.told())
    say(f"written: {path}")


@click.command(short_help="Write an inspection sheet to fill in.")
@journal_options()
@click.argument("code")
@click.argument("file", type=PATH)
@json_option
@trust_option
def inspection(journal: Journal, code: str, file: Path, trust: bool, as_json: bool) -> None:
    """Write to FILE what to measure on the print CODE, with blanks for what was read.

    FILE.csv is a table to type into; FILE.html is a page to print, with a picture of where the
    jaws go for each size.
    """
    from fitkit.core.files import create_atomic
    from fitkit.core.typed import command
    from fitkit.journal.inspection import inspection_text

    made = journal.print_of(code)
    settle_beside(file)
    if page := file.suffix.lower() == ".html":
        text = asking(lambda: _inspection_page(made), trust=trust)
    else:
        text = inspection_text(made)
    try:
        create_atomic(file, text)
    except FileExistsError:
        raise JournalError(
            "there is such a file already, which may be filled in",
            file=file,
            code="journal.inspection-exists",
            remedy="Name another file.",
        ) from None
    _say_written([file], [] if page else [command("fitted", made.code, "--sheet", str(file))],
                 as_json=as_json)  # fmt: skip


def _say_written(files: Sequence[Path], then: Sequence[str] = (), *, as_json: bool) -> None:
    """Say which files were written, and what to type next."""
    if as_json:
        from fitkit.views.results import WrittenResult

        say_json(WrittenResult.of(files, then=then))
        return
    for file in files:
        say(f"written: {file}")
    for line in then:
        say(f"then: {line}")


def _say_recorded(record: Record, path: Path, said: Sequence[str] = (), *, as_json: bool) -> None:
    """Say where a record was written, and what else there is to say of it."""
    if as_json:
        from fitkit.views.results import RecordedResult

        say_json(RecordedResult(code=record.code, record=str(path), said=list(said)))
        return
    say(f"written: {path}")
    for line in said:
        say(line)


def _inspection_page(made: PrintRecord) -> str:
    """Build the part again from its record, for where each size lies on it."""
    from fitkit.journal.geometry import differences, geometry_of
    from fitkit.make.bench_pages import inspection_page
    from fitkit.make.remake import rebuild

    part = rebuild(made)
    notes: tuple[str, ...] = ()
    if made.geometry and differences(made.geometry, geometry_of(part)):
        notes = ("The pictures show the template as it is now, which has changed since the print.",)
    return inspection_page(made, part, notes=notes)


@click.command(short_help="Take a verdict or a breakage back.")
@journal_options(writes=True)
@click.argument("code")
@click.option("--because", default="", help="Why, for the history.")
@json_option
@_by
def withdraw(journal: Journal, code: str, because: str, maker: str, as_json: bool) -> None:
    """Take the verdict or breakage CODE back, or the newest verdict on the print CODE.

    It counts for nothing from then on, and stays in the journal as history.
    """
    from fitkit.journal import withdraw as take_back
    from fitkit.journal.part_history import said_of_withdrawn

    record = take_back(journal, code, because=because, maker=maker)
    if as_json:
        _say_recorded(
            record, journal.file_of(record.code), [said_of_withdrawn(record)], as_json=True
        )
        return
    say(f"{said_of_withdrawn(record)}\nwritten: {record.code}")


@click.command()
@journal_options(writes=True)
@click.argument("code")
@click.argument("text", default="")
@click.option("--photo", "photos", type=PATH, multiple=True, help="JPEG, PNG or WebP.")
@json_option
@_by
def note(
    journal: Journal,
    code: str,
    text: str,
    photos: tuple[Path, ...],
    maker: str,
    as_json: bool,
) -> None:
    """Add words or photos to the record of CODE."""
    from fitkit.journal import NoteRecord

    if not text and not photos:
        raise JournalError(
            "nothing to add", code="views.nothing-to-add", remedy="Give a text, or --photo FILE."
        )
    of = journal.get(code).code
    kept = tuple(journal.keep_photo(photo) for photo in photos)
    words = (text,) if text else ()
    record = NoteRecord(code=journal.new_code(), of=of, notes=words, photos=kept, maker=maker)
    _say_recorded(record, journal.add(record), as_json=as_json)


@click.command("broke", short_help="Write down what broke of a print, as 'left arm'.")
@journal_options(writes=True)
@click.argument("code")
@click.argument("feature")
@click.option("--how", default="", help="What happened, such as 'pulled out by its cable'.")
@click.option("--photo", "photos", type=PATH, multiple=True, help="JPEG, PNG or WebP.")
@json_option
@_by
def broke(
    journal: Journal,
    code: str,
    feature: str,
    how: str,
    photos: tuple[Path, ...],
    maker: str,
    as_json: bool,
) -> None:
    """Write down that FEATURE of the print CODE broke, such as 'left arm' or 'lug 2'.

    The history counts what broke, an exhibit's file shows its part as broken, and the next make of
    the same part says what to change. 'withdraw' with the code of this record takes it back.
    """
    from fitkit.core.typed import command
    from fitkit.journal import broke as breakage

    made = journal.print_of(code)
    record = breakage(made, feature, how=how, maker=maker)
    kept = tuple(journal.keep_photo(photo) for photo in photos)
    record = record.model_copy(update={"photos": kept, "code": journal.new_code()})
    path = journal.add(record)
    said = f"what broke of this part so far: {command('history', made.code)}"
    _say_recorded(record, path, [said], as_json=as_json)


@click.command(short_help="Write down what changed on a machine, as its nozzle.")
@journal_options(writes=True, must_exist=False)
@click.argument("printer")
@click.argument("what")
@click.option("--was", default="")
@click.option("--now", default="")
@click.option("--note", default="")
@json_option
@_by
def changed(
    journal: Journal,
    printer: str,
    what: str,
    was: str,
    now: str,
    note: str,
    maker: str,
    as_json: bool,
) -> None:
    """Write down that something of a machine changed, such as its nozzle or its room."""
    from fitkit.journal import MachineRecord

    record = MachineRecord(
        code=journal.new_code(),
        printer=printer,
        what=what,
        was=was,
        now=now,
        notes=(note,) if note else (),
        maker=maker,
    )
    _say_recorded(record, journal.add(record), as_json=as_json)


@click.command(short_help="Make the files of a code again from its record.")
@journal_option
@workshop_option
@click.argument("code")
@click.option("--into", type=PATH, help="Folder for the files.")
@click.option("--profile", "profile", type=PATH, help="Compensate again, for this profile (TOML).")
@click.option(
    "--compare", type=PATH, help="Only show which sizes this profile would draw differently."
)
@click.option(
    "--profiles",
    type=PATH,
    help="Where to see whether the printer's profile has changed since; the workshop's profiles, "
    "if not given.",
)
@click.option(
    "--present",
    is_flag=True,
    help="Build the present design of the template instead of the bodies that the record keeps.",
)
@json_option
@trust_option
def reprint(
    folder: Path | None,
    workshop: Path | None,
    code: str,
    into: Path | None,
    profile: Path | None,
    compare: Path | None,
    profiles: Path | None,
    present: bool,
    trust: bool,
    as_json: bool,
) -> None:
    """Make the files of CODE again from its record alone, or compensated again."""
    from fitkit.calibration import load_profile
    from fitkit.core.typed import command
    from fitkit.make.remake import (
        changed_profile,
        compensated_again,
        profile_changed,
        reprint as make_again,
    )

    journal = open_journal(folder, workshop)
    record = journal.print_of(code)
    if compare:
        other = load_profile(compare)
        same = not profile_changed(record, other)
        if as_json:
            from fitkit.views.results import ReprintResult

            drawn = None if same else compensated_again(record, other)
            say_json(ReprintResult.of(record.code, sizes=drawn))
            return
        say(
            "the profile is the one it was made with"
            if same
            else compensated_again(record, other).summary()
        )
        return
    sizes = compensated_again(record, load_profile(profile)) if profile else None
    if sizes and not as_json:
        say(sizes.summary())
    home = workshop_near(folder, workshop)
    made = home.made if home else Path("made")
    target = into or made / f"again-{record.code.lower()}"
    again = asking(
        lambda: make_again(record, target, sizes=sizes, journal=journal.folder, present=present),
        trust=trust,
    )
    profiles = profiles or (home.profiles if home else None)
    newer = None if sizes or profiles is None else changed_profile(record, profiles)
    if as_json:
        from fitkit.views.results import ReprintResult

        now = compensated_again(record, load_profile(newer)) if newer else sizes
        compared = not sizes and bool(record.geometry)
        agrees = (again.kept or not again.differences) if compared else None
        say_json(ReprintResult.of(record.code, again=again, sizes=now, changed=newer, same=agrees))
        return
    for line in again.notes:
        say(line)
    if again.kept:
        say("made from the exact bodies that the record keeps: it is the same part")
        for line in again.differences:
            say(f"the present design of {record.template!r} differs: {line}")
        if again.differences:
            say(f"To make that instead: {command('reprint', record.code, '--present')}")
    else:
        for line in again.differences:
            say(f"DIFFERS from the first print: {line}")
        if not sizes and record.geometry and not again.differences:
            say("the same part: volumes, surfaces, boxes and key sizes agree within 1e-6")
    for path in again.files:
        say(path)
    if newer:
        say(f"\n{newer} has changed since this print. Drawn for the printer as it is now,")
        say(compensated_again(record, load_profile(newer)).summary())
        instead = command("reprint", record.code, "--profile", str(newer))
        say(f"To make that instead: {instead}")
    if not (home and home.read_only and home.journal == journal.folder):
        tell_judging(record, journal.folder)


@click.command(short_help="Write a print as one page to share, with its live view.")
@journal_option
@workshop_option
@click.argument("code")
@click.option("--into", type=PATH, help="Folder for the page.")
@json_option
@trust_option
def share(
    folder: Path | None,
    workshop: Path | None,
    code: str,
    into: Path | None,
    trust: bool,
    as_json: bool,
) -> None:
    """Write one page that shows the part of CODE: to turn, to cut open, with sizes and gaps.

    It is one file, needs a browser alone, and neither loads nor sends anything. A sheet's files can
    name it too: files = ["3mf", "view"].
    """
    from fitkit.make.remake import reprint as make_again

    journal = open_journal(folder, workshop)
    record = journal.print_of(code)
    home = workshop_near(folder, workshop)
    target = into or (home.made if home else Path("made")) / f"share-{record.code.lower()}"
    again = asking(
        lambda: make_again(record, target, kinds=["view"], journal=journal.folder), trust=trust
    )
    told = [*again.notes, *(f"differs from the print: {one}" for one in again.differences)]
    if as_json:
        from fitkit.views.results import WrittenResult

        say_json(WrittenResult.of(again.files, notes=told))
        return
    for line in told:
        say(line)
    for path in again.files:
        say(path)


@click.command(short_help="Tell a part's life: prints, verdicts, what changed.")
@journal_options()
@click.argument("part")
@json_option
def history(journal: Journal, part: str, as_json: bool) -> None:
    """Tell the life of PART (its name or a trace code): prints, verdicts, and what changed."""
    from fitkit.journal import history as tell
    from fitkit.journal.breakages import by_feature
    from fitkit.journal.part_history import said_of_withdrawn

    versions = tell(journal, part)
    if as_json:
        from fitkit.views.results import HistoryResult

        say_json(HistoryResult.of(versions))
        _tell_damage(journal)
        return
    for version in versions:
        record = version.record
        say(f"{record.made_at:%Y-%m-%d}  {record.code}  {record.title}: {version.verdict}")
        for change in version.changes:
            say(f"    {'' if change.role == 'input' else 'so '}{change}")
        if version.lesson:
            say(f"    {version.lesson}")
        for text in version.notes:
            say(f"    note: {text}")
        for one in version.broken:
            say(f"    {one}")
        for trial in version.withdrawn:
            say(f"    {said_of_withdrawn(trial)}")
    counts = by_feature(one for v in versions for one in v.broken if not one.withdrawn)
    if counts:
        say(f"what broke, of {len(versions)} print{'' if len(versions) == 1 else 's'}:")
    for feature, found in counts.items():
        stories = "; ".join(f"{one.of}{one.how and ', '}{one.how}" for one in found)
        say(f"    {feature}: {len(found)} ({stories})")
    _tell_damage(journal)


@click.command(short_help="Show how often a part's first print fitted.")
@journal_options()
@click.option("--month/--year", "monthly", default=True)
@json_option
def success(journal: Journal, monthly: bool, as_json: bool) -> None:
    """Show how often a part's first print fitted as wanted, over time."""
    from fitkit.journal.lookup import success_periods

    periods = success_periods(journal, by="month" if monthly else "year")
    if as_json:
        from fitkit.views.results import SuccessResult

        say_json(SuccessResult.of(periods))
        _tell_damage(journal)
        return
    rows = [
        [
            row.period,
            str(row.first_prints),
            str(row.tried),
            str(row.fitted),
            row.said(),
        ]
        for row in periods
    ]
    heads = ["period", "first prints", "tried", AS_WANTED, "share (95 % interval)"]
    print_table(heads, rows, title="success at the first print")
    _tell_damage(journal)


@click.command(short_help="Write the journal as one page, FILE.html or FILE.pdf.")
@journal_options()
@click.argument("file", type=PATH)
@click.option("--part", help="Only this part.")
@json_option
def binder(journal: Journal, file: Path, part: str | None, as_json: bool) -> None:
    """Write the journal as one page for the binder: FILE.html or FILE.pdf."""
    from fitkit.journal import write_html, write_pdf

    writers: dict[str, Any] = {".html": write_html, ".pdf": write_pdf}
    write = writers.get(file.suffix.lower())
    if write is None:
        raise JournalError(
            f"{file.name!r} is neither .html nor .pdf",
            code="views.ending-not-written",
            remedy="Give the file a name that ends in .html or .pdf.",
        )
    settle_beside(file)
    _say_written([write(journal, file, part=part)], as_json=as_json)


@click.command()
@journal_options()
@click.argument("code")
@click.argument("file", type=PATH)
@json_option
def tag(journal: Journal, code: str, file: Path, as_json: bool) -> None:
    """Draw the label for the bin of CODE as FILE.svg."""
    from fitkit.core.files import write_atomic
    from fitkit.journal import tag_svg

    settle_beside(file)
    _say_written([write_atomic(file, tag_svg(journal.print_of(code)))], as_json=as_json)


@click.command("bring-in")
@journal_options(writes=True, must_exist=False)
@click.argument("file", type=PATH)
@json_option
def bring_in(journal: Journal, file: Path, as_json: bool) -> None:
    """Bring in the trials of a spreadsheet (.csv, .xlsx)."""
    from fitkit.journal import bring_in as bring

    brought = bring(journal, file)
    if as_json:
        from fitkit.views.results import BroughtInResult

        say_json(BroughtInResult.of(brought))
        return
    say(brought)


commands: dict[str, click.Command] = {
    str(command.name): command
    for command in (
        log,
        show,
        fitted,
        inspection,
        withdraw,
        note,
        broke,
        changed,
        reprint,
        share,
        history,
        success,
        binder,
        tag,
        bring_in,
    )
}
