"""What to change of a feature that broke on an earlier print: twice as strong, or laid otherwise.

What broke once breaks again if it is printed as it was. How hard it was pulled nobody knows, so
that the figures are those of the same feature made to bear twice as much: an arm that snaps over at
half the strain, or pushed at with twice the force; a lug or a wall bent, a boss pulled out, by
twice the load. Layers that run across it count by the material's factor. Source of the formulas:
`snap` and `bending`, the same as for what has not broken. Leaves out impact, heat and age.
"""

from __future__ import annotations

import math
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from fitkit.checks.orientation import ways
from fitkit.checks.rounding import rounded_down, rounded_up
from fitkit.checks.snap import greatest_strain, length_for_strain_mm
from fitkit.checks.surface import Surface
from fitkit.core.finding import Finding
from fitkit.parts.contract import Boss, Lug, SnapArm, Wall
from fitkit.solids.mesh import turn_matrix

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from fitkit.checks.context import CheckContext
    from fitkit.parts.contract import Part

    Feature = SnapArm | Lug | Boss | Wall

__all__ = ["check_broken", "features_called", "strength_of"]

# What broke should bear this many times as much; one that bears nearly so much has been changed.
# Common practice, no source.
_TIMES = 2.0
_CHANGED = 1.35


def features_called(part: Part, words: str) -> tuple[Feature, ...]:
    """Find what a person means by the name of a feature.

    Parameters
    ----------
    part : Part
    words : str
        ``left arm``: the name itself in any case of letters, or else words that all stand in it.

    Returns
    -------
    tuple of SnapArm, Lug, Boss or Wall
    """
    every: list[Feature] = [*part.arms, *part.lugs, *part.bosses, *part.walls]
    wanted = words.casefold().split()
    exact = tuple(one for one in every if one.name.casefold().split() == wanted)
    if exact or not wanted:
        return exact
    return tuple(one for one in every if set(wanted) <= set(_words(one.name)))


def _words(name: str) -> list[str]:
    return name.casefold().replace(":", " ").split()


def strength_of(feature: Feature) -> float:
    """Give what a feature bears, as a number to compare it with the like of it alone.

    Parameters
    ----------
    feature : SnapArm, Lug, Boss or Wall

    Returns
    -------
    float
        Of an arm, one over the strain that it bends to; of a lug and a wall, the load that bends
        it to a stress; of a boss, the ring and the thread that hold, the weaker by a shear of 1/√3.

    Examples
    --------
    >>> from fitkit.parts import Wall
    >>> thin, thick = (Wall(name="w", body="", thickness_mm=t, at=(0, 0, 0)) for t in (2.0, 4.0))
    >>> strength_of(thick) / strength_of(thin)
    4.0
    """
    if isinstance(feature, SnapArm):
        return 1.0 / max(_strain(feature), 1e-9)
    if isinstance(feature, Lug):
        bends = feature.width_mm * feature.thickness_mm**2 / (6 * feature.reach_mm)
        tears = max(feature.width_mm - feature.hole_mm, 0.0) * feature.thickness_mm
        return min(bends, tears)
    if isinstance(feature, Boss):
        ring = math.pi / 4 * max(feature.outer_mm**2 - feature.hole_mm**2, 0.0)
        thread = math.pi * (feature.insert_mm or feature.screw_mm) * feature.depth_mm / 2
        return min(ring, thread / math.sqrt(3))
    return feature.thickness_mm**2


def _strain(arm: SnapArm) -> float:
    return greatest_strain(
        arm.length_mm,
        arm.bending_thickness_mm or arm.thickness_mm,
        arm.deflection_mm,
        arm.taper,
    )


def check_broken(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Say of each feature that broke what to change, or that it has been changed since."""
    for one in context.broken:
        times = "" if len(one.stories) == 1 else f" {len(one.stories)} times"
        said = f"{one.feature} broke{times} ({'; '.join(one.stories)})"
        now = features_called(part, one.feature)
        if not now:
            features: list[Feature] = [*part.arms, *part.lugs, *part.bosses]
            names = dict.fromkeys(feature.name for feature in features)
            known = f" It knows: {', '.join([*names][:8])}." if names else ""
            yield Finding(
                check="broken before",
                severity="note",
                text=f"{said}. No arm, lug, boss or wall of this part is called so, so that no "
                f"check could say what to change.{known}",
            )
            continue
        weak = min(now, key=strength_of)
        then = [old for old in one.then if type(old) is type(weak)]
        yield _told(said, weak, min(then, key=strength_of) if then else None, now, part, context)


def _told(
    said: str,
    now: Feature,
    then: Feature | None,
    every: Sequence[Feature],
    part: Part,
    context: CheckContext,
) -> Finding:
    layers = context.material.get("layer_factor") if context.material else None
    weaker = layers.low if layers else 1.0

    finding = partial(
        Finding,
        check="broken before",
        unit="times",
        basis="the same formulas as for snap arms and strength; twice: common practice, no source",
        body=now.body,
        at=tuple(one.at for one in every),
    )
    times = 1.0
    if then is not None:
        times = _times(now, then)
        times *= (weaker if _across(now) else 1.0) / (weaker if _across(then) else 1.0)
    if times >= _CHANGED:
        return finding(
            severity="note",
            text=f"{said}. It has been changed since: now it bears about {times:.1f} times as much"
            f" as the one that broke{_figure(now)}.",
            value=times,
            limit=_TIMES,
            untold=("limit",),
        )
    laid = _laid_otherwise(now, part, context, weaker)
    return finding(
        severity="warn",
        text=f"{said}, and it is drawn as the one that broke{_figure(now)}."
        if then is not None
        else f"{said}{_figure(now)}.",
        value=times,
        limit=_TIMES,
        untold=("limit",),
        remedy=f"{_stronger(then or now)}{laid}",
    )


def _times(now: Feature, then: Feature) -> float:
    """How many times as much a feature bears as it did; of an arm, bent or pushed at."""
    bent = strength_of(now) / max(strength_of(then), 1e-12)
    if not (isinstance(now, SnapArm) and isinstance(then, SnapArm)):
        return bent
    push = [arm.width_mm * arm.thickness_mm**2 / arm.length_mm for arm in (now, then)]
    return max(bent, push[0] / push[1])


def _across(feature: Feature) -> bool:
    return isinstance(feature, SnapArm | Lug) and feature.layers_across


def _figure(feature: Feature) -> str:
    if isinstance(feature, SnapArm):
        return f", bent to {100 * _strain(feature):.2f} % strain"
    if isinstance(feature, Boss):
        return f", {feature.outer_mm:.1f} mm across and {feature.depth_mm:.1f} mm deep"
    return f", {feature.thickness_mm:.1f} mm thick"


def _stronger(feature: Feature) -> str:
    """Give the sizes at which a feature bears twice as much as it did."""
    root = math.sqrt(_TIMES)
    if isinstance(feature, SnapArm):
        thick = feature.bending_thickness_mm or feature.thickness_mm
        half = _strain(feature) / _TIMES
        long = length_for_strain_mm(thick, feature.deflection_mm, feature.taper, half)
        return (
            f"If it was bent too far, halve its strain: {rounded_up(long):.1f} mm long (now "
            f"{feature.length_mm:.1f}), or let it bend {feature.deflection_mm / _TIMES:.2f} mm "
            f"(now {feature.deflection_mm:.2f}). If it was pulled or knocked, make its root "
            f"{rounded_up(root * feature.thickness_mm):.1f} mm thick (now "
            f"{feature.thickness_mm:.1f}) for twice the force, and longer with it: "
            f"{rounded_up(feature.length_mm * math.sqrt(root)):.1f} mm keep its strain."
        )
    if isinstance(feature, Boss):
        outer = math.sqrt(feature.hole_mm**2 + _TIMES * (feature.outer_mm**2 - feature.hole_mm**2))
        return (
            f"For twice the load make it {rounded_up(outer):.1f} mm across (now "
            f"{feature.outer_mm:.1f}) and let the screw hold {_TIMES * feature.depth_mm:.1f} mm "
            f"deep (now {feature.depth_mm:.1f}), or take an insert or a nut."
        )
    thick = rounded_up(root * feature.thickness_mm)
    shorter = (
        f", or let it stand out {rounded_down(feature.reach_mm / _TIMES):.1f} mm (now "
        f"{feature.reach_mm:.1f})"
        if isinstance(feature, Lug)
        else ", or brace it with a rib"
    )
    return (
        f"For twice the load make it {thick:.1f} mm thick (now {feature.thickness_mm:.1f})"
        f"{shorter}."
    )


def _laid_otherwise(feature: Feature, part: Part, context: CheckContext, weaker: float) -> str:
    """Say which way up the layers run along it, and how much that gives."""
    if not isinstance(feature, SnapArm | Lug) or not feature.layers_across:
        return ""
    gain = f" about {1 / weaker:.1f} times as much" if weaker < 1 else " more"
    mesh = context.meshes.get(feature.body)
    if mesh is None or feature.along is None:
        return f" Its layers run across it: laid so that they run along it, it bears{gain}."
    turn = turn_matrix(part.body(feature.body).print_turn)
    x, y, z = (float(v) for v in turn @ np.asarray(feature.along))
    judged = ways(
        Surface(mesh, 0.5 * context.layer_height_mm),
        limit_deg=context.overhang_deg,
        along=[(feature.name, (x, y, z))],
    )
    best = next((way for way in judged if not way.across), None)
    if best is None:
        return f" Its layers run across it: as a piece of its own, laid flat, it bears{gain}."
    return (
        f" Its layers run across it: printed with the side up that now faces {best.up}, it bears"
        f"{gain} ({best.overhang_mm2:.0f} mm² then hang over air)."
    )
