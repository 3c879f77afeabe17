"""What to do before the long print: a trial piece made, and the acts weighed that raise the chance.

An act is a trial piece, a ladder of gaps, a coupon, or more readings of the object. Each is tried
in the model, with what it is expected to teach: how likely all fits of the part are as wanted after
it, and what it costs in minutes and grams. Minutes are those of the printer and of the calipers;
walking to the printer is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from fitkit.core.errors import FaultList, PartError, SheetError
from fitkit.core.typed import command
from fitkit.flow import build, prepare, solve, tried
from fitkit.flow.built import mesh_part
from fitkit.flow.sheet import PartSheet, load_sheet
from fitkit.flow.whole import PartChance, part_chance
from fitkit.make.checking import check_context

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.fits import Ladder, VerdictModel
    from fitkit.flow import FitRow, Plan
    from fitkit.make.one import Made
    from fitkit.parts.contract import Part

__all__ = ["Act", "Weighed", "make_piece", "weigh_acts"]

# A fit as sure as this needs no trial; and of the others so many are looked at, the least sure.
_SURE, _LOOKED_AT = 0.95, 3
SPECIMENS = 4
# Specimens of a ladder are no nearer than this, mm: common practice, no source.
_LEAST_APART_MM = 0.03
# One setting of the jaws with its reading: common practice, no source.
_READING_MIN = 0.25


class Act(NamedTuple):
    """Something to do before the print.

    Attributes
    ----------
    says : str
    p_all : float
        Expected chance that all fits of the part are as wanted afterwards.
    minutes, grams : float
        What it costs.
    typed : str
        Command that begins it; empty if there is none.
    """

    says: str
    p_all: float
    minutes: float
    grams: float
    typed: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """A part's chance, and the acts that would raise it.

    Attributes
    ----------
    title : str
    chance : PartChance
    minutes, grams : float
        Of the part's own print.
    acts : tuple of Act
        The one that raises the chance most per minute first.
    advice : str
        Whether to print the part or a ladder first, with both figures; empty if all fits are sure.
    """

    title: str
    chance: PartChance
    minutes: float
    grams: float
    acts: tuple[Act, ...]
    advice: str = ""


def make_piece(
    sheet: PartSheet | str | Path,
    size: str = "",
    *,
    into: str | Path | None = None,
    workshop: str | Path | None = None,
    step: Callable[[str], None] = lambda text: None,
) -> Made:
    """Make the piece of a part that decides one fit: files and a record, as of any print.

    Parameters
    ----------
    sheet : PartSheet or path
        Of the whole part.
    size : str
        Name of the size to be tried; the least sure of which a piece can be made, if empty.
    into, workshop, step
        As `fitkit.make.make` takes them.

    Returns
    -------
    Made

    Raises
    ------
    FitkitError
        As `fitkit.make.make`; `PartError` if no piece of the part has this size.
    """
    from fitkit.make.one import make

    if not isinstance(sheet, PartSheet):
        sheet = load_sheet(sheet, workshop=workshop)
    name = size or _least_sure(sheet)
    return make(sheet.changed(piece=name), into=into, step=step)


def _least_sure(sheet: PartSheet) -> str:
    """Find the least sure fit of which a piece can be made."""
    plan = prepare(sheet.changed(piece=None))
    chance = part_chance(plan)
    part = build(plan)
    for name in chance.each if chance else ():
        if _piece(plan, part, name) is not None:
            return name
    raise SheetError(
        "no piece of this part decides a fit",
        where=sheet.title,
        code="make.no-piece",
        remedy="Print the part; it has no fit whose behaviour the sheet names.",
    )


def _piece(plan: Plan, part: Part, name: str) -> tuple[Plan, Part] | None:
    """Cut a piece out of a built part; None if it cannot be, or is no smaller worth speaking of."""
    from fitkit.parts.trial_piece import trial_piece

    profile = plan.inputs.profile
    try:
        piece = trial_piece(
            part,
            [row.fit for row in plan.rows],
            name,
            layer_mm=profile.layer_height_mm,
            first_layer_mm=profile.first_layer_mm,
        )
    except PartError:
        return None
    return tried(replace(plan, sheet=plan.sheet.changed(piece=name)), piece), piece


def weigh_acts(sheet: PartSheet | str | Path, *, workshop: str | Path | None = None) -> Weighed:
    """Weigh what could be done before a part is printed.

    Parameters
    ----------
    sheet : PartSheet or path
    workshop : path, optional
        A workshop that wins over the one that the sheet belongs to; for a sheet given by its path.

    Returns
    -------
    Weighed

    Raises
    ------
    SheetError
        If the part has no fit whose behaviour the sheet names.
    FitkitError
        What `fitkit.flow.prepare` and `fitkit.flow.build` raise.
    """
    path = None if isinstance(sheet, PartSheet) else Path(sheet)
    if not isinstance(sheet, PartSheet):
        sheet = load_sheet(sheet, workshop=workshop)
    sheet = sheet.changed(piece=None)
    plan = prepare(sheet)
    chance = part_chance(plan)
    if chance is None:
        raise SheetError(
            "it has no fit whose behaviour the sheet names, so there is no chance to tell",
            where=sheet.title,
            code="make.no-chance",
            remedy='Name what is wanted of a fit under [fits], such as behaviour = "slides".',
        )
    part = build(plan)
    hours, grams = _cost(plan, part)
    typed = str(path) if path else "SHEET"
    doubtful = [plan.row(name) for name, p in chance.each.items() if p < _SURE][:_LOOKED_AT]
    ladder = _ladder(plan, doubtful[0]) if doubtful else None
    acts = [*_pieces(plan, part, chance, doubtful, typed)]
    ladder_grams = math.nan
    if ladder is not None:
        try:
            act = _ladder_act(plan, chance, doubtful[0], ladder)
        except (FaultList, PartError):  # larger than ladders are
            ladder = None
        else:
            ladder_grams = act.grams
            acts.append(act)
    acts += [*_coupon(plan, chance), *_readings(plan, chance)]
    acts = [act for act in acts if act.p_all > chance.p_all + 0.005]
    return Weighed(
        title=sheet.title,
        chance=chance,
        minutes=60.0 * hours,
        grams=grams,
        acts=tuple(
            sorted(acts, key=lambda act: -(act.p_all - chance.p_all) / max(act.minutes, 0.1))
        ),
        advice=ladder.advice(part_g=grams, ladder_g=ladder_grams) if ladder else "",
    )


def _cost(plan: Plan, part: Part) -> tuple[float, float]:
    """Hours and grams of a print, middle figures."""
    from fitkit.checks.cost import print_estimate

    context: CheckContext = check_context(plan, mesh_part(part), collisions=False)
    if context.material is None:
        return math.nan, math.nan
    found = print_estimate(part, context, context.material)
    if found is None:
        return math.nan, math.nan
    return found.time.hours, 0.5 * sum(found.grams)


def _model(plan: Plan, row: FitRow) -> tuple[VerdictModel, float, float]:
    """What is believed of a fit, the gap its print should have, and how well the print keeps it."""
    from fitkit.fits import learn

    assert row.doubt is not None  # the row has a gap
    model = learn(
        row.fit.pair or "",
        row.wanted,
        size_mm=max(row.fit.nominal_mm, 0.1),
        trials=plan.inputs.trials,
        u_lasting_mm=row.doubt.u_lasting_mm,
    )
    u_fresh_mm = math.sqrt(max(row.doubt.u_mm**2 - row.doubt.u_lasting_mm**2, 0.0))
    return model, row.gap_mm, u_fresh_mm


def _after(plan: Plan, chance: PartChance, rows: dict[str, float]) -> float:
    """Chance of the whole part, once some fits have another chance than now."""
    ratio = math.prod(p / max(chance.each[name], 1e-6) for name, p in rows.items())
    # No more than the surest of what is left: the fits go together.
    rest = [rows.get(name, p) for name, p in chance.each.items()]
    return min(chance.p_all * ratio, *rest)


def _pieces(
    plan: Plan, part: Part, chance: PartChance, doubtful: list[FitRow], typed: str
) -> Iterator[Act]:
    from fitkit.fits.ladder import expected_after

    done: set[str] = set()
    for row in doubtful:
        if row.fit.name in done:
            continue
        found = _piece(plan, part, row.fit.name)
        if found is None:
            continue
        of_piece, piece = found
        held = [one.fit.name for one in of_piece.rows if one.fit.name in chance.each]
        done |= set(held)
        better = {}
        for name in held:
            model, gap_mm, u_mm = _model(plan, plan.row(name))
            after = expected_after(model, [gap_mm], u_gap_mm=u_mm)
            better[name] = max(after, chance.each[name])
        hours, grams = _cost(of_piece, piece)
        yield Act(
            says=f"print a trial piece of {', '.join(held)}, and judge it",
            p_all=_after(plan, chance, better),
            minutes=60.0 * hours,
            grams=grams,
            typed=command("trial-piece", typed, row.fit.name),
        )


def _ladder(plan: Plan, row: FitRow) -> Ladder:
    from fitkit.fits import next_ladder
    from fitkit.fits.ladder import expected_prints

    model, gap_mm, u_mm = _model(plan, row)
    ladder = next_ladder(
        model.pair,
        model.behaviour,
        size_mm=model.size_mm,
        specimens=SPECIMENS,
        trials=model.trials,
        u_gap_mm=max(u_mm, _LEAST_APART_MM),
    )
    # Its own figures are those of a gap that is known; the part's is as sure as its profile is.
    part, first = expected_prints(model, gap_mm, ladder.gaps_mm, u_gap_mm=u_mm)
    return replace(ladder, prints_part_first=part, prints_ladder_first=first)


def _ladder_act(plan: Plan, chance: PartChance, row: FitRow, ladder: Ladder) -> Act:
    from fitkit.fits.ladder import expected_after
    from fitkit.parts.designs.fit_ladder import FitLadder

    model, _, u_mm = _model(plan, row)
    after = expected_after(model, ladder.gaps_mm, u_gap_mm=u_mm)
    piece = FitLadder.of_ladder(ladder).build()
    hours, grams = _cost(plan, piece)
    name = row.fit.name
    return Act(
        says=f"print a ladder of {SPECIMENS} gaps for {name}, and judge them",
        p_all=_after(plan, chance, {name: max(after, chance.each[name])}),
        minutes=60.0 * hours,
        grams=grams,
        typed=command(
            "ladder", "FOLDER", row.fit.pair or "", row.wanted, f"{row.fit.nominal_mm:.2f} mm"
        ),
    )


def _coupon(plan: Plan, chance: PartChance) -> Iterator[Act]:
    """A coupon that comes out just as expected: how sure it would make the gaps."""
    from fitkit.calibration import CouponSizes
    from fitkit.calibration.choose import as_expected
    from fitkit.calibration.coupon import coupon_features, first_readings
    from fitkit.parts.designs.coupon import CalibrationCoupon

    profile = plan.inputs.profile
    features = coupon_features()
    taught = profile.with_evidence(as_expected(features, profile))
    better = part_chance(_solved_with(plan, profile=taught))
    if better is None or better.p_all <= chance.p_all + 0.005:
        return
    coupon = CalibrationCoupon.of_sizes(
        CouponSizes().on_layers(profile.layer_height_mm, profile.first_layer_mm)
    )
    hours, grams = _cost(plan, coupon.build())
    yield Act(
        says="print a coupon and read it" if profile.generic else "print a second coupon, read it",
        p_all=better.p_all,
        minutes=60.0 * hours + _READING_MIN * len(first_readings(coupon.features())),
        grams=grams,
        typed=command("coupon", "FOLDER", "--printer", "NAME", "--material", profile.material),
    )


def _readings(plan: Plan, chance: PartChance) -> Iterator[Act]:
    """Each feature read again, as often as it was read."""
    from fitkit.stats import Estimate

    table = plan.inputs.table
    if table is None:
        return
    best: Act | None = None
    for name, old in plan.inputs.estimates.items():
        scatter = sum(row.contribution_mm**2 for row in old.budget if row.source.type == "A")
        if scatter <= 0.0:
            continue
        u_mm = math.sqrt(max(old.u_mm**2 - 0.5 * scatter, 0.0))
        read_again = Estimate.of(name, old.value_mm, u_mm, df=max(2.0 * old.df, 1.0))
        found = {**plan.inputs.estimates, name: read_again}
        better = part_chance(_solved_with(plan, estimates=found))
        count = int((table.counted["feature"] == name).sum())
        if better is not None and (best is None or better.p_all > best.p_all):
            word = "once more" if count == 1 else f"{count} times more"
            best = Act(f"read {name} {word}", better.p_all, _READING_MIN * count, 0.0)
    if best is not None and best.p_all > chance.p_all + 0.005:
        yield best


def _solved_with(plan: Plan, **changed: object) -> Plan:
    """Solve a plan's sheet again with other inputs."""
    return solve(plan.sheet, replace(plan.inputs, **changed))  # type: ignore[arg-type]
