"""What sizes measured on prints teach about a printer, on top of its profile.

One Gaussian update. Each measured size differs from the profile's prediction by an error that
lasts (the doubt about the profile's terms, a discrepancy that like sizes of a kind share, a
peculiarity of the one feature of the one part), by the deviation of its print, and by the reading.
With K the covariance of what lasts, N that of the rest, and e = measured - predicted, what lasts at
a new size is expected to be ``k (K + N)^-1 e``, with k its covariance with the sizes measured, and
its variance falls by ``k (K + N)^-1 k'``. So a doubtful reading moves little, and the size that was
measured itself moves most.

If the sizes measured lie farther off than all this allows, the uncertainty is widened by the ratio
(the scale of a multivariate t with a few degrees of freedom); it is never narrowed by it.

Model: Gaussian conditioning, as in any text on it; the figures below are choices, no source. Left
out: drift over months, and a printer whose kinds err together more than the profile's terms say.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration.model import design, print_loads
from fitkit.core.expanded import effective_df
from fitkit.core.sizes import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from fitkit.calibration.profile import PrinterProfile
    from fitkit.core.sizes import Axis, SizeKind

    Array = NDArray[np.float64]

__all__ = ["Learned", "MeasuredSize", "learn_sizes"]

# What no term of the profile holds, 1 sd, and over how large a ratio of sizes (as a natural
# logarithm) it fades.
DISCREPANCY_MM, FADE = 0.02, 1.0
# Of the scatter from feature to feature, the share of the variance that stays with the feature
# when the part is printed again.
LASTING_SHARE = 0.5
# Limit of error of usual calipers, 0.03 mm taken as rectangular: no number of readings with the
# same calipers averages it out.
U_CALIPERS_MM = 0.03 / math.sqrt(3.0)
# A size farther off than so many standard uncertainties is taken for a slip of the reading.
SLIP = 5.0
# Of more sizes than this the newest count: the update takes their number cubed.
MOST_SIZES = 800
# How firmly the profile's own uncertainties are believed: as if so many sizes had agreed with them.
BELIEF = 6.0


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
    """

    kind: SizeKind
    axis: Axis
    drawn_mm: float
    measured_mm: float
    u_measured_mm: float
    print_code: str
    feature: str = ""

    def __post_init__(self) -> None:
        """Take the name of a kind, too."""
        object.__setattr__(self, "kind", kind_of(self.kind))


class PrintedSize(NamedTuple):
    """A size that is asked about: its kind, its axis, what is drawn, and which feature it is."""

    drawn_mm: float
    kind: str
    axis: Axis = "xy"
    feature: str = ""


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
    sizes : tuple of MeasuredSize, length n
        Those that were learned from.
    slips : tuple of MeasuredSize
        Those left out because they are too far off to be anything but a slip.
    residual_mm : array of shape (n,), mm
        Measured less predicted by the profile alone.
    widen : float
        Factor of the variance, 1 or more.
    """

    profile: PrinterProfile
    sizes: tuple[MeasuredSize, ...]
    slips: tuple[MeasuredSize, ...]
    residual_mm: Array
    widen: float
    _inverse: Array = field(repr=False)
    _known: _Sizes = field(repr=False)
    _weights: Array = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_weights", self._inverse @ self.residual_mm)

    def bias(self, drawn_mm: float, *, kind: str, axis: Axis = "xy", feature: str = "") -> Bias:
        """Give what is expected to last at a size, beyond the profile.

        Parameters
        ----------
        drawn_mm : float, mm
        kind, axis
            See `fitkit.calibration.model.loads`.
        feature : str
            As in `MeasuredSize`: what was measured of the same feature counts most.
        """
        new = _Sizes.one(self.profile, drawn_mm, kind, axis, feature)
        shares = _covariances(self.profile, new, self._known).lasting[0] * self._weights
        mean = self._towards(float(shares.sum()), feature)
        if not mean:
            return Bias(0.0, {})
        by_print: dict[str, float] = {}
        for size, share in zip(self.sizes, shares, strict=True):
            by_print[size.print_code] = by_print.get(size.print_code, 0.0) + float(share)
        return Bias(mean, by_print)

    def predict(
        self,
        drawn_mm: float,
        *,
        kind: str,
        axis: Axis = "xy",
        feature: str = "",
        print_code: str = "",
    ) -> Predicted:
        """Predict a size of a print still to come, or of one of which other sizes were measured.

        Parameters
        ----------
        drawn_mm, kind, axis, feature
            As in `bias`.
        print_code : str
            Of the print, if it is among those measured.
        """
        new = _Sizes.one(self.profile, drawn_mm, kind, axis, feature, print_code)
        own = _covariances(self.profile, new, new)
        parts = _covariances(self.profile, new, self._known)
        cross = parts.lasting[0]
        if print_code:
            # The print's own deviation is known in part, and is then no longer fresh.
            both = cross + parts.between[0] + parts.scatter[0]
            mean = float(both @ self._weights)
            gained = float(both @ self._inverse @ both)
            within = float((own.lasting + own.between + own.scatter)[0, 0]) - gained
            u_mm = math.sqrt(self.widen * max(within, 0.0))
            return Predicted(_plain(self.profile, drawn_mm, kind, axis) + mean, u_mm, math.inf)
        mean = self._towards(float(cross @ self._weights), feature)
        gained = float(cross @ self._inverse @ cross)
        lasting = float(own.terms[0, 0] + own.peculiar[0, 0])
        between = float(own.between[0, 0])
        # The discrepancy counts only where it was learned from: the profile's ± is without it.
        left = min(lasting, max(lasting + float(own.discrepancy[0, 0]) - gained, 0.0))
        within = left + float(own.scatter[0, 0])
        u_mm = math.sqrt(self.widen * (within + between))
        df = float(
            effective_df(
                (math.sqrt(within), self.profile.df),
                (math.sqrt(between), self.profile.spread.print_df),
            )
        )
        return Predicted(_plain(self.profile, drawn_mm, kind, axis) + mean, u_mm, df)

    def together(
        self, sizes: Sequence[PrintedSize], *, print_code: str = ""
    ) -> tuple[Array, Array, Array, Array]:
        """Predict several sizes of one print; alone, each is as `predict` has it.

        Parameters
        ----------
        sizes : sequence of PrintedSize, n of them
        print_code : str
            Of the print, if it is among those measured.

        Returns
        -------
        mean : array of shape (n,), mm
        lasting, fresh, between : arrays of shape (n, n), mm²
            Covariance of what stays from print to print, of each feature's own scatter, and of the
            print's deviation. Of a print that is measured in part, all of it stands in `fresh`.
        """
        new = _Sizes.of(
            self.profile,
            [
                MeasuredSize(
                    kind=kind_of(size.kind),
                    axis=size.axis,
                    drawn_mm=size.drawn_mm,
                    measured_mm=math.nan,
                    u_measured_mm=0.0,
                    print_code=print_code or "the next print",
                    feature=size.feature,
                )
                for size in sizes
            ],
        )
        own = _covariances(self.profile, new, new)
        parts = _covariances(self.profile, new, self._known)
        plain = np.array([_plain(self.profile, s.drawn_mm, s.kind, s.axis) for s in sizes])
        cross = parts.lasting
        if print_code:
            both = cross + parts.between + parts.scatter
            whole = own.lasting + own.between + own.scatter - both @ self._inverse @ both.T
            none = np.zeros_like(whole)
            return plain + both @ self._weights, none, self.widen * whole, none
        shifts = cross @ self._weights
        mean = [
            self._towards(float(m), size.feature) for m, size in zip(shifts, sizes, strict=True)
        ]
        left = own.lasting - cross @ self._inverse @ cross.T
        # As in `predict`, the profile's own doubt is the most that is left of each size.
        most = np.diag(own.terms + own.peculiar)
        now = np.maximum(np.diag(left), 1e-18)
        shrink = np.sqrt(np.minimum(most, now) / now)
        left = left * np.outer(shrink, shrink)
        return plain + mean, self.widen * left, self.widen * own.scatter, self.widen * own.between

    def _towards(self, mean_mm: float, feature: str) -> float:
        """Give the bias, or none where it is against what was measured of the feature itself.

        Sizes of one print share its deviation, so what lasts may come out on the other side of a
        size's own readings. Nobody who measured a hole small is told to draw it smaller yet.
        """
        own = (self._known.feature == feature) if feature else np.zeros(0, dtype=bool)
        if own.any() and mean_mm * float(self.residual_mm[own].mean()) < 0.0:
            return 0.0
        return mean_mm


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
    >>> expected = float(profile.predict(36.0, kind="inside")[0])
    >>> found = MeasuredSize(
    ...     kind="inside", axis="xy", drawn_mm=36.0, measured_mm=expected - 0.12,
    ...     u_measured_mm=0.02, print_code="K7M3PXA", feature="cut-out",
    ... )
    >>> learned = learn_sizes(profile, [found])
    >>> round(learned.bias(36.0, kind="inside", feature="cut-out").mean_mm, 3)
    -0.102
    >>> round(learned.bias(36.0, kind="inside").mean_mm, 3)
    -0.099
    """
    sizes = tuple(sizes)[-MOST_SIZES:]
    if not sizes:
        return None
    known = _Sizes.of(profile, sizes)
    parts = _covariances(profile, known, known)
    same_calipers, own_reading = _reading_variances(sizes)
    noise = parts.between + parts.scatter + same_calipers + np.diag(own_reading)
    whole = parts.lasting + noise
    residual = np.array(
        [size.measured_mm - _plain(profile, size.drawn_mm, size.kind, size.axis) for size in sizes]
    )
    good = np.abs(residual) <= SLIP * np.sqrt(np.diag(whole))
    kept = tuple(size for size, fine in zip(sizes, good, strict=True) if fine)
    slips = tuple(size for size, fine in zip(sizes, good, strict=True) if not fine)
    residual = residual[good]
    inverse = np.asarray(np.linalg.inv(whole[np.ix_(good, good)]), dtype=float)
    quadratic = float(residual @ inverse @ residual)
    return Learned(
        profile=profile,
        sizes=kept,
        slips=slips,
        residual_mm=residual,
        widen=max(1.0, (BELIEF + quadratic) / (BELIEF + len(kept))),
        _inverse=inverse,
        _known=_Sizes(*(column[good] for column in known)),
    )


class _Parts(NamedTuple):
    """Covariances of rows with columns, mm², by their cause."""

    terms: Array
    discrepancy: Array
    peculiar: Array
    between: Array
    scatter: Array

    @property
    def lasting(self) -> Array:
        """What stays from print to print."""
        return self.terms + self.discrepancy + self.peculiar


def _covariances(profile: PrinterProfile, left: _Sizes, right: _Sizes) -> _Parts:
    spread = profile.spread
    prints = spread.print_width_mm**2 * np.outer(left.width, right.width)
    prints += spread.print_scale**2 * np.outer(left.scale, right.scale)
    terms = left.design @ profile.cov @ right.design.T
    if spread.prints:
        terms = terms + prints / spread.prints
    apart = np.log(left.drawn)[:, None] - np.log(right.drawn)
    same_kind = left.kind[:, None] == right.kind
    same_print = (left.code[:, None] == right.code) & (left.code != "")[:, None]
    same_feature = (left.feature[:, None] == right.feature) & (left.feature != "")[:, None]
    feature = spread.feature_mm**2
    if left is right:  # whatever has no name is still itself
        itself = np.eye(len(left.drawn), dtype=bool)
        same_print, same_feature = same_print | itself, same_feature | itself
    return _Parts(
        terms=np.asarray(terms),
        discrepancy=DISCREPANCY_MM**2 * same_kind * np.exp(-0.5 * (apart / FADE) ** 2),
        peculiar=LASTING_SHARE * feature * same_feature,
        between=prints * same_print,
        scatter=(1.0 - LASTING_SHARE) * feature * (same_print & same_feature),
    )


class _Sizes(NamedTuple):
    """Sizes as arrays of shape (n,), and their design matrix of shape (n, k)."""

    drawn: Array
    design: Array
    width: Array
    scale: Array
    kind: NDArray[np.str_]
    code: NDArray[np.str_]
    feature: NDArray[np.str_]

    @classmethod
    def of(cls, profile: PrinterProfile, sizes: Sequence[MeasuredSize]) -> _Sizes:
        loads = [print_loads(size.drawn_mm, size.kind, size.axis) for size in sizes]
        rows = [
            design(profile.terms, size.drawn_mm, profile.stand_in(size.kind), size.axis)
            for size in sizes
        ]
        return cls(
            drawn=np.array([size.drawn_mm for size in sizes], dtype=float),
            design=np.array(rows, dtype=float).reshape(len(sizes), len(profile.terms)),
            width=np.array([float(width) for width, _ in loads]),
            scale=np.array([float(scale) for _, scale in loads]),
            kind=np.array([size.kind for size in sizes], dtype=str),
            code=np.array([size.print_code for size in sizes], dtype=str),
            feature=np.array([size.feature for size in sizes], dtype=str),
        )

    @classmethod
    def one(
        cls,
        profile: PrinterProfile,
        drawn_mm: float,
        kind: str,
        axis: Axis,
        feature: str,
        print_code: str = "",
    ) -> _Sizes:
        """A size that is asked about."""
        size = MeasuredSize(
            kind=kind_of(kind),
            axis=axis,
            drawn_mm=drawn_mm,
            measured_mm=math.nan,
            u_measured_mm=0.0,
            print_code=print_code,
            feature=feature,
        )
        return cls.of(profile, [size])


def _reading_variances(sizes: Sequence[MeasuredSize]) -> tuple[Array, Array]:
    """Covariance that all readings share by their calipers, and each reading's own variance."""
    u = np.array([size.u_measured_mm for size in sizes], dtype=float)
    shared = np.minimum(u, U_CALIPERS_MM)
    return np.outer(shared, shared), u**2 - shared**2


def _plain(profile: PrinterProfile, drawn_mm: float, kind: str, axis: Axis) -> float:
    """Size to expect by the profile alone, mm."""
    a, b, c = profile.curve(kind, axis)
    return a * drawn_mm + b + c / drawn_mm
