"""The calibration coupon: one flat print with bars, pegs, holes, slots, steps and lying holes.

The plate's own sides are the longest bars, its cut corners the diagonal pair, its bottom edge the
flare, its thickness the least height. All else stands on it or goes through it, packed into free
rectangles largest first, each with its label sunk beside it. Wide insides are read between two
ribs; what is no taller than the ribs may stand in between, since the jaws come from above.
Features and names come from `fitkit.calibration.coupon`, so that what is drawn is what is measured
and fitted.

Left out: overhangs, bridges and strings, which are about looks, not sizes.

Each file imports only those above it:

- `practice`    sizes that rest on common practice
- `parameters`  what a user types
- `captions`    labels, and how they are sunk
- `item`        what each item on the plate must answer
- `singles`, `span`, `stairs`, `comb`, `lying`  the kinds of item
- `plate`       what they stand on
- `kinds`       which items a coupon's features make
- `packing`     where each goes
- `own_label`   where the coupon's trace code goes: into room left free
- `build`       the part
- `template`    all of it under one name
"""

from __future__ import annotations

from fitkit.parts.designs.coupon.template import CalibrationCoupon

__all__ = ["CalibrationCoupon"]
