"""Fit a printer's profile to coupon readings: one call, and all that can be asked of the result.

`fit_profile` gives the profile; `fit_coupon` gives the profile with residuals, leverage, errors of
leaving one out, lack of fit, and a verdict in plain words. A coupon that cannot bear a fit is
refused with what to change.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.calibration.generic import generic_materials, generic_profile
from fitkit.calibration.model import TERMS
from fitkit.calibration.observe import Observations, from_estimates
from fitkit.calibration.profile import PrinterProfile, Provenance
from fitkit.calibration.regression import Regression, regress
from fitkit.calibration.settings import PrintSettings
from fitkit.calibration.thermal import expansion_strain, to_celsius
from fitkit.calibration.verdict import doubts, verdict
from fitkit.core.expanded import expanded
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from fitkit.readings import ReadingTable
    from fitkit.stats.uncertainty import Estimate

    Coupon = ReadingTable | Mapping[str, Estimate] | Sequence[Mapping[str, Estimate]]

__all__ = ["CouponFit", "fit_coupon", "fit_profile"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CouponFit:
    """A profile with the observations and the regression that it came from."""

    profile: PrinterProfile
    observations: Observations
    regression: Regression

    @property
    def verdict(self) -> str:
        """What the fit can tell, in plain words."""
        return self.profile.provenance.verdict

    def table(self) -> pd.DataFrame:
        """One row a feature of a print: drawn, printed, fitted, residual and its diagnostics.

        Columns in mm but for `leverage` (share of the row's say in its own fitted value) and
        `studentised` (residual over its standard deviation).
        """
        import pandas as pd

        layout, found = self.observations.layout, self.regression
        return pd.DataFrame(
            {
                "feature": [f.name for f in layout.features],
                "print": layout.prints + 1,
                "kind": [f.kind for f in layout.features],
                "drawn_mm": layout.drawn_mm,
                "printed_mm": self.observations.printed_mm,
                "fitted_mm": found.fitted_mm,
                "residual_mm": found.residual_mm,
                "u_mm": found.u_mm,
                "leverage": found.leverage,
                "studentised": found.studentised,
                "left_out_error_mm": found.loo_mm,
            }
        )

    @property
    def loo_rms_mm(self) -> float:
        """Root-mean-square error of each feature foretold from the others, mm."""
        return float(np.sqrt(np.mean(self.regression.loo_mm**2)))

    def __repr__(self) -> str:
        """One cheap line."""
        return f"CouponFit({self.profile.name!r}, {len(self.observations.printed_mm)} sizes)"


def fit_profile(coupon: Coupon, **options: Any) -> PrinterProfile:
    """Fit a profile; takes what `fit_coupon` takes, and gives the profile alone."""
    return fit_coupon(coupon, **options).profile


def fit_coupon(
    coupon: Coupon,
    *,
    instruments: Any = None,
    settings: PrintSettings | None = None,
    name: str = "",
    coupon_at: object = None,
    nozzle: str = "",
    spool: str = "",
    orientation: str = "as the coupon is drawn",
    made_on: str = "",
) -> CouponFit:
    """Fit a profile to a coupon's readings.

    Parameters
    ----------
    coupon : ReadingTable, mapping of feature name to Estimate, or a sequence of such mappings
        Readings of one or more prints. A table tells prints and settings apart by its ``item``
        column (`settings.parse_item`); mappings are one print each.
    instruments : optional
        What the table was read with, as `fitkit.stats.estimates` takes it. What was not described
        counts as usual calipers; the provenance says so.
    settings : PrintSettings, optional
        Printer, material and layers; taken from the table's items if None.
    name : str
        Of the profile; made of printer and material if empty.
    coupon_at : temperature with unit, optional
        Of the coupon when read, if not at 20 °C; sizes are brought to 20 °C.
    nozzle, spool, orientation : str
        Kept in the provenance; a later change of nozzle or spool ages the profile.
    made_on : str
        Date of the prints, ISO 8601; the table's latest ``taken_at`` if empty. The clock is not
        read.

    Returns
    -------
    CouponFit

    Raises
    ------
    CalibrationError
        Fewer features than terms need; sizes that cannot tell scale from offset; nothing read.
    FaultList
        Several materials, printers or layer heights in one fit; readings in inch; features far
        from their drawn size; inside sizes entered as outside ones.
    """
    prints, found_settings, sources, notes, count, read_with = _gather(
        coupon, instruments, settings, at_20_c=coupon_at is None
    )
    settings = settings or found_settings or PrintSettings()
    observed = from_estimates(prints)
    observed, warm = _cooled(observed, coupon_at, settings.material)
    observed, steps = _layered(observed, settings)
    notes = (*notes, *warm, *steps, *observed.notes)
    result = regress(observed.layout, observed.printed_mm, observed.cov)
    coef, cov, borrowed, borrow_notes = _lend(result, observed, settings.material)
    provenance = Provenance(
        readings=sources,
        made_on=made_on or _last_read(coupon),
        method="mean over models by Akaike weights, generalised least squares",
        model=result.candidate.says,
        features=len({f.name for f in observed.layout.features}),
        readings_count=count or len(observed.printed_mm),
        instruments=read_with,
        nozzle=nozzle,
        spool=spool,
        orientation=orientation,
        borrowed=borrowed,
        notes=(*notes, *borrow_notes),
    )
    profile = PrinterProfile(
        name=name or f"{settings.printer} {settings.material}".lower().replace(" ", "-"),
        printer=settings.printer,
        material=settings.material,
        layer_height_mm=settings.layer_height_mm,
        first_layer_mm=settings.first_layer_mm,
        nozzle_mm=settings.nozzle_mm,
        bed_mm=settings.bed_mm,
        generic=False,
        terms=tuple(TERMS),
        coef=coef,
        cov=cov,
        df=result.df,
        spread=result.spread,
        valid_mm=_valid(observed),
        provenance=provenance,
    )
    provenance = replace(
        provenance,
        verdict=verdict(profile),
        notes=(*provenance.notes, *doubts(profile, observed, result)),
    )
    return CouponFit(
        profile=replace(profile, provenance=provenance), observations=observed, regression=result
    )


def _last_read(coupon: Coupon) -> str:
    """Day of the latest reading of a table, empty if none says."""
    if isinstance(coupon, Mapping | Sequence):
        return ""
    return max((str(day)[:10] for day in coupon.counted["taken_at"]), default="")


def _gather(
    coupon: Coupon, instruments: Any, settings: PrintSettings | None, *, at_20_c: bool
) -> tuple[
    list[Mapping[str, Estimate]],
    PrintSettings | None,
    tuple[str, ...],
    tuple[str, ...],
    int,
    tuple[str, ...],
]:
    """Give what `read_prints` gives, of a table or of estimates."""
    if isinstance(coupon, Mapping):
        coupon = [coupon]
    if isinstance(coupon, Sequence):
        prints = list(coupon)
        # Estimates do not tell at which temperature they were read; a table does.
        notes = ("coupon taken to be at room temperature: let it cool before reading",)
        source = f"estimates, sha256 {_hash_estimates(prints)}"
        return prints, None, (source,), notes if at_20_c else (), 0, ()
    from fitkit.calibration.coupon_table import read_prints

    return read_prints(coupon, instruments, settings=settings, at_20_c=at_20_c)


def _hash_estimates(prints: Sequence[Mapping[str, Estimate]]) -> str:
    text = "\n".join(
        f"{number},{name},{one.value_mm!r},{one.u_mm!r}"
        for number, estimates in enumerate(prints)
        for name, one in estimates.items()
    )
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _cooled(
    observed: Observations, coupon_at: object, material: str
) -> tuple[Observations, tuple[str, ...]]:
    if coupon_at is None:
        return observed, ()
    temperature_c = to_celsius(coupon_at)
    strain, u_strain = expansion_strain(temperature_c, material)
    sizes = observed.printed_mm
    cold = replace(
        observed,
        printed_mm=sizes / (1.0 + strain),
        cov=observed.cov + u_strain**2 * np.outer(sizes, sizes),
    )
    return cold, (
        f"read at {temperature_c:g} °C: sizes taken down by {100 * strain:.3f} % ± "
        f"{100 * expanded(u_strain)[0]:.3f} % (95 %) to 20 °C",
    )


def _layered(
    observed: Observations, settings: PrintSettings
) -> tuple[Observations, tuple[str, ...]]:
    """Allow for heights that are no whole layers: the slicer then drew some other height."""
    layout, layer = observed.layout, settings.layer_height_mm
    steps = (layout.drawn_mm - settings.first_layer_mm) / layer
    odd = np.array([f.kind.upright(f.axis) for f in layout.features])
    odd &= np.abs(steps - np.round(steps)) * layer > 1e-6
    if not odd.any():
        return observed, ()
    names = ", ".join(dict.fromkeys(layout.features[i].name for i in np.flatnonzero(odd)))
    cov = observed.cov + np.diag(np.where(odd, layer**2 / 12.0, 0.0))
    return replace(observed, cov=cov), (
        f"{names}: not whole layers of {layer:g} mm over {settings.first_layer_mm:g} mm, so the "
        "drawn height is known to a layer only",
    )


def _lend(
    result: Regression, observed: Observations, material: str
) -> tuple[NDArray[np.float64], NDArray[np.float64], tuple[str, ...], tuple[str, ...]]:
    """Fill in terms that the coupon did not measure from the generic profile."""
    known = {name.casefold() for name in generic_materials()}
    notes: tuple[str, ...] = ()
    if material.casefold() not in known:
        notes = (f"no generic figures for {material!r}; those of PETG stand in where needed",)
    generic = generic_profile(material if not notes else "PETG")
    names = tuple(TERMS)
    present = {f.kind for f in observed.layout.features}
    # Lying holes that nobody measured follow the upright ones, which were measured here.
    followed = {
        term for kind in kinds() if kind.stand_in and kind not in present for term in kind.own_terms
    }
    missing = ~observed.layout.matrix.any(axis=0)
    missing &= np.array([name not in followed for name in names])
    coef, cov = result.coef.copy(), result.cov.copy()
    at = np.flatnonzero(missing)
    coef[at] = generic.coef[at]
    cov[np.ix_(at, at)] = generic.cov[np.ix_(at, at)]
    return coef, cov, tuple(names[i] for i in at), notes if len(at) else ()


def _valid(observed: Observations) -> Mapping[str, tuple[float, float]]:
    spans: dict[str, tuple[float, float]] = {}
    for kind in kinds():
        rows = [f.kind == kind for f in observed.layout.features]
        if any(rows):
            sizes = observed.layout.drawn_mm[rows]
            spans[kind] = (float(sizes.min()), float(sizes.max()))
    for kind in kinds():
        if kind.range_of in spans:
            spans.setdefault(kind, spans[kind.range_of])
    return MappingProxyType(spans)
