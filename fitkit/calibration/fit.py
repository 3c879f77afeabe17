"""Fit a printer's profile to coupon readings: one call, and all that can be asked of the result.

`fit_profile` gives the profile; `fit_coupon` gives the profile with residuals, how the other
readings predict each one, which to read again, and a verdict in plain words.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.calibration.effects import SizeAt, Sizes, Source
from fitkit.calibration.generic import generic_materials
from fitkit.calibration.model import TERMS
from fitkit.calibration.observe import Observations, from_estimates
from fitkit.calibration.others import prior_beside
from fitkit.calibration.posterior import Evidence
from fitkit.calibration.prior import learned_prior
from fitkit.calibration.profile import PrinterProfile, Provenance
from fitkit.calibration.settings import PrintSettings
from fitkit.calibration.thermal import expansion_strain, to_celsius
from fitkit.calibration.verdict import doubts, to_read_again, verdict
from fitkit.core.expanded import expanded
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from fitkit.readings import ReadingTable
    from fitkit.stats.uncertainty import Estimate

    Coupon = ReadingTable | Mapping[str, Estimate] | Sequence[Mapping[str, Estimate]]

__all__ = ["CouponFit", "fit_coupon", "fit_profile"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CouponFit:
    """A profile with the observations that it came from."""

    profile: PrinterProfile
    observations: Observations

    @property
    def verdict(self) -> str:
        """What the fit can tell, in plain words."""
        return self.profile.provenance.verdict

    @property
    def again(self) -> tuple[str, ...]:
        """Features to read once more, the most doubtful first; empty if all agree."""
        return to_read_again(self.profile, self.observations)

    def table(self) -> pd.DataFrame:
        """One row a reading: drawn, printed, fitted, residual, and how the others predict it.

        Columns in mm, `u_mm` of reading and feature together, but for `surprise`: error of the
        size predicted from all other readings, over its standard deviation.
        """
        import pandas as pd

        seen, profile = self.observations, self.profile
        assert profile.evidence is not None  # a fit has readings
        fitted = profile.known.means(profile.evidence.sizes)
        error, surprise = profile.known.left_out()
        return pd.DataFrame(
            {
                "feature": [f.name for f in seen.features],
                "print": seen.prints + 1,
                "kind": [str(f.kind) for f in seen.features],
                "drawn_mm": seen.drawn_mm,
                "printed_mm": seen.printed_mm,
                "fitted_mm": fitted,
                "residual_mm": seen.printed_mm - fitted,
                "u_mm": np.sqrt(seen.own + np.diag(seen.shared) + profile.spread.feature_mm**2),
                "left_out_error_mm": error,
                "surprise": surprise,
            }
        )

    @property
    def loo_rms_mm(self) -> float:
        """Root-mean-square error of each reading predicted from the others, mm."""
        return float(np.sqrt(np.mean(self.profile.known.left_out()[0] ** 2)))

    def __repr__(self) -> str:
        """One cheap line."""
        return f"CouponFit({self.profile.name!r}, {len(self.observations.printed_mm)} readings)"


def fit_profile(coupon: Coupon, **options: Any) -> PrinterProfile:
    """Fit a profile to a coupon's readings, and give the profile alone.

    Parameters
    ----------
    coupon, **options
        As `fit_coupon` takes them.

    Returns
    -------
    PrinterProfile
        With its readings, and a verdict and doubts in `PrinterProfile.provenance`.
    """
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
    others: Iterable[PrinterProfile] = (),
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
    others : iterable of PrinterProfile, optional
        Of the workshop's other printers, nozzles, spools and materials: what was read there is
        known beforehand here, as of printers that are alike.

    Returns
    -------
    CouponFit

    Raises
    ------
    CalibrationError
        If nothing was read.
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
    day = made_on or _last_read(coupon)
    evidence, steps = _evidence(observed, settings, code=sources[0][-8:], day=_day_number(day))
    known_material = settings.material.casefold() in map(str.casefold, generic_materials())
    if not known_material:
        steps = (
            *steps,
            f"nothing is known beforehand of {settings.material!r}: taken to shrink as PLA and "
            "PETG do, give or take",
        )
    acted = (evidence.sizes.loads != 0.0).any(axis=0)
    profile = PrinterProfile(
        name=name or f"{settings.printer} {settings.material}".lower().replace(" ", "-"),
        printer=settings.printer,
        material=settings.material,
        layer_height_mm=settings.layer_height_mm,
        first_layer_mm=settings.first_layer_mm,
        nozzle_mm=settings.nozzle_mm,
        bed_mm=settings.bed_mm,
        generic=False,
        prior=learned_prior(settings.material),
        evidence=evidence,
        prints=len(np.unique(observed.prints)),
        now=Source(day=_day_number(day)),
        valid_mm=_valid(observed),
        provenance=Provenance(
            readings=sources,
            made_on=day,
            method="one update of what other printers teach by all readings",
            model="all terms, each as far as the readings tell",
            features=len({f.name for f in observed.features}),
            readings_count=count or len(observed.printed_mm),
            instruments=read_with,
            nozzle=nozzle,
            spool=spool,
            orientation=orientation,
            borrowed=tuple(term for term, on in zip(TERMS, acted, strict=True) if not on),
            notes=(*notes, *warm, *steps, *observed.notes),
        ),
    )
    prior, beside = prior_beside(others, profile)
    profile = replace(profile, prior=prior)
    provenance = replace(
        profile.provenance,
        verdict=verdict(profile),
        notes=(*profile.provenance.notes, *beside, *doubts(profile, observed)),
    )
    # The readings are the same, so what follows from them is not calculated again.
    whole = replace(profile, provenance=provenance)
    whole._kept.update(profile._kept)
    return CouponFit(profile=whole, observations=observed)


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
        shared=observed.shared + u_strain**2 * np.outer(sizes, sizes),
    )
    return cold, (
        f"read at {temperature_c:g} °C: sizes taken down by {100 * strain:.3f} % ± "
        f"{100 * expanded(u_strain)[0]:.3f} % (95 %) to 20 °C",
    )


def _day_number(made_on: str) -> float:
    """Days since the first day of the calendar; 0 if nobody wrote the day down."""
    try:
        return float(date.fromisoformat(made_on[:10]).toordinal())
    except ValueError:
        return 0.0


def _evidence(
    observed: Observations, settings: PrintSettings, *, code: str, day: float
) -> tuple[Evidence, tuple[str, ...]]:
    """Make evidence of what was read; heights off the layers were drawn otherwise by the slicer."""
    layer = settings.layer_height_mm
    steps = (observed.drawn_mm - settings.first_layer_mm) / layer
    odd = np.array([f.kind.upright(f.axis) for f in observed.features])
    # An opening's floor is the plate, so its own height alone counts in layers.
    window = np.array([f.axis == "z" and not f.kind.round for f in observed.features]) & ~odd
    steps = np.where(window, observed.drawn_mm / layer, steps)
    odd = (odd | window) & (np.abs(steps - np.round(steps)) * layer > 1e-6)
    sizes = Sizes.of(
        SizeAt(
            kind=feature.kind,
            axis=feature.axis,
            drawn_mm=feature.drawn_mm,
            place=feature.place,
            diagonal=feature.diagonal,
            wall_mm=feature.wall_mm,
            print_code=f"coupon {code} {number + 1}",
            feature=f"coupon: {feature.name}",
            source=Source(day=day),
            step_mm=layer if off else 0.0,
        )
        for feature, number, off in zip(observed.features, observed.prints, odd, strict=True)
    )
    evidence = Evidence(
        sizes=sizes,
        read_mm=observed.printed_mm,
        own=observed.own,
        shared=observed.shared,
        coupon=np.ones(len(sizes), dtype=bool),
    )
    if not odd.any():
        return evidence, ()
    names = ", ".join(dict.fromkeys(observed.features[i].name for i in np.flatnonzero(odd)))
    return evidence, (
        f"{names}: not whole layers of {layer:g} mm over {settings.first_layer_mm:g} mm, so the "
        "drawn height is known to a layer only",
    )


def _valid(observed: Observations) -> Mapping[str, tuple[float, float]]:
    spans: dict[str, tuple[float, float]] = {}
    for kind in kinds():
        rows = [f.kind == kind and f.axis != "z" for f in observed.features]
        rows = rows if any(rows) else [f.kind == kind and kind.layered for f in observed.features]
        if any(rows):
            sizes = observed.drawn_mm[rows]
            spans[kind] = (float(sizes.min()), float(sizes.max()))
    for kind in kinds():
        if kind.range_of in spans:
            spans.setdefault(kind, spans[kind.range_of])
    return MappingProxyType(spans)
