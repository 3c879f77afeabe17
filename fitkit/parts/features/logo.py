"""A logo or picture of one's own on any side: the filled areas of an SVG file."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from fitkit.core.errors import PartError
from fitkit.core.finding import Finding
from fitkit.core.given_file import GivenFile, file_parameter
from fitkit.parts.contract import Length, size
from fitkit.parts.features.relief import Relief

if TYPE_CHECKING:
    from fitkit.solids.profiles import Profile

__all__ = ["Logo"]

_LINE_MM = 0.5  # a printed line of a nozzle of 0.4 mm. Common practice, no source.
_MOST_THIN = 0.03


class Logo(Relief):
    """Filled areas of an SVG drawing."""

    title: ClassVar[str] = "logo"
    summary: ClassVar[str] = "The filled areas of an SVG file, sunk or raised."

    file: GivenFile = file_parameter(
        "SVG file; what it fills is drawn.", group="Feature", endings=(".svg",)
    )
    wide: Length = size(
        "20 mm", low="3 mm", high="300 mm", group="Feature", help="Width over all that is filled."
    )

    def flat(self) -> tuple[tuple[Profile, ...], tuple[Finding, ...]]:
        """Give the areas about the drawing's middle, and say what is too thin to print."""
        from fitkit.solids.svg_outline import read_svg, thin_share

        try:
            shapes = read_svg(self.file, width_mm=self.wide)
        except PartError as error:
            raise error.placed(at=("file",)) from error
        thin = thin_share(shapes, _LINE_MM)
        if thin <= _MOST_THIN:
            return shapes, ()
        return shapes, (
            Finding(
                check="build",
                severity="warn",
                text=f"{100 * thin:.0f} % of its area is thinner than a printed line of "
                f"{_LINE_MM:g} mm and may not come out.",
                value=100 * thin,
                limit=100 * _MOST_THIN,
                unit="%",
                basis="geometry of this drawing; common practice, no source",
                remedy="Draw it wider, or with thicker strokes.",
            ),
        )
