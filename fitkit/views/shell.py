"""The shell commands: thin calls of the same functions that notebooks use.

A mistake of the user's ends in one plain message and exit status 2; nothing here computes.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import click

from fitkit import __version__
from fitkit.core.errors import FaultList, FitkitError
from fitkit.core.threads import one_thread_each
from fitkit.views.output import refuse_broken_words, say, say_beside, serve_any_encoding
from fitkit.views.shell_jobs import commands as job_commands
from fitkit.views.shell_journal import commands as journal_commands, tell_judging
from fitkit.views.shell_options import (
    PATH,
    decimal_option,
    despite_options,
    json_option,
    reasons_by_check,
    say_json,
    settle_beside,
    unit_option,
    workshop_near,
    workshop_option,
)
from fitkit.views.shell_readings import commands as reading_commands
from fitkit.views.shell_trust import asking, trust_option

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.make import Made
    from fitkit.make.many import Outcome

__all__ = ["commands", "main"]


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="fitkit")
def commands() -> None:
    """From calipers readings to printed parts that fit at the first print."""


@commands.command(short_help="Make a part: files to print, a sheet, a record.")
@click.argument("sheet", type=PATH)
@click.option("--into", type=PATH, help="Folder for the files.")
@click.option("--mirrored", is_flag=True, help="Make the mirror image, the other one of a pair.")
@click.option("--quiet", is_flag=True, help="Say only where the files are.")
@despite_options
@json_option
@trust_option
@workshop_option
def make(
    sheet: Path,
    into: Path | None,
    mirrored: bool,
    quiet: bool,
    despite: tuple[str, ...],
    because: str,
    trust: bool,
    workshop: Path | None,
    as_json: bool = False,
) -> None:
    """Make the part of a part sheet: files to print, a dimensioned sheet, a record."""
    from fitkit.make import make as make_part
    from fitkit.views.terminal import progress

    reasons = reasons_by_check(despite, because)

    def make_it() -> Made:
        from fitkit.flow import load_sheet

        with progress(quiet) as step:
            return make_part(
                load_sheet(sheet, workshop=workshop).changed(mirrored=True) if mirrored else sheet,
                into=into,
                workshop=workshop,
                step=step,
                despite=reasons,
            )

    _tell_made(asking(make_it, trust=trust), quiet=quiet, as_json=as_json)


def _tell_made(made: Made, *, quiet: bool = False, as_json: bool = False) -> None:
    """Say what was made, and what to type once it is tried."""
    from fitkit.views.terminal import print_made

    if as_json:
        from fitkit.views.results import MadeResult

        say_json(MadeResult.of(made))
        return
    print_made(made, quiet=quiet)
    if not quiet:
        _tell_judging(made)


def _tell_judging(made: Made) -> None:
    """Say what to type once what was made is printed and tried."""
    from fitkit.journal import Journal

    folder = made.record.parent
    tell_judging(Journal(folder).print_of(made.code), folder)


@commands.command("trial-piece", short_help="Make the small piece of a part that decides a fit.")
@click.argument("sheet", type=PATH)
@click.argument("size", default="")
@click.option("--into", type=PATH, help="Folder for the files.")
@click.option("--quiet", is_flag=True, help="Say only where the files are.")
@json_option
@trust_option
@workshop_option
def trial_piece(
    sheet: Path,
    size: str,
    into: Path | None,
    quiet: bool,
    trust: bool,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Make the piece of a part sheet's part that decides whether SIZE fits, to be tried first.

    Without SIZE it is the fit of the part that is least sure. The piece has the drawn sizes of the
    part and a trace code of its own; what is judged on it counts for the part.
    """
    from fitkit.make.pieces import make_piece
    from fitkit.views.terminal import progress

    def make_it() -> Made:
        with progress(quiet) as step:
            return make_piece(sheet, size, into=into, workshop=workshop, step=step)

    _tell_made(asking(make_it, trust=trust), quiet=quiet, as_json=as_json)


@commands.command(short_help="Tell how likely a part fits, and what would raise that most.")
@click.argument("sheet", type=PATH)
@json_option
@trust_option
@workshop_option
def chance(sheet: Path, trust: bool, workshop: Path | None, as_json: bool) -> None:
    """Tell how likely all fits of a part are as wanted, and which act raises that most per minute.

    The acts: a trial piece, a ladder of gaps, a coupon, or another reading of the object.
    """
    from fitkit.make.pieces import weigh_acts
    from fitkit.views.terminal import print_chance

    weighed = asking(lambda: weigh_acts(sheet, workshop=workshop), trust=trust)
    if as_json:
        from fitkit.views.results import ChanceResult

        say_json(ChanceResult.of(weighed))
        return
    print_chance(weighed)


@commands.command(short_help="Fit a printer's profile from a coupon's readings.")
@click.argument("coupon", type=PATH)
@click.argument("profile", type=PATH)
@click.option("--instruments", type=PATH, help="Instruments file (TOML).")
@click.option("--nozzle", default="", help="Nozzle that printed it, in your words.")
@click.option("--spool", default="", help="Spool that it was printed from, in your words.")
@click.option("--name", default="", help="Name of the profile.")
@click.option("--alone", is_flag=True, help="Do not learn from the workshop's other profiles.")
@json_option
@unit_option
@decimal_option
@workshop_option
def calibrate(
    coupon: Path,
    profile: Path,
    instruments: Path | None,
    alone: bool,
    unit: str | None,
    decimal: Literal[".", ","] | None,
    workshop: Path | None,
    as_json: bool,
    **words: str,
) -> None:
    """Fit a printer's profile from the readings of a calibration coupon, and save it.

    Instruments are those of the workshop if no file is given, else usual calipers. The profiles of
    the workshop's other printers, nozzles, spools and materials count as readings of printers that
    are like this one.
    """
    from fitkit.calibration import fit_profile, profiles_in, save_profile
    from fitkit.readings import ReadingTable, load_instruments
    from fitkit.views.terminal import print_profile

    home = workshop_near(coupon.parent, workshop)
    if home:
        unit, decimal = unit or home.unit, decimal or home.decimal
    table = ReadingTable.read(coupon, unit, decimal=decimal)
    if instruments is None and home and home.instruments.is_file():
        instruments = home.instruments
    known = load_instruments(instruments) if instruments else None
    others, unread = ([], []) if alone or not home else profiles_in(home.profiles, besides=profile)
    fitted = fit_profile(table, instruments=known, others=others, **words)
    settle_beside(profile)
    save_profile(fitted, profile)
    if as_json:
        from fitkit.views.results import CalibrateResult

        say_json(CalibrateResult.of(fitted, profile, unread=unread))
        return
    for line in unread:
        say(line)
    print_profile(fitted, profile)


@commands.command(short_help="Tell whether a printer drifted between two profiles.")
@click.argument("old", type=PATH)
@click.argument("new", type=PATH)
@json_option
def compare(old: Path, new: Path, as_json: bool) -> None:
    """Tell whether a printer drifted: whether OLD and NEW profile differ beyond chance."""
    from fitkit.calibration import compare as compare_profiles, load_profile

    drift = compare_profiles(load_profile(old), load_profile(new))
    if as_json:
        from fitkit.views.results import CompareResult

        say_json(CompareResult.of(drift))
        return
    say(drift.text)


@commands.command(short_help="Make the calibration coupon and its order sheet.")
@click.argument("folder", type=PATH)
@click.option("--printer", required=True, help="Name of the printer.")
@click.option("--material", default="PETG", show_default=True)
@click.option("--layers", default="0.2 mm", show_default=True, help="Layer height.")
@click.option("--nozzle", default="0.4 mm", show_default=True, help="Nozzle width.")
@click.option("--measure", type=click.IntRange(1), help="How many features you will measure.")
@click.option(
    "--piece",
    type=click.Choice(["short", "second", "thorough", "check"]),
    default="short",
    show_default=True,
    help="The short coupon; a third of it, for another printer, nozzle or spool of a workshop that "
    "has a profile; twice the features; or five to see if a profile still holds.",
)
@click.option("--prints", default=1, show_default=True, help="How many coupons you will print.")
@click.option("--repeats", default=1, show_default=True, help="Readings of each feature.")
@click.option("--strips", is_flag=True, help="Test strips for the spool on the same plate.")
@json_option
@workshop_option
def coupon(
    folder: Path,
    printer: str,
    material: str,
    layers: str,
    nozzle: str,
    as_json: bool,
    **rest: Any,
) -> None:
    """Make the calibration coupon in FOLDER, with its print order and an empty readings file."""
    from fitkit.calibration import PrintSettings
    from fitkit.core.typed import command
    from fitkit.core.units import to_mm
    from fitkit.make.orders import order_coupon
    from fitkit.views.terminal import print_made

    height = to_mm(layers)
    settings = PrintSettings(
        printer=printer,
        material=material,
        layer_height_mm=height,
        first_layer_mm=height,
        nozzle_mm=to_mm(nozzle),
    )
    order = order_coupon(folder, settings=settings, **rest)
    then = [command("calibrate", str(order.readings), "PROFILE.toml")]
    if rest["piece"] == "check":
        then = [
            command("calibrate", str(order.readings), "CHECK.toml"),
            command("compare", "PROFILE.toml", "CHECK.toml"),
        ]
    of_strips = [command("material", str(order.form))] if order.form else []
    if as_json:
        from fitkit.views.results import CouponResult

        say_json(CouponResult.ordered(order, [*of_strips, *then]))
        return
    print_made(order.made, quiet=True)
    for path in filter(None, (order.readings, order.order, order.form)):
        say(f"  {path.name}")
    for line in of_strips:
        say(f"for the strips: {line}")
    if order.choice:
        say(order.choice.summary())
    for word, line in zip(("then", "and"), then, strict=False):
        say(f"{word}: {line}")


@commands.command(short_help="Make a test print with several gaps.")
@click.argument("folder", type=PATH)
@click.argument("pair")
@click.argument("behaviour")
@click.argument("size")
@click.option("--specimens", type=click.IntRange(1, 12), default=4, show_default=True)
@click.option("--profile", type=PATH, help="Printer's profile (TOML).")
@click.option("--generic", help="Material, without a profile; else the workshop's usual printer.")
@click.option("--journal", type=PATH, help="Journal with earlier verdicts; else the workshop's.")
@json_option
@workshop_option
def ladder(
    folder: Path, pair: str, behaviour: str, size: str, as_json: bool, **options: Any
) -> None:
    """Make in FOLDER a test print with several gaps, for PAIR, BEHAVIOUR and SIZE with its unit.

    The gaps are those whose verdicts are expected to teach most.
    """
    from fitkit.core.units import to_mm
    from fitkit.make.orders import order_ladder

    made = order_ladder(folder, pair, behaviour, size_mm=to_mm(size), **options)
    _tell_made(made, as_json=as_json)


@commands.command(short_help="Make strips that test a spool.")
@click.argument("folder", type=PATH)
@click.option("--material", default="PETG", show_default=True, help="Polymer of the spool.")
@json_option
@workshop_option
def strips(folder: Path, material: str, workshop: Path | None, as_json: bool) -> None:
    """Make in FOLDER strips to bend and a form for them: they tell what a spool bears."""
    from fitkit.core.typed import command
    from fitkit.make.orders import order_strips
    from fitkit.views.terminal import print_made

    order = order_strips(folder, material=material, workshop=workshop)
    then = command("material", str(order.form))
    if as_json:
        from fitkit.views.results import StripsResult

        say_json(StripsResult.ordered(order, [then]))
        return
    print_made(order.made, quiet=True)
    say(f"  {order.form.name}")
    say(f"then: {then}")


@commands.command(short_help="Keep what test strips tell of a spool.")
@click.argument("form", type=PATH)
@click.option("--name", help="Name of the file in the workshop's materials; else the form's.")
@json_option
@workshop_option
def material(form: Path, name: str | None, workshop: Path | None, as_json: bool) -> None:
    """Work out what the test strips in FORM tell, and keep it as a material of the workshop."""
    from fitkit.checks.strip_form import load_strips, material_of_strips
    from fitkit.make.orders import keep_material

    filled = load_strips(form)
    found = material_of_strips(filled)
    if not as_json:
        for key, span in found.properties.items():
            say(f"{key}: {span.low:g} to {span.high:g}. {span.source}")
    path = keep_material(found, near=form, name=name, workshop=workshop)
    if as_json:
        from fitkit.views.results import MaterialResult

        say_json(MaterialResult.of(found, path))
        return
    say(f'Kept as {path}. Name it in a sheet: [use] material = "{path.name}"')


@commands.command(short_help="Start a part: readings file, part sheet, notebook.")
@click.argument("title", required=False)
@click.option("--template", default="board case", show_default=True, help="Template to start with.")
@click.option("--folder", type=PATH, default=Path(), help="Where to put it.")
@click.option(
    "--with",
    "choices",
    multiple=True,
    metavar="NAME=VALUE",
    help="A parameter chosen now, such as standoff=heat-set; may be given again.",
)
@click.option(
    "--holds",
    multiple=True,
    metavar="NAME=HOW",
    help="Of a case or plate: a thing that it holds, such as 'cells=round cell in saddles'; may be "
    "given again.",
)
@click.option("--list", "show", is_flag=True, help="Show the templates and the ways to hold.")
@json_option
@workshop_option
def new(
    title: str | None,
    template: str,
    folder: Path,
    choices: tuple[str, ...],
    holds: tuple[str, ...],
    show: bool,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Start a part called TITLE: what to read, a part sheet that uses it, and a notebook.

    A folder that belongs to no workshop becomes one.
    """
    from fitkit.core.typed import command
    from fitkit.make.new import new_part, offers
    from fitkit.parts.feature import known_features as known_side_features
    from fitkit.parts.holder import known_features, known_holders
    from fitkit.workshop import FILE_NAME

    if show and as_json:
        from fitkit.views.results import NewResult

        say_json(NewResult.listed(offers(), known_holders(), known_features()))
        return
    if show:
        for offer in offers():
            say_beside(offer.title, offer.summary, indent=20)
            if offer.ordered_by:
                say(f"{'':20}{command(offer.ordered_by)}")
            if offer.picture:
                say(f"{'':20}{offer.picture}")
        say("")
        say("ways to hold a thing of a case or plate (--holds NAME=HOW):")
        for way, kind in known_holders().items():
            say_beside(way, kind.summary, indent=24)
        say("")
        say("what is made on a given shape besides:")
        for way, kind in known_features().items():
            say_beside(way, kind.summary, indent=24)
        say("")
        say("features on a side of a case or plate ([[values.features]], kind = ...):")
        for way, side in known_side_features().items():
            say_beside(way, side.summary, indent=24)
        return
    if title is None:
        raise click.UsageError("Give the part a title, or --list to see the templates.")
    made = new_part(
        title,
        template=template,
        folder=folder,
        choices=dict(_choice(text, "--with") for text in choices),
        holds=dict(_choice(text, "--holds") for text in holds),
        workshop=workshop,
    )
    named = ("--workshop", str(workshop)) if workshop else ()
    then = command("make", str(made[1]), *named)
    if as_json:
        from fitkit.views.results import NewResult

        say_json(NewResult.started(made, then))
        return
    for path in made:
        begun = ": this folder is now a workshop" if path.name == FILE_NAME else ""
        say(f"wrote {path}{begun}")
    say(
        "then: type the readings (in the notebook's grid, or a spreadsheet), look through the part "
        f"sheet, and run\n  {then}"
    )


def _choice(text: str, option: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not (name.strip() and sign):
        form = "NAME=VALUE" if option == "--with" else "NAME=HOW"
        raise click.UsageError(f"{option} {text!r}: write it as {form}.")
    return name.strip(), value.strip()


@commands.command(short_help="Make a folder a workshop: journal, profiles, habits.")
@click.argument("folder", type=PATH, default=Path())
@click.option("--title", default="", help="Name of the workshop.")
@json_option
def begin(folder: Path, title: str, as_json: bool) -> None:
    """Make FOLDER (this one, if not given) a workshop, in which parts keep what belongs to them."""
    from fitkit.workshop import FILE_NAME, begin_workshop

    workshop = begin_workshop(folder, title=title)
    if as_json:
        from fitkit.views.results import WrittenResult

        say_json(WrittenResult.of([workshop.root / FILE_NAME]))
        return
    say(f"wrote {workshop.root / FILE_NAME}: journal in {workshop.journal}")


@commands.command(short_help="Copy the demo workshop, and make its sound board case.")
@click.argument("folder", type=PATH, default=Path("demo"))
@json_option
@click.pass_context
def demo(ctx: click.Context, folder: Path, as_json: bool) -> None:
    """Copy the demo workshop to FOLDER, unless it is there, and make its sound board case.

    The lessons come along as notebooks: FOLDER/lessons.
    """
    from fitkit.demo import DEMO_SHEET, copy_demo

    sheet = folder / DEMO_SHEET
    if not sheet.is_file():
        copied = copy_demo(folder, lessons=True)
        say(f"the demo workshop is copied to {copied}", err=as_json)
    ctx.invoke(make, sheet=sheet, into=None, quiet=False, workshop=None, as_json=as_json)


@commands.command(short_help="Give the JSON schema of a kind of file, or of a command's --json.")
@click.argument("kind")
@click.option(
    "--result",
    is_flag=True,
    help="Of what the command of this name says, where a kind of file is called so too.",
)
def schema(kind: str, result: bool) -> None:
    """Print the JSON schema of KIND: a kind of file, or a command that takes --json.

    With that of a file (sheet, workshop, instruments, material, exhibit) an editor completes and
    checks it; that of a command says what a program may expect of its result.
    """
    import json

    from fitkit.views.schemas import FILES, schema_of

    if kind in FILES and not result:
        say(json.dumps(schema_of(kind), indent=2, ensure_ascii=False))
        return
    from fitkit.views.results import RESULTS, result_schema

    if kind not in RESULTS:
        raise click.UsageError(
            f"there is no schema of {kind!r}. Files: {', '.join(FILES)}; commands: "
            f"{', '.join(RESULTS)}."
        )
    say(json.dumps(result_schema(kind), indent=2, ensure_ascii=False))


@commands.command("self-check", short_help="Tell whether what is installed belongs together.")
def self_check() -> None:
    """Tell whether libraries, page side and CAD kernel belong together, and what to type if not."""
    from fitkit.views.self_check import kernel_faults, library_faults, page_faults

    faults = (*library_faults(), *page_faults(), *kernel_faults())
    if faults:
        raise FaultList(faults)
    say(
        "libraries, the notebook's page side and the CAD kernel belong together; if a widget still "
        f"does not show, reload the page, and see that '{sys.executable} -m jupyterlab' serves it"
    )


@commands.command("make-many", short_help="Make a part for each row of a table.")
@click.argument("table", type=PATH)
@click.argument("sheet", type=PATH)
@click.option("--into", type=PATH, default=Path("made"), show_default=True)
@click.option("--workers", type=click.IntRange(1), help="Processes; all processors if not given.")
@click.option("--scheduler", help="Address of a Dask scheduler, to share the rows over machines.")
@click.option(
    "--without-tls", is_flag=True, help="Reach a scheduler on another machine without TLS."
)
@json_option
@trust_option
@workshop_option
def make_many(
    table: Path,
    sheet: Path,
    into: Path,
    workers: int | None,
    scheduler: str | None,
    without_tls: bool,
    trust: bool,
    workshop: Path | None,
    as_json: bool,
) -> None:
    """Make a part for each row of a table that varies a part sheet; finished rows are kept."""

    def tell(outcome: Outcome) -> None:
        # With --json this is what is being done, which stays apart from the result.
        text = f"{outcome.state:8} {outcome.code:8} {outcome.title}  {outcome.message}".rstrip()
        say(text, err=as_json)

    def make_them() -> Sequence[Outcome]:
        if scheduler:
            from fitkit.make.cluster import make_on

            return make_on(
                scheduler,
                table,
                sheet,
                into,
                workshop=workshop,
                without_tls=without_tls,
                told=tell,
            )
        from fitkit.make.many import make_many as make_all

        return make_all(table, sheet, into, workers=workers, workshop=workshop, told=tell)

    outcomes = asking(make_them, trust=trust)
    refused = sum(outcome.state == "refused" for outcome in outcomes)
    report = into / "report.csv"
    if as_json:
        from fitkit.views.results import ManyResult

        say_json(ManyResult.of(outcomes, report))
    else:
        say(f"{len(outcomes)} rows, {refused} refused; report in {report}")
    if refused:
        sys.exit(2)


for _command in (*reading_commands.values(), *job_commands.values(), *journal_commands.values()):
    commands.add_command(_command)


def main(arguments: list[str] | None = None) -> Any:
    """Run the command line; mistakes end in one message and status 2."""
    serve_any_encoding()
    one_thread_each()
    # A command ends in seconds, and nearly all that it makes stays until then: looking for what
    # nobody needs any more took a sixth of the time of a whole `make`, and freed next to nothing.
    gc.set_threshold(1_000_000)
    try:
        refuse_broken_words(sys.argv[1:] if arguments is None else arguments)
        return commands.main(args=arguments, prog_name="fitkit", standalone_mode=True)
    except click.UsageError as error:  # one that no command has told
        say(f"fitkit: {error.format_message()}", err=True)
        sys.exit(2)
    except FitkitError as error:
        say(f"fitkit: {error}", err=True)
        sys.exit(2)
    except OSError as error:  # a name too long, a disk that is gone
        where = f"{error.filename}: " if error.filename else ""
        say(f"fitkit: {where}{error.strerror or error}", err=True)
        sys.exit(2)
    except KeyboardInterrupt:
        say("fitkit: stopped; no file was left half written", err=True)
        sys.exit(130)
    except Exception as error:  # a fault of ours: the user gets one line, the report the rest
        say(f"fitkit: {_kept_for_a_report(error)}", err=True)
        sys.exit(1)


def _kept_for_a_report(error: Exception) -> str:
    """Write an unforeseen error's details to a file, and say in one line where."""
    import tempfile
    import traceback

    with tempfile.NamedTemporaryFile(
        "w", prefix="fitkit-", suffix=".txt", delete=False, encoding="utf-8"
    ) as details:
        traceback.print_exception(error, file=details)
    return f"something unforeseen went wrong ({error}); please report it with {details.name}"
