"""Weight, material, time and money of a print, as ranges.

A body is a skin of printed lines about an infill: the skin's volume is its surface times the skin's
thickness, never more than the body. Time is plastic laid at the rates of desktop printers, and a
pause for each layer. Leaves out supports, brim and the maker's own hours; the slicing step knows
better, and this is for before it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitkit.checks.material import currency_digits
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext, Prices
    from fitkit.checks.material import Material
    from fitkit.parts.contract import Part
    from fitkit.solids.mesh import Mesh

__all__ = ["check_cost", "money", "plastic_volume_mm3", "print_estimate", "print_price"]

Range = tuple[float, float]

# Common practice, no source. Plastic laid, all moves counted, mm³/s of a 0.4 mm nozzle; it goes
# with the nozzle's section.
_RATE_MM3_S: Range = (4.0, 10.0)
_RATE_NOZZLE_MM = 0.4
# Between layers, s; warming up, homing and cooling, min. Common practice, no source.
_LAYER_S: Range = (1.0, 4.0)
_START_MIN: Range = (4.0, 10.0)
# What a desktop printer with a warm bed draws on average. Common practice, no source.
_POWER_W: Range = (60.0, 150.0)
# Purge, skirt and flow set by hand. Common practice, no source.
_PLASTIC_SPREAD: Range = (0.95, 1.15)


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintEstimate:
    """What a print takes, each a low and a high figure: plastic in g, time in h, energy in kWh."""

    grams: Range
    hours: Range
    kwh: Range


def plastic_volume_mm3(mesh: Mesh, *, skin_mm: float, infill: float) -> float:
    """Volume of plastic in a body: its skin, and the filled share of the rest.

    Parameters
    ----------
    mesh : Mesh
        Closed.
    skin_mm : float, mm
        Thickness of the printed skin: lines round it, layers above and below.
    infill : float
        Share of the inside, 0 to 1.
    """
    volume = mesh.volume()
    skin = min(volume, float(mesh.areas().sum()) * skin_mm)
    return skin + infill * (volume - skin)


def print_estimate(part: Part, context: CheckContext, material: Material) -> PrintEstimate | None:
    """Estimate plastic, time and energy of all bodies together; None without a density."""
    density = material.get("density")
    if density is None:
        return None
    skin = context.perimeters * context.nozzle_mm
    meshes = [context.meshes[body.name] for body in part.bodies]
    volume = sum(plastic_volume_mm3(m, skin_mm=skin, infill=context.infill) for m in meshes)
    layers = sum(float(mesh.size[2]) for mesh in meshes) / context.layer_height_mm
    rate = (context.nozzle_mm / _RATE_NOZZLE_MM) ** 2
    low, high = _PLASTIC_SPREAD
    hours = tuple(
        (spread * volume / (rate * speed) + pause * layers + 60 * start) / 3600
        for spread, speed, pause, start in zip(
            _PLASTIC_SPREAD, _RATE_MM3_S[::-1], _LAYER_S, _START_MIN, strict=True
        )
    )
    return PrintEstimate(
        grams=(1e-3 * low * volume * density.low, 1e-3 * high * volume * density.high),
        hours=(hours[0], hours[1]),
        kwh=(1e-3 * _POWER_W[0] * hours[0], 1e-3 * _POWER_W[1] * hours[1]),
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
    grams, hours = estimate.grams, estimate.hours
    yield Finding(
        check="cost",
        severity="note",
        text=(
            f"estimate: {_two_figures(grams[0]):g} to {_two_figures(grams[1]):g} g of "
            f"{material.name}, {_duration(hours[0])} to {_duration(hours[1])}, supports left out."
        ),
        value=sum(hours) / 2,
        unit="h",
        basis="skin and infill from volume and surface; rates are common practice, no source",
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
