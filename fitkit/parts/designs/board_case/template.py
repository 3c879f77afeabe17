"""The board case as a template: its sizes that must fit, and its bodies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.parts.designs.board_case.build import build
from fitkit.parts.designs.board_case.form import Form
from fitkit.parts.designs.board_case.parameters import Parameters
from fitkit.parts.designs.board_case.sizes import fit_sizes

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.parts.contract import FitSize, Part

__all__ = ["BoardCase"]


class BoardCase(Parameters):
    """Tray and lid for a circuit board."""

    def fit_sizes(self) -> tuple[FitSize, ...]:
        """Name the sizes that must fit."""
        return fit_sizes(self)

    def build(self, drawn: Mapping[str, float] | None = None, *, title: str = "") -> Part:
        """Make tray, lid and the board's ghost."""
        return build(Form.of(self, self.drawn_sizes(drawn)), title or self.title)
