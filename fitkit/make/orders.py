"""Prints that are made to be measured or tried: calibration coupon, fit ladder, test strips.

All go the same way as any part, from a sheet through `make`, so that they have files, checks and a
record; the coupon gets its empty readings file and print order beside it, the test strips a form.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from fitkit.core.errors import CheckError, InputError
from fitkit.flow.sheet import PartSheet, sheet_of

if TYPE_CHECKING:
    from fitkit.calibration import CouponChoice, PrintSettings
    from fitkit.checks import Material
    from fitkit.fits import Ladder
    from fitkit.flow import Inputs
    from fitkit.make import Made
    from fitkit.parts.contract import Part

__all__ = [
    "CouponOrder",
    "StripOrder",
    "keep_material",
    "order_coupon",
    "order_ladder",
    "order_strips",
]


class CouponOrder(NamedTuple):
    """A coupon made, the files to fill, and what to expect of it where features were chosen.

    `form` is the one to fill for test strips on the same plate; None without strips.
    """

    made: Made
    readings: Path
    order: Path
    choice: CouponChoice | None
    form: Path | None = None


def order_coupon(
    folder: str | Path,
    *,
    settings: PrintSettings,
    measure: int | None = None,
    piece: Literal["short", "second", "thorough", "check"] = "short",
    prints: int = 1,
    repeats: int = 1,
    instrument: str = "",
    strips: bool = False,
    workshop: str | Path | None = None,
) -> CouponOrder:
    """Make the calibration coupon's files, its empty readings file and its print order.

    Parameters
    ----------
    folder : path
    settings : PrintSettings
        Printer, material, layers and nozzle that it will be printed with.
    measure : int, optional
        How many features you are willing to measure: those that teach most are chosen, and what
        they should teach is told before anything is printed. The short coupon's, about twenty, if
        not given.
    piece : {"short", "second", "thorough", "check"}
        Where no number is chosen: the short coupon; a third of it, for a printer, nozzle or spool
        beside one whose profile the workshop has; one of twice the features; or a small piece of
        five that shows whether a profile still holds.
    prints, repeats : int
        How many coupons will be printed, and how often each feature is read.
    instrument : str
        Goes into the readings file; the workshop's first if not given.
    strips : bool
        Put test strips on the same plate, with a form for what is read on them.
    workshop : path, optional
        A workshop that wins over the one that the folder belongs to.

    Returns
    -------
    CouponOrder

    Raises
    ------
    CalibrationError
        If so many features cannot be chosen, or a readings file is there already; nothing is then
        made.
    InputError
        If there is a form of test strips already, which may be filled; nothing is then made.
    """
    from fitkit.calibration import CouponSizes, choose_features, write_order
    from fitkit.calibration.coupon import first_readings
    from fitkit.calibration.order import order_files
    from fitkit.journal.plain import typed_values
    from fitkit.make import make
    from fitkit.parts.designs.coupon import CalibrationCoupon
    from fitkit.readings.instruments import name_for_readings
    from fitkit.workshop import workshop_of

    folder = Path(folder)
    readings, order = order_files(folder)  # refuses a folder whose readings may be filled
    form = _free_form(folder) if strips else None
    instrument = instrument or name_for_readings(workshop_of(folder, named=workshop).instruments)
    # Heights that are not whole layers would tell little.
    made_of = {
        "short": CouponSizes,
        "second": CouponSizes.second_printer,
        "thorough": CouponSizes.thorough,
        "check": CouponSizes.check_piece,
    }
    sizes = made_of[piece]().on_layers(settings.layer_height_mm, settings.first_layer_mm)
    choice, part = None, CalibrationCoupon.of_sizes(sizes)
    if measure is not None:
        choice = choose_features(measure, material=settings.material)
        part = CalibrationCoupon.of_features(choice.features)
    content: dict[str, Any] = {
        "title": "calibration coupon",
        "template": CalibrationCoupon.title,
        "printer": {"generic": settings.material},
        "values": typed_values(part),
        "use": {"handling": "decor only"},
    }
    content["values"].pop("label", None)  # its trace code goes there
    if strips:
        content["values"]["strips"] = True

    def beside(built: Part, stage: Path) -> None:
        order_files(folder)  # nobody has written one meanwhile
        if form is not None:
            _write_form(stage / form.name, settings.material)
        write_order(
            stage,
            first_readings(choice.features if choice else part.features()),
            settings=settings,
            prints=prints,
            repeats=repeats,
            instrument=instrument,
            places={
                row.name: (row.start, row.end)
                for row in built.dimensions
                if row.body == built.bodies[0].name
            },
        )

    made = make(_sheet(content, folder, workshop), into=folder, beside=beside)
    return CouponOrder(made, readings, order, choice, form)


def order_ladder(
    folder: str | Path,
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    specimens: int = 4,
    profile: str | Path | None = None,
    generic: str | None = None,
    journal: str | Path | None = None,
    workshop: str | Path | None = None,
) -> Made:
    """Make the ladder of gaps that teaches most, given the verdicts of the journal.

    Parameters
    ----------
    folder : path
    pair, behaviour : str
        What is to be learned.
    size_mm : float, mm
    specimens : int
        Gaps on the ladder, 1 to 12.
    profile : path, optional
        Printer's profile.
    generic : str, optional
        Material whose published ranges stand in for a profile. The workshop's usual printer if
        neither is given.
    journal : path, optional
        Journal with earlier verdicts, which gets the record of this print too; the workshop's if
        not given.
    workshop : path, optional
        A workshop that wins over the one that the folder belongs to.

    Returns
    -------
    Made
        Its order sheet lies beside its files, as ``ladder_order.html``; `told` says so.

    Raises
    ------
    FitkitError
        What `make` raises; `FitError` if the pair or the behaviour is not known.
    """
    from dataclasses import replace

    from fitkit.core.files import write_atomic
    from fitkit.fits import next_ladder
    from fitkit.fits.choose import clashes_text
    from fitkit.flow import read_inputs
    from fitkit.journal import Journal
    from fitkit.journal.plain import typed_values
    from fitkit.make import make
    from fitkit.make.bench_pages import ladder_page
    from fitkit.parts.designs.fit_ladder import FitLadder

    folder = Path(folder)
    content: dict[str, Any] = {
        "title": f"{pair}, {behaviour}, {size_mm:g} mm, ladder",
        "template": FitLadder.title,
        "use": {"handling": "decor only"},
    }
    if profile:
        content["printer"] = {"profile": str(Path(profile).resolve())}
    elif generic:
        content["printer"] = {"generic": generic}
    if journal:
        content["journal"] = str(Path(journal).resolve())
    inputs = read_inputs(_sheet(content, folder, workshop))
    trials = inputs.trials

    def proposed(u_lasting_mm: float) -> Ladder:
        return next_ladder(
            pair,
            behaviour,
            size_mm=size_mm,
            specimens=specimens,
            trials=trials,
            u_lasting_mm=u_lasting_mm,
        )

    ladder = proposed(_lasting_mm(proposed(0.0), inputs)) if trials else proposed(0.0)
    content["values"] = typed_values(FitLadder.of_ladder(ladder))
    content["values"].pop("label", None)
    made = make(_sheet(content, folder, workshop), into=folder)
    told = [ladder.advice(), *ladder.notes]
    clashes = clashes_text(
        [t for t in trials if (t.pair, t.behaviour) == (pair, behaviour)], size_mm
    )
    record = Journal(made.record.parent).print_of(made.code)
    order = write_atomic(folder / "ladder_order.html", ladder_page(made.part, record))
    told.append(f"what to read and to try, to be printed: {order.name}")
    return replace(made, told=(*made.told, *told, *([clashes] if clashes else [])))


class StripOrder(NamedTuple):
    """Test strips made, and the form to fill."""

    made: Made
    form: Path


def order_strips(
    folder: str | Path, *, material: str, workshop: str | Path | None = None
) -> StripOrder:
    """Make the test strips' files, and a form for what is read on them.

    Parameters
    ----------
    folder : path
    material : str
        Polymer of the spool: a row of the published table.
    workshop : path, optional
        A workshop that wins over the one that the folder belongs to.

    Returns
    -------
    StripOrder

    Raises
    ------
    CheckError
        If there are no published figures for the polymer.
    InputError
        If the folder has a form already: it may be filled.
    """
    from fitkit.checks import published_material
    from fitkit.make import make
    from fitkit.parts.designs.bend_strips import BendStrips

    published_material(material)
    folder = Path(folder)
    content: dict[str, Any] = {
        "title": "test strips",
        "template": BendStrips.title,
        "printer": {"generic": material},
        "use": {"handling": "decor only"},
    }
    form = _free_form(folder)

    def beside(_part: Part, stage: Path) -> None:
        _write_form(stage / form.name, material)

    made = make(_sheet(content, folder, workshop), into=folder, beside=beside)
    return StripOrder(made, form)


def _free_form(folder: Path) -> Path:
    """Give the place of the strips' form, which must be free."""
    form = folder / "strips.toml"
    if form.exists():
        raise InputError(
            "there is a form of test strips already, which may be filled",
            file=form,
            code="make.form-exists",
            remedy="Name another folder.",
        )
    return form


def _write_form(form: Path, material: str) -> Path:
    """Write the empty form for strips as they are drawn plainly."""
    from datetime import date

    from fitkit.checks.strip_form import empty_form
    from fitkit.core.files import create_atomic
    from fitkit.parts.designs.bend_strips import BendStrips

    strips = BendStrips.of()
    text = empty_form(material, span_mm=strips.span_mm, snaps=strips.snaps, today=date.today())
    return create_atomic(form, text)


def keep_material(
    found: Material,
    *,
    near: str | Path,
    name: str | None = None,
    workshop: str | Path | None = None,
) -> Path:
    """Keep a material of one's own in the workshop.

    Parameters
    ----------
    found : Material
    near : path
        The workshop is the one that this belongs to.
    name : str, optional
        Of the file; from the material's own name if not given.
    workshop : path, optional
        A workshop that wins over that one.

    Returns
    -------
    Path
        Of the file.

    Raises
    ------
    CheckError
        If there is such a material: it may hold a price or other tests.
    """
    from fitkit.checks.strip_form import material_text
    from fitkit.core.files import create_atomic
    from fitkit.core.staged import settle
    from fitkit.export.bodies import file_name
    from fitkit.workshop import workshop_of

    home = workshop_of(Path(near).resolve().parent, named=workshop)
    path = home.materials / f"{file_name((name or found.name).removesuffix('.toml'))}.toml"
    home.refuse_if_read_only()
    settle(path.parent)
    try:
        return create_atomic(path, material_text(found))
    except FileExistsError:
        raise CheckError(
            "there is such a material already",
            file=path,
            code="material.exists",
            remedy="Give another --name, or write the figures above into that file.",
        ) from None


def _lasting_mm(ladder: Ladder, inputs: Inputs) -> float:
    """How far the gaps of every ladder of this printer may be off alike, mm."""
    from fitkit.calibration.joint import PrintedSize, joint
    from fitkit.parts.designs.fit_ladder import FitLadder

    sizes = FitLadder.of_ladder(ladder).must_fit()
    sides = [sizes.holes[0], *([sizes.piece] if sizes.piece else [])]
    asked = [PrintedSize(side.nominal_mm, side.kind, side.axis) for side in sides]
    known = joint(asked, inputs.profile, learned=inputs.earlier.learned)
    return known.sum([1.0, -1.0][: len(sides)]).u_lasting_mm


def _sheet(content: dict[str, Any], folder: Path, workshop: str | Path | None = None) -> PartSheet:
    """Make a sheet whose paths count from the folder of the files."""
    return sheet_of(content, path=folder / "order.toml", workshop=workshop)
