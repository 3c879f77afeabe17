"""A stand-in profile for a printer that nobody has measured, from other people's prints.

It is the learned prior (`fitkit.calibration.prior`), moved to the material's shrinkage, and nothing
else. It is marked generic in every result.
"""

from __future__ import annotations

from types import MappingProxyType

from fitkit.calibration.model import TERMS
from fitkit.calibration.prior import learned_prior
from fitkit.calibration.profile import PrinterProfile, Provenance
from fitkit.core.errors import CalibrationError
from fitkit.core.sizes import kinds
from fitkit.data import load_table

__all__ = ["generic_materials", "generic_profile"]


def generic_materials() -> tuple[str, ...]:
    """Materials for which there is a generic profile."""
    return tuple(load_table("printer_generic").frame["material"].tolist())


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
            f"there is no generic profile for the material {material!r}",
            code="calibration.material",
            remedy=f"Choose one of {', '.join(known.values())}, or print and measure a coupon.",
        )
    name = known[material.casefold()]
    prior = learned_prior(name)
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
        prior=prior,
        valid_mm=MappingProxyType(valid),
        provenance=Provenance(
            method="what open records of other people's prints show, with how much printers differ",
            model="all terms",
            borrowed=tuple(TERMS),
            verdict="Generic: nothing on this printer was measured. Print and measure a coupon.",
            notes=(prior.says,),
        ),
    )
