"""A stand-in profile for a printer that nobody has measured, from published ranges.

Each term is taken as equally likely anywhere between the low and high figure of
``fitkit/data/printer_generic.csv``: its value is the middle, its standard uncertainty the range
over the square root of twelve (GUM 4.3.7). It is marked generic in every result.
"""

from __future__ import annotations

import math
from types import MappingProxyType

import numpy as np

from fitkit.calibration.model import TERMS
from fitkit.calibration.profile import PrinterProfile, Provenance, Spread
from fitkit.core.errors import CalibrationError
from fitkit.core.sizes import kinds
from fitkit.data import load_table

__all__ = ["generic_materials", "generic_profile", "generic_spread"]

# How well a usual standard deviation is known: about a third of itself, which is
# worth four degrees of freedom (GUM G.4.2, formula G.3).
PRIOR_DF = 4.0


def generic_materials() -> tuple[str, ...]:
    """Materials for which there is a generic profile."""
    found = load_table("printer_generic").frame["material"].unique().tolist()
    return tuple(name for name in found if name != "any")


def generic_spread(*, prints: int = 0) -> Spread:
    """Print-to-print and feature scatter to expect before it has been measured."""
    low = _ranges("any")
    return Spread(
        print_width_mm=low["print_width"][0],
        print_scale=low["print_scale"][0],
        print_df=PRIOR_DF,
        feature_mm=low["feature"][0],
        prints=prints,
    )


def generic_profile(material: str) -> PrinterProfile:
    """Make the generic profile of a material.

    Parameters
    ----------
    material : str
        Such as ``PETG``; capitals do not matter.

    Raises
    ------
    CalibrationError
        If there are no figures for the material: names those that there are.
    """
    known = {name.casefold(): name for name in generic_materials()}
    if material.casefold() not in known:
        raise CalibrationError(
            f"no generic figures for material {material!r}",
            remedy=f"There are: {', '.join(known.values())}. Or print and measure a coupon.",
        )
    name = known[material.casefold()]
    ranges = _ranges("any") | _ranges(name)
    span = np.array([ranges[term.generic] for term in TERMS.values()])
    u = (span[:, 1] - span[:, 0]) / math.sqrt(12.0)
    cov = np.diag(u**2)
    scales = [i for i, term in enumerate(TERMS.values()) if term.varies == "scale"]
    # Whatever the material shrinks by, it does so along all three axes.
    cov[np.ix_(scales, scales)] = u[scales[0]] ** 2
    valid: dict[str, tuple[float, float]] = dict.fromkeys(kinds(), (2.0, 100.0))
    return PrinterProfile(
        name=f"generic-{name.casefold()}",
        printer="any filament printer",
        material=name,
        layer_height_mm=0.2,
        first_layer_mm=0.2,
        nozzle_mm=0.4,
        bed_mm=(200.0, 200.0, 200.0),
        generic=True,
        terms=tuple(TERMS),
        coef=span.mean(axis=1),
        cov=cov,
        df=math.inf,
        spread=generic_spread(),
        valid_mm=MappingProxyType(valid),
        provenance=Provenance(
            method="middle of published or usual ranges, equally likely within them",
            model="all terms",
            borrowed=tuple(TERMS),
            verdict="Generic: nothing on this printer was measured. Print and measure a coupon.",
            notes=(load_table("printer_generic").source,),
        ),
    )


def _ranges(material: str) -> dict[str, tuple[float, float]]:
    frame = load_table("printer_generic").frame
    rows = frame[frame["material"] == material]
    factor = np.where(rows["unit"] == "percent", 0.01, 1.0)
    low, high = rows["low"].to_numpy(float) * factor, rows["high"].to_numpy(float) * factor
    return {
        str(term): (float(a), float(b)) for term, a, b in zip(rows["term"], low, high, strict=True)
    }
