"""How likely all fits of a solved part are as wanted at its next print.

The gaps are those that are expected of the drawn sizes. What is unknown of them is taken together
from the printer's profile, since the sizes of one print share most of it; so do the fits' own
habits (`fitkit.fits.whole`). Left out: what the reading of one thing gives to two gaps alike.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.core.chances import say_chance
from fitkit.fits.trial import BEHAVIOURS
from fitkit.fits.whole import WantedFit, chance_of_all

if TYPE_CHECKING:
    from fitkit.flow.plan import FitRow, Plan

__all__ = ["PartChance", "chance_line", "part_chance"]


class PartChance(NamedTuple):
    """Chances of a part's next print.

    Attributes
    ----------
    p_all : float
        That all its fits behave as wanted.
    each : dict of fit name to float
        That each does, the least sure first.
    left_out : tuple of str
        Names of fits whose behaviour the sheet does not name, since it sets their gap.
    p_usable : float
        That all its fits can be used: each goes together and none rattles.
    usable : dict of fit name to float
        That each can.
    """

    p_all: float
    each: dict[str, float]
    left_out: tuple[str, ...]
    p_usable: float
    usable: dict[str, float]


def chance_line(chance: PartChance) -> str:
    """Say in one line how likely a part can be used, is as wanted, and which fit is least sure."""
    name, p = next(iter(chance.each.items()))
    usable, wanted = say_chance(chance.p_usable), say_chance(chance.p_all)
    if len(chance.each) == 1:
        return (
            f"its one fit, {name}, can be used at the next print (it goes together and does not "
            f"rattle) with a chance of {usable}, and is just as wanted with {wanted}"
        )
    all_fits = "both fits" if len(chance.each) == 2 else f"all {len(chance.each)} fits"
    return (
        f"{all_fits} can be used at the next print (they go together and none rattles) with a "
        f"chance of {usable}, and are just as wanted with {wanted}; the least sure of that is "
        f"{name} with {say_chance(p)}"
    )


def part_chance(plan: Plan) -> PartChance | None:
    """Find how likely a part's fits are as wanted at its next print.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    PartChance or None
        None if no fit of the part has a wanted behaviour, or if trying its gaps is what the part is
        for.
    """
    from fitkit.calibration.joint import joint

    gapped = [row for row in plan.rows if row.doubt is not None and row.fit.gap_mm is None]
    rows = [row for row in gapped if row.fit.pair and row.wanted in BEHAVIOURS]
    if not rows:
        return None
    sides: dict[str, FitRow] = {}
    for row in rows:
        sides[row.fit.name] = row
        if row.fit.mate:
            sides[row.fit.mate] = plan.row(row.fit.mate)
    place = {name: number for number, name in enumerate(sides)}
    weights = np.zeros((len(rows), len(sides)))
    wanted, u_thing, u_coat = [], [], []
    for line, row in zip(weights, rows, strict=True):
        thing_mm = row.target.value_mm - row.fit.sense * row.gap_mm
        line[place[row.fit.name]] += row.fit.sense
        faces = row.fit.coated_faces
        if row.fit.mate:
            mate = sides[row.fit.mate]
            thing_mm = mate.size.expected_mm
            line[place[row.fit.mate]] -= row.fit.sense
            faces += mate.fit.coated_faces
        gap_mm = row.fit.sense * (row.size.expected_mm - thing_mm)
        size_mm = max(row.fit.nominal_mm, 0.1)
        wanted.append(WantedFit(row.fit.pair or "", row.wanted, size_mm, gap_mm))
        u_thing.append(0.0 if row.fit.mate else row.target.u_mm)
        u_coat.append(faces * (plan.coat.u_mm if plan.coat else 0.0))
    asked = [row.size.printed for row in sides.values()]
    printed = [one for one in asked if one is not None]
    known = joint(printed, plan.inputs.profile, learned=plan.inputs.earlier.learned)
    fresh = np.outer(u_coat, u_coat)
    lasting = np.diag(np.square(u_thing))
    for cause in known.causes:
        part = weights @ cause.cov @ weights.T
        fresh, lasting = (fresh, lasting + part) if cause.lasts else (fresh + part, lasting)
    found = chance_of_all(
        wanted,
        fresh_mm2=fresh,
        lasting_mm2=lasting,
        df=min(row.doubt.df for row in rows if row.doubt),
        trials=plan.inputs.trials,
    )
    each = {row.fit.name: p for row, p in zip(rows, found.p_each, strict=True)}
    return PartChance(
        p_all=found.p_all,
        each=dict(sorted(each.items(), key=lambda item: item[1])),
        left_out=tuple(row.fit.name for row in gapped if row not in rows),
        p_usable=found.p_usable,
        usable={row.fit.name: p for row, p in zip(rows, found.p_usable_each, strict=True)},
    )
