"""Builds a coupon: items packed on the plate, joined with it in one boolean, labels sunk in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.contract import Body, Part, Wall
from fitkit.parts.designs.bend_strips import BendStrips
from fitkit.parts.designs.coupon.captions import labelled
from fitkit.parts.designs.coupon.kinds import items_of
from fitkit.parts.designs.coupon.own_label import own_label
from fitkit.parts.designs.coupon.packing import pack
from fitkit.parts.designs.coupon.plate import Plate
from fitkit.solids.bodies import checked, extrude, fuse

if TYPE_CHECKING:
    from fitkit.parts.designs.coupon.captions import Caption
    from fitkit.parts.designs.coupon.parameters import Parameters
    from fitkit.solids.bodies import Shape

__all__ = ["build"]

_APART_MM = 5.0  # from the coupon to its test strips


def build(coupon: Parameters, title: str) -> Part:
    """Build the coupon, with a dimension for each feature in their order; then its test strips.

    Raises
    ------
    PartError
        If the features do not fit on the plate.
    """
    features = coupon.features()
    plate = Plate.of(coupon)
    wide, deep, thick = plate.wide, plate.deep, plate.thick
    placed, free = pack(items_of(features, plate), plate, where=coupon.title)
    outline = plate.outline()
    blocks: list[Shape] = []
    volume = 0.0
    rows = list(plate.dimensions(features))
    captions: list[Caption] = []
    for item, x, y in placed:
        outline = outline.with_holes(*item.openings(x, y))
        shapes, more = item.stand(x, y, thick)
        blocks += shapes
        volume += more
        rows += item.dimensions(x, y, thick)
        captions += item.captions(x, y, thick)
    solid = fuse(extrude(outline, thick), *blocks, tidy=True)
    captions += plate.captions()
    if coupon.label:
        captions.append(own_label(coupon.label, free, thick))
    solid, findings, sunk = labelled(solid, captions)
    expected = volume + outline.area * thick - sunk
    top = max(*coupon.heights, *(item.top(thick) for item, _, _ in placed))
    body = checked(
        solid,
        "coupon",
        volume=(expected - 0.3, expected + 0.3),
        box=(wide, deep, top),
        proved=True,
    )
    order = {feature.name: n for n, feature in enumerate(features)}
    at = (wide / 2, deep / 2, thick)
    strips = BendStrips.of().beside(deep + _APART_MM) if coupon.strips else None
    return Part(
        title=title,
        template=coupon.title,
        bodies=(Body(name="coupon", solid=body), *(strips.bodies if strips else ())),
        dimensions=(
            *sorted(rows, key=lambda row: order[row.name]),
            *(strips.dimensions if strips else ()),
        ),
        walls=(
            Wall(name="plate", body="coupon", thickness_mm=thick, at=at),
            *(strips.walls if strips else ()),
        ),
        findings=findings,
    )
