"""Checks of calipers on a known length, and what they leave of the leaflet's limit of error.

A leaflet bounds the error of calipers and says nothing of how it lies within the bound. It is split
into what all places of the scale have in common and what is each place's own (see
`Instrument.mpe_shared`), both of mean zero. A check on a gauge block or a bearing shows the sum of
both at one length, less well for its own spread. So the common part follows from the checks'
weighted mean, the leaflet being the prior (normal laws of known variance; from memory), and the
checks' scatter about it tells how large a place's own part is: the leaflet's figure counts there as
if it were known from two checks (common practice, no source). Left out: wear of single places, and
that an error may grow in proportion to the length, which the scatter then holds.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003 - pydantic reads the annotations at run time
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.errors import ReadingError
from fitkit.core.units import parse_length

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["Check", "Limit", "check_of", "limit_of"]

# The leaflet's figure for a place's own error weighs as much as this many checks.
# Common practice, no source.
_LEAFLET_DF = 2.0
# Farther off is another length, or another unit.
_FARTHEST_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """What calipers showed of a known length; lengths in mm.

    Attributes
    ----------
    length_mm : float
        As known.
    known_to_mm : float
        Half-width within which the length is known, such as a block's tolerance.
    shown_mm : float
        Mean of the readings, as shown.
    zero_mm : float
        What the closed jaws showed then.
    readings : int
    spread_mm : float
        Standard deviation of one reading.
    jaws : str
        ``outside`` or ``inside``.
    date : date or None
    """

    length_mm: float
    known_to_mm: float
    shown_mm: float
    zero_mm: float = 0.0
    readings: int = 1
    spread_mm: float = 0.0
    jaws: str = "outside"
    date: dt.date | None = None

    @property
    def error_mm(self) -> float:
        """How much too large the calipers read, their zero error aside."""
        return self.shown_mm - self.zero_mm - self.length_mm

    def u_mm(self, step_mm: float) -> float:
        """Give the standard uncertainty of the error, by a display's step in mm."""
        return math.sqrt(
            self.known_to_mm**2 / 3 + self.spread_mm**2 / self.readings + 2 * step_mm**2 / 12
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What is known of an instrument's error beside its zero, mm.

    Attributes
    ----------
    error_mm : float
        Best value of what all places have in common; it is taken off.
    u_common_mm : float
        Its standard uncertainty.
    u_place_mm : float
        Standard uncertainty of a place's own error.
    df_place : float
        Degrees of freedom with which that is known.
    checks : int
        How many checks it rests on; 0 for the leaflet alone.
    """

    error_mm: float
    u_common_mm: float
    u_place_mm: float
    df_place: float
    checks: int


def check_of(
    length: str,
    shown: Sequence[str],
    *,
    known_to: str,
    zero: str | None = None,
    usual_zero_mm: float = 0.0,
    jaws: str = "outside",
    unit: str = "mm",
    date: dt.date | None = None,
) -> Check:
    """Make a check from what was typed.

    Parameters
    ----------
    length : str
        The known length, such as ``10 mm``.
    shown : sequence of str
        Readings of it.
    known_to : str
        Half-width within which the length is known.
    zero : str, optional
        What the closed jaws showed just before.
    usual_zero_mm : float, mm
        The zero error that counts if none was read.
    jaws : {"outside", "inside"}
    unit : str
        Of bare numbers.
    date : date, optional

    Returns
    -------
    Check

    Raises
    ------
    UnitError
        If something typed is not a length.
    ReadingError
        If there is no reading, or the readings are not of that length.
    """

    def mm(text: str) -> float:
        return parse_length(text, unit).value_mm

    sizes = np.array([mm(text) for text in shown])
    size = mm(length)
    if not len(sizes) or np.any(np.abs(sizes - size) > _FARTHEST_MM):
        raise ReadingError(
            f"the calipers showed {', '.join(shown) or 'nothing'} of {length}",
            code="readings.not-that-length",
            remedy="Give the readings of that length, in its unit.",
        )
    return Check(
        length_mm=size,
        known_to_mm=mm(known_to),
        shown_mm=float(sizes.mean()),
        zero_mm=usual_zero_mm if zero is None else mm(zero),
        readings=len(sizes),
        spread_mm=float(sizes.std(ddof=1)) if len(sizes) > 1 else 0.0,
        jaws=jaws,
        date=date,
    )


def limit_of(mpe_mm: float, shared: float, checks: Sequence[Check], *, step_mm: float) -> Limit:
    """Work out what checks leave of a limit of error.

    Parameters
    ----------
    mpe_mm : float, mm
        The leaflet's limit, to either side.
    shared : float, 0 to 1
        Share of its variance that all places have in common.
    checks : sequence of Check
        With the jaws that are asked about.
    step_mm : float, mm
        Of the display.

    Returns
    -------
    Limit

    Examples
    --------
    >>> block = [Check(length_mm=n, known_to_mm=0.001, shown_mm=n + 0.01, readings=5)
    ...          for n in (10.0, 25.0, 40.0)]
    >>> limit = limit_of(0.03, 0.5, block, step_mm=0.01)
    >>> round(limit.error_mm, 3), round(limit.u_common_mm, 4), round(limit.u_place_mm, 4)
    (0.008, 0.005, 0.0087)
    """
    whole = mpe_mm**2 / 3
    common, place = shared * whole, (1 - shared) * whole
    if not checks:
        return Limit(
            error_mm=0.0,
            u_common_mm=math.sqrt(common),
            u_place_mm=math.sqrt(place),
            df_place=math.inf,
            checks=0,
        )
    errors = np.array([check.error_mm for check in checks])
    own = np.array([check.u_mm(step_mm) ** 2 for check in checks])
    df = math.inf
    if place > 0.0 and len(checks) > 1:
        df = _LEAFLET_DF + len(checks) - 1
        scatter = float(np.sum((errors - errors.mean()) ** 2))
        explained = float(own.mean()) * (len(checks) - 1)
        place = (_LEAFLET_DF * place + max(scatter - explained, 0.0)) / df
    if common == 0.0:
        return Limit(
            error_mm=0.0, u_common_mm=0.0, u_place_mm=math.sqrt(place), df_place=df,
            checks=len(checks),
        )  # fmt: skip
    weights = 1.0 / (place + own)
    precision = 1.0 / common + float(weights.sum())
    return Limit(
        error_mm=float(weights @ errors) / precision,
        u_common_mm=math.sqrt(1.0 / precision),
        u_place_mm=math.sqrt(place),
        df_place=df,
        checks=len(checks),
    )
