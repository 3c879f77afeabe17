"""Whether a case cooks its device, softens or burns a hand, and what vent it needs: an estimate.

The balance of heat is in `warmth`; here are the part's own figures, the limits and the words. The
largest body's box stands for the case, without the face that it stands or hangs on. What the
device itself gets to is given as a range: its heat spread over a board of most of the case's plan,
or over a third of that.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from fitkit.checks.warmth import Case, Warmth, device_c, steady_state, vent_area_for_mm2
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part, Vent, Warm

__all__ = ["check_heat", "passing_share"]

FloatArray = npt.NDArray[np.float64]

# Heat is kept this far below the material's softening range. Common practice, no source.
_SOFTENING_MARGIN_C = 10.0
# Plastic that a hand may rest on for a minute without harm: ISO 13732-1 gives 60 °C; from memory.
_TOUCH_C = 60.0
# Correlations of natural convection and a chart of closed cabinets agree within this share of the
# rise.
_SPREAD = 0.15
# A board's plan over its case's, and the share of it that gives off the heat, at most and at least.
# Common practice, no source.
_BOARD = 0.7
_HOT_SHARE = (1.0, 1 / 3)
_BASIS = (
    "steady state: Churchill and Chu's natural convection, radiation, chimney flow through vents"
)
_finding = partial(Finding, check="heat", unit="°C", basis=_BASIS)


def check_heat(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find cases that cook their device, soften, or burn a hand."""
    use = context.use
    if use.watts == 0 or (use.watts is None and not part.ghosts):
        return  # nothing inside that gives off heat
    case = _case(part, context)
    if use.watts is None or isinstance(case, str):
        missing = case if isinstance(case, str) else "the use does not declare the watts inside"
        yield _finding(
            severity="note",
            text=f"not run, because {missing}.",
            remedy="Declare watts under use, 0 for none." if use.watts is None else "Add it.",
        )
        return
    reason, limit = _limit(context)
    try:
        warmth = steady_state(use.watts, use.ambient_c, case)
    except ValueError as error:
        yield _finding(
            severity="stop",
            text=f"{use.watts:g} W: {error}.",
            limit=limit,
            remedy="Use a much larger or a metal case, or a fan.",
        )
        return
    low, high = _device(warmth, use.watts, context, case)
    yield _inside(warmth, reason, limit, use.watts, use.ambient_c, case, (low, high))
    if use.device_limit_c is None:
        yield _finding(
            severity="note",
            text="this was not compared with what the device itself stands, because its limit is "
            "not declared.",
            remedy="Declare device_limit_c under use.",
        )
    if warmth.surface_c > _TOUCH_C:
        yield _finding(
            severity="warn",
            text=f"the outside gets to {warmth.surface_c:.0f} °C: too hot to rest a hand on.",
            value=warmth.surface_c,
            limit=_TOUCH_C,
            untold=("limit",),
            basis="ISO 13732-1, plastic, one minute; from memory",
            remedy="Spread the heat over a larger case, vent it, or guard it.",
        )


def _case(part: Part, context: CheckContext) -> Case | str:
    """Gather the case's figures, or say what is missing."""
    material = context.material
    if not context.meshes:
        return "there is no mesh to take the case's size from"
    if not part.walls:
        return "the part names no wall"
    if material is None:
        return "no material is named"
    conductivity, emissivity = material.get("conductivity"), material.get("emissivity")
    if conductivity is None or emissivity is None or material.get("softening") is None:
        wanted = ("softening", "conductivity", "emissivity")
        absent = ", ".join(name for name in wanted if material.get(name) is None)
        return f"{material.name} has no {absent}"
    sizes = [mesh.size * 1e-3 for mesh in context.meshes.values()]
    x, y, z = max(sizes, key=lambda size: float(size.prod()))
    vent_area, stack = _openings(part.vents, part.warm)
    return Case(
        area_m2=float(x * y + 2 * (y * z + z * x)),
        height_m=float(z),
        wall_m=1e-3 * max(wall.thickness_mm for wall in part.walls),
        conductivity=conductivity.low,
        emissivity=emissivity.low,
        vent_area_m2=vent_area,
        stack_m=stack,
    )


def _device(warmth: Warmth, watts: float, context: CheckContext, case: Case) -> tuple[float, float]:
    """Temperature of the device with its heat spread widely, and on a third of its board, °C."""
    x, y, _ = max((m.size for m in context.meshes.values()), key=lambda size: float(size.prod()))
    found = []
    for share in _HOT_SHARE:
        scale = 1e-3 * math.sqrt(_BOARD * share)
        found.append(
            device_c(
                watts,
                warmth.inside_c,
                warmth.surface_c,
                sides_m=(float(x) * scale, float(y) * scale),
                emissivity=case.emissivity,
            )
        )
    return found[0], found[1]


def _limit(context: CheckContext) -> tuple[str, float]:
    """Give the lowest limit on the inside and its reason."""
    softening = context.material.get("softening") if context.material else None
    assert softening is not None  # `_case` has looked
    limits = {"the material's softening less a margin": softening.low - _SOFTENING_MARGIN_C}
    if context.use.device_limit_c is not None:
        limits["the device's limit"] = context.use.device_limit_c
    return min(limits.items(), key=lambda item: item[1])


def _inside(
    warmth: Warmth,
    reason: str,
    limit: float,
    watts: float,
    ambient_c: float,
    case: Case,
    device: tuple[float, float],
) -> Finding:
    rise = warmth.inside_c - ambient_c
    low, high = (ambient_c + (1 + sign * _SPREAD) * rise for sign in (-1, 1))
    how = (
        f"estimate: {watts:g} W warm the air inside to about {warmth.inside_c:.0f} °C "
        f"({low:.0f} to {high:.0f} °C) in a room of {ambient_c:g} °C, "
        f"the device itself to {device[0]:.0f} to "
        f"{device[1]:.0f} °C, and the case's outside to {warmth.surface_c:.0f} °C; vents carry "
        f"{100 * warmth.vented:.0f} %"
    )
    over = warmth.inside_c > limit
    near = high > limit
    if over:
        remedy = _vent_advice(watts, ambient_c, limit, case)
    else:
        remedy = "Measure it on a first print, and give it more vent." if near else ""
    held = "Over" if over else "Close to" if near else "Under"
    return _finding(
        severity="stop" if over else "warn" if near else "note",
        text=f"{how}. {held} {reason} ({limit:.0f} °C).",
        value=warmth.inside_c,
        limit=limit,
        remedy=remedy,
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


def _openings(vents: Sequence[Vent], warm: Warm | None = None) -> tuple[float, float]:
    """One opening of the equal pair that flows as these vents do, m², and its stack height, m.

    Vents lower than the middle of all feed, the others let out. Vents of one height breathe both
    ways: half of the area each, over half of the opening's own height. Air that comes in below
    what is warm is as heavy as the room's up to there, so that the warm column begins at the device
    or at the inlets, whichever is higher. Of air that passes beside the device, only a share counts
    (`passing_share`).
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
    inlet, outlet = (
        np.average([vent.at[:2] for vent in np.array(vents, dtype=object)[which]], axis=0,
                   weights=areas[which])
        for which in (low, ~low)
    )  # fmt: skip
    top = float(np.average(heights[~low], weights=areas[~low]))
    foot = float(np.average(heights[low], weights=areas[low]))
    pair = math.sqrt(2 / (feed**-2 + out**-2))
    if warm is not None:
        foot = max(foot, warm.at[2])
        pair *= passing_share(inlet, outlet, warm)
    return (pair * 1e-6, (top - foot) * 1e-3) if top > foot else (0.0, 0.0)


def passing_share(
    inlet: Sequence[float] | FloatArray, outlet: Sequence[float] | FloatArray, warm: Warm
) -> float:
    """Share of the air from inlets to outlets that counts as passing over what is warm.

    Parameters
    ----------
    inlet, outlet : (x, y), mm
        Middles of all inlets and of all outlets, seen from above.
    warm : Warm

    Returns
    -------
    float
        1 where the straight way between them comes as near to the device's middle as half of its
        shorter side; else that half over how far the way passes by. A choice of ours, no source.

    Examples
    --------
    >>> from fitkit.parts.contract import Warm
    >>> board = Warm(at=(0.0, 0.0, 8.0), half_x_mm=30.0, half_y_mm=20.0)
    >>> passing_share((-35.0, 0.0), (35.0, 0.0), board), passing_share((-35, 40), (35, 40), board)
    (1.0, 0.5)
    """
    a, b, middle = (np.asarray(point[:2], dtype=float) for point in (inlet, outlet, warm.at))
    way = b - a
    along = float(way @ way)
    share = float(np.clip((middle - a) @ way / along, 0.0, 1.0)) if along else 0.0
    beside = float(np.hypot(*(middle - a - share * way)))
    half = min(warm.half_x_mm, warm.half_y_mm)
    return 1.0 if beside <= half else half / beside
