"""The whole way from a part sheet to a finished part: each arrow of the design, one call each.

`read_inputs` reads what the sheet names, `solve` turns it into drawn sizes, `build` into solids;
none writes anything. The room `make` adds checks, files and the record. A panel calls
`solve` and `build` again at each change and reads the inputs once.
"""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, NamedTuple

from pydantic import BaseModel

from fitkit.core.errors import (
    CheckError,
    FaultList,
    FitkitError,
    PartError,
    SheetError,
    path_of,
)
from fitkit.core.format import fit_texts
from fitkit.core.given_file import embedded, is_file, is_shape, referred
from fitkit.core.units import show
from fitkit.fits.trial import BEHAVIOURS
from fitkit.flow.doubt import GapDoubt, gap_doubt
from fitkit.flow.earlier import Earlier, changes, earlier_prints, feature_of
from fitkit.flow.named import Named
from fitkit.parts.contract import FitSize, Template, is_length

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.calibration import PrinterProfile
    from fitkit.calibration.compensation import CompensatedSize
    from fitkit.core.format import FitTexts
    from fitkit.fits import GapChoice, Trial
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import Fitted, Journal
    from fitkit.journal.judged import Judged
    from fitkit.parts.contract import Builder, Part
    from fitkit.parts.split import Split
    from fitkit.parts.trust import TemplateFile
    from fitkit.readings import ReadingTable
    from fitkit.readings.shapes import Kind
    from fitkit.stats import Estimate, Expansion

__all__ = ["FitRow", "Inputs", "Plan", "build", "prepare", "read_inputs", "solve", "tried"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inputs:
    """What a sheet rests on, read once.

    Attributes
    ----------
    table : ReadingTable or None
    estimates : dict of feature name to Estimate
    profile : PrinterProfile
    earlier : Earlier
        What earlier prints teach, from the journal.
    """

    table: ReadingTable | None
    estimates: Mapping[str, Estimate]
    profile: PrinterProfile
    earlier: Earlier = field(default_factory=Earlier)
    # Rows that were worked out, by all that they rest on beside this: while one parameter changes
    # again and again, most sizes stay as they are.
    _rows: dict[tuple[Any, ...], FitRow] = field(default_factory=dict, init=False, repr=False)

    @property
    def trials(self) -> Sequence[Trial]:
        """Verdicts of earlier prints."""
        return self.earlier.trials


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FitRow:
    """One size on its way: measured, gap, target, drawn, expected as printed.

    `measured` is None for a size that no reading carries; `gap` is None where the sheet or the
    template sets a gap of its own, or where the size takes none. `doubt` tells how well the gap is
    known, of both sides together; None where the size takes no gap.
    """

    fit: FitSize
    measured: Estimate | None
    gap: GapChoice | None
    gap_mm: float
    wanted: str
    target: Estimate
    size: CompensatedSize
    doubt: GapDoubt | None = None

    def texts(self) -> FitTexts:
        """Write the row as every table shows it."""
        return fit_texts(
            self.fit.name,
            measured=(self.measured.value_mm, self.measured.U95_mm) if self.measured else None,
            gap_mm=self.gap_mm if self.fit.sense else None,
            target_mm=self.size.target_mm,
            drawn_mm=self.size.drawn_mm,
            expected=(self.size.expected_mm, self.size.U95_mm),
            wanted=self.wanted,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Plan:
    """A sheet worked out: the template with its parameters, and what to draw.

    Attributes
    ----------
    sheet : PartSheet
    inputs : Inputs
    template : Template
    parameters : dict of parameter path to Estimate
        Where each length parameter came from, as ``ports.0.width``.
    rows : tuple of FitRow
    coat : Estimate or None
        Thickness of the finish coat on one face.
    template_file : TemplateFile or None
        The file of one's own that the template came from.
    split : tuple of Split
        Where and how bodies are split, nothing left open.
    drawn : dict of fit-size name to mm
        What `Template.build` is given.
    """

    sheet: PartSheet
    inputs: Inputs
    template: Template
    parameters: Mapping[str, Estimate]
    rows: tuple[FitRow, ...]
    coat: Estimate | None
    template_file: TemplateFile | None = None
    split: tuple[Split, ...] = ()
    drawn: Mapping[str, float] = field(init=False)

    def __post_init__(self) -> None:
        drawn = {row.fit.name: row.size.drawn_mm for row in self.rows}
        object.__setattr__(self, "drawn", drawn)

    @property
    def builder(self) -> Builder:
        """What builds the part of `drawn`: the template, or what mirrors and splits its part."""
        whole = _facing(self.sheet, self.template)
        if not self.split:
            return whole
        from fitkit.parts.split import SplitTemplate

        return SplitTemplate(whole, self.split)

    def row(self, name: str) -> FitRow:
        """Find the row of a fit size by its name.

        Raises
        ------
        SheetError
            If the part has none of that name.
        """
        for row in self.rows:
            if row.fit.name == name:
                return row
        names = ", ".join(row.fit.name for row in self.rows) or "none"
        raise SheetError(
            f"there is no size {name!r}",
            where=self.sheet.title,
            code="flow.no-such-size",
            remedy=f"It has: {names}.",
        )


def prepare(sheet: PartSheet, *, label: str = "") -> Plan:
    """Read a sheet's inputs and solve it.

    Parameters
    ----------
    sheet : PartSheet
    label : str, optional
        Text to sink into the part where the sheet gives none.

    Returns
    -------
    Plan
        What will be drawn, with all that it rests on.

    Raises
    ------
    FitkitError
        One clear message: what, where, what to do.
    """
    return solve(sheet, read_inputs(sheet), label=label)


def read_inputs(sheet: PartSheet) -> Inputs:
    """Read the readings, the printer's profile and the trials that a sheet names.

    Raises
    ------
    FaultList
        Every rejected row of the readings, with file, row and column.
    """
    from fitkit.journal import Journal, judged_entries

    table, found = None, {}
    if sheet.readings_files:
        whole = _readings(sheet)
        table = whole.of_item(sheet.item) if sheet.item else whole
        found = estimated(sheet, table, whole)
    journal = Journal(sheet.journal_folder)
    judged = judged_entries(journal)
    profile = _of_today(_profile(sheet), journal, judged)
    earlier = earlier_prints(sheet, profile, journal, judged)
    return Inputs(table=table, estimates=found, profile=profile, earlier=earlier)


def solve(sheet: PartSheet, inputs: Inputs, *, label: str = "") -> Plan:
    """Work out what to draw: parameters, targets, compensated sizes.

    Parameters
    ----------
    sheet : PartSheet
    inputs : Inputs
        What `read_inputs` found for the sheet.
    label : str, optional
        Text to sink into the part where the sheet gives none.

    Returns
    -------
    Plan

    Raises
    ------
    SheetError
        If the sheet names a template, feature or fit that is not there, or its readings file is
        still empty.
    TrustError
        If it names a template file that nobody has said yes to.
    FaultList
        All parameters at fault at once.
    """
    from fitkit.flow.expressions import evaluate
    from fitkit.parts.own_file import fault_of_file

    own = sheet.template_text()
    kind = sheet.holding(own).kind()
    parameters: dict[str, Estimate] = {}

    def worked_out(text: str, path: str) -> Estimate:
        try:
            value = evaluate(text, named.at(path_of(path)))
        except FitkitError as error:
            raise error.placed(SheetError, where=None, at=key(path)) from error
        parameters[path] = value
        return value

    faults: list[FitkitError] = []

    def taken_in(name: str, path: str) -> str:
        return embedded(name, folder=sheet.folder, at=key(path))

    def referred_to(name: str, path: str) -> str:
        return referred(name, folder=sheet.folder, at=key(path))

    given = {"label": label} | sheet.parameters
    named = Named.of(sheet, inputs.table, inputs.estimates)

    def key(path: str) -> tuple[str | int, ...]:
        """Place in the sheet: what the things' tables hold stands beside the values."""
        at = path_of(path)
        return at if sheet.carrier is not None and at[0] == "things" else ("values", *at)

    text = given["label"]
    if label and isinstance(text, str) and text.strip() and label not in text:
        # The trace code finds the part again, whatever else stands on it.
        given["label"] = f"{text}\n{label}"
    values = _resolve(kind, given, _Readers(worked_out, taken_in, referred_to), "", faults)
    if faults and inputs.table is not None and not inputs.table.features():
        waiting = dict.fromkeys(inputs.table.frame["feature"])
        raise SheetError(
            "no reading is filled in yet",
            where=inputs.table.name,
            code="flow.no-readings-yet",
            remedy=f"Type what the calipers show for: {', '.join(waiting) or 'the features'}.",
        )
    if faults:
        raise FaultList(faults)
    with fault_of_file(own):
        part = kind.of(**values)
        fits = part.fit_sizes()
    split = _split(sheet, part, inputs.profile) if sheet.split else ()
    if split:
        from fitkit.parts.split import split_sizes

        fits = (*fits, *split_sizes(split[0]))
    coat = _coat(sheet)
    _refuse_unknown_wishes(sheet, fits)
    by_name = {fit.name: fit for fit in fits}
    rows: list[FitRow] = []
    for fit in fits:
        mate = by_name.get(fit.mate or "")
        measured = _measured(fit, parameters)
        rows.append(_row_of(sheet, inputs, _in_place(fit, rows), mate, measured, coat))
    return Plan(
        sheet=sheet,
        inputs=inputs,
        template=part,
        parameters=parameters,
        rows=tuple(rows),
        coat=coat,
        template_file=own,
        split=split,
    )


def _facing(sheet: PartSheet, template: Template) -> Builder:
    """Give the template, or what mirrors its part where the sheet asks for that."""
    if not sheet.mirrored:
        return template
    from fitkit.parts.mirror import MirrorTemplate

    return MirrorTemplate(template)


def _split(sheet: PartSheet, part: Template, profile: PrinterProfile) -> tuple[Split, ...]:
    """Work out where a part is split; what the sheet leaves open needs the part built once."""
    from fitkit.parts.split import resolved

    assert sheet.split is not None
    split = sheet.split.meant()
    try:
        if split.is_whole:
            return (split,)
        return resolved(split, _facing(sheet, part).build(), profile.bed_mm)
    except PartError as error:
        if error.at[:1] != ("split",):
            raise
        raise error.placed(SheetError) from error


def build(plan: Plan) -> Part:
    """Build the solids of a solved sheet, or those of the piece that it asks for."""
    from fitkit.parts.own_file import fault_of_file

    with fault_of_file(plan.template_file):
        part = plan.builder.build(plan.drawn, title=plan.sheet.title)
    if plan.sheet.piece is None:
        return part
    from fitkit.parts.trial_piece import trial_piece

    profile = plan.inputs.profile
    return trial_piece(
        part,
        [row.fit for row in plan.rows],
        plan.sheet.piece,
        layer_mm=profile.layer_height_mm,
        first_layer_mm=profile.first_layer_mm,
    )


def tried(plan: Plan, part: Part) -> Plan:
    """Give a plan with those sizes alone that can be tried on what was built.

    Parameters
    ----------
    plan : Plan
    part : Part
        Built of it.

    Returns
    -------
    Plan
        The same plan for a whole part; for a trial piece, sizes whose faces, and those of whose
        mate, are whole on it.
    """
    if plan.sheet.piece is None:
        return plan
    whole = {one.name for one in part.dimensions}
    return replace(
        plan,
        rows=tuple(
            row
            for row in plan.rows
            if row.fit.name in whole and (row.fit.mate is None or row.fit.mate in whole)
        ),
    )


def estimated(sheet: PartSheet, table: ReadingTable, whole: ReadingTable) -> dict[str, Estimate]:
    """Estimate the features of a sheet's readings.

    Parameters
    ----------
    sheet : PartSheet
        Whose instruments and material count.
    table, whole : ReadingTable
        Readings of the sheet's item, and those of all items of its files.

    Returns
    -------
    dict of feature name to Estimate
    """
    from fitkit.readings.shapes import with_kinds, with_modes
    from fitkit.stats import estimates

    declared = _declared_kinds(sheet)
    table, notes = with_modes(table, declared)
    found = estimates(
        with_kinds(table, declared),
        instruments=instruments_of(sheet),
        expansion=_expansion(sheet),
        whole=whole,
    )
    return {
        name: replace(one, notes=(*one.notes, notes[name])) if name in notes else one
        for name, one in found.items()
    }


def _declared_kinds(sheet: PartSheet) -> dict[str, Kind]:
    """Say how features are read, which are round, and between which holes a span lies.

    As the template says it of the features that it asks for.

    Of a template in a file of one's own nothing is asked here: it runs only after its user's yes.
    """
    from fitkit.parts import template
    from fitkit.readings.shapes import Kind

    if sheet.template_file is not None:
        return {}
    try:
        measuring = template(sheet.template).how_measured()
    except FitkitError:  # which solving the sheet tells with its place
        return {}
    return {
        one.feature: Kind(
            mode=one.mode,
            round="yes" if one.round else "no" if one.between else "",
            between=one.between,
        )
        for one in measuring.readings
    }


def _readings(sheet: PartSheet) -> ReadingTable:
    """Read the sheet's files of readings, together as one table."""
    from fitkit.readings import ReadingTable
    from fitkit.readings.items import told_apart

    unit, sign = sheet.unit or sheet.workshop.unit, sheet.decimal or sheet.workshop.decimal
    tables = [
        ReadingTable.read(sheet.path(name), unit=unit, decimal=sign)
        for name in sheet.readings_files
    ]
    table = ReadingTable.joined(tables)
    if sheet.item and not len(table.of_item(sheet.item)):
        known = table.items()
        near = difflib.get_close_matches(sheet.item, known, 1)
        meant = f"Did you mean {near[0]!r}? " if near else ""
        raise SheetError(
            f"no reading is of an item {sheet.item!r}",
            where=table.name,
            at=("item",),
            code="flow.no-such-item",
            remedy=f"{meant}There are: {', '.join(known) or 'rows without an item only'}.",
        )
    wanted = [table.of_item(sheet.item) for table in tables] if sheet.item else tables
    _refuse_rejected(*wanted)
    if not sheet.item and any(thing.get("item") for thing in sheet.things):
        return told_apart(table)
    if not sheet.item:
        _refuse_shared_names(table)
    return table


def _refuse_shared_names(table: ReadingTable) -> None:
    """Refuse two items with features of one name: they are two things, not repeats of one."""
    from fitkit.readings.items import refuse_shared_names

    remedy = (
        'Name the one that the part is for in the sheet, as in item = "{item}", or give the '
        "features different names."
    )
    try:
        refuse_shared_names(table, remedy=remedy)
    except FitkitError as error:
        raise error.placed(SheetError, code="flow.several-items") from error


def _refuse_rejected(*tables: ReadingTable) -> None:
    """Refuse rows that were typed and cannot be read; rows still empty are work to be done."""
    faults = []
    for table in tables:
        typed = table.rejected["reading"].str.strip() != ""
        faults += [fault for fault, said in zip(table.faults(), typed, strict=True) if said]
    if faults:
        raise FaultList(faults)


def instruments_of(sheet: PartSheet) -> Any:
    """Load the instruments that a sheet's readings were taken with; None if it names none."""
    from fitkit.readings import load_instruments

    file = sheet.instruments_file
    return None if file is None else load_instruments(file)


def _expansion(sheet: PartSheet) -> Expansion | None:
    """Find how the thing that was read grows when warm, if the sheet says what it is made of."""
    from fitkit.calibration.thermal import expansion_per_kelvin
    from fitkit.data import load_table
    from fitkit.stats import Expansion

    thing = sheet.thing
    if thing is None:
        return None
    if thing.per_k is not None:
        return Expansion(
            material=thing.material, per_k=thing.per_k, u_per_k=thing.u_per_k, basis="part sheet"
        )
    names = load_table("coupon_expansion").frame["material"]
    known = [name for name in names if name != "any"]
    if thing.material.casefold() not in map(str.casefold, known):
        raise SheetError(
            f"no coefficient of expansion is known of {thing.material!r}",
            at=("object", "material"),
            code="flow.no-expansion",
            remedy=f"Give per_k (and u_per_k) beside it, or one of: {', '.join(known)}.",
        )
    per_k, u_per_k = expansion_per_kelvin(thing.material)
    basis = "range of the material, table coupon_expansion"
    return Expansion(material=thing.material, per_k=per_k, u_per_k=u_per_k, basis=basis)


def _profile(sheet: PartSheet) -> PrinterProfile:
    from fitkit.calibration import fit_profile, generic_profile, load_profile, profiles_in

    chosen = sheet.printer_to_draw_for
    if chosen.profile:
        return load_profile(chosen.profile)
    if chosen.generic:
        return generic_profile(chosen.generic)
    from fitkit.readings import ReadingTable

    assert chosen.coupon is not None  # the choice allows nothing else
    table = ReadingTable.read(chosen.coupon, unit=sheet.unit, decimal=sheet.workshop.decimal)
    _refuse_rejected(table)
    others, _ = profiles_in(sheet.workshop.profiles)
    return fit_profile(table, instruments=instruments_of(sheet), others=others)


def _of_today(profile: PrinterProfile, journal: Journal, judged: Judged) -> PrinterProfile:
    """Note on a profile the changes and the drift that the journal holds since it was made."""
    if profile.generic:
        return profile
    from fitkit.calibration import aged_by, noted
    from fitkit.journal import drift_check

    found = drift_check(
        judged, printer=profile.printer, material=profile.material, basis=profile.basis
    )
    profile = aged_by(profile, journal.records("machine"))
    return noted(profile, f"later prints: {found}") if found and found.drifted else profile


class _Readers(NamedTuple):
    """How texts among a template's values are read, each given the text and its path."""

    length: Callable[[str, str], Estimate]
    file: Callable[[str, str], str]
    shape: Callable[[str, str], str]


def _resolve(
    model: type[BaseModel],
    given: Mapping[str, Any],
    read: _Readers,
    path: str,
    faults: list[FitkitError],
) -> dict[str, Any]:
    """Work out the expressions among a template's values, through lists of nested models.

    Only lengths are expressions, and files are taken in; a text such as a label stays what it is.
    """
    values: dict[str, Any] = {}
    for name, value in given.items():
        field_info = model.model_fields.get(name)
        here = f"{path}{name}"
        if field_info is None:
            values[name] = value  # the template itself refuses it, with all others
        elif is_length(field_info.annotation, field_info.metadata):
            try:
                values[name] = _lengths(value, read.length, here)
            except FitkitError as error:
                faults.append(error)
        elif is_file(field_info.json_schema_extra) and isinstance(value, str):
            try:
                kept = read.shape if is_shape(field_info.json_schema_extra) else read.file
                values[name] = kept(value, here)
            except FitkitError as error:
                faults.append(error)
        elif (inner := _nested(field_info.annotation)) and isinstance(value, list):
            values[name] = [
                _resolve(_model_of(inner, item), item, read, f"{here}.{number}.", faults)
                if isinstance(item, dict)
                else item
                for number, item in enumerate(value)
            ]
        elif inner and isinstance(value, dict):
            values[name] = _resolve(inner, value, read, f"{here}.", faults)
        else:
            values[name] = value
    return values


def _model_of(model: type[BaseModel], item: Mapping[str, Any]) -> type[BaseModel]:
    """Find the model of an item of a list whose items are of several kinds."""
    choose = getattr(model, "model_for", None)
    return model if choose is None else choose(item)


def _lengths(value: Any, worked_out: Callable[[str, str], Estimate], path: str) -> Any:
    """Work out a length, or each length of a list; what is not text is left for the template."""
    if isinstance(value, str):
        return worked_out(value, path)
    if isinstance(value, list):
        return [_lengths(item, worked_out, f"{path}.{i}") for i, item in enumerate(value)]
    return value


def _nested(annotation: object) -> type[BaseModel] | None:
    """Find the nested model in an annotation such as ``tuple[Port, ...]``."""
    from typing import get_args

    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for arg in get_args(annotation) if (found := _nested(arg))), None)


def _measured(fit: FitSize, parameters: Mapping[str, Estimate]) -> Estimate | None:
    """Find what readings say of a size: its parameter, or the sum of those that it rests on."""
    if not fit.rests_on:
        return parameters.get(fit.of or "")
    found = [parameters[path] * share for path, share in fit.rests_on if path in parameters]
    if not found:
        return None
    total = found[0]
    for one in found[1:]:
        total = total + one
    return total + (fit.nominal_mm - total.value_mm)


_MOST_ROWS = 2000


def _row_of(
    sheet: PartSheet,
    inputs: Inputs,
    fit: FitSize,
    mate: FitSize | None,
    measured: Estimate | None,
    coat: Estimate | None,
) -> FitRow:
    """Work a row out, or take it as it was worked out from the same before."""
    wish = sheet.fits.get(fit.name) or sheet.fits.get(fit.pair or "")
    known = (
        sheet.title,
        sheet.template,
        fit,
        mate,
        wish and (wish.behaviour, wish.gap),
        # The name is the expression of features that it comes from; those are of these inputs.
        measured and (measured.name, measured.value_mm, measured.u_mm),
        coat and (coat.value_mm, coat.u_mm),
    )
    kept = inputs._rows
    if known not in kept:
        if len(kept) >= _MOST_ROWS:
            kept.clear()
        kept[known] = _fit_row(sheet, inputs, fit, mate, measured, coat)
    return kept[known]


def _fit_row(
    sheet: PartSheet,
    inputs: Inputs,
    fit: FitSize,
    mate: FitSize | None,
    measured: Estimate | None,
    coat: Estimate | None,
) -> FitRow:
    from fitkit.calibration.compensation import compensate
    from fitkit.core.units import to_mm
    from fitkit.fits import choose_gap
    from fitkit.stats import Estimate

    wish = sheet.fits.get(fit.name) or sheet.fits.get(fit.pair or "")
    gap, gap_mm, wanted = None, 0.0, "this size"
    if measured is None:
        thing = Estimate.of(fit.name, fit.nominal_mm, 0.0)
    else:  # what the template adds to the measured size is exact
        thing = measured + (fit.nominal_mm - measured.value_mm)
    doubt = None
    if fit.sense:
        doubt = gap_doubt(
            fit,
            mate,
            thing,
            profile=inputs.profile,
            learned=inputs.earlier.learned,
            coat=coat,
            feature=lambda name: feature_of(sheet.title, sheet.template, name),
        )
    if fit.gap_mm is not None:
        if wish and wish.gap:
            raise SheetError(
                "the part itself sets this gap",
                at=("fits", fit.name if fit.name in sheet.fits else fit.pair or ""),
                code="flow.gap-is-set",
                remedy="Change the part's own parameter, such as gaps, under values.",
            )
        gap_mm, wanted = fit.gap_mm, (wish and wish.behaviour) or fit.behaviour or "slides"
    elif fit.sense and wish and wish.gap:
        gap_mm, wanted = to_mm(wish.gap), "gap of the sheet"
    elif doubt:
        wanted = (wish and wish.behaviour) or fit.behaviour or "slides"
        gap = choose_gap(
            fit.pair or "",
            wanted,
            size_mm=max(fit.nominal_mm, 0.1),
            trials=inputs.trials,
            u_gap_mm=doubt.u_mm,
            df=doubt.df,
            u_lasting_mm=doubt.u_lasting_mm,
            most_strain=_bears(inputs.profile) if wanted in _PRESSED else None,
        )
        gap_mm = gap.gap_mm
    target = (thing + fit.sense * gap_mm).named(fit.name)

    def drawn_as(drawn_mm: float | None) -> CompensatedSize:
        return compensate(
            target,
            inputs.profile,
            kind=fit.kind,
            axis=fit.axis,
            coated_faces=fit.coated_faces,
            coat=coat,
            name=fit.name,
            learned=inputs.earlier.learned,
            feature=feature_of(sheet.title, sheet.template, fit.name),
            drawn_mm=drawn_mm,
            wall_mm=fit.wall_mm,
            # The template draws the floor where its own size says, which is whole layers.
            floor_mm=inputs.profile.first_layer_mm if fit.floor else None,
        )

    size = drawn_as(None)
    was = inputs.earlier.fitted.get(fit.name)
    if was and fit.gap_mm is None:  # a ladder's gaps are to be as they are said to be
        changed = changes(
            was,
            fit=fit,
            thing=thing,
            wanted=wanted,
            gap_mm=gap_mm,
            profile=inputs.profile,
            coat=coat,
            nozzle_since=inputs.earlier.nozzle_since,
        )
        size = _kept(was, size, drawn_as, changed)
        if doubt and not changed and wanted in BEHAVIOURS:
            size = replace(
                size, notes=(*size.notes, _again(fit, wanted, thing, size, inputs, doubt))
            )
    return FitRow(
        fit=fit,
        measured=measured,
        gap=gap,
        gap_mm=gap_mm,
        wanted=wanted,
        target=target,
        size=size,
        doubt=doubt,
    )


def _in_place(fit: FitSize, rows: Sequence[FitRow]) -> FitSize:
    """Lower a floor by half of what its opening was drawn larger, so that its middle stays.

    And raise it with what it is counted from.
    """
    moved_mm = 0.0
    for row in rows:
        more_mm = row.size.drawn_mm - row.fit.nominal_mm
        if row.fit.floor == fit.name:
            moved_mm -= more_mm / 2
        if row.fit.name == fit.stands_on:
            moved_mm += more_mm
    return replace(fit, nominal_mm=max(fit.nominal_mm + moved_mm, 0.1)) if moved_mm else fit


# Wanted behaviours that strain a bore.
_PRESSED = ("press by tool", "permanent interference")


def _bears(profile: PrinterProfile) -> float | None:
    """Strain that the profile's plastic bears for good, as a fraction; None if it is not known."""
    from fitkit.checks import published_material

    try:
        bears = published_material(profile.material).get("snap_strain")
    except CheckError:
        return None
    return bears.low / 100.0 if bears else None


def _again(
    fit: FitSize,
    wanted: str,
    thing: Estimate,
    size: CompensatedSize,
    inputs: Inputs,
    doubt: GapDoubt,
) -> str:
    """Say how likely a size that fitted is to fit again, as it was drawn then."""
    from fitkit.core.chances import say_chance
    from fitkit.fits import learn

    model = learn(
        fit.pair or "",
        wanted,
        size_mm=max(fit.nominal_mm, 0.1),
        trials=inputs.trials,
        u_lasting_mm=doubt.u_lasting_mm,
    )
    gap_mm = fit.sense * (size.expected_mm - thing.value_mm)
    u_fresh_mm = math.sqrt(max(doubt.u_mm**2 - doubt.u_lasting_mm**2, 0.0))
    chance = float(model.p_wanted(gap_mm, u_gap_mm=u_fresh_mm, df=doubt.df)[0])
    return f"the chance that it fits again as drawn then is {say_chance(chance)}"


def _kept(
    was: Fitted,
    worked_out: CompensatedSize,
    drawn_as: Callable[[float], CompensatedSize],
    changed: Sequence[str],
) -> CompensatedSize:
    """Draw a size as it was drawn when it fitted, unless what it rests on has changed."""
    code, drawn_mm = was.made.code, was.fit.drawn_mm
    if changed:
        note = (
            f"fitted as wanted in {code}, drawn {show(drawn_mm, digits=3)}; "
            f"it is calculated again because {'; '.join(changed)}"
        )
        return replace(worked_out, notes=(note, *worked_out.notes))
    size = drawn_as(drawn_mm)
    notes = (  # two, since the first is the same for many sizes and is then told once
        f"kept: fitted as wanted in {code} (keep_fitted = false in the sheet ends keeping)",
        f"a new calculation gives {show(worked_out.drawn_mm, digits=3)}",
    )
    return replace(size, notes=(*notes, *size.notes))


def _coat(sheet: PartSheet) -> Estimate | None:
    from fitkit.core.units import to_mm
    from fitkit.stats import Estimate

    finish = sheet.finish
    if finish.coat is None:
        return None
    return Estimate.of("finish coat", to_mm(finish.coat), to_mm(finish.u))


def _refuse_unknown_wishes(sheet: PartSheet, fits: Sequence[FitSize]) -> None:
    known = {fit.name for fit in fits} | {fit.pair for fit in fits if fit.pair}
    for name in sheet.fits:
        if name not in known:
            near = difflib.get_close_matches(name, known, 1)
            meant = f"Did you mean {near[0]!r}? " if near else ""
            raise SheetError(
                "this part has no such fit",
                at=("fits", name),
                code="flow.no-such-fit",
                remedy=f"{meant}It has: {', '.join(sorted(known))}."
                if known
                else "It has none: leave the key out.",
            )
