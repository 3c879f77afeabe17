"""A fit's outcome in plain words: what it can tell, and what to doubt."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS
from fitkit.calibration.posterior import DOUBTED
from fitkit.core.format import with_doubt
from fitkit.core.sizes import CENTRES, HOLE, INSIDE, OUTSIDE, kinds

if TYPE_CHECKING:
    from fitkit.calibration.model import Words
    from fitkit.calibration.observe import Observations
    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import SizeKind

__all__ = ["doubts", "to_read_again", "verdict"]

# Readings are far off beyond so many standard deviations, and habits strange.
_SLIP, _STRANGE = 3.5, 3.5
# The same of both scales in the plane at once: one printer in 200 or so, by the prior.
_BOTH_STRANGE = 2.6
# A zero error below this is within what calipers may have, mm.
_ZERO_ERROR_MM = 0.1
# Round holes of 10 mm close by more than this unless the slicer draws them larger, mm.
_NO_CLOSING_MM = 0.03


def verdict(profile: PrinterProfile) -> str:
    """Say what the coupon told, with 95 % intervals, and where its sizes end."""
    parts = [_shrinkage(profile)]
    for name, term in TERMS.items():
        if term.words is None or name in profile.provenance.borrowed:
            continue
        if term.words.kind is not None:
            parts.append(_shown_by(term.words.kind, term.words, profile))
        else:
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


def to_read_again(profile: PrinterProfile, observed: Observations) -> tuple[str, ...]:
    """Name the features whose reading the others predict otherwise, the most doubtful first."""
    _, surprise = profile.known.left_out()
    worst: dict[str, float] = {}
    for feature, one in zip(observed.features, surprise, strict=False):
        worst[feature.name] = max(worst.get(feature.name, 0.0), abs(float(one)))
    doubted = [name for name, one in worst.items() if one > DOUBTED]
    return tuple(sorted(doubted, key=lambda name: -worst[name]))


def doubts(profile: PrinterProfile, observed: Observations) -> tuple[str, ...]:
    """List what a careful reader should know before trusting the profile."""
    notes = [*_line(profile), *_strange(profile)]
    if "bed_flare" not in profile.provenance.borrowed:
        flare, U_flare = profile.value95("bed_flare")
        if flare > U_flare:
            notes.append(
                f"flare of {flare:.2f} mm at the bed, {flare / 2:.3f} mm a side: chamfer the bed "
                "edges of faces that must fit"
            )
    notes += _slips(profile, observed)
    again = to_read_again(profile, observed)
    if again:
        notes.append(
            f"read again, once each, with another setting of the jaws: {', '.join(again[:6])}"
        )
    if profile.prints == 1:
        notes.append(
            "one print: how prints differ is common practice, not measured; print a second coupon"
        )
    return tuple(notes)


def _slips(profile: PrinterProfile, observed: Observations) -> list[str]:
    """Tell readings so far off that they count for little."""
    error, surprise = profile.known.left_out()
    return [
        f"{feature.name}, print {number + 1}: {off:+.2f} mm off what the other readings predict, "
        f"{abs(times):.1f} times its standard deviation, so it counts for little"
        for feature, number, off, times in zip(
            observed.features, observed.prints, error, surprise, strict=True
        )
        if abs(times) > _SLIP
    ]


def _line(profile: PrinterProfile) -> list[str]:
    outside, U_outside = profile.value95("outside_offset")
    closing = [
        profile.value95(term)
        for term, kind in (("inside_closing", INSIDE), ("hole_closing", HOLE))
        if kind in profile.valid_mm
    ]
    notes = []
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
    if HOLE in profile.valid_mm:
        closes = 10.0 - float(profile.fitted(10.0, kind=HOLE)[0])
        if closes < _NO_CLOSING_MM:
            notes.append(
                f"round holes of 10 mm close by {closes:.2f} mm, which is little: is the slicer's "
                "hole compensation on? It is fitted as it is; leave it as it is for parts, too"
            )
    return notes


def _strange(profile: PrinterProfile) -> list[str]:
    """Tell what no printer does: coupons printed at another scale, calipers with a zero error."""
    notes = []
    strange = profile.known.strangeness()
    scales = [i for i, name in enumerate(TERMS) if TERMS[name].varies == "scale"]
    worst = max(scales[:2], key=lambda i: abs(strange[i]))
    # A slicer's scale moves both axes alike, so that less of each is strange.
    alike = min(strange[scales[:2]]) > _BOTH_STRANGE or max(strange[scales[:2]]) < -_BOTH_STRANGE
    if abs(strange[worst]) > _STRANGE or alike:
        grown = 100.0 * profile.coef[worst]
        usual = 100.0 * float(profile.known.prior.mean[worst])
        notes.append(
            f"sizes in the plane are {grown:+.1f} % off, which printers are not: was the coupon "
            f"printed at {100.0 + grown - usual:.0f} % in the slicer?"
        )
    error, u = profile.known.common_error()
    if abs(error) > max(_STRANGE * u, _ZERO_ERROR_MM):
        notes.append(
            f"outsides and insides are all read {abs(error):.2f} mm too "
            f"{'large' if error > 0 else 'small'}, which no line width does: did the calipers show "
            "zero when they were shut? Zero them and read again"
        )
    return notes
