"""The coupon's parameters: drawn sizes of each kind of feature; the template.

What is measured on it, and under which names, comes from `fitkit.calibration.coupon`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import asdict, replace
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Self

from pydantic import AfterValidator, Field, model_validator

from fitkit.calibration.coupon import CouponFeature, CouponSizes, coupon_features
from fitkit.core.errors import PartError
from fitkit.parts.contract import Length, Template

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Parameters"]

_DEFAULT = CouponSizes()
_LEAST_MM, _MOST_MM = 0.8, 100.0
_DIGITS = 6  # of a size in a feature's name
# Rows of sizes, and what the labels of their features start with.
_LABELS = {
    "bars_x": "X",
    "bars_y": "Y",
    "tabs": "T",
    "pegs": "P",
    "heights": "Z",
    "slots": "S",
    "insides_x": "IX",
    "insides_y": "IY",
    "bridges": "B",
    "holes": "H",
    "lying_holes": "L",
}


def _as_named(drawn_mm: float) -> float:
    """Hold a size as its feature's name tells it, so that what is drawn is what is read."""
    named = float(f"{drawn_mm:.{_DIGITS}g}")
    # Sums and quantities in inches come out of binary numbers a little off.
    if not math.isclose(drawn_mm, named, rel_tol=1e-12):
        raise PartError(
            f"{drawn_mm!r} mm has more than the {_DIGITS} digits that names on a coupon hold",
            code="part.coupon-digits",
            remedy=f"Give {named:g} mm.",
        )
    return named


def _typed(size: object) -> object:
    """Write a length, or each of a row, as a person would type it."""
    if isinstance(size, bool):
        return size
    if isinstance(size, tuple):
        return [_typed(one) for one in size]
    return f"{size!r} mm"


# A drawn size: typed with its unit, held as mm.
Drawn = Annotated[Length, AfterValidator(_as_named)]


def _row(default: tuple[float, ...], group: str, text: str, *, least: int | None = None) -> Any:
    """Declare a row of sizes, at least so many."""
    return Field(
        default=default,
        min_length=least,
        description=text,
        json_schema_extra={"group": group},
    )


class Parameters(Template):
    """Which features a coupon has; `CalibrationCoupon` draws them."""

    title: ClassVar[str] = "calibration coupon"
    summary: ClassVar[str] = "Print and measure it once to learn what this printer does to sizes."
    ordered_by: ClassVar[str] = "coupon"

    bars_x: tuple[Drawn, ...] = _row(
        _DEFAULT.bars_x, "Outsides", "Lengths of bars along x; the longest is the plate.", least=1
    )
    bars_y: tuple[Drawn, ...] = _row(
        _DEFAULT.bars_y, "Outsides", "Lengths of bars along y; the longest is the plate.", least=1
    )
    tabs: tuple[Drawn, ...] = _row(_DEFAULT.tabs, "Outsides", "Thicknesses of ribs.")
    pegs: tuple[Drawn, ...] = _row(_DEFAULT.pegs, "Outsides", "Diameters of upright pegs.")
    heights: tuple[Drawn, ...] = _row(
        _DEFAULT.heights,
        "Outsides",
        "Heights over the bed; the least is the plate's thickness.",
        least=1,
    )
    diagonal: Drawn = Field(
        default=_DEFAULT.diagonal,
        ge=0.0,
        le=140.0,
        description="Distance over the cut corners; 0 for whole corners.",
        json_schema_extra={"group": "Outsides"},
    )
    flare: bool = Field(
        default=True,
        description="Read the longest bars at the bed, too.",
        json_schema_extra={"group": "Outsides"},
    )
    slots: tuple[Drawn, ...] = _row(_DEFAULT.slots, "Insides", "Widths of slots.")
    insides_x: tuple[Drawn, ...] = _row(
        _DEFAULT.insides_x, "Insides", "Distances between two ribs along x."
    )
    insides_y: tuple[Drawn, ...] = _row(
        _DEFAULT.insides_y, "Insides", "Distances between two ribs along y."
    )
    pocket_x: Drawn = Field(
        default=_DEFAULT.pocket_x,
        ge=0.0,
        le=90.0,
        description="Size along x of a pocket with walls all round; 0 for no pocket.",
        json_schema_extra={"group": "Insides"},
    )
    pocket_y: Drawn = Field(
        default=_DEFAULT.pocket_y,
        ge=0.0,
        le=90.0,
        description="Size of the pocket along y.",
        json_schema_extra={"group": "Insides"},
    )
    bridges: tuple[Drawn, ...] = _row(
        _DEFAULT.bridges, "Insides", "Heights of openings with a flat roof."
    )
    holes: tuple[Drawn, ...] = _row(_DEFAULT.holes, "Insides", "Diameters of upright holes.")
    lying_holes: tuple[Drawn, ...] = _row(
        _DEFAULT.lying_holes, "Insides", "Diameters of holes whose axis lies in the layers."
    )

    strips: bool = Field(
        default=False,
        description="Test strips on the same plate, which tell what the spool bears.",
        json_schema_extra={"group": "Test strips"},
    )

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for name in _LABELS:
            sizes: tuple[float, ...] = getattr(self, name)
            if any(not _LEAST_MM <= one <= _MOST_MM for one in sizes):
                raise PartError(
                    f"a size is not between {_LEAST_MM:g} mm and {_MOST_MM:g} mm",
                    at=(name,),
                    code="part.coupon-size",
                    remedy="Give sizes within these.",
                )
        if (self.pocket_x == 0.0) != (self.pocket_y == 0.0):
            raise PartError(
                "a pocket has a size along x and one along y, or neither",
                at=("pocket_x" if self.pocket_x == 0.0 else "pocket_y",),
                code="part.coupon-pocket",
                remedy="Give both sizes, or 0 for both.",
            )
        if min(max(self.bars_x), max(self.bars_y)) < 30.0:
            raise PartError(
                "the longest bar along x and along y is the plate's side, and the plate needs "
                "30 mm or more",
                at=("bars_x" if max(self.bars_x) < 30.0 else "bars_y",),
                code="part.coupon-plate",
                remedy="Add a longer bar.",
            )
        if not 2.0 <= min(self.heights) <= 8.0:
            raise PartError(
                f"the least height, {min(self.heights):g} mm, is the plate's thickness, and that "
                "is 2 mm to 8 mm",
                at=("heights",),
                code="part.coupon-thickness",
                remedy="Add a height from 2 mm to 8 mm, and leave out those below.",
            )
        if self.diagonal and not 4.0 <= self.corner_mm <= 25.0:
            raise PartError(
                f"a diagonal of {self.diagonal:g} mm would cut the corners by "
                f"{self.corner_mm:.1f} mm, and 4 mm to 25 mm are possible",
                at=("diagonal",),
                code="part.coupon-diagonal",
                remedy="Give another diagonal, or 0 for none.",
            )
        return self

    @classmethod
    def of_sizes(cls, sizes: CouponSizes) -> Self:
        """Draw a coupon of these sizes, such as the thorough one."""
        return cls.of(**{name: _typed(size) for name, size in asdict(sizes).items()})

    @classmethod
    def of_features(cls, features: Iterable[CouponFeature], *, plate_mm: float = 96.0) -> Self:
        """Draw chosen features, with the plate that they need to stand on.

        Parameters
        ----------
        features : iterable of CouponFeature
            As `fitkit.calibration.choose_features` gives them.
        plate_mm : float, mm
            Least side of the plate, unless a bar is read at the bed: that is the plate's side.

        Raises
        ------
        FaultList
            If a size cannot be drawn.
        PartError
            If a feature is of a kind or direction that the coupon has not.
        """
        features = tuple(features)
        found: dict[str, set[float]] = defaultdict(set)
        at_bed: dict[str, float] = {}
        diagonal, pocket = 0.0, {"x": 0.0, "y": 0.0}
        for one in features:
            if one.diagonal:
                diagonal = one.drawn_mm
            elif one.kind.closed:
                other = "y" if one.axis == "x" else "x"
                pocket = {one.axis: one.drawn_mm, other: one.wall_mm}
            elif one.place == "bed":
                at_bed[one.axis.upper()] = one.drawn_mm
            else:
                found[one.label.rstrip("0123456789.")].add(one.drawn_mm)
        for axis in "XY":
            found[axis].add(max(at_bed.get(axis, plate_mm), *found[axis], 0.0))
        if not any(2.0 <= height <= 8.0 for height in found["Z"]):
            found["Z"].add(4.0)
        sizes: dict[str, object] = {
            name: [f"{size!r} mm" for size in sorted(found[key])] for name, key in _LABELS.items()
        }
        sizes |= {f"pocket_{axis}": f"{size!r} mm" for axis, size in pocket.items()}
        coupon = cls.of(diagonal=f"{diagonal!r} mm", flare=bool(at_bed), **sizes)
        coupon._refuse_undrawn(features)
        return coupon

    def _refuse_undrawn(self, wanted: Iterable[CouponFeature]) -> None:
        # "slot x 6" is another name for "slot 6".
        drawn = {replace(feature, name="") for feature in self.features()}
        missing = [f"{one.name!r}" for one in wanted if replace(one, name="") not in drawn]
        if missing:
            raise PartError(
                f"{', '.join(missing)} cannot be drawn",
                where=self.title,
                code="part.coupon-cannot-draw",
                remedy="Leave out centres, tabs and slots along y, bars at the bed other than the "
                f"longest ({max(self.bars_x):g} mm along x, {max(self.bars_y):g} mm along y), and "
                "all diagonals and pockets but one pair.",
            )

    @property
    def sizes(self) -> CouponSizes:
        """All drawn sizes, mm."""
        return CouponSizes(
            bars_x=self.bars_x,
            bars_y=self.bars_y,
            heights=self.heights,
            pegs=self.pegs,
            holes=self.holes,
            lying_holes=self.lying_holes,
            slots=self.slots,
            insides_x=self.insides_x,
            insides_y=self.insides_y,
            pocket_x=self.pocket_x,
            pocket_y=self.pocket_y,
            bridges=self.bridges,
            tabs=self.tabs,
            diagonal=self.diagonal,
            flare=self.flare,
        )

    def features(self) -> tuple[CouponFeature, ...]:
        """What there is to read on it, in the order of the print order sheet."""
        return coupon_features(self.sizes)

    @property
    def corner_mm(self) -> float:
        """Leg of the cut corners, from the distance between opposite cuts; 0 for whole ones."""
        if not self.diagonal:
            return 0.0
        return 0.5 * (max(self.bars_x) + max(self.bars_y) - math.sqrt(2.0) * self.diagonal)
