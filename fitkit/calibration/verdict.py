"""A fit's outcome in plain words: what it can tell, and what to doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.format import with_doubt

if TYPE_CHECKING:
    from fitkit.calibration.observe import Observations
    from fitkit.calibration.profile import PrinterProfile
    from fitkit.calibration.regression import Regression
    from fitkit.core.sizes import Axis, SizeKind

__all__ = ["doubts", "verdict"]

_WORDS: tuple[tuple[SizeKind, Axis, str, str, float], ...] = (
    ("outside", "xy", "outsides grow by", "outsides come out small by", 20.0),
    ("peg", "xy", "pegs grow by", "pegs come out small by", 8.0),
    ("inside", "xy", "slots close by", "slots open by", 6.0),
    ("hole", "xy", "holes close by", "holes open by", 3.0),
    ("hole_lying", "z", "lying holes lose height by", "lying holes gain height by", 5.0),
)
_PLURAL = {"hole": "holes", "peg": "pegs"}


def verdict(profile: PrinterProfile) -> str:
    """Say what the coupon told, with 95 % intervals, and where its sizes end."""
    parts = [_shrinkage(profile)]
    for kind, axis, more, less, near_mm in _WORDS:
        if kind not in profile.valid_mm:
            continue
        low, high = profile.valid_mm[kind]
        size_mm = min(max(near_mm, low), high)
        mean, _ = profile.fitted(size_mm, kind=kind, axis=axis)
        change = float(mean) - size_mm
        grown = change if kind in ("outside", "peg") else -change
        half = float(profile.U95(size_mm, kind=kind, axis=axis, mean=True))
        words = more if grown >= 0 else less
        parts.append(f"{words} {with_doubt(abs(grown), half)} mm at {size_mm:g} mm")
    flare, U_flare = profile.value95("bed_flare")
    if "bed_flare" not in profile.provenance.borrowed:
        parts.append(
            f"the first layer flares by {with_doubt(flare, U_flare)} mm ({flare / 2:.3f} mm a side)"
        )
    ends = ", ".join(
        f"{_PLURAL[kind]} above {profile.valid_mm[kind][1]:g} mm"
        for kind in ("hole", "peg")
        if kind in profile.valid_mm
    )
    sentence = "; ".join(part for part in parts if part)
    return f"{sentence[0].upper()}{sentence[1:]}." + (f" Not measured: {ends}." if ends else "")


def _shrinkage(profile: PrinterProfile) -> str:
    if "scale_x" in profile.provenance.borrowed or "scale_y" in profile.provenance.borrowed:
        return ""
    sizes = np.array([100.0])
    mean, _ = profile.fitted(sizes, kind="centres")
    half = profile.U95(sizes, kind="centres", mean=True)
    change = float(mean[0]) - 100.0
    word = "shrinks" if change < 0 else "grows"
    return f"{word} by {with_doubt(abs(change), float(half[0]))} % in the plane"


def doubts(profile: PrinterProfile, observed: Observations, result: Regression) -> tuple[str, ...]:
    """List what a careful reader should know before trusting the profile."""
    notes = []
    outside, U_outside = profile.value95("outside_offset")
    closing = [
        profile.value95(term)
        for term, kind in (("inside_closing", "inside"), ("hole_closing", "hole"))
        if kind in profile.valid_mm
    ]
    if "outside" in profile.valid_mm and closing:
        fat = outside > U_outside and all(value > U for value, U in closing)
        thin = outside < -U_outside and all(value < -U for value, U in closing)
        if fat:
            notes.append(
                "outsides grow and insides close: line width or flow is the likelier cause than "
                "shrinkage, and one scale for all would mend one and worsen the other"
            )
        if thin:
            notes.append("outsides are small and insides large: the line is narrower than drawn")
    if profile.provenance.borrowed == () or "bed_flare" not in profile.provenance.borrowed:
        flare, U_flare = profile.value95("bed_flare")
        if flare > U_flare:
            notes.append(
                f"flare of {flare:.2f} mm at the bed, {flare / 2:.3f} mm a side: chamfer the bed "
                "edges of faces that must fit"
            )
    if result.lack_of_fit_p is not None and result.lack_of_fit_p < 0.01:
        notes.append(
            f"the same features are off in every print (lack of fit, p = "
            f"{result.lack_of_fit_p:.3f}): counted in the uncertainty"
        )
    studentised = result.studentised
    for row in np.flatnonzero(np.abs(studentised) > 3.5):
        feature = observed.layout.features[row]
        notes.append(
            f"{feature.name}, print {observed.layout.prints[row] + 1}: "
            f"{result.residual_mm[row]:+.2f} mm off the model, {abs(studentised[row]):.1f} times "
            "its standard deviation: read it again"
        )
    if profile.spread.prints == 1:
        notes.append(
            "one print: how prints differ is common practice, not measured; print a second coupon"
        )
    return tuple(notes)
