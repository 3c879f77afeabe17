"""Text on any side, besides the label and its trace code."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from pydantic import Field

from fitkit.core.errors import PartError
from fitkit.parts.contract import Length, size
from fitkit.parts.features.relief import Relief

if TYPE_CHECKING:
    from fitkit.core.finding import Finding
    from fitkit.solids.profiles import Profile

__all__ = ["Text"]

_WIDE_MM = 10_000.0
_LINE = 1.6  # from line to line, in capitals


class Text(Relief):
    """Lines of text."""

    title: ClassVar[str] = "text"
    summary: ClassVar[str] = "Text on a side, sunk or raised."

    text: str = Field(
        default="",
        max_length=200,
        description="What is written; a line break begins a new line.",
        json_schema_extra={"group": "Feature"},
    )
    caps: Length = size(
        "5 mm", low="2.4 mm", high="60 mm", group="Feature", help="Height of capitals."
    )

    def flat(self) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
        """Give the letters at their asked height, about the middle of the text."""
        from fitkit.solids.label import fitted_text

        lines = [line for line in self.text.splitlines() if line.strip()]
        if not lines:
            raise PartError(
                "there is no text",
                at=("text",),
                code="feature.no-text",
                remedy='Write text = "...", or leave the feature out.',
            )
        shapes: list[Profile] = []
        said: list[Finding] = []
        top = _LINE * (len(lines) - 1) / 2
        for number, line in enumerate(lines):
            # Room for the line as it was asked for: none is made smaller.
            flat, more = fitted_text(
                line,
                room=(_WIDE_MM, 2 * self.caps),
                at=(0.0, (top - number * _LINE) * self.caps),
                caps=self.caps,
            )
            shapes += flat
            said += more
        return tuple(shapes), tuple(said)
