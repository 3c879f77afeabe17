"""Whether a snap arm survives its own deflection, and how hard it goes in and comes out.

An arm is a cantilever of rectangular section whose thickness is constant or falls linearly to the
tip (Euler-Bernoulli); for other sections the part gives the rectangle that bends alike. Mating and
release follow from the friction wedge. A stepped root of known radius raises the strain there
by the handbooks' notch factor. Leaves out the give of the wall behind the root, which lowers the
strain of short arms. Forces are estimates.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from fitkit.checks.rounding import rounded_down, rounded_up
from fitkit.core.finding import Finding
from fitkit.parts.arms import notch_factor

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from fitkit.checks.context import CheckContext
    from fitkit.checks.material import Material
    from fitkit.parts.contract import Part, Point, SnapArm

__all__ = [
    "alike",
    "check_snap",
    "deflection_force_n",
    "greatest_strain",
    "length_for_strain_mm",
    "notch_factor",
    "peak_over_root",
    "root_strain",
    "tip_coefficient",
    "wedge_force_n",
]

# No figures were found for printed arms bent thousands of times.
_WEARS = " How many closings it lasts is not known: keep a spare where it is opened daily."
_BASIS = "cantilever formula; permissible strain {source}"
# Below this length over thickness an arm is not a slender beam. Common practice, no source.
_SLENDER = 5.0
# A thumb pushes a lid with about this force without complaint. Common practice, no source.
_EASY_N = 50.0


def tip_coefficient(taper: float) -> float:
    """Coefficient C of an arm's tip deflection, y = C F L³ / (E I) with I at the root.

    Parameters
    ----------
    taper : float
        Tip over root thickness, above 0 and up to 1.

    Notes
    -----
    The integral of s² / (r + (1 - r) s)³ over s from tip to root is the series of
    (1 - r)^k / (k + 3), a Gauss hypergeometric function: 1/3 at r = 1, and 0.5452 at r = 1/2, from
    which comes the handbooks' 1.09.

    Examples
    --------
    >>> round(tip_coefficient(1.0), 4), round(tip_coefficient(0.5), 4)
    (0.3333, 0.5452)
    """
    from scipy.special import hyp2f1

    if not 0 < taper <= 1:
        raise ValueError(f"taper {taper:g} is not above 0 and up to 1")
    return float(hyp2f1(1.0, 3.0, 4.0, 1.0 - taper)) / 3.0


def root_strain(length_mm: float, thickness_mm: float, deflection_mm: float, taper: float) -> float:
    """Outer-fibre strain at the root, as a fraction: h y / (2 C L²); 1.5 h y / L² if not tapered.

    Examples
    --------
    >>> round(root_strain(6.0, 2.0, 1.0, 1.0), 4)
    0.0833
    """
    return thickness_mm * deflection_mm / (2.0 * tip_coefficient(taper) * length_mm**2)


def peak_over_root(taper: float) -> float:
    """Greatest outer-fibre strain along an arm over that at its root.

    Parameters
    ----------
    taper : float
        Tip over root thickness, above 0 and up to 1.

    Returns
    -------
    float
        1 down to a taper of 1/2; below it the arm is strained most where it is twice as thick as at
        its tip, which lies before the root.

    Notes
    -----
    At a share x of the way from tip to root the moment goes with x and the section modulus with
    (r + (1 - r) x)²; the quotient is greatest at x = r / (1 - r), where it is 1 / (4 r (1 - r)).

    Examples
    --------
    >>> peak_over_root(1.0), round(peak_over_root(0.25), 3)
    (1.0, 1.333)
    """
    return 1.0 if taper >= 0.5 else 1.0 / (4.0 * taper * (1.0 - taper))


def greatest_strain(
    length_mm: float, thickness_mm: float, deflection_mm: float, taper: float
) -> float:
    """Greatest outer-fibre strain along an arm, wherever it is, as a fraction.

    Examples
    --------
    >>> round(greatest_strain(6.0, 2.0, 1.0, 1.0), 4)
    0.0833
    """
    return peak_over_root(taper) * root_strain(length_mm, thickness_mm, deflection_mm, taper)


def length_for_strain_mm(
    thickness_mm: float, deflection_mm: float, taper: float, strain: float
) -> float:
    """Length at which an arm of this thickness and deflection has just this greatest strain, mm."""
    most = peak_over_root(taper)
    return math.sqrt(most * thickness_mm * deflection_mm / (2.0 * tip_coefficient(taper) * strain))


def deflection_force_n(
    *, length_mm: float, thickness_mm: float, width_mm: float, strain: float, modulus_mpa: float
) -> float:
    """Force at the tip that bends the arm to this root strain, N: b h² E ε / (6 L)."""
    return width_mm * thickness_mm**2 * modulus_mpa * strain / (6.0 * length_mm)


def wedge_force_n(force_n: float, friction: float, angle_deg: float) -> float:
    """Push along the joint that lifts the arm over its ramp, N; infinite if the ramp locks.

    F (μ + tan α) / (1 - μ tan α), with α between ramp and direction of the push.
    """
    slope = math.tan(math.radians(angle_deg))
    if angle_deg >= 90 or friction * slope >= 1:
        return math.inf
    return force_n * (friction + slope) / (1 - friction * slope)


def check_snap(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find arms that break or tire, and say what it takes to close and open them."""
    if not part.arms:
        return
    material = context.material
    allowed = material.get("snap_strain") if material else None
    if material is None or allowed is None:
        missing = (
            "no material is named" if material is None else f"{material.name} has no snap_strain"
        )
        yield Finding(
            check="snap arms",
            severity="note",
            text=f"not run, because {missing}.",
            remedy="Name the material, or add snap_strain to its file with a source.",
        )
        return
    for arm, places in alike(part.arms):
        for finding in (*_strain(arm, material), *_forces(arm, material)):
            yield replace(finding, at=places)


def alike(arms: Iterable[SnapArm]) -> Iterator[tuple[SnapArm, tuple[Point, ...]]]:
    """Gather arms that differ in name and place alone: a tray of twelve pockets brings one finding.

    Yields
    ------
    arm, places
        The first of its kind, named with how many more there are; and where all of them are.
    """
    groups: dict[SnapArm, list[SnapArm]] = {}
    for arm in arms:
        groups.setdefault(replace(arm, name="", at=(0.0, 0.0, 0.0)), []).append(arm)
    for group in groups.values():
        more = f" (and {len(group) - 1} like it)" if len(group) > 1 else ""
        first = replace(group[0], name=f"{group[0].name}{more}")
        yield first, tuple(arm.at for arm in group)


def _bent(arm: SnapArm) -> tuple[float, float, float]:
    """Length, thickness and deflection of the even or tapered rectangle that bends as the arm."""
    return arm.length_mm, arm.bending_thickness_mm or arm.thickness_mm, arm.deflection_mm


def _strain(arm: SnapArm, material: Material) -> Iterator[Finding]:
    finding = partial(Finding, check="snap arms", body=arm.body, at=(arm.at,), unit="%")
    factor, best, why = 1.0, 1.0, []
    if arm.repeated:
        repeated = material.get("repeated_factor")
        if repeated is None:
            yield finding(
                severity="note",
                text=f"repeated use of {arm.name} not judged, because {material.name} has no "
                "repeated_factor.",
            )
        else:
            factor, best = factor * repeated.low, best * repeated.high
            why.append("repeated use")
    if arm.layers_across:
        layers = material.get("layer_factor")
        if layers is None:
            yield finding(
                severity="stop",
                text=f"{arm.name} has layers across it, and {material.name} has no layer_factor to "
                "judge them by.",
                remedy="Lay the arm in the layers, or add layer_factor to the material.",
            )
            return
        factor, best = factor * layers.low, best * layers.high
        why.append("layers across the arm")
    allowed = material.get("snap_strain")
    assert allowed is not None  # check_snap has looked
    low, high = 0.01 * factor * allowed.low, 0.01 * best * allowed.high
    strain, where = greatest_strain(*_bent(arm), arm.taper), "at its root"
    notch = 1.0
    if peak_over_root(arm.taper) > 1:
        where = f"{arm.length_mm * arm.taper / (1 - arm.taper):.1f} mm from its tip"
    if arm.root_radius_mm is not None:
        notch = notch_factor(arm.root_radius_mm, arm.root_thickness_mm or _bent(arm)[1])
        notched = notch * root_strain(*_bent(arm), arm.taper)
        if notched > strain:
            strain, where = notched, "in the corner at its root"
    holds, stop = strain <= low, strain > high
    longer = arm.length_mm * math.sqrt(strain / low)
    thinner = arm.thickness_mm * low / strain
    if notch > 1:  # a thinner arm has a milder corner too, so that this passes all the more
        thinner = arm.thickness_mm * (low / strain) ** (1 / (1 + 1 / 3))
    knocked = f" (lowered for {' and '.join(why)})" if why else ""
    remedy = (
        f"Make it {rounded_up(longer):.1f} mm long, or {rounded_down(thinner, 0.01):.2f} mm thick, "
        "or let it bend less."
    )
    if notch > 1.1:
        remedy += f" Round the corner at its root: it raises the strain {notch:.1f} times."
    if arm.bending_thickness_mm:
        where = "where it bends most"
        remedy = "Make it longer, thinner or narrower, or let it bend less."
    if arm.layers_across:
        remedy += " Better: print the arm lying down, or as a piece of its own."
    yield finding(
        severity="note" if holds else "stop" if stop else "warn",
        text=(
            f"{arm.name} bends to {100 * strain:.2f} % strain {where}; {material.name} bears "
            f"about {100 * low:.2f} % to {100 * high:.2f} %{knocked}."
            f"{_WEARS if arm.repeated and holds else ''}"
        ),
        value=100 * strain,
        limit=100 * (high if stop else low),
        basis=_BASIS.format(source=allowed.source),
        remedy="" if holds else remedy,
    )


def _forces(arm: SnapArm, material: Material) -> Iterator[Finding]:
    finding = partial(Finding, check="snap arms", body=arm.body, at=(arm.at,))
    modulus, friction = material.get("modulus"), material.get("friction")
    if modulus is None or friction is None:
        missing = "modulus" if modulus is None else "friction"
        yield finding(
            severity="note",
            text=f"the forces that open and close {arm.name} were not worked out, because the "
            f"material {material.name} has no {missing}.",
        )
        return
    bend = partial(
        deflection_force_n,
        length_mm=arm.length_mm,
        thickness_mm=arm.bending_thickness_mm or arm.thickness_mm,
        width_mm=arm.bending_width_mm or arm.width_mm,
        strain=root_strain(*_bent(arm), arm.taper),
    )
    soft = arm.count * bend(modulus_mpa=modulus.low)
    stiff = arm.count * bend(modulus_mpa=modulus.high)

    def push(angle_deg: float) -> tuple[float, float]:
        return (
            wedge_force_n(soft, friction.low, angle_deg),
            wedge_force_n(stiff, friction.high, angle_deg),
        )

    mating = push(arm.lead_angle_deg)
    many = f"all {arm.count} of {arm.name} together" if arm.count > 1 else arm.name
    does = f"to close {_newtons(mating)}, to open {_newtons(push(arm.release_angle_deg))}"
    hard = mating[0] > _EASY_N
    short = (
        " The arm is short for its thickness, so that strain and force read high."
        if arm.length_mm < _SLENDER * arm.thickness_mm
        else ""
    )
    yield finding(
        severity="warn" if hard else "note",
        text=f"estimate for {many}: {does}.{short}",
        value=mating[0],
        limit=_EASY_N,
        untold=("limit",),
        unit="N",
        basis=f"cantilever, friction wedge; modulus {modulus.source}; friction {friction.source}",
        remedy="Make the arm thinner, longer or narrower, or its ramp flatter." if hard else "",
    )


def _newtons(force: tuple[float, float]) -> str:
    if math.isinf(force[0]):
        return "it locks until the arm is lifted"
    if math.isinf(force[1]):
        return f"{force[0]:.0f} N or more, or it locks"
    return f"{force[0]:.0f} to {force[1]:.0f} N"
