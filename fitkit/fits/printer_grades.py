"""Which standard tolerance grade (ISO 286) a printer reaches, by kind of size.

A grade is reached if 95 % of fresh sizes are expected within its width about the wanted size: twice
the ± of the profile.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.core.sizes import kinds
from fitkit.fits.iso286 import tolerance_grade

if TYPE_CHECKING:
    from fitkit.calibration import PrinterProfile

__all__ = ["printer_grades"]


def printer_grades(profile: PrinterProfile) -> dict[str, tuple[float, int | None]]:
    """Give for each kind a usual size in mm, and the finest grade that the printer reaches there.

    Parameters
    ----------
    profile : PrinterProfile

    Returns
    -------
    dict of kind to (size, grade)
        The size is the geometric middle of those that parts usually have; the grade is None where
        the coarsest is too fine.

    Examples
    --------
    >>> from fitkit.calibration import generic_profile
    >>> size_mm, grade = printer_grades(generic_profile("PLA"))["hole"]
    >>> round(size_mm, 1), grade
    (6.3, 15)
    """
    found: dict[str, tuple[float, int | None]] = {}
    for kind in kinds():
        if kind.usual_mm is None:
            continue
        size_mm = math.sqrt(math.prod(kind.usual_mm))
        half_mm = float(profile.U95(size_mm, kind=kind, axis="x" if kind.flat else "xy"))
        found[kind.name] = size_mm, tolerance_grade(f"{2 * half_mm!r} mm", f"{size_mm!r} mm")
    return found
