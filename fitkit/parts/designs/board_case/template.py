"""The board case as a template: its sizes that must fit, and its bodies."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import FaultList, PartError
from fitkit.core.sizes import CENTRES
from fitkit.parts.designs.board_case.build import build
from fitkit.parts.designs.board_case.form import Form
from fitkit.parts.designs.board_case.lugs import lug_places, lug_sizes
from fitkit.parts.designs.board_case.parameters import Parameters
from fitkit.parts.designs.board_case.sizes import CaseSizes, case_sizes
from fitkit.parts.fit_size import FitSize
from fitkit.parts.screws import marked

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Part

__all__ = ["BoardCase"]


def _with_lugs(case: Parameters, sizes: CaseSizes) -> CaseSizes:
    """Add how far the ears' screws are apart, where the case is laid out at nominal sizes."""
    try:
        form = Form.of(case, sizes)
        ears = lug_places(form)
    except (FaultList, PartError):
        return sizes  # building it tells
    axis: Literal["x", "y"] = "x" if ears[0].outward[0] else "y"
    other: Literal["x", "y"] = "y" if axis == "x" else "x"
    across = form.outside[0 if axis == "x" else 1] + 2 * lug_sizes(form)[2]
    on_one = [ear.at for ear in ears if ear.wall == ears[0].wall]
    hole = sizes.lug_hole
    names = ("lug spacing", *(("lug spacing along",) if len(on_one) == 2 else ()))
    return replace(
        sizes,
        lug_hole=marked(hole, names) if hole else None,
        lug_spacing=FitSize(name="lug spacing", nominal_mm=across, kind=CENTRES, axis=axis),
        lug_spacing_along=FitSize(
            name="lug spacing along",
            nominal_mm=max(on_one) - min(on_one),
            kind=CENTRES,
            axis=other,
        )
        if len(on_one) == 2
        else None,
    )


class BoardCase(Parameters):
    """Tray and lid for a circuit board."""

    def must_fit(self) -> CaseSizes:
        """Declare the sizes that must fit."""
        sizes = case_sizes(self)
        return _with_lugs(self, sizes) if self.lugs else sizes

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make tray, lid and the board's ghost."""
        return build(
            Form.of(self, self.must_fit().drawn(drawn, where=self.title)), title or self.title
        )
