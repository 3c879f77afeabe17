"""What a profile rests on, and what to measure next for the greatest gain.

Each proposal is tried: readings that come out just as expected are added, and the mean of the ±
over usual sizes of parts is calculated again. Nothing is promised of what the readings will be,
only of how sure they would make the profile.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration.choose import as_expected
from fitkit.calibration.coupon import coupon_features
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.calibration.coupon import CouponFeature
    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import Axis

__all__ = ["Proposal", "proposals", "rests_on", "usual_U95_mm"]

# Proposals that gain less than this share of the mean ± are not worth a reading.
_WORTH = 0.02
_SIZES = 5


class Proposal(NamedTuple):
    """Something to measure: words, how many readings, and the mean ± before and after in mm."""

    says: str
    readings: int
    before_mm: float
    after_mm: float

    def __str__(self) -> str:
        """Give one plain sentence."""
        word = "reading" if self.readings == 1 else "readings"
        return (
            f"{self.says} ({self.readings} {word}): the mean ± of usual sizes goes from "
            f"{self.before_mm:.3f} mm to about {self.after_mm:.3f} mm."
        )


def usual_U95_mm(profile: PrinterProfile) -> dict[str, float]:
    """Give, for each kind that parts usually have, the mean ± over its usual sizes, mm."""
    found = {}
    for kind in kinds():
        if kind.usual_mm is not None:
            sizes = np.geomspace(*kind.usual_mm, _SIZES)
            axis: Axis = "z" if kind.axes == "z" else "x" if kind.flat else "xy"
            found[kind.name] = float(profile.U95(sizes, kind=kind, axis=axis).mean())
    return found


def rests_on(profile: PrinterProfile) -> str:
    """Say in one sentence what is learned from this printer and what is taken from others."""
    evidence = profile.evidence
    assumed = [name.replace("_", " ") for name in profile.provenance.borrowed]
    if evidence is None:
        return (
            "Rests on other people's prints alone: nothing was read on this printer, or its "
            "readings were not kept."
        )
    coupons = int(np.count_nonzero(evidence.coupon))
    parts = len(evidence.sizes) - coupons
    prints = len(set(evidence.sizes.prints.tolist()))
    words = [f"{coupons} coupon readings"] if coupons else []
    words += [f"{parts} sizes measured on parts"] if parts else []
    sentence = f"Rests on {' and '.join(words)} of {prints} print{'s' if prints != 1 else ''}"
    if assumed:
        sentence += f"; taken as other printers have it: {', '.join(assumed)}"
    return f"{sentence}."


def proposals(profile: PrinterProfile) -> tuple[Proposal, ...]:
    """List what to measure next, the greatest gain first; empty if nothing is worth it."""
    before = _mean(profile)
    found = []
    for says, features in _options(profile):
        more = profile.with_evidence(as_expected(features, profile))
        found.append(Proposal(says, len(features), before, _mean(more)))
    worth = [one for one in found if one.before_mm - one.after_mm > _WORTH * before]
    return tuple(sorted(worth, key=lambda one: one.after_mm))


def _mean(profile: PrinterProfile) -> float:
    return float(np.mean(list(usual_U95_mm(profile).values())))


def _options(profile: PrinterProfile) -> list[tuple[str, Sequence[CouponFeature]]]:
    features = coupon_features()
    word = "Print and read a coupon" if profile.generic else "Print and read a second coupon"
    options: list[tuple[str, Sequence[CouponFeature]]] = [(word, features)]
    for words, starts in (
        ("a pocket with walls all round", "pocket"),
        ("a flat bridge", "bridge"),
        ("pegs", "peg"),
        ("slots", "slot"),
        ("round holes", "hole"),
        ("heights", "height"),
        ("long bars", "bar"),
    ):
        chosen = [one for one in features if one.name.startswith(starts) and one.place == "mid"]
        if not any(one.kind in profile.valid_mm and not one.kind.closed for one in chosen):
            options.append((f"Read {words}", chosen))
    return options
