"""What a part is checked against, gathered from its sheet and profile; and what it will cost."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from fitkit.core.errors import CheckError
from fitkit.core.finding import Finding, worst_first
from fitkit.workshop import nearest

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fitkit.calibration import PrinterProfile
    from fitkit.checks import Broken, CheckContext, Material, Prices, Use
    from fitkit.checks.context import PatternDoubt, PlaceDoubt
    from fitkit.flow import FitRow, Plan
    from fitkit.flow.built import Built
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import PrintRecord
    from fitkit.journal.files import Damage
    from fitkit.parts.contract import Boss, Lug, Part, SnapArm, Wall

__all__ = [
    "Declared",
    "broken_before",
    "check",
    "check_context",
    "checked",
    "context_before",
    "declared",
    "expected_cost",
    "known_before",
    "patterns_of",
    "places_of",
    "unread",
    "with_meshes",
]

# A part as sure as this is printed without a trial. Common practice, no source.
_SURE = 0.9
# Prints drawn to find the chance that all screws of a pattern go in: known to 0.01 at worst.
_PATTERNS = 2000


def check(plan: Plan, built: Built, *, collisions: bool = True) -> tuple[Finding, ...]:
    """Run all checks on a built part, worst finding first; raises what `check_context` does.

    Parameters
    ----------
    plan : Plan
    built : Built
        Of that plan.
    collisions : bool
        Whether to check, too, that bodies do not overlap: the slowest check.

    Returns
    -------
    tuple of Finding
    """
    return checked(plan, built, check_context(plan, built, collisions=collisions))


def checked(plan: Plan, built: Built, context: CheckContext) -> tuple[Finding, ...]:
    """Run all checks, and add what is to be known of the readings and records beneath the sizes.

    Parameters
    ----------
    plan : Plan
    built : Built
    context : CheckContext

    Returns
    -------
    tuple of Finding
        The worst first.
    """
    from fitkit.checks import run_checks

    return worst_first((*known_before(plan), *run_checks(built.part, context)))


def known_before(plan: Plan) -> tuple[Finding, ...]:
    """Find what readings and records give reason to say, for which no part need be built."""
    from fitkit.flow.doubted import reading_findings

    return (*reading_findings(plan), *_whole(plan), *_of_the_journal(plan))


def _whole(plan: Plan) -> Iterator[Finding]:
    """Say how likely all fits are as wanted at this print, and what would raise that."""
    from fitkit.flow.whole import chance_line, part_chance

    chance = part_chance(plan)
    if chance is None:
        return
    line = chance_line(chance)
    doubtful = chance.p_all < _SURE and plan.sheet.piece is None
    yield Finding(
        check="chance",
        severity="note",
        text=f"{line[0].upper()}{line[1:]}.",
        value=100.0 * chance.p_all,
        unit="%",
        basis="printer's profile and verdicts on its prints, all fits drawn together",
        remedy="The command 'chance SHEET' says what raises it most, such as a trial piece."
        if doubtful
        else "",
    )


def _of_the_journal(plan: Plan) -> Iterator[Finding]:
    """Say where damaged or doubtful records may have changed a gap or a drawn size."""
    earlier = plan.inputs.earlier
    for newer, remedy in (
        (False, "See why with the command 'log', and restore the files from a copy"),
        (True, "Update fitkit"),
    ):
        these = tuple(item for item in earlier.damaged if item.newer is newer)
        if these:
            names = ", ".join(item.name for item in these[:3])
            yield Finding(
                check="journal",
                severity="warn",
                text=f"{unread(these)} ({names}{' and others' if len(these) > 3 else ''}).",
                value=float(len(these)),
                limit=0.0,
                unit="records",
                basis="the journal's files",
                remedy=f"{remedy}; or look whether the gaps still suit you.",
            )
    for text in earlier.doubts:
        yield Finding(
            check="journal",
            severity="warn",
            text=f"{text}.",
            basis="the journal's files",
            remedy="If it is wrong, correct or withdraw it.",
        )


def unread(damaged: Sequence[Damage]) -> str:
    """Say that records could not be read, and what that means for the numbers."""
    newer = sum(item.newer for item in damaged)
    said = []
    if old := len(damaged) - newer:
        said.append(f"{old} record{'' if old == 1 else 's'} of the journal could not be read")
    if newer:
        whose = (
            "1 record of the journal comes"
            if newer == 1
            else f"{newer} records of the journal come"
        )
        said.append(f"{whose} from a newer release of fitkit, which this one cannot read")
    return f"{' and '.join(said)}: gaps and drawn sizes are chosen without what they say"


class Declared(NamedTuple):
    """What a sheet declares for the checks, checked by their rules."""

    use: Use
    prices: Prices | None
    material: Material | None


def declared(sheet: PartSheet, profile: PrinterProfile) -> Declared:
    """Read a sheet's use, prices and material, before anything is built.

    Raises
    ------
    FaultList
        What the workshop's habits say of handling or prices is unknown or out of bounds.
    CheckError
        If the sheet names a material that is not there.
    """
    from fitkit.checks import Prices, Use

    use = sheet.use
    if "handling" not in use.model_fields_set:
        use = Use.of({"handling": sheet.workshop.handling} | use.model_dump(exclude_unset=True))
    usual = dict(sheet.workshop.prices)
    return Declared(
        use=use,
        prices=sheet.prices or (Prices.of(usual) if usual else None),
        material=_material(sheet, use.material, profile.material),
    )


def check_context(plan: Plan, built: Built, *, collisions: bool = True) -> CheckContext:
    """Gather what the checks need from a solved sheet and its built part.

    Raises what `declared` does.

    Parameters
    ----------
    plan : Plan
    built : Built
        Of that plan.
    collisions : bool
        Whether to check, too, that bodies do not overlap: the slowest check.

    Returns
    -------
    CheckContext
    """
    context = with_meshes(context_before(plan), built)
    return replace(context, collisions=collisions, broken=broken_before(plan))


def broken_before(plan: Plan) -> tuple[Broken, ...]:
    """Gather what broke of earlier prints of a sheet's part, with what it was then.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    tuple of Broken
        One a feature, the most broken first.
    """
    from fitkit.checks.context import Broken
    from fitkit.journal import Journal
    from fitkit.journal.breakages import breakages, by_feature

    journal = Journal(plan.sheet.journal_folder)
    found = breakages(journal)
    if not found:
        return ()
    made = {record.code: record for record in journal.prints_of(plan.sheet.title)}
    mine = [one for one in found if one.of in made]
    return tuple(
        Broken(
            feature=feature,
            stories=tuple(f"{one.of}{one.how and ', '}{one.how}" for one in group),
            then=_as_it_was(made[group[-1].of], feature),
        )
        for feature, group in by_feature(mine).items()
    )


def _as_it_was(record: PrintRecord, feature: str) -> tuple[SnapArm | Lug | Boss | Wall, ...]:
    """Build a print's part again for the numbers of a feature; none if that cannot be done."""
    from fitkit.checks.broken import features_called
    from fitkit.core.errors import FitkitError
    from fitkit.parts.registry import template

    if record.template_source is not None:  # whether its file may run is asked elsewhere
        return ()
    try:
        part = template(record.template).of(**record.values).build(record.drawn)
    except FitkitError:  # of another release
        return ()
    return features_called(part, feature)


def with_meshes(context: CheckContext, built: Built) -> CheckContext:
    """Give a context of `context_before` the meshes of the built part."""
    return replace(
        context, meshes=built.laid, placements=built.placements, assembled=built.assembled
    )


def context_before(plan: Plan) -> CheckContext:
    """Gather what the checks need from a solved sheet, before its part is built.

    It holds plain numbers and tables alone, so that it can go to another process.
    Raises what `declared` does.
    """
    from fitkit.checks import CheckContext, Coat, FitGap

    sheet, profile = plan.sheet, plan.inputs.profile
    coat = None
    if plan.coat:
        kind = sheet.finish.kind
        coat = Coat(thickness_mm=plan.coat.value_mm, u_mm=plan.coat.u_mm, kind=kind)
    gaps = tuple(
        FitGap(
            name=row.fit.name,
            gap_mm=row.gap_mm,
            u_mm=row.doubt.u_mm,
            df=row.doubt.df,
            coated_faces=row.fit.coated_faces,
            drawn_for_coat=coat is not None,
            kind=row.fit.kind,
        )
        for row in plan.rows
        # A gap that the part is made to try may be too small on purpose.
        if row.doubt and row.fit.gap_mm is None
    )
    return CheckContext(
        bed_mm=profile.bed_mm,
        nozzle_mm=profile.nozzle_mm,
        layer_height_mm=profile.layer_height_mm,
        meshes={},
        placements={},
        assembled={},
        coat=coat,
        fits=gaps,
        patterns=patterns_of(plan),
        places=places_of(plan),
        timed=tuple(plan.inputs.earlier.timed),
        **declared(sheet, profile)._asdict(),
    )


def places_of(plan: Plan) -> tuple[PlaceDoubt, ...]:
    """Gather how well the places of openings are known that must meet something."""
    from fitkit.checks.context import PlaceDoubt
    from fitkit.core.expanded import effective_df

    rows = {row.fit.name: row for row in plan.rows}
    found = []
    for row in plan.rows:
        if _spacings(row, rows):  # told together
            continue
        for name in row.fit.placed_by:
            if name not in rows:  # not on a trial piece
                continue
            size, target = rows[name].size, rows[name].target
            share = 0.5 if row.fit.spaced else 1.0
            parts = [(share * size.u_print_mm, size.df), (share * target.u_mm, target.df)]
            if row.doubt:
                parts.append((row.doubt.u_mm / 2, row.doubt.df))
            found.append(
                PlaceDoubt(
                    of=row.fit.name,
                    name=name,
                    off_mm=share * abs(size.expected_mm - size.target_mm),
                    u_mm=math.hypot(*(u for u, _ in parts)),
                    df=float(effective_df(*parts)),
                    gap_mm=row.gap_mm,
                    play_mm=row.fit.play_mm,
                    counterpart=row.fit.counterpart,
                )
            )
    return tuple(found)


def patterns_of(plan: Plan) -> tuple[PatternDoubt, ...]:
    """Gather holes that all shall let a screw through at once, and how likely they do."""
    from fitkit.checks.context import PatternDoubt
    from fitkit.fits import printed_pattern_fit

    rows = {row.fit.name: row for row in plan.rows}
    coat_mm = plan.coat.value_mm if plan.coat else 0.0
    found = []
    for row in plan.rows:
        apart = _spacings(row, rows)
        if not apart:
            continue
        corners: list[tuple[float, ...]] = [()]
        for _ in apart:
            corners = [(*corner, end) for corner in corners for end in (0.0, 1.0)]
        holes, screws = [], []
        for corner in corners:
            hole, screw = [0.0, 0.0], [0.0, 0.0]
            for one, end in zip(apart, corner, strict=True):
                at = int(one.fit.axis == "y")
                hole[at] = end * one.size.drawn_mm
                screw[at] = end * one.size.target_mm
            holes.append((hole[0], hole[1]))
            screws.append((screw[0], screw[1]))
        fit = printed_pattern_fit(
            holes,
            screws,
            drawn_mm=row.size.drawn_mm,
            # A coat takes from the hole what it would add to the screw.
            screw_mm=row.target.value_mm - row.gap_mm + row.fit.coated_faces * coat_mm,
            profile=plan.inputs.profile,
            learned=plan.inputs.earlier.learned,
            feature=row.fit.name,
            lying=row.fit.kind.lying,
            # A distance between two screws has twice the variance of a place.
            u_screws_mm=max(one.target.u_mm for one in apart) / math.sqrt(2.0),
            samples=_PATTERNS,
        )
        found.append(
            PatternDoubt(
                of=row.fit.name,
                names=tuple(one.fit.name for one in apart),
                screws=len(corners),
                off_mm=max(abs(one.size.expected_mm - one.size.target_mm) for one in apart),
                gap_mm=row.gap_mm,
                p_all=fit.p_all,
                counterpart=row.fit.counterpart,
            )
        )
    return tuple(found)


def _spacings(row: FitRow, rows: Mapping[str, FitRow]) -> list[FitRow]:
    """Give the distances of holes whose screws nobody can push aside; none if it is no pattern."""
    apart = [rows[name] for name in row.fit.placed_by if name in rows]
    pattern = row.fit.spaced and row.gap_mm > 0.0 and not row.fit.play_mm
    axes = {one.fit.axis for one in apart}
    return apart if pattern and len(axes) == len(apart) <= 2 else []


def _material(sheet: PartSheet, declared: str | None, spool: str) -> Material | None:
    """Material of the sheet's use, else the profile's; None if nothing is known of that spool."""
    from fitkit.checks import load_material, published_material

    if declared and declared.endswith(".toml"):
        kept = sheet.workshop.material_file(declared)
        return load_material(nearest(sheet.path(declared), kept))
    if declared:
        return published_material(declared)
    try:
        return published_material(spool)
    except CheckError:
        return None  # the checks that need a material then say that they did not run


def expected_cost(part: Part, context: CheckContext) -> dict[str, Any]:
    """Plastic, time, energy and price of a print as low and high figures, for its record.

    Empty where nothing is known of the material; no price where the sheet names none.
    """
    from fitkit.checks.cost import print_estimate, print_price

    estimate = print_estimate(part, context, context.material) if context.material else None
    if estimate is None or context.material is None:
        return {}
    # The moves go with the record, so that this print teaches how long others take.
    found: dict[str, Any] = {
        "grams": estimate.grams,
        "metres": estimate.metres,
        "hours": estimate.hours,
        "kwh": estimate.kwh,
        "moves": estimate.moves.content(),
    }
    prices = context.prices
    if prices:
        per_kg = prices.material_per_kg
        if per_kg is None and context.material.currency == prices.currency:
            per_kg = context.material.price_per_kg
        if per_kg is not None:
            found["price"] = print_price(estimate, prices, per_kg)
            found["currency"] = prices.currency
    return found
