"""Weight, material, time and money of a print, as ranges.

The nozzle's moves are estimated from the meshes (`moves`), and timed by what desktop printers do
or, better, by the prints that somebody timed (`print_time`). Leaves out supports, brim and the
user's own hours; the slicing step knows better, and this is for before it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.checks.material import currency_digits
from fitkit.checks.moves import moves_of
from fitkit.checks.print_time import LEARNED_FROM, print_time
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext, Prices
    from fitkit.checks.material import Material
    from fitkit.checks.moves import Moves
    from fitkit.checks.print_time import PrintTime
    from fitkit.parts.contract import Part

__all__ = ["PrintEstimate", "check_cost", "money", "print_estimate", "print_price"]

Range = tuple[float, float]

# What a desktop printer with a warm bed draws on average. Common practice, no source.
_POWER_W: Range = (60.0, 150.0)
# Moves estimated against moves planned, 5 % either way; purge, skirt and flow set by hand.
_PLASTIC_SPREAD: Range = (0.95, 1.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintEstimate:
    """What a print takes, each a low and a high figure: plastic in g, time in h, energy in kWh.

    `metres` is the length of filament of 1.75 mm; `moves` and `time` are what it rests on.
    """

    grams: Range
    metres: Range
    hours: Range
    kwh: Range
    moves: Moves
    time: PrintTime


def print_estimate(part: Part, context: CheckContext, material: Material) -> PrintEstimate | None:
    """Estimate plastic, time and energy of all bodies together; None without a density."""
    density = material.get("density")
    if density is None:
        return None
    meshes = [context.meshes[body.name] for body in part.bodies]
    moves = moves_of(
        meshes,
        line_mm=context.nozzle_mm,
        layer_mm=context.layer_height_mm,
        perimeters=context.perimeters,
        infill=context.infill,
    )
    time = print_time(moves, context.timed)
    low, high = _PLASTIC_SPREAD
    grams = 1e-3 * moves.plastic_mm3
    metres = 1e-3 * moves.filament_mm()
    return PrintEstimate(
        grams=(low * grams * density.low, high * grams * density.high),
        metres=(low * metres, high * metres),
        hours=(time.low, time.high),
        kwh=(1e-3 * _POWER_W[0] * time.low, 1e-3 * _POWER_W[1] * time.high),
        moves=moves,
        time=time,
    )


def print_price(estimate: PrintEstimate, prices: Prices, per_kg: float) -> Range:
    """Price of one good print: plastic, power, machine hours, and a share for failures."""
    low, high = (
        (1e-3 * grams * per_kg + kwh * prices.per_kwh + hours * prices.machine_per_hour)
        / (1 - prices.failure_share)
        for grams, kwh, hours in zip(estimate.grams, estimate.kwh, estimate.hours, strict=True)
    )
    return low, high


def money(amount: Range, currency: str) -> str:
    """Write a range of money with its ISO 4217 code, to two figures and no finer than its coin.

    Examples
    --------
    >>> money((0.734, 1.41), "EUR"), money((118.2, 260.0), "JPY")
    ('0.73 to 1.40 EUR', '120 to 260 JPY')
    """
    coin = currency_digits()[currency] if amount[1] < 10 else 0
    low, high = (round(value, min(coin, _places(value))) for value in amount)
    return f"{low:,.{coin}f} to {high:,.{coin}f} {currency}"


def _places(value: float) -> int:
    """Decimal places that keep two figures; negative for tens and more."""
    return 1 - math.floor(math.log10(value)) if value > 0 else 0


def _two_figures(value: float) -> float:
    return round(value, _places(value))


def check_cost(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Say what the print takes and costs; warn if the material's own price is in other money."""
    material = context.material
    missing = None
    if material is None:
        missing = "no material is named"
    elif any(body.name not in context.meshes for body in part.bodies):
        missing = "a body has no mesh"
    estimate = None if missing or material is None else print_estimate(part, context, material)
    if material is None or missing or estimate is None:
        missing = missing or f"{material.name if material else 'it'} has no density"
        yield Finding(
            check="cost",
            severity="note",
            text=f"not run, because {missing}.",
            remedy="Name the material, or add the figure to its file.",
        )
        return
    grams, metres, hours = estimate.grams, estimate.metres, estimate.hours
    timed = estimate.time.timed
    learned = (
        f"learned from {timed} timed prints."
        if estimate.time.learned
        else f"not learned yet: {timed} of {LEARNED_FROM} prints were timed."
    )
    yield Finding(
        check="cost",
        severity="note",
        text=(
            f"estimate: {_two_figures(grams[0]):g} to {_two_figures(grams[1]):g} g of "
            f"{material.name} ({_two_figures(metres[0]):g} to {_two_figures(metres[1]):g} m of "
            f"1.75 mm), {_duration(hours[0])} to {_duration(hours[1])}, supports left out; "
            f"the time is {learned}"
        ),
        value=estimate.time.hours,
        unit="h",
        basis="lengths of moves from the meshes; speeds of desktop printers are common practice, "
        "no source, until three prints were timed",
        remedy=""
        if estimate.time.learned
        else "Write down how long a print took, with the command 'fitted CODE --took 1:35'.",
    )
    yield from _price(estimate, material, context.prices)


def _price(estimate: PrintEstimate, material: Material, prices: Prices | None) -> Iterator[Finding]:
    missing = None
    per_kg = material.price_per_kg
    if prices is None:
        missing = "no prices are given"
    elif prices.material_per_kg is not None:
        per_kg = prices.material_per_kg
    elif per_kg is None:
        missing = f"{material.name} has no price_per_kg"
    elif material.currency != prices.currency:
        missing = (
            f"{material.name} is priced in {material.currency or 'no named currency'} and the rest "
            f"in {prices.currency}"
        )
    if prices is None or per_kg is None or missing:
        yield Finding(
            check="cost",
            severity="note",
            text=f"the price was not worked out, because {missing}.",
            remedy="Give prices in one currency, material_per_kg among them.",
        )
        return
    price = print_price(estimate, prices, per_kg)
    yield Finding(
        check="cost",
        severity="note",
        text=(
            f"estimate: {money(price, prices.currency)} for plastic, power and machine, "
            f"{100 * prices.failure_share:.0f} % failed prints included, labour not."
        ),
        value=sum(price) / 2,
        unit=prices.currency,
        basis="the declared prices",
    )


def _duration(hours: float) -> str:
    """Write a time no finer than it is known: 5 min under an hour, 15 min under five."""
    if hours >= 5:
        return f"{hours:.0f} h"
    minutes = 5 * max(1, round(12 * hours)) if hours < 1 else 15 * round(4 * hours)
    whole, rest = divmod(minutes, 60)
    return " ".join([f"{whole} h"] * bool(whole) + [f"{rest} min"] * bool(rest))
