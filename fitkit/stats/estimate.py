"""A best value with its standard uncertainty, degrees of freedom and budget, correlations kept.

Arithmetic on estimates is done by GTC, after JCGM 100:2008 (GUM) clause 5; the degrees of freedom
of a result follow Welch and Satterthwaite (GUM G.4). Two estimates that rest on the same reading
stay correlated.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from GTC.lib import UncertainReal

__all__ = ["BudgetRow", "Estimate", "Source"]

Distribution = Literal["normal", "student t", "rectangular", "triangular", "exact"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What one input's uncertainty is: type A or B, its distribution, and where it comes from."""

    type: Literal["A", "B"]
    distribution: Distribution
    basis: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BudgetRow:
    """One row of an uncertainty budget, lengths in mm.

    `contribution_mm` is sensitivity times standard uncertainty, with the sign of the sensitivity.
    """

    name: str
    value: float
    u: float
    df: float
    sensitivity: float
    contribution_mm: float
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Estimate:
    """A length known to within a stated uncertainty.

    Attributes
    ----------
    name : str
        Feature or quantity, in plain words.
    uncertain : GTC uncertain real, mm
        Value, uncertainty and the inputs that it rests on.
    sources : mapping of GTC label to Source
        Kind and basis of each input.
    notes : tuple of str
        Doubts and decisions, in plain words.
    """

    name: str
    uncertain: UncertainReal
    sources: Mapping[str, Source] = field(default_factory=lambda: MappingProxyType({}))
    notes: tuple[str, ...] = ()

    @classmethod
    def of(
        cls,
        name: str,
        value_mm: float,
        u_mm: float,
        *,
        df: float = math.inf,
        source: Source | None = None,
        notes: tuple[str, ...] = (),
    ) -> Estimate:
        """Make an estimate that is one independent input of its own."""
        import GTC

        source = source or Source(type="B", distribution="exact" if u_mm == 0 else "normal")
        number = GTC.ureal(value_mm, u_mm, df, label=name)
        return cls(name=name, uncertain=number, sources={name: source}, notes=notes)

    @property
    def value_mm(self) -> float:
        """Best value, mm."""
        return float(self.uncertain.x)

    @property
    def u_mm(self) -> float:
        """Standard uncertainty, mm."""
        return float(self.uncertain.u)

    @property
    def df(self) -> float:
        """Effective degrees of freedom."""
        return float(self.uncertain.df)

    @property
    def k95(self) -> float:
        """Coverage factor for 95 %: Student's t at `df` cut to a whole number (GUM G.4)."""
        from scipy.special import stdtrit

        df = self.df
        return float(stdtrit(math.floor(df) if math.isfinite(df) and df >= 1 else df, 0.975))

    @property
    def U95_mm(self) -> float:
        """Expanded uncertainty for 95 % coverage, mm."""
        return self.k95 * self.u_mm if self.u_mm else 0.0

    def named(self, name: str, *notes: str) -> Estimate:
        """Return a copy under another name, with notes added."""
        return replace(self, name=name, notes=(*self.notes, *notes))

    def __add__(self, other: Estimate | float) -> Estimate:
        """Add another estimate, or an exact number of mm."""
        return self._with(other, lambda a, b: a + b, "+")

    def __sub__(self, other: Estimate | float) -> Estimate:
        """Subtract another estimate, or an exact number of mm."""
        return self._with(other, lambda a, b: a - b, "-")

    def __mul__(self, factor: float) -> Estimate:
        """Scale by an exact number."""
        return replace(self, uncertain=self.uncertain * factor)

    def __truediv__(self, divisor: float) -> Estimate:
        """Divide by an exact number."""
        return replace(self, uncertain=self.uncertain / divisor)

    def _with(self, other: Estimate | float, verb: object, sign: str) -> Estimate:
        number = other.uncertain if isinstance(other, Estimate) else float(other)
        sources = dict(self.sources) | (dict(other.sources) if isinstance(other, Estimate) else {})
        label = other.name if isinstance(other, Estimate) else f"{other:g} mm"
        return Estimate(
            name=f"{self.name} {sign} {label}",
            uncertain=verb(self.uncertain, number),  # type: ignore[operator]
            sources=sources,
            notes=self.notes,
        )

    def __str__(self) -> str:
        """Value with its 95 % interval and coverage factor."""
        return f"{self.value_mm:.3f} mm ± {self.U95_mm:.3f} mm (95 %, k = {self.k95:.1f})"

    def __repr__(self) -> str:
        """One cheap line."""
        return f"Estimate({self.name!r}, {self.value_mm:.4f} mm, u {self.u_mm:.4f} mm)"
