"""A fit's outcome in plain words: what it can tell, and what to doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS
from fitkit.core.format import with_doubt
from fitkit.core.sizes import CENTRES, HOLE, INSIDE, OUTSIDE, kinds

if TYPE_CHECKING:
    from fitkit.calibration.model import Words
    from fitkit.calibration.observe import Observations
    from fitkit.calibration.profile import PrinterProfile
    from fitkit.calibration.regression import Regression
    from fitkit.core.sizes import SizeKind

__all__ = ["doubts", "verdict"]


def verdict(profile: PrinterProfile) -> str:
    """Say what the coupon told, with 95 % intervals, and where its sizes end."""
    parts = [_shrinkage(profile)]
    for name, term in TERMS.items():
        if term.words is None:
            continue
        if term.words.kind is not None:
            parts.append(_shown_by(term.words.kind, term.words, profile))
        elif name in profile.terms and name not in profile.provenance.borrowed:
            parts.append(_told_by_itself(name, term.words, profile))
    ends = ", ".join(
        f"{kind.plural} above {profile.valid_mm[kind][1]:g} mm"
        for kind in kinds()
        if kind.round and not kind.lying and kind in profile.valid_mm
    )
    sentence = "; ".join(part for part in parts if part)
    return f"{sentence[0].upper()}{sentence[1:]}." + (f" Not measured: {ends}." if ends else "")


def _shown_by(kind: SizeKind, words: Words, profile: PrinterProfile) -> str:
    """What sizes of a kind show, at about the size where it matters; empty if none was measured."""
    if kind not in profile.valid_mm:
        return ""
    low, high = profile.valid_mm[kind]
    size_mm = min(max(words.near_mm, low), high)
    mean, _ = profile.fitted(size_mm, kind=kind, axis=words.axis)
    grown = (float(mean) - size_mm) * (-1 if kind.sense < 0 else 1)
    half = float(profile.U95(size_mm, kind=kind, axis=words.axis, mean=True))
    said = words.more if grown >= 0 else words.less
    return f"{said} {with_doubt(abs(grown), half)} mm at {size_mm:g} mm"


def _told_by_itself(name: str, words: Words, profile: PrinterProfile) -> str:
    """What a coefficient says, with its 95 % interval."""
    value, U = profile.value95(name)
    said = words.more if value >= 0 or not words.less else words.less
    amount = abs(value) if words.less else value
    side = f" ({value / 2:.3f} mm a side)" if words.a_side else ""
    return f"{said} {with_doubt(amount, U)} mm{side}"


def _shrinkage(profile: PrinterProfile) -> str:
    if "scale_x" in profile.provenance.borrowed or "scale_y" in profile.provenance.borrowed:
        return ""
    sizes = np.array([100.0])
    mean, _ = profile.fitted(sizes, kind=CENTRES)
    half = profile.U95(sizes, kind=CENTRES, mean=True)
    change = float(mean[0]) - 100.0
    word = "shrinks" if change < 0 else "grows"
    return f"{word} by {with_doubt(abs(change), float(half[0]))} % in the plane"


def doubts(profile: PrinterProfile, observed: Observations, result: Regression) -> tuple[str, ...]:
    """List what a careful reader should know before trusting the profile."""
    notes = []
    outside, U_outside = profile.value95("outside_offset")
    closing = [
        profile.value95(term)
        for term, kind in (("inside_closing", INSIDE), ("hole_closing", HOLE))
        if kind in profile.valid_mm
    ]
    if OUTSIDE in profile.valid_mm and closing:
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
