"""What this printer does to drawn sizes: coupons, models, profiles.

`model` names the terms; `coupon` lays out what to print and measure, `choose` picks its sizes;
`fit` finds the terms from readings; `profile` predicts printed sizes from them, `profile_file`
keeps them as TOML, `generic` stands in where nothing was measured; `history` merges, compares and
ages profiles; `learned` adds what sizes measured on later prints teach; `figures` draws them.
Nothing here loads the CAD kernel; statistics and plotting libraries come with their first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.calibration.choose import CouponChoice, choose_features
    from fitkit.calibration.coupon import (
        CouponFeature,
        CouponSizes,
        coupon_features,
        parse_feature,
    )
    from fitkit.calibration.fit import CouponFit, fit_coupon, fit_profile
    from fitkit.calibration.generic import generic_profile
    from fitkit.calibration.history import Drift, aged, aged_by, compare, noted, update
    from fitkit.calibration.learned import Learned, MeasuredSize, learn_sizes
    from fitkit.calibration.order import blank_readings, order_sheet, write_order
    from fitkit.calibration.profile import PrinterProfile, Provenance, Spread
    from fitkit.calibration.profile_file import load_profile, save_profile
    from fitkit.calibration.settings import PrintSettings

_HOMES = {
    "CouponChoice": "choose",
    "Drift": "history",
    "aged": "history",
    "aged_by": "history",
    "blank_readings": "order",
    "choose_features": "choose",
    "compare": "history",
    "noted": "history",
    "order_sheet": "order",
    "update": "history",
    "write_order": "order",
    "Learned": "learned",
    "MeasuredSize": "learned",
    "learn_sizes": "learned",
    "CouponFeature": "coupon",
    "CouponFit": "fit",
    "CouponSizes": "coupon",
    "PrintSettings": "settings",
    "coupon_features": "coupon",
    "fit_coupon": "fit",
    "fit_profile": "fit",
    "parse_feature": "coupon",
    "PrinterProfile": "profile",
    "Provenance": "profile",
    "Spread": "profile",
    "generic_profile": "generic",
    "load_profile": "profile_file",
    "save_profile": "profile_file",
}

__all__ = [
    "CouponChoice",
    "CouponFeature",
    "CouponFit",
    "CouponSizes",
    "Drift",
    "Learned",
    "MeasuredSize",
    "PrintSettings",
    "PrinterProfile",
    "Provenance",
    "Spread",
    "aged",
    "aged_by",
    "blank_readings",
    "choose_features",
    "compare",
    "coupon_features",
    "fit_coupon",
    "fit_profile",
    "generic_profile",
    "learn_sizes",
    "load_profile",
    "noted",
    "order_sheet",
    "parse_feature",
    "save_profile",
    "update",
    "write_order",
]

__getattr__ = names_from(__name__, _HOMES)
