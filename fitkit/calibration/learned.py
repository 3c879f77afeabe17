"""What sizes measured on prints teach about a printer, on top of its profile.

Sizes measured on any print are readings of the same printer, so they join the profile's readings,
and one update (`fitkit.calibration.posterior`) works out what follows. What this room adds is the
sizes as a journal holds them, slips told apart, and which print taught what.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration.effects import SizeAt, Sizes, Source
from fitkit.calibration.posterior import Evidence
from fitkit.core.sizes import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import Axis

    Array = NDArray[np.float64]

__all__ = ["Learned", "MeasuredSize", "learn_sizes", "size_at"]

# Limit of error of usual calipers, 0.03 mm taken as rectangular: no number of readings with the
# same calipers averages it out.
U_CALIPERS_MM = 0.03 / math.sqrt(3.0)
# A size farther off than so many standard uncertainties, and than this, is taken for a slip of the
# reading. Nearer ones may be a feature that this printer makes badly, and teach with less weight.
SLIP, SLIP_MM = 5.0, 0.3
# By how much prints of one feature differ, 1 sd: common practice, no source.
_PRINT_MM = 0.03
# Of more sizes than this the newest count: the update takes their number cubed.
MOST_SIZES = 800


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredSize:
    """One size as drawn and as measured on a print, without finish.

    Attributes
    ----------
    kind, axis
        As `fitkit.calibration.model.loads` takes them.
    drawn_mm, measured_mm : float, mm
    u_measured_mm : float, mm
        Standard uncertainty of the reading, what all readings share included.
    print_code : str
        Trace code: sizes of one print share its deviation.
    feature : str
        The feature of the part, the same at each reprint; empty if it is not known.
    wall_mm : float or None, mm
        Length of the walls beside a pocket; as long as it is wide if None.
    step_mm : float, mm
        Layer height, where floor or roof of an opening need not be whole layers.
    source : Source or None
        What it was printed with, as `fitkit.calibration.source_at` tells; as now if None.
    """

    kind: str
    axis: Axis
    drawn_mm: float
    measured_mm: float
    u_measured_mm: float
    print_code: str
    feature: str = ""
    wall_mm: float | None = None
    step_mm: float = 0.0
    source: Source | None = None

    def __post_init__(self) -> None:
        """Take the name of a kind, too."""
        object.__setattr__(self, "kind", kind_of(self.kind))


class PrintedSize(NamedTuple):
    """A size that is asked about: its kind, its axis, what is drawn, and which feature it is."""

    drawn_mm: float
    kind: str
    axis: Axis = "xy"
    feature: str = ""
    wall_mm: float | None = None


class Bias(NamedTuple):
    """What prints taught about one size: its mean in mm, and the share of each print in it."""

    mean_mm: float
    by_print: dict[str, float]


class Predicted(NamedTuple):
    """A size to expect, its standard uncertainty and the degrees of freedom of that."""

    printed_mm: float
    u_mm: float
    df: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Learned:
    """A profile together with what sizes measured on prints taught.

    Attributes
    ----------
    profile : PrinterProfile
        Without them.
    taught : PrinterProfile
        With them.
    sizes : tuple of MeasuredSize, length n
        Those that were learned from.
    slips : tuple of MeasuredSize
        Those left out because they are too far off to be anything but a slip.
    """

    profile: PrinterProfile
    taught: PrinterProfile
    sizes: tuple[MeasuredSize, ...]
    slips: tuple[MeasuredSize, ...]

    def bias(
        self,
        drawn_mm: float,
        *,
        kind: str,
        axis: Axis = "xy",
        feature: str = "",
        wall_mm: float | None = None,
    ) -> Bias:
        """Give what is expected to last at a size, beyond the profile.

        Parameters
        ----------
        drawn_mm : float, mm
        kind, axis
            See `fitkit.calibration.model.loads`.
        feature : str
            As in `MeasuredSize`: what was measured of the same feature counts most.
        wall_mm : float, optional
            As in `MeasuredSize`.

        Returns
        -------
        Bias
            Zero with no print named where it would go against what was measured of the feature.
        """
        asked = size_at(drawn_mm, kind, axis, feature=feature, wall_mm=wall_mm)
        mean = self._lasting(asked)
        if not mean:
            return Bias(0.0, {})
        by_print: dict[str, float] = {}
        shares = self._shares(asked)
        # The mean weighs several scatters of a printer and the shares one, a few percent apart.
        if 0.5 < (total := float(shares.sum())) / mean < 2.0:
            shares *= mean / total
        for size, share in zip(self.sizes, shares, strict=True):
            by_print[size.print_code] = by_print.get(size.print_code, 0.0) + float(share)
        return Bias(mean, by_print)

    def expected(
        self,
        drawn_mm: float,
        *,
        kind: str,
        axis: Axis = "xy",
        feature: str = "",
        wall_mm: float | None = None,
    ) -> float:
        """Give the size to expect, as profile and `bias` have it together, but quicker.

        Parameters
        ----------
        drawn_mm, kind, axis, feature, wall_mm
            As in `bias`.

        Returns
        -------
        float, mm
        """
        asked = size_at(drawn_mm, kind, axis, feature=feature, wall_mm=wall_mm)
        plain = float(self.profile.known.means(self.profile.sizes([asked]))[0])
        return plain + self._lasting(asked)

    def _lasting(self, asked: SizeAt) -> float:
        new, plain = self.taught.sizes([asked]), self.profile.sizes([asked])
        mean = float((self.taught.known.means(new) - self.profile.known.means(plain))[0])
        return self._towards(mean, asked.feature)

    def _shares(self, asked: SizeAt) -> NDArray[np.float64]:
        """How much each measured size moves a size from where the profile has it, shape (n,), mm.

        By normal theory from the profile's own prediction of all of them, so that what the coupon
        taught, which is no share of any of these prints, is in none of the shares.
        """
        measured = (
            size_at(
                size.drawn_mm,
                size.kind,
                size.axis,
                feature=size.feature,
                print_code=size.print_code,
                wall_mm=size.wall_mm,
                step_mm=size.step_mm,
            )
            for size in self.sizes
        )
        together = self.profile.expect([asked, *measured])
        error = np.array([size.measured_mm for size in self.sizes]) - together.mean_mm[1:]
        spread = together.cov[1:, 1:].copy()
        spread[np.diag_indices_from(spread)] += [size.u_measured_mm**2 for size in self.sizes]
        return np.asarray(together.cov[0, 1:] * np.linalg.solve(spread, error))

    def predict(
        self,
        drawn_mm: float,
        *,
        kind: str,
        axis: Axis = "xy",
        feature: str = "",
        print_code: str = "",
        wall_mm: float | None = None,
        step_mm: float = 0.0,
    ) -> Predicted:
        """Predict a size of a print still to come, or of one of which other sizes were measured.

        Parameters
        ----------
        drawn_mm, kind, axis, feature, wall_mm
            As in `bias`.
        print_code : str
            Of the print, if it is among those measured.
        step_mm : float, mm
            As in `MeasuredSize`.

        Returns
        -------
        Predicted
        """
        asked = size_at(
            drawn_mm,
            kind,
            axis,
            feature=feature,
            print_code=print_code,
            wall_mm=wall_mm,
            step_mm=step_mm,
        )
        found = self.taught.expect([asked])
        mean = float(found.mean_mm[0])
        if not print_code:
            plain = float(self.profile.known.means(self.profile.sizes([asked]))[0])
            mean = plain + self._towards(mean - plain, feature)
        return Predicted(mean, float(found.u_mm[0]), float(found.df[0]))

    def towards(self, sizes: Sequence[PrintedSize], means_mm: Array, plain_mm: Array) -> Array:
        """Keep each size's mean from going against what was measured of the feature itself.

        Parameters
        ----------
        sizes : sequence of PrintedSize, length n
        means_mm, plain_mm : arrays of shape (n,), mm
            Sizes to expect with what was learned, and by the profile alone.

        Returns
        -------
        array of shape (n,), mm
            `means_mm`, or `plain_mm` where the feature's own readings lie on its other side.
        """
        return plain_mm + [
            self._towards(float(taught - plain), size.feature)
            for taught, plain, size in zip(means_mm, plain_mm, sizes, strict=True)
        ]

    def _towards(self, mean_mm: float, feature: str) -> float:
        """Give the bias, or none where it is against what was measured of the feature itself.

        Sizes of one print share its deviation, so what lasts may come out on the other side of a
        size's own readings. Nobody who measured a hole small is told to draw it smaller yet.
        """
        own = [size for size in self.sizes if feature and size.feature == feature]
        if not own:
            return mean_mm
        sizes = self.profile.sizes(_as_read(size) for size in own)
        off = np.array([s.measured_mm for s in own]) - self.profile.known.means(sizes)
        return 0.0 if mean_mm * float(off.mean()) < 0.0 else mean_mm


def learn_sizes(profile: PrinterProfile, sizes: Iterable[MeasuredSize]) -> Learned | None:
    """Learn from the sizes measured on prints.

    Parameters
    ----------
    profile : PrinterProfile
    sizes : iterable of MeasuredSize
        All of the profile's printer and material, oldest first; the newest 800 count.

    Returns
    -------
    Learned or None
        None if nothing was measured.

    Examples
    --------
    >>> from fitkit.calibration import generic_profile
    >>> profile = generic_profile("PETG")
    >>> expected = float(profile.predict(36.0, kind="pocket")[0])
    >>> found = MeasuredSize(
    ...     kind="pocket", axis="xy", drawn_mm=36.0, measured_mm=expected - 0.12,
    ...     u_measured_mm=0.02, print_code="K7M3PXA", feature="cut-out",
    ... )
    >>> learned = learn_sizes(profile, [found])
    >>> round(learned.bias(36.0, kind="pocket", feature="cut-out").mean_mm, 2)
    -0.11
    """
    sizes = tuple(sizes)[-MOST_SIZES:]
    if not sizes:
        return None
    # Without a code of its own each size is of the same print still to come; that is all it takes.
    found = [
        profile.expect([size_at(s.drawn_mm, s.kind, s.axis, wall_mm=s.wall_mm, step_mm=s.step_mm)])
        for s in sizes
    ]
    good = [
        abs(s.measured_mm - f.mean_mm[0])
        <= max(SLIP * math.hypot(f.u_mm[0], s.u_measured_mm), SLIP_MM)
        for s, f in zip(sizes, found, strict=True)
    ]
    off = [s.measured_mm - float(f.mean_mm[0]) for s, f in zip(sizes, found, strict=True)]
    good = [
        fine or any(_agree(sizes[i], sizes[j], off[i] - off[j]) for j in range(len(sizes)))
        for i, fine in enumerate(good)
    ]
    kept = tuple(size for size, fine in zip(sizes, good, strict=True) if fine)
    slips = tuple(size for size, fine in zip(sizes, good, strict=True) if not fine)
    taught = profile
    if kept:
        # The printer as it is now is that of its newest print.
        day = max(profile.now.day, *(s.source.day for s in kept if s.source), 0.0)
        taught = replace(
            profile.with_evidence(_evidence(kept, profile.now)), now=replace(profile.now, day=day)
        )
    return Learned(profile=profile, taught=taught, sizes=kept, slips=slips)


def _agree(one: MeasuredSize, other: MeasuredSize, differ_mm: float) -> bool:
    """Tell whether two prints of one feature came out as far off: that is no slip of a reading."""
    if not one.feature or one.feature != other.feature or one.print_code == other.print_code:
        return False
    u_mm = math.hypot(one.u_measured_mm, other.u_measured_mm, 2.0**0.5 * _PRINT_MM)
    return abs(differ_mm) <= 3.0 * u_mm


def size_at(
    drawn_mm: float,
    kind: str,
    axis: Axis,
    *,
    feature: str = "",
    print_code: str = "",
    wall_mm: float | None = None,
    step_mm: float = 0.0,
) -> SizeAt:
    """Place a size of a part; the walls of a pocket are as long as it is wide if nobody says."""
    if wall_mm is None:
        wall_mm = drawn_mm if kind_of(kind).closed else 0.0
    return SizeAt(
        kind=kind,
        axis=axis,
        drawn_mm=drawn_mm,
        feature=feature,
        print_code=print_code,
        wall_mm=wall_mm,
        step_mm=step_mm,
    )


def _as_read(size: MeasuredSize) -> SizeAt:
    return size_at(
        size.drawn_mm,
        size.kind,
        size.axis,
        feature=size.feature,
        print_code=size.print_code,
        wall_mm=size.wall_mm,
        step_mm=size.step_mm,
    )


def _evidence(sizes: Sequence[MeasuredSize], source: Source) -> Evidence:
    u = np.array([size.u_measured_mm for size in sizes], dtype=float)
    shared = np.minimum(u, U_CALIPERS_MM)
    return Evidence(
        sizes=Sizes.of(replace(_as_read(size), source=size.source or source) for size in sizes),
        read_mm=np.array([size.measured_mm for size in sizes], dtype=float),
        own=u**2 - shared**2,
        shared=np.outer(shared, shared),
        coupon=np.zeros(len(sizes), dtype=bool),
    )
