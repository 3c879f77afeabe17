"""How warm a case gets inside, in steady state, and how much vent it needs.

Heat leaves the inside through the walls (natural convection and radiation to the wall, conduction
through it, natural convection and radiation from it) and with the air that the chimney effect draws
through the vents. Every side is treated as an upright plate of the case's height, the inside as one
temperature. Sun, hot spots on the board and a case that lies against a wall are left out: a real
device can be warmer than this. An estimate.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fitkit.checks.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part, Vent

__all__ = [
    "Case",
    "Warmth",
    "air",
    "check_heat",
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
# Heat is kept this far below the material's softening range. Common practice, no source.
_SOFTENING_MARGIN_C = 10.0
# Plastic that a hand may rest on for a minute without harm: ISO 13732-1 gives 60 °C; from memory.
_TOUCH_C = 60.0
_BASIS = (
    "steady state: Churchill and Chu's natural convection, radiation, chimney flow through vents"
)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """What the heat has to pass: outer area and height, wall, surface, vents.

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


def _openings(vents: Sequence[Vent]) -> tuple[float, float]:
    """One opening of the equal pair that flows as these vents do, m², and its stack height, m.

    Vents lower than the middle of all feed, the others let out. Vents of one height breathe both
    ways: half of the area each, over half of the opening's own height.
    """
    if not vents:
        return 0.0, 0.0
    heights = np.array([vent.height_mm for vent in vents])
    areas = np.array([vent.free_area_mm2 for vent in vents])
    if np.ptp(heights) < 1.0:
        own = math.sqrt(float(areas.max()))
        return float(areas.sum()) / 2 * 1e-6, own / 2 * 1e-3
    low = heights < (heights.min() + heights.max()) / 2
    feed, out = float(areas[low].sum()), float(areas[~low].sum())
    if min(feed, out) <= 0:
        return 0.0, 0.0
    stack = np.average(heights[~low], weights=areas[~low]) - np.average(
        heights[low], weights=areas[low]
    )
    pair = math.sqrt(2 / (feed**-2 + out**-2))
    return pair * 1e-6, float(stack) * 1e-3


def check_heat(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find cases that cook their device, soften, or burn a hand."""
    use, material = context.use, context.material
    finding = partial(Finding, check="heat", unit="°C", basis=_BASIS)
    if use.watts == 0:
        return
    missing = None
    if use.watts is None:
        if not part.ghosts:
            return  # nothing inside that could give off heat
        missing = "the use does not declare the watts inside; declare 0 W for none"
    elif not context.meshes:
        missing = "there is no mesh to take the case's size from"
    elif not part.walls:
        missing = "the part names no wall"
    elif material is None:
        missing = "no material is named"
    else:
        absent = [
            name
            for name in ("softening", "conductivity", "emissivity")
            if material.get(name) is None
        ]
        if absent:
            missing = f"{material.name} has no {', '.join(absent)}"
    softening = material.get("softening") if material else None
    conductivity = material.get("conductivity") if material else None
    emissivity = material.get("emissivity") if material else None
    if missing or use.watts is None or not (material and softening and conductivity and emissivity):
        yield finding(severity="note", text=f"not run, because {missing}.", basis="")
        return
    box = max((mesh.size for mesh in context.meshes.values()), key=lambda size: size.prod()) * 1e-3
    stack_area, stack = _openings(part.vents)
    case = Case(
        area_m2=float(2 * (box[0] * box[1] + box[1] * box[2] + box[2] * box[0])),
        height_m=float(box[2]),
        wall_m=1e-3 * max(wall.thickness_mm for wall in part.walls),
        conductivity=conductivity.low,
        emissivity=emissivity.low,
        vent_area_m2=stack_area,
        stack_m=stack,
    )
    limits = {"the material's softening less a margin": softening.low - _SOFTENING_MARGIN_C}
    if use.device_limit_c is not None:
        limits["the device's limit"] = use.device_limit_c
    reason, limit = min(limits.items(), key=lambda item: item[1])
    try:
        warmth = steady_state(use.watts, use.ambient_c, case)
    except ValueError as error:
        yield finding(
            severity="stop",
            text=f"{use.watts:g} W: {error}.",
            limit=limit,
            remedy="Use a much larger or a metal case, or a fan.",
        )
        return
    how = (
        f"estimate: {use.watts:g} W warm the inside to about {warmth.inside_c:.0f} °C in a room of "
        f"{use.ambient_c:g} °C, and the case's outside to {warmth.surface_c:.0f} °C; vents carry "
        f"{warmth.vented:.0%}"
    )
    if warmth.inside_c > limit:
        yield finding(
            severity="stop",
            text=f"{how}. Over {reason} ({limit:.0f} °C).",
            value=warmth.inside_c,
            limit=limit,
            remedy=_vent_advice(use.watts, use.ambient_c, limit, case),
        )
    else:
        near = limit - warmth.inside_c < 0.2 * (warmth.inside_c - use.ambient_c)
        yield finding(
            severity="warn" if near else "note",
            text=f"{how}. {'Close to' if near else 'Under'} {reason} ({limit:.0f} °C).",
            value=warmth.inside_c,
            limit=limit,
            remedy="Measure it on a first print, and give it more vent." if near else "",
        )
    if use.device_limit_c is None:
        yield finding(
            severity="note",
            text="the device's own limit was not held against this, because it is not declared.",
            remedy="Declare device_limit_c under use.",
        )
    if warmth.surface_c > _TOUCH_C:
        yield finding(
            severity="warn",
            text=f"the outside gets to {warmth.surface_c:.0f} °C: too hot to rest a hand on.",
            value=warmth.surface_c,
            limit=_TOUCH_C,
            basis="ISO 13732-1, plastic, one minute; from memory",
            remedy="Spread the heat over a larger case, vent it, or guard it.",
        )


def _vent_advice(watts: float, ambient_c: float, limit_c: float, case: Case) -> str:
    if limit_c <= ambient_c:
        return "The room itself is over the limit: cool the room, or choose another material."
    stack = case.stack_m or 0.7 * case.height_m
    area = vent_area_for_mm2(watts, ambient_c, limit_c, case, stack_m=stack)
    # Two figures are all that such a model can mean.
    area = math.ceil(area / 10) * 10
    return (
        f"Give it about {area:.0f} mm² of free vent in all, half low and half high, "
        f"{1e3 * stack:.0f} mm apart; or a larger case."
    )
