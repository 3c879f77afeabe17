"""Bending moments in a flat rectangular wall that a fingertip presses, whichever edges hold it.

Each edge is clamped (one piece with something as stiff), simple (it rests on something) or free.
The deflection is sought as a sum of Legendre polynomials that keep still where an edge holds, and
the sum with the least energy is taken: Ritz's method for thin plates (Kirchhoff), as in Timoshenko
and Woinowsky-Krieger, Theory of Plates and Shells, art. 82 (from memory). The tests hold it against
that book's tables, a Navier series and finite elements. Leaves out large deflections, which help,
cut-outs, which weaken, and plastic that bends more easily one way than the other.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, NamedTuple

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = ["FINGER_RADIUS_MM", "POISSON", "Edge", "Edges", "Moments", "RectangularPlate", "pressed"]

FloatArray = npt.NDArray[np.float64]
Edge = Literal["clamped", "simple", "free"]
# The edges at the low and high end of x, then of y.
Edges = tuple[Edge, Edge, Edge, Edge]

# A fingertip's contact patch. Common practice, no source.
FINGER_RADIUS_MM = 6.0
# Poisson's ratio of stiff thermoplastics, from memory.
POISSON = 0.38

_ORDER = {"free": 0, "simple": 1, "clamped": 2}
_GRID = 33  # points each way at which moments are looked at, edges among them
# Polynomials each way: at least these, and more for a plate that is long for its finger.
_LEAST, _MOST = 12, 26


class Moments(NamedTuple):
    """Greatest bending moments, each for one newton or one unit of pressure.

    Attributes
    ----------
    x, y : float
        Of the stress along x and along y, either sign.
    principal : float
        In whatever direction is the worst.
    deflection : float
        Greatest, times the plate's stiffness D = E t³ / (12 (1 - ν²)).
    """

    x: float
    y: float
    principal: float
    deflection: float


class RectangularPlate:
    """A plate from -a/2 to a/2 and -b/2 to b/2, ready for any number of loads.

    Parameters
    ----------
    a_mm, b_mm : float, mm
        Along x and along y.
    edges : tuple of 4 words
        How the edges at low x, high x, low y, high y are held.
    poisson : float
    finest_mm : float, mm
        The smallest thing that loads it; it sets how many polynomials are taken.

    Raises
    ------
    ValueError
        If the plate is not held well enough to stand still.
    """

    def __init__(
        self,
        a_mm: float,
        b_mm: float,
        edges: Edges,
        *,
        poisson: float = POISSON,
        finest_mm: float = FINGER_RADIUS_MM,
    ) -> None:
        if not _stands(edges):
            raise ValueError(f"a plate with edges {edges} is not held")
        self.a_mm, self.b_mm, self.poisson = a_mm, b_mm, poisson
        counts = [
            int(min(_MOST, max(_LEAST, math.ceil(1.6 * side / finest_mm)))) for side in (a_mm, b_mm)
        ]
        self._x = _Ways(counts[0], edges[:2], a_mm)
        self._y = _Ways(counts[1], edges[2:], b_mm)
        x, y = self._x.products, self._y.products
        stiffness = (
            np.kron(x[2, 2], y[0, 0])
            + np.kron(x[0, 0], y[2, 2])
            + poisson * (np.kron(x[2, 0], y[0, 2]) + np.kron(x[0, 2], y[2, 0]))
            + 2 * (1 - poisson) * np.kron(x[1, 1], y[1, 1])
        )
        self._scale = 1 / np.sqrt(np.diagonal(stiffness))
        self._stiffness = stiffness * np.outer(self._scale, self._scale)

    def even(self) -> Moments:
        """Moments under one unit of pressure all over, mm²."""
        load = np.outer(self._x.integral, self._y.integral)
        return self._under(load.reshape(-1, 1))

    def discs(self, places: Sequence[tuple[float, float]], radius_mm: float) -> Moments:
        """Greatest moments under one newton, spread evenly over a disc at each place in turn.

        Parameters
        ----------
        places : sequence of (x, y), mm
            From the plate's middle.
        radius_mm : float, mm

        Returns
        -------
        Moments
            Without unit (N mm per mm of section, for a newton); deflection in mm².
        """
        rings, spokes = 6, 24
        turn = 2 * math.pi * (np.arange(spokes) + 0.5) / spokes
        # Rings of equal area, each about its own middle.
        far = radius_mm * np.sqrt((np.arange(rings) + 0.5) / rings)
        dx, dy = (np.outer(far, way(turn)).ravel() for way in (np.cos, np.sin))
        columns = [
            np.einsum("pi,pj->ij", self._x.at(x + dx)[0], self._y.at(y + dy)[0]).ravel() / dx.size
            for x, y in places
        ]
        return self._under(np.stack(columns, axis=1))

    def _under(self, loads: FloatArray) -> Moments:
        scaled = np.linalg.solve(self._stiffness, self._scale[:, None] * loads)
        shape = (self._x.count, self._y.count, -1)
        w = (self._scale[:, None] * scaled).reshape(shape)
        x = self._x.at(np.linspace(-0.5, 0.5, _GRID) * self.a_mm)
        y = self._y.at(np.linspace(-0.5, 0.5, _GRID) * self.b_mm)

        def seen(p: int, q: int) -> FloatArray:
            return np.asarray(np.einsum("pi,ijk,qj->pqk", x[p], w, y[q], optimize=True))

        wxx, wyy, wxy = seen(2, 0), seen(0, 2), seen(1, 1)
        mx, my = wxx + self.poisson * wyy, wyy + self.poisson * wxx
        mxy = (1 - self.poisson) * wxy
        principal = np.abs(mx + my) / 2 + np.hypot((mx - my) / 2, mxy)
        greatest = [float(np.abs(field).max()) for field in (mx, my, principal, seen(0, 0))]
        return Moments(*greatest)


class _Ways:
    """The polynomials along one side: their values and integrals."""

    def __init__(self, count: int, ends: tuple[Edge, ...], side_mm: float) -> None:
        low, high = (_ORDER[end] for end in ends)
        hold = np.polynomial.Polynomial([1.0])
        for power, factor in ((low, [1.0, 1.0]), (high, [1.0, -1.0])):
            hold *= np.polynomial.Polynomial(factor) ** power
        self._hold = [hold.deriv(k) if k else hold for k in range(3)]
        self.count, self._side = count, side_mm
        at, weight = np.polynomial.legendre.leggauss(count + low + high + 2)
        values = self._values(at)
        # Integrals over the side of the product of derivatives p and q.
        self.products = np.einsum("n,pni,qnj->pqij", weight * side_mm / 2, values, values)
        self.integral = (weight * side_mm / 2) @ values[0]

    def at(self, place_mm: FloatArray) -> FloatArray:
        """Values, slopes and curvatures at places from the middle, shape (3, n, count)."""
        return self._values(2 * np.asarray(place_mm) / self._side)

    def _values(self, t: FloatArray) -> FloatArray:
        legendre = np.polynomial.legendre
        unit = np.eye(self.count)
        p = [legendre.legval(t, legendre.legder(unit, k)).T for k in range(3)]
        f = [hold(t)[:, None] for hold in self._hold]
        scale = 2 / self._side
        return np.stack(
            [
                f[0] * p[0],
                scale * (f[1] * p[0] + f[0] * p[1]),
                scale**2 * (f[2] * p[0] + 2 * f[1] * p[1] + f[0] * p[2]),
            ]
        )


def _stands(edges: Edges) -> bool:
    """Tell whether a plate so held can neither shift nor tip."""
    held = [edge != "free" for edge in edges]
    return "clamped" in edges or sum(held) >= 2


@lru_cache(maxsize=256)
def pressed(
    a_mm: float,
    b_mm: float,
    edges: Edges,
    *,
    finger_mm: float = FINGER_RADIUS_MM,
    poisson: float = POISSON,
) -> Moments:
    """Greatest moments for one newton of a fingertip, wherever it presses along the middles.

    Parameters
    ----------
    a_mm, b_mm : float, mm
        Sides along x and along y.
    edges : tuple of 4 words
        How the edges at low x, high x, low y, high y are held.
    finger_mm : float, mm
        Radius of the fingertip's patch; a narrower plate takes a narrower one.

    Returns
    -------
    Moments
        For one newton, without unit.

    Notes
    -----
    The finger presses in the middle, and wherever an edge is free also on the way there, to where
    its patch touches that edge.
    """
    finger = min(finger_mm, 0.45 * min(a_mm, b_mm))
    places = [(0.0, 0.0)]
    for axis, side in enumerate((a_mm, b_mm)):
        for sign, edge in zip((-1, 1), edges[2 * axis : 2 * axis + 2], strict=True):
            if edge == "free":
                far = sign * (side / 2 - finger)
                ways = [share * far for share in (0.5, 1.0)]
                places += [(way, 0.0) if axis == 0 else (0.0, way) for way in ways]
    plate = RectangularPlate(a_mm, b_mm, edges, poisson=poisson, finest_mm=finger)
    return plate.discs(places, finger)
