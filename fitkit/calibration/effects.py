"""What acts on printed sizes: the printer's terms, a print's own deviations, and the rest.

Sizes are held as arrays, one row a size, so that the update in `posterior` is a few solves. For a
size drawn n mm the printed size is ``n + x'b`` with the terms b of the printer. A print adds its
own line width, scale, first-layer height and flare. What no term holds is shared by sizes of one
family (slots with slots, holes with holes) that are alike in size.

Compound sizes load two kinds at once: a D-shaped bore is half round hole, half pocket.

Model: common practice, no source. Left out: where on the bed a part stands, and its neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, NamedTuple, Self

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["EFFECTS", "FAMILIES", "SizeAt", "Sizes", "Source"]

# Terms of a printer, in the order of the columns of `Sizes.loads`.
EFFECTS: tuple[str, ...] = (
    "scale_x",
    "scale_y",
    "scale_z",
    "outside_offset",
    "peg_offset",
    "inside_closing",
    "hole_closing",
    "hole_curvature",
    "lying_width_closing",
    "lying_height_closing",
    "height_offset",
    "bed_flare",
    "skew",
    "pocket_closing",
    "wall_bow",
    "roof_sag",
)
FAMILIES: tuple[str, ...] = ("outside", "peg", "inside", "hole", "lying", "centres", "height", "z")
# A wall of this length bows by the whole of `wall_bow`, mm.
BOW_LENGTH_MM = 50.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """Where a print came from: what differs between two of them loosens what one tells of another.

    Attributes
    ----------
    printer, nozzle, spool : str
        In the maker's words; empty words count as the same.
    day : float
        Days since any fixed day; 0 if nobody wrote it down.
    """

    printer: str = ""
    nozzle: str = ""
    spool: str = ""
    day: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeAt:
    """One size as drawn, and where it belongs.

    Attributes
    ----------
    kind, axis
        As in `fitkit.calibration.model.loads`; also ``d_bore`` for the flat of a D-shaped bore.
    drawn_mm : float, mm
    closed : bool
        An inside with walls all round; False for a gap between two ribs.
    wall_mm : float, mm
        Length of the wall that can bow, along the faces that the size lies between; 0 for none.
    at_bed : bool
        Read on the flared first layer.
    diagonal : {-1, 0, 1}
        See `fitkit.calibration.model.loads`.
    print_code : str
        The print that it is on; empty for a print still to come.
    feature : str
        The feature of the part, the same at each reprint; empty if it is nobody's.
    source : Source
    step_mm : float, mm
        Layer height where floor and roof (or top) are not known to be whole layers; else 0.
    """

    kind: str
    axis: str = "xy"
    drawn_mm: float
    closed: bool = False
    wall_mm: float = 0.0
    at_bed: bool = False
    diagonal: int = 0
    print_code: str = ""
    feature: str = ""
    source: Source = Source()
    step_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sizes:
    """Sizes as arrays.

    Attributes
    ----------
    drawn : array of shape (n,), mm
    loads : array of shape (n, k)
        Of the terms in `EFFECTS`.
    family : array of shape (n, f)
        Share of each of `FAMILIES`.
    along : array of shape (n, 3)
        Directions x, y, z.
    moved : array of shape (n, 4)
        How a print's line width, scale, first-layer height and flare move a size.
    step : array of shape (n,), mm²
        Variance of layers that nobody knows.
    prints, features : arrays of str of shape (n,)
    sources : tuple of Source, length n
    """

    drawn: Array
    loads: Array
    family: Array
    along: Array
    moved: Array
    step: Array
    prints: NDArray[np.str_]
    features: NDArray[np.str_]
    sources: tuple[Source, ...]

    @classmethod
    def of(cls, sizes: Iterable[SizeAt]) -> Self:
        """Lay out sizes as arrays."""
        sizes = tuple(sizes)
        rows = [_row(size) for size in sizes]
        return cls(
            drawn=np.array([size.drawn_mm for size in sizes], dtype=float),
            loads=_stacked([row.loads for row in rows], len(EFFECTS)),
            family=_stacked([row.family for row in rows], len(FAMILIES)),
            along=_stacked([row.along for row in rows], 3),
            moved=_stacked([row.moved for row in rows], 4),
            step=np.array([row.step for row in rows], dtype=float),
            prints=np.array([size.print_code for size in sizes], dtype=str),
            features=np.array([size.feature for size in sizes], dtype=str),
            sources=tuple(size.source for size in sizes),
        )

    def __len__(self) -> int:
        """Give the number of sizes."""
        return len(self.drawn)

    def rows(self, which: Sequence[int] | NDArray[np.int64]) -> Sizes:
        """Keep the sizes with these numbers."""
        at = np.asarray(which, dtype=int)
        arrays = {name: getattr(self, name)[at] for name in _ARRAYS}
        return Sizes(**arrays, sources=tuple(self.sources[i] for i in at))

    @classmethod
    def joined(cls, parts: Sequence[Sizes]) -> Sizes:
        """Put several one after the other."""
        arrays = {name: np.concatenate([getattr(p, name) for p in parts]) for name in _ARRAYS}
        return cls(**arrays, sources=tuple(source for part in parts for source in part.sources))


_ARRAYS = ("drawn", "loads", "family", "along", "moved", "step", "prints", "features")


class _Row(NamedTuple):
    loads: Array
    family: Array
    along: Array
    moved: Array
    step: float


_ALONG: Mapping[str, tuple[float, float, float]] = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "xy": (0.5, 0.5, 0.0),
}
_COLUMN = {name: at for at, name in enumerate(EFFECTS)}


def _stacked(rows: Sequence[Array], width: int) -> Array:
    return np.array(rows, dtype=float).reshape(len(rows), width)


def _row(size: SizeAt) -> _Row:
    if size.kind == "d_bore":
        # From the flat to the round wall opposite: half of each.
        hole = _row(replace(size, kind="hole"))
        flat = _row(replace(size, kind="inside", closed=True))
        return _Row(
            loads=0.5 * (hole.loads + flat.loads),
            family=0.5 * (hole.family + flat.family),
            along=hole.along,
            moved=0.5 * (hole.moved + flat.moved),
            step=0.0,
        )
    upright = size.kind == "height" or size.axis == "z"
    along = np.array(_ALONG["z" if size.kind == "height" else size.axis])
    loads, family, moved = np.zeros(len(EFFECTS)), np.zeros(len(FAMILIES)), np.zeros(4)
    n = size.drawn_mm
    loads[:3] = along * n
    moved[1] = n
    step = size.step_mm**2 / 12.0

    def act(name: str, load: float) -> None:
        loads[_COLUMN[name]] = load

    def belong(name: str, width: float) -> None:
        family[FAMILIES.index(name)] = 1.0
        moved[0] = width

    match size.kind:
        case "outside" | "height" if upright:
            act("height_offset", 1.0)
            belong("height", 0.0)
            moved[2] = 1.0
        case "outside":
            act("outside_offset", 1.0)
            belong("outside", 1.0)
        case "peg":
            act("peg_offset", 1.0)
            belong("peg", 1.0)
        case "inside" if upright:
            # Floor and roof both hang over the same first layer, and no line width closes them.
            act("roof_sag", -1.0)
            belong("z", 0.0)
            step *= 1.3
        case "inside":
            act("inside_closing", -1.0)
            if size.closed:
                act("pocket_closing", -1.0)
                act("wall_bow", -((size.wall_mm / BOW_LENGTH_MM) ** 2))
            belong("inside", -1.0)
        case "hole":
            act("hole_closing", -1.0)
            act("hole_curvature", -1.0 / n)
            belong("hole", -1.0)
        case "hole_lying":
            act("lying_height_closing" if upright else "lying_width_closing", -1.0)
            belong("lying", 0.0 if upright else -1.0)
        case _:
            belong("centres", 0.0)
    if size.at_bed:
        act("bed_flare", 1.0)
        moved[3] = 1.0
    if size.diagonal:
        act("skew", 0.5 * size.diagonal * n)
    return _Row(loads, family, along, moved, step)
