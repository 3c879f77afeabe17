"""The board case as a template: its sizes that must fit, and its bodies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.board_case.build import build
from fitkit.parts.designs.board_case.form import Form
from fitkit.parts.designs.board_case.parameters import Parameters
from fitkit.parts.designs.board_case.sizes import CaseSizes, case_sizes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import Part

__all__ = ["BoardCase"]


class BoardCase(Parameters):
    """Tray and lid for a circuit board."""

    def must_fit(self) -> CaseSizes:
        """Declare the sizes that must fit."""
        return case_sizes(self)

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make tray, lid and the board's ghost."""
        return build(
            Form.of(self, self.must_fit().drawn(drawn, where=self.title)), title or self.title
        )
