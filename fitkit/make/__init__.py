"""The making room: finished parts with their files, findings and records.

- `one`       one part, from its sheet to a folder and a record, or to one message and nothing
- `checking`  what a part is checked against, gathered from its sheet
- `page`      what the dimensioned sheet says
- `many`      a row a variant, in parallel, taken up again where it stopped
- `cluster`   the same rows over several machines
- `orders`    the calibration coupon and the fit ladder
- `new`       a new part from nothing

Its names arrive on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.make.checking import check
    from fitkit.make.cluster import make_on
    from fitkit.make.many import Outcome, make_many
    from fitkit.make.new import new_part
    from fitkit.make.one import Made, make
    from fitkit.make.orders import CouponOrder, order_coupon, order_ladder
    from fitkit.make.page import draw_apart, sheet_row

_HOMES = {
    "Made": "one",
    "make": "one",
    "check": "checking",
    "sheet_row": "page",
    "draw_apart": "page",
    "Outcome": "many",
    "make_many": "many",
    "make_on": "cluster",
    "CouponOrder": "orders",
    "order_coupon": "orders",
    "order_ladder": "orders",
    "new_part": "new",
}

__all__ = [
    "CouponOrder",
    "Made",
    "Outcome",
    "check",
    "draw_apart",
    "make",
    "make_many",
    "make_on",
    "new_part",
    "order_coupon",
    "order_ladder",
    "sheet_row",
]

__getattr__ = names_from(__name__, _HOMES)
