"""How warm a heated box gets inside, in steady state: the balance of heat, as pure functions.

Heat leaves the inside through the walls (natural convection and radiation to the wall, conduction
through it, natural convection and radiation from it) and with the air that the chimney effect draws
through the vents. Every side is treated as an upright plate of the case's height, the inside as one
temperature. The face that the case stands or hangs on is not among them: table and wall take up
next to nothing in the end. The device is warmer than the air about it by what its own faces need to
give off its heat. Sun and hot spots on the board are left out: a chip can be warmer still.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

__all__ = [
    "Air",
    "Case",
    "Warmth",
    "air",
    "device_c",
    "lying_film",
    "plate_film",
    "plate_nusselt",
    "steady_state",
    "vent_area_for_mm2",
    "vent_heat_w",
    "wall_heat_w",
]

_G = 9.80665
_STEFAN_BOLTZMANN = 5.670374419e-8
_KELVIN = 273.15
# Discharge coefficient of a plain opening, as in any text on natural ventilation; from memory.
_DISCHARGE = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air at one temperature and normal pressure, SI units."""

    conductivity: float
    viscosity: float  # kinematic
    diffusivity: float  # thermal
    density: float
    heat: float  # specific, at constant pressure

    @property
    def prandtl(self) -> float:
        """Viscosity over diffusivity."""
        return self.viscosity / self.diffusivity


def air(celsius: float) -> Air:
    """Properties of dry air at 1 atm.

    Notes
    -----
    Sutherland's formulas for viscosity and conductivity and the ideal gas, with constants from
    memory; within 2.5 % of tables from 0 to 130 °C.
    """
    kelvin = celsius + _KELVIN
    dynamic = 1.458e-6 * kelvin**1.5 / (kelvin + 110.4)
    conductivity = 2.6464e-3 * kelvin**1.5 / (kelvin + 245.4 * 10 ** (-12 / kelvin))
    density = 101325 / (287.05 * kelvin)
    heat = 1007.0
    return Air(
        conductivity=conductivity,
        viscosity=dynamic / density,
        diffusivity=conductivity / (density * heat),
        density=density,
        heat=heat,
    )


def plate_nusselt(rayleigh: float, prandtl: float) -> float:
    """Mean Nusselt number of an upright warm plate in still air, for every Rayleigh number.

    Notes
    -----
    Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, as quoted in heat-transfer texts.
    """
    shape = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((0.825 + 0.387 * rayleigh ** (1 / 6) / shape) ** 2)


def plate_film(warm_c: float, cool_c: float, height_m: float) -> float:
    """Film coefficient between an upright plate and still air, W/(m² K)."""
    film = (warm_c + cool_c) / 2
    gas = air(film)
    rise = abs(warm_c - cool_c)
    rayleigh = _G / (film + _KELVIN) * rise * height_m**3 / (gas.viscosity * gas.diffusivity)
    return plate_nusselt(rayleigh, gas.prandtl) * gas.conductivity / height_m


def lying_film(warm_c: float, cool_c: float, length_m: float) -> tuple[float, float]:
    """Film coefficients of a lying warm plate in still air, above and below it, W/(m² K).

    Parameters
    ----------
    warm_c, cool_c : float, °C
    length_m : float, m
        The plate's area over its edge.

    Returns
    -------
    above, below : float, W/(m² K)

    Notes
    -----
    Nusselt numbers 0.54 Ra^(1/4) above and 0.27 Ra^(1/4) below, as heat-transfer texts quote
    McAdams and Lloyd and Moran (from memory); never less than still air conducts over that length.
    """
    film = (warm_c + cool_c) / 2
    gas = air(film)
    rise = abs(warm_c - cool_c)
    rayleigh = _G / (film + _KELVIN) * rise * length_m**3 / (gas.viscosity * gas.diffusivity)
    unit = gas.conductivity / length_m
    return max(0.54 * rayleigh**0.25, 1.0) * unit, max(0.27 * rayleigh**0.25, 0.5) * unit


def device_c(
    watts: float, air_c: float, wall_c: float, *, sides_m: tuple[float, float], emissivity: float
) -> float:
    """Mean temperature of a flat device that lies in the case, °C.

    Parameters
    ----------
    watts : float, W
        That it gives off, evenly.
    air_c, wall_c : float, °C
        Air about it, and the walls that it faces.
    sides_m : (float, float), m
        Its length and width; both of its faces give off heat.
    emissivity : float
        Of device and walls.
    """
    from scipy.optimize import brentq

    area = sides_m[0] * sides_m[1]
    length = area / (2 * (sides_m[0] + sides_m[1]))
    facing = 1 / (2 / emissivity - 1)

    def surplus(celsius: float) -> float:
        above, below = lying_film(celsius, air_c, length)
        radiated = (celsius + _KELVIN) ** 4 - (wall_c + _KELVIN) ** 4
        left = (above + below) * (celsius - air_c) + 2 * facing * _STEFAN_BOLTZMANN * radiated
        return area * left - watts

    return float(brentq(surplus, min(air_c, wall_c), air_c + 2000.0, xtol=1e-3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What the heat has to pass: outer area that air reaches, height, wall, surface, vents.

    `vent_area_m2` is that of one opening of an equal pair (low and high) whose middles are
    `stack_m` apart; 0 for a closed case.
    """

    area_m2: float
    height_m: float
    wall_m: float
    conductivity: float
    emissivity: float
    vent_area_m2: float = 0.0
    stack_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Warmth:
    """Steady state: air inside, outer surface, °C, and the share of the heat that vents carry."""

    inside_c: float
    surface_c: float
    vented: float


def vent_heat_w(inside_c: float, ambient_c: float, *, area_m2: float, stack_m: float) -> float:
    """Heat that air carries through a low and a high opening, W.

    Notes
    -----
    Chimney effect: the pressure of the warm column drives the same flow through both openings, so
    the flow is Cd A sqrt(g H ΔT / T) with A the area of one of an equal pair.
    """
    rise = inside_c - ambient_c
    if rise <= 0 or area_m2 <= 0 or stack_m <= 0:
        return 0.0
    gas = air(inside_c)
    speed = math.sqrt(_G * stack_m * rise / (inside_c + _KELVIN))
    return _DISCHARGE * area_m2 * speed * gas.density * gas.heat * rise


def wall_heat_w(inside_c: float, ambient_c: float, case: Case) -> tuple[float, float]:
    """Heat through the walls, W, and the outer surface's temperature, °C."""
    from scipy.optimize import brentq

    if inside_c <= ambient_c:
        return 0.0, ambient_c

    # Device and wall face each other like two wide plates of one emissivity.
    facing = 1 / (2 / case.emissivity - 1)

    def leaving(surface_c: float) -> float:
        return _film_w(surface_c, ambient_c, case.height_m, case.emissivity)

    def surplus(surface_c: float) -> float:
        drop = leaving(surface_c) * case.wall_m / case.conductivity
        if surface_c + drop >= inside_c:
            return inside_c - surface_c - drop - 1.0
        return _film_w(inside_c, surface_c + drop, case.height_m, facing) - leaving(surface_c)

    surface = float(brentq(surplus, ambient_c, inside_c, xtol=1e-6))
    return case.area_m2 * leaving(surface), surface


def _film_w(warm_c: float, cool_c: float, height_m: float, emissivity: float) -> float:
    """Heat that an upright plate gives off by natural convection and radiation, W/m²."""
    convected = plate_film(warm_c, cool_c, height_m) * (warm_c - cool_c)
    radiated = (warm_c + _KELVIN) ** 4 - (cool_c + _KELVIN) ** 4
    return convected + emissivity * _STEFAN_BOLTZMANN * radiated


def steady_state(watts: float, ambient_c: float, case: Case) -> Warmth:
    """Find the temperature at which as much heat leaves as is made.

    Parameters
    ----------
    watts : float, W
    ambient_c : float, °C
    case : Case

    Raises
    ------
    ValueError
        If the air would have to be more than 500 K warmer: no case of plastic.
    """
    from scipy.optimize import brentq

    if watts <= 0:
        return Warmth(inside_c=ambient_c, surface_c=ambient_c, vented=0.0)

    def surplus(inside_c: float) -> float:
        through = wall_heat_w(inside_c, ambient_c, case)[0]
        return through + _vented(inside_c, ambient_c, case) - watts

    if surplus(ambient_c + 500) < 0:
        raise ValueError("too much heat for this case")
    inside = float(brentq(surplus, ambient_c, ambient_c + 500, xtol=1e-4))
    surface = wall_heat_w(inside, ambient_c, case)[1]
    return Warmth(
        inside_c=inside, surface_c=surface, vented=_vented(inside, ambient_c, case) / watts
    )


def _vented(inside_c: float, ambient_c: float, case: Case) -> float:
    return vent_heat_w(inside_c, ambient_c, area_m2=case.vent_area_m2, stack_m=case.stack_m)


def vent_area_for_mm2(
    watts: float, ambient_c: float, limit_c: float, case: Case, *, stack_m: float
) -> float:
    """Free area, low and high openings together, that holds the inside at a limit, mm²; 0 if none.

    Raises
    ------
    ValueError
        If the limit is not above the air around: no vent can cool below that.
    """
    if limit_c <= ambient_c:
        raise ValueError("the limit is not above the air around")
    missing = watts - wall_heat_w(limit_c, ambient_c, case)[0]
    per_m2 = vent_heat_w(limit_c, ambient_c, area_m2=1.0, stack_m=stack_m)
    return max(0.0, 2e6 * missing / per_m2)
