"""Target size to drawn size: what to draw so that this printer makes what is wanted.

By its terms a printer makes ``a*n + b + c/n`` of the drawn size n (`fitkit.calibration.model`), so
the drawn size is the larger root of a quadratic, and no search can miss it; what the readings show
beyond the terms changes slowly with the size and takes a few more steps. Where c is positive the
curve turns back below ``sqrt(c/a)``; a target beyond that turn is refused. Heights are whole layers
counted from the bed, and so are floor and roof of an opening; a coat of finish is taken off first.

Left out: heights that do not start on the bed (they lose or gain the first layer's difference),
and coats that run thicker in corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from fitkit.calibration.facets import across_flats_factor
from fitkit.calibration.learned import PrintedSize, size_at
from fitkit.core.errors import CalibrationError
from fitkit.core.expanded import effective_df, expanded
from fitkit.core.format import length_text, with_doubt
from fitkit.core.sizes import kind_of
from fitkit.core.units import show, to_mm

if TYPE_CHECKING:
    from collections.abc import Callable

    from fitkit.calibration.effects import SizeAt
    from fitkit.calibration.learned import Learned
    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import Axis, SizeKind

__all__ = ["CompensatedSize", "PrintedBy", "compensate", "reachable_heights"]


class PrintedBy(NamedTuple):
    """A printer's profile, and what sizes measured on earlier prints taught."""

    profile: PrinterProfile
    learned: Learned | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CompensatedSize:
    """What to draw for a wanted size, and what to expect of it.

    Attributes
    ----------
    name : str
    kind, axis
        How the printer errs on it.
    target_mm : float, mm
        What the finished part must have.
    u_target_mm : float, mm
        Standard uncertainty of the target itself: the reading of the object.
    drawn_mm : float, mm
        What to draw.
    expected_mm : float, mm
        What this printer should make of it, coat included.
    u_print_mm : float, mm
        Standard uncertainty of that: model, print to print, coat.
    df : float
        Degrees of freedom of `u_print_mm`.
    U95_mm : float, mm
        Expanded uncertainty of `expected_mm`, for 95 %; the target's own is not in it.
    extrapolated : bool
        Beyond the sizes that the coupon had.
    basis : str
        ``profile bench-petg, 2 prints`` or ``generic profile ...``.
    notes : tuple of str
    printed : PrintedSize or None
        What is asked of the printer, coat and flat sides left out.
    printer : PrintedBy or None
        Which profile and lessons it was worked out with: sizes of one print that have the same
        ones share what is unknown of the printer.
    """

    name: str
    kind: SizeKind
    axis: Axis
    target_mm: float
    u_target_mm: float
    drawn_mm: float
    expected_mm: float
    u_print_mm: float
    U95_mm: float
    extrapolated: bool
    basis: str
    df: float = math.inf
    notes: tuple[str, ...] = ()
    printed: PrintedSize | None = field(default=None, repr=False, compare=False)
    printer: PrintedBy | None = field(default=None, repr=False, compare=False)

    def __str__(self) -> str:
        """Give one line: wanted, drawn, expected with its 95 % interval, and its basis."""
        name = self.name or self.kind.replace("_", " ")
        beyond = ", beyond the coupon's sizes" if self.extrapolated else ""
        return (
            f"{name}: wanted {length_text(self.target_mm)} mm, draw "
            f"{length_text(self.drawn_mm)} mm, expect "
            f"{with_doubt(self.expected_mm, self.U95_mm, 'mm')} (95 %), by {self.basis}{beyond}"
        )


def compensate(
    target: object,
    profile: PrinterProfile,
    *,
    kind: str,
    axis: Axis = "xy",
    coated_faces: int = 0,
    coat: object = None,
    sides: int | None = None,
    name: str = "",
    learned: Learned | None = None,
    feature: str = "",
    drawn_mm: float | None = None,
    wall_mm: float | None = None,
    floor_mm: float | None = None,
) -> CompensatedSize:
    """Find the size to draw.

    Parameters
    ----------
    target : Estimate, quantity, or text with unit
        What the finished part must have. An estimate's uncertainty is carried along.
    profile : PrinterProfile
    kind : SizeKind, or its name
        How the printer errs on the size, as in `fitkit.core.sizes`.
    axis : {"x", "y", "z", "xy"}
        Along which it lies; heights are along z whatever this says.
    coated_faces : {0, 1, 2}
        How many of the two faces are coated.
    coat : Estimate, quantity or text with unit, optional
        Thickness of the coat on one face.
    sides : int, optional
        Sides of the polygon that a hole or peg is drawn as. None for a true circle, whose polygon
        in a file takes next to nothing (`fitkit.flow.built.FILE_TOLERANCE_MM`).
    name : str
        Of the size, for the result.
    learned : Learned, optional
        What sizes measured on earlier prints taught; the size is drawn with it.
    feature : str
        Which feature of which part this is, as in `fitkit.calibration.MeasuredSize`.
    drawn_mm : float, mm, optional
        Draw just this, as where a size that fitted is kept; what to expect of it is worked out.
    wall_mm : float, mm, optional
        Length of the walls beside a pocket, which may bow; as long as it is wide if None.
    floor_mm : float, mm, optional
        Height over the bed of the floor of an opening in an upright wall. Where it is not whole
        layers, or not known, the ± of the opening's height owns a layer.

    Returns
    -------
    CompensatedSize
        The drawn size, what to expect of it with its 95 % interval, and notes on every decision and
        doubt.

    Raises
    ------
    UnitError
        If target or coat is a bare number.
    CalibrationError
        If the size cannot be made: nothing left under the coat, or smaller than the printer's
        curve goes; or if there is no such kind.

    Examples
    --------
    >>> from fitkit.calibration import generic_profile
    >>> hole = compensate("4.5 mm", generic_profile("PETG"), kind="hole")
    >>> round(hole.drawn_mm, 2), round(hole.expected_mm, 2)
    (4.75, 4.5)
    """
    kind = kind_of(kind)
    target_mm, u_target_mm = _value(target)
    notes: list[str] = []
    coat_mm, u_coat_mm = _coat(coat, coated_faces, kind.sense, notes)
    wanted_mm = target_mm - coat_mm
    where = name or kind
    if not target_mm > 0:
        raise CalibrationError(
            f"a size of {show(target_mm)} cannot be printed",
            code="calibration.size-not-above-zero",
            where=where,
            remedy="Give a size above 0 mm.",
        )
    if not (math.isfinite(wanted_mm) and wanted_mm > 0):
        raise CalibrationError(
            f"nothing is left to print: {show(target_mm)} is wanted, and {show(coat_mm)} of it is "
            "coat",
            code="calibration.all-coat",
            where=where,
            remedy="Thin the coat, leave faces uncoated, or make the size larger.",
        )
    upright, along = kind.upright(axis), kind.along(axis)
    window = along == "z" and not upright and not kind.round
    flats = across_flats_factor(sides) if kind.round else 1.0
    step_mm = 0.0 if not window or _on_layers(floor_mm, profile) else profile.layer_height_mm
    asked = _Asked(kind, along, feature, wall_mm, step_mm)

    def expected(drawn: float) -> float:
        return _expected(profile, learned, drawn * flats, asked)

    if drawn_mm is None:
        drawn_mm = _drawn(profile, wanted_mm, flats, asked, expected, where=where)
        if upright:
            drawn_mm = _whole_layers(drawn_mm, wanted_mm, profile, expected, notes)
        elif window:
            drawn_mm = _open_layers(drawn_mm, wanted_mm, profile, expected, notes)
    if flats != 1.0:
        lost = drawn_mm * (1.0 - flats)
        notes.append(
            f"drawn with {sides} flat sides: {show(lost)} smaller across the flats than across the "
            "corners"
        )
    if step_mm:
        notes.append(
            f"floor or roof may lie between layers, so the ± owns a layer of {show(step_mm)}"
        )
    expected_mm, u_mm, df = _predicted(profile, learned, drawn_mm * flats, asked)
    u_print_mm = math.hypot(u_mm, u_coat_mm)
    # The coat's part has no scatter of its own to estimate; it only dilutes.
    df = float(effective_df((u_mm, df), (u_coat_mm, math.inf)))
    low, high = profile.measured(kind) or (math.inf, -math.inf)
    extrapolated = not low - 1e-9 <= drawn_mm <= high + 1e-9
    notes += _doubts(profile, kind, along, drawn_mm, extrapolated, (low, high))
    if learned:
        notes += _lessons(learned, drawn_mm * flats, asked)
    return CompensatedSize(
        name=name,
        kind=kind,
        axis=along,
        target_mm=target_mm,
        u_target_mm=u_target_mm,
        drawn_mm=drawn_mm,
        expected_mm=expected_mm + coat_mm,
        u_print_mm=u_print_mm,
        df=df,
        U95_mm=expanded(u_print_mm, df)[0],
        extrapolated=extrapolated,
        basis=profile.basis,
        notes=tuple(notes),
        printed=PrintedSize(drawn_mm * flats, kind, along, feature, wall_mm),
        printer=PrintedBy(profile, learned),
    )


def reachable_heights(profile: PrinterProfile, near_mm: float) -> tuple[float, float]:
    """Give the whole-layer heights at or below, and above, a height over the bed, in mm.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from fitkit.calibration import generic_profile
    >>> profile = replace(generic_profile("PLA"), layer_height_mm=0.2, first_layer_mm=0.3)
    >>> [round(h, 2) for h in reachable_heights(profile, 2.0)]
    [1.9, 2.1]
    """
    first, layer = profile.first_layer_mm, profile.layer_height_mm
    # A height that is whole layers but for rounding counts as reached.
    layers = max(math.floor((near_mm - first) / layer + 1e-9), 0)
    return first + layers * layer, first + (layers + 1) * layer


def _value(size: object) -> tuple[float, float]:
    return to_mm(size), float(getattr(size, "u_mm", 0.0))


def _coat(coat: object, faces: int, sense: int, notes: list[str]) -> tuple[float, float]:
    """What the coat adds to the size, with sign, and its standard uncertainty."""
    if faces not in (0, 1, 2):
        raise CalibrationError(
            f"{faces!r} faces are to be coated, but a size lies between two faces",
            code="calibration.coated-faces",
            remedy="Give 0, 1 or 2.",
        )
    if coat is None or not faces or not sense:
        return 0.0, 0.0
    thickness_mm, u_mm = _value(coat)
    if thickness_mm < 0:
        raise CalibrationError(
            f"the coat's thickness of {show(thickness_mm)} is less than zero",
            code="calibration.coat",
            remedy="Give 0 mm or more.",
        )
    word = "adds" if sense > 0 else "takes"
    notes.append(
        f"coat {word} {show(faces * thickness_mm)} on {faces} face{'s' if faces > 1 else ''}"
        + ("" if u_mm else "; its spread was not given and counts as zero")
    )
    # Both faces are dipped or painted at once, so their errors go together.
    return sense * faces * thickness_mm, faces * u_mm


def _invert(abc: tuple[float, float, float], wanted_mm: float, *, where: str) -> float:
    """Solve a*n + b + c/n = wanted for the n on the rising branch, exactly."""
    a, b, c = abc
    if a <= 0:
        raise CalibrationError(
            "by this profile the printed size does not grow with the drawn size",
            code="calibration.not-growing",
            where=where,
            remedy="Fit the coupon again; its readings cannot be right.",
        )
    half = 0.5 * (wanted_mm - b)
    inside = half * half - a * c
    # With c > 0 below its turn the curve rises again towards n = 0: no print does that.
    if inside < 0 or (c >= 0 and half <= 0):
        least = b + 2.0 * math.sqrt(a * c) if c > 0 else b
        raise CalibrationError(
            f"{show(wanted_mm)} is smaller than the smallest size that this printer makes, "
            f"{show(least)}",
            code="calibration.too-small",
            where=where,
            remedy="Make it larger, or drill it after printing.",
        )
    root = math.sqrt(inside)
    # The form without cancellation, whichever sign the half sum has.
    return (half + root) / a if half >= 0 else -c / (root - half)


class _Asked(NamedTuple):
    """What a size is, beside its length."""

    kind: SizeKind
    axis: Axis
    feature: str
    wall_mm: float | None
    step_mm: float

    def at(self, drawn_mm: float) -> SizeAt:
        return size_at(
            drawn_mm,
            self.kind,
            self.axis,
            feature=self.feature,
            wall_mm=self.wall_mm,
            step_mm=self.step_mm,
        )


def _expected(
    profile: PrinterProfile, learned: Learned | None, drawn_mm: float, asked: _Asked
) -> float:
    """Size to expect."""
    if learned is None:
        return float(profile.known.means(profile.sizes([asked.at(drawn_mm)]))[0])
    return learned.expected(
        drawn_mm,
        kind=asked.kind,
        axis=asked.axis,
        feature=asked.feature,
        wall_mm=asked.wall_mm,
    )


def _predicted(
    profile: PrinterProfile, learned: Learned | None, drawn_mm: float, asked: _Asked
) -> tuple[float, float, float]:
    """Size to expect, its standard uncertainty and degrees of freedom."""
    if learned is not None:
        return learned.predict(
            drawn_mm,
            kind=asked.kind,
            axis=asked.axis,
            feature=asked.feature,
            wall_mm=asked.wall_mm,
            step_mm=asked.step_mm,
        )
    found = profile.expect([asked.at(drawn_mm)])
    return float(found.mean_mm[0]), float(found.u_mm[0]), float(found.df[0])


def _drawn(
    profile: PrinterProfile,
    wanted_mm: float,
    flats: float,
    asked: _Asked,
    expected: Callable[[float], float],
    *,
    where: str,
) -> float:
    """Draw so that what is expected is what is wanted."""
    abc = profile.curve(asked.kind, asked.axis)
    a, b, c = abc
    drawn_mm, steps = _invert(abc, wanted_mm, where=where), _STEPS
    while steps:
        before_mm = drawn_mm
        beyond = expected(drawn_mm / flats) - (a * drawn_mm + b + c / drawn_mm)
        drawn_mm = _invert(abc, wanted_mm - beyond, where=where)
        steps -= 1
        if abs(drawn_mm - before_mm) < 1e-10:
            break
    return drawn_mm / flats


def _on_layers(floor_mm: float | None, profile: PrinterProfile) -> bool:
    """Tell whether a floor over the bed lies on whole layers."""
    if floor_mm is None:
        return False
    layers = (floor_mm - profile.first_layer_mm) / profile.layer_height_mm
    return abs(layers - round(layers)) * profile.layer_height_mm < 1e-6


def _open_layers(
    ideal_mm: float,
    wanted_mm: float,
    profile: PrinterProfile,
    expected: Callable[[float], float],
    notes: list[str],
) -> float:
    """Choose the nearer whole number of open layers, the larger if both are as near."""
    layer = profile.layer_height_mm
    layers = max(math.floor(ideal_mm / layer + 1e-9), 1)
    heights = layers * layer, (layers + 1) * layer
    return _nearer(heights, ideal_mm, wanted_mm, expected, notes)


# At most; each step leaves a hundredth of the error before it, or less.
_STEPS = 20
# What moves a size by less than this is not told, mm: a tenth of what calipers show.
_TOLD_MM = 0.001


def _lessons(learned: Learned, drawn_mm: float, asked: _Asked) -> list[str]:
    """Say which prints taught the size, and by how much."""
    mean_mm, by_print = learned.bias(
        drawn_mm,
        kind=asked.kind,
        axis=asked.axis,
        feature=asked.feature,
        wall_mm=asked.wall_mm,
    )
    notes = []
    if abs(mean_mm) >= _TOLD_MM:
        parts = sorted(by_print.items(), key=lambda item: -abs(item[1]))
        told = [f"{code} {mm:+.3f} mm" for code, mm in parts if abs(mm) >= _TOLD_MM]
        more = f" and {len(told) - 3} more" if len(told) > 3 else ""
        shares = f" ({', '.join(told[:3])}{more})" if told else ""
        notes.append(f"sizes measured on earlier prints move it by {mean_mm:+.3f} mm{shares}")
    notes += [
        f"{show(slip.measured_mm)} measured on {slip.print_code} is too far off to be believed "
        f"({show(slip.drawn_mm)} drawn), so nothing was learned from it: measure again"
        for slip in learned.slips
        if asked.feature and slip.feature == asked.feature
    ]
    return notes


def _whole_layers(
    ideal_mm: float,
    wanted_mm: float,
    profile: PrinterProfile,
    expected: Callable[[float], float],
    notes: list[str],
) -> float:
    """Choose the nearer reachable height, the higher if both are as near, and say so."""
    heights = reachable_heights(profile, ideal_mm)
    return _nearer(heights, ideal_mm, wanted_mm, expected, notes)


def _nearer(
    heights: tuple[float, float],
    ideal_mm: float,
    wanted_mm: float,
    expected: Callable[[float], float],
    notes: list[str],
) -> float:
    made = [expected(height) for height in heights]
    chosen = min((1, 0), key=lambda i: round(abs(made[i] - wanted_mm), 9))
    off = made[chosen] - wanted_mm
    if abs(heights[chosen] - ideal_mm) > 1e-9:
        both = " or ".join(show(h) for h in heights)
        notes.append(
            f"whole layers reach {both}; {show(heights[chosen])} drawn, which should come out "
            f"{show(abs(off))} {'over' if off > 0 else 'under'} the wanted {show(wanted_mm)}"
        )
    return heights[chosen]


def _doubts(
    profile: PrinterProfile,
    kind: SizeKind,
    axis: Axis,
    drawn_mm: float,
    extrapolated: bool,
    span: tuple[float, float],
) -> list[str]:
    from fitkit.calibration.model import loads

    notes = [*profile.provenance.aged]
    if profile.generic:
        notes.append(f"generic profile for {profile.material}: print and measure a coupon")
    if kind.unmeasured_note and not profile.generic and profile.measured(kind) is None:
        notes.append(kind.unmeasured_note)
    elif kind.lying and axis != "z":
        high = float(profile.predict(drawn_mm, kind=kind, axis="z")[0])
        notes.append(
            f"width of a lying hole; its height should come out {show(high)}: draw a teardrop "
            "or a flat top, or compensate along z"
        )
    borrowed = [term for term in loads(kind, axis) if term in profile.provenance.borrowed]
    if borrowed and not profile.generic:
        says = ", ".join(name.replace("_", " ") for name in borrowed)
        notes.append(f"not measured on this printer, taken as other printers have it: {says}")
    if extrapolated and span[0] <= span[1]:
        notes.append(
            f"extrapolated: the coupon had {kind} sizes from {show(span[0])} to {show(span[1])}"
        )
    elif extrapolated:
        notes.append(f"extrapolated: the coupon had no {kind} sizes")
    return notes
