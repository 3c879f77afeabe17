"""What a part is checked against: printer, material, use, prices, fits, and its meshes as printed.

The caller (the flow, a notebook, a test) fills it once; no check reads a file. What is unknown is
None, and the check that needs it says that it did not run, and why.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, Self, TypeVar

from pydantic import BaseModel, Field

from fitkit.checks.material import Currency  # noqa: TC001 - pydantic reads it at run time
from fitkit.core.errors import CheckError
from fitkit.core.models import StrictModel, load_model

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.checks.material import Material
    from fitkit.checks.print_time import TimedPrint
    from fitkit.parts.contract import Boss, Lug, SnapArm, Wall
    from fitkit.parts.fit_size import Counterpart
    from fitkit.solids.mesh import FloatArray, Mesh

__all__ = [
    "HANDLING",
    "Broken",
    "CheckContext",
    "Coat",
    "FitGap",
    "Handling",
    "PatternDoubt",
    "PlaceDoubt",
    "Prices",
    "Use",
]

Handling = Literal["decor only", "touched", "handled", "rough hands"]
_M = TypeVar("_M", bound=BaseModel)
HANDLING: tuple[Handling, ...] = ("decor only", "touched", "handled", "rough hands")


class Use(StrictModel):
    """What the part is for, as a sheet's ``[use]`` table declares it.

    Attributes
    ----------
    material : str or None
        Name of a published material, or path of the workshop's own material file.
    handling : {"decor only", "touched", "handled", "rough hands"}
        How hard hands will be on it.
    watts : float or None, W
        Heat that the electronics inside give off; None if not declared, 0 for nothing inside.
    device_limit_c, ambient_c : float, °C
        Highest air temperature that the device stands; air around the case.
    carries_kg : float or None, kg
        Mass that its screws and ears carry all the time, its own and what hangs on it; None if that
        is nothing to speak of.
    mains, battery, overhead, load_bearing, near_children, magnets, small_parts, food, hot, sharp
        Each brings its cautions. What hangs over people or bears a load must not fall short of its
        strength at all: there, a shortfall is a stop.
    qualified_person : bool
        A qualified person chooses the enclosure and does the wiring; without one, mains is a stop.
    resin : bool
        A resin coat is brushed on, or the part is resin-printed.
    """

    material: str | None = None
    handling: Handling = "touched"
    watts: float | None = Field(default=None, ge=0)
    device_limit_c: float | None = Field(default=None, gt=-40, lt=300)
    ambient_c: float = Field(default=25.0, ge=-40, le=60)
    carries_kg: float | None = Field(default=None, gt=0, le=100)
    mains: bool = False
    qualified_person: bool = False
    battery: bool = False
    overhead: bool = False
    load_bearing: bool = False
    near_children: bool = False
    magnets: bool = False
    small_parts: bool = False
    food: bool = False
    hot: bool = False
    sharp: bool = False
    resin: bool = False

    @classmethod
    def of(cls, values: Mapping[str, Any], *, where: str = "use") -> Self:
        """Read a sheet's ``[use]`` table.

        Parameters
        ----------
        values : mapping of key to value
            As typed; a key that is not given keeps its default.
        where : str
            Dotted path of the table, which a fault names.

        Returns
        -------
        Use

        Raises
        ------
        FaultList
            A `CheckError` for each key that is unknown or out of bounds.
        """
        return load_model(
            values, cls, kind_of_file="table", error=CheckError, at=tuple(where.split("."))
        )


class Prices(StrictModel):
    """What printing costs in one currency, beside the material itself.

    Attributes
    ----------
    currency : str
        ISO 4217 code, such as ``EUR``, ``JPY``, ``KES``.
    per_kwh : float
        Tariff of electricity.
    machine_per_hour : float
        Wear and room of the printer; 0 for a hobby bench.
    failure_share : float
        Share of prints that fail and are made again.
    material_per_kg : float or None
        Overrides the price in the material's own file.
    """

    currency: Currency
    per_kwh: float = Field(ge=0, allow_inf_nan=False)
    machine_per_hour: float = Field(default=0.0, ge=0, allow_inf_nan=False)
    failure_share: float = Field(default=0.1, ge=0, lt=1)
    material_per_kg: float | None = Field(default=None, ge=0, allow_inf_nan=False)

    @classmethod
    def of(cls, values: Mapping[str, Any], *, where: str = "prices") -> Self:
        """Read a table of prices.

        Parameters
        ----------
        values : mapping of key to value
            As typed; `currency` and `per_kwh` must be there.
        where : str
            Dotted path of the table, which a fault names.

        Returns
        -------
        Prices

        Raises
        ------
        FaultList
            A `CheckError` for each key that is unknown or out of bounds.
        """
        return load_model(
            values, cls, kind_of_file="table", error=CheckError, at=tuple(where.split("."))
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coat:
    """A finish coat: thickness on one face and its standard uncertainty, mm."""

    thickness_mm: float
    u_mm: float
    kind: Literal["resin", "paint"] = "paint"


@dataclass(frozen=True, slots=True, kw_only=True)
class FitGap:
    """One fit of the part, as far as the checks need it.

    Attributes
    ----------
    name : str
        Name of the `FitSize`.
    gap_mm : float, mm
        Wanted gap on the full size, as finished; negative for a wanted interference.
    u_mm : float, mm
        Standard uncertainty of that gap: the measured size and the print together.
    df : float
        Its degrees of freedom.
    coated_faces : int
        Faces of this size that a coat would cover.
    drawn_for_coat : bool
        True if the drawn size already leaves room for the coat.
    kind : str
        Kind of size: ``inside``, ``hole``, ``peg`` ...
    """

    name: str
    gap_mm: float
    u_mm: float
    df: float = math.inf
    coated_faces: int = 0
    drawn_for_coat: bool = False
    kind: str = "inside"


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceDoubt:
    """How well the place of an opening is known, and the gap that it has.

    Attributes
    ----------
    of : str
        Name of the size that must meet something.
    name : str
        Name of the size that says where it lies.
    off_mm : float, mm
        How far from its target the place is expected to print, to either side.
    u_mm, df : float, mm
        Standard uncertainty of that and its degrees of freedom: print and readings of the place,
        and half of the doubt of the gap.
    gap_mm : float, mm
        Wanted gap of the opening, on its full size.
    play_mm : float, mm
        How far a hand can push what comes through to either side, where it is held.
    counterpart : {"fixed", "marked through", "hangs there"}
        What must meet it, as in `FitSize`.
    """

    of: str
    name: str
    off_mm: float
    u_mm: float
    df: float
    gap_mm: float
    play_mm: float = 0.0
    counterpart: Counterpart = "fixed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PatternDoubt:
    """Holes that all shall let a screw through at once, and how likely they do.

    Attributes
    ----------
    of : str
        Name of the size of the holes.
    names : tuple of str
        Names of the sizes that say how far they are apart.
    screws : int
    off_mm : float, mm
        How far the farthest of these distances is expected to print from its target.
    gap_mm : float, mm
        Wanted gap of a hole, on its full size.
    p_all : float
        Chance that all screws go in, the part shifted and turned to suit.
    counterpart : {"fixed", "marked through", "hangs there"}
        What the screws go into, as in `FitSize`.
    """

    of: str
    names: tuple[str, ...]
    screws: int
    off_mm: float
    gap_mm: float
    p_all: float
    counterpart: Counterpart = "fixed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """A feature of earlier prints of this part that broke.

    Attributes
    ----------
    feature : str
        In the words of whoever wrote it down.
    stories : tuple of str
        One a breakage: its print's trace code, and how it broke.
    then : tuple of SnapArm, Lug, Boss or Wall
        What it was on the print that broke last; empty if that is not known.
    """

    feature: str
    stories: tuple[str, ...]
    then: tuple[SnapArm | Lug | Boss | Wall, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CheckContext:
    """All that the checks need beside the part.

    Attributes
    ----------
    bed_mm : (x, y, z) or None, mm
        Room of the named printer.
    nozzle_mm, layer_height_mm : float, mm
    material : Material or None
    use : Use
    meshes : mapping of body name to Mesh
        Each body turned as it is printed and dropped to z = 0.
    placements : mapping of body name to (3 x 3 rotation, shift in mm)
        How each body was moved from the assembly to its print pose, so that findings can point at
        the assembly; without it they name the body alone.
    infill : float
        Share of the inside that is filled, 0 to 1.
    perimeters : int
        Lines round each outline.
    overhang_deg : float, degrees
        Steepest lean from the upright that prints without support.
    prices : Prices or None
    coat : Coat or None
    fits : tuple of FitGap
    patterns : tuple of PatternDoubt
        Holes whose screws shall all go in at once.
    places : tuple of PlaceDoubt
        Of the fits that must stand in a certain place.
    assembled : mapping of name to Mesh
        Bodies and ghosts in assembly position, where the caller has them already.
    timed : tuple of TimedPrint
        Earlier prints of this printer whose time was written down.
    broken : tuple of Broken
        What broke of earlier prints of this part.
    collisions : bool
        Whether the assembly check may load the CAD kernel for meshes missing from `assembled`.
    """

    bed_mm: tuple[float, float, float] | None = None
    nozzle_mm: float = 0.4
    layer_height_mm: float = 0.2
    material: Material | None = None
    use: Use = field(default_factory=Use)
    meshes: Mapping[str, Mesh] = field(default_factory=lambda: MappingProxyType({}))
    placements: Mapping[str, tuple[FloatArray, FloatArray]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    infill: float = 0.15
    perimeters: int = 3
    overhang_deg: float = 45.0
    prices: Prices | None = None
    coat: Coat | None = None
    fits: tuple[FitGap, ...] = ()
    patterns: tuple[PatternDoubt, ...] = ()
    places: tuple[PlaceDoubt, ...] = ()
    assembled: Mapping[str, Mesh] = field(default_factory=lambda: MappingProxyType({}))
    collisions: bool = True
    timed: tuple[TimedPrint, ...] = ()
    broken: tuple[Broken, ...] = ()

    def in_assembly(self, body: str, points: FloatArray) -> tuple[tuple[float, float, float], ...]:
        """Move points of a body as it is printed back to where they are in the assembly.

        Parameters
        ----------
        body : str
            Its name.
        points : array of shape (n, 3), mm
            In the print pose.

        Returns
        -------
        tuple of (x, y, z), mm
            One for each point; empty if `placements` does not hold this body.
        """
        if body not in self.placements:
            return ()
        rotation, shift = self.placements[body]
        return tuple((float(x), float(y), float(z)) for x, y, z in (points - shift) @ rotation)
