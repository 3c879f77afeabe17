"""A best value with its standard uncertainty, degrees of freedom and budget, correlations kept.

Arithmetic on estimates is done by GTC, after JCGM 100:2008 (GUM) clause 5; the degrees of freedom
of a result follow Welch and Satterthwaite (GUM G.4). Two estimates that rest on the same reading
or instrument stay correlated. An estimate is always a length: sums, differences and multiples of
lengths are lengths; products and ratios are refused.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Literal, NoReturn

from fitkit.core.errors import StatsError
from fitkit.core.expanded import expanded

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from GTC.lib import UncertainReal

__all__ = ["BudgetRow", "Estimate", "Source"]

_HEADER = ("source", "type", "distribution", "u", "degrees of freedom", "contribution", "basis")

Distribution = Literal["normal", "student t", "rectangular", "triangular", "exact"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What one input's uncertainty is: type A or B, its distribution, and where it comes from.

    `unit` is that of the input, empty for a plain number; `input` is the input itself, an
    elementary GTC number, from which a budget takes its value and sensitivity.
    """

    type: Literal["A", "B"]
    distribution: Distribution
    basis: str = ""
    unit: str = "mm"
    input: UncertainReal | None = field(default=None, repr=False, compare=False)


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
        Kind, basis and value of each input.
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
        """Make an estimate that is one independent input of its own.

        Parameters
        ----------
        name : str
        value_mm : float, mm
        u_mm : float, mm
            Standard uncertainty, 0 or more; 0 for an exact number.
        df : float
            Degrees of freedom with which it is known, 1 or more.
        source : Source, optional
            Of the uncertainty; type B and normal if not given.
        notes : tuple of str

        Returns
        -------
        Estimate

        Raises
        ------
        StatsError
            If the value is not a number, the uncertainty is negative or not finite, or there is not
            even one degree of freedom.
        """
        import GTC

        if not math.isfinite(value_mm) or not 0 <= u_mm < math.inf or not df >= 1:
            raise StatsError(
                f"{value_mm:g} mm with u = {u_mm:g} mm and {df:g} degrees of freedom is not an "
                "estimate",
                where=name,
                code="stats.not-an-estimate",
                remedy="Give a finite value, an uncertainty of zero or more, and one degree of "
                "freedom or more.",
            )
        source = source or Source(type="B", distribution="exact" if u_mm == 0 else "normal")
        number = GTC.ureal(float(value_mm), float(u_mm), float(df), label=name)
        return cls(
            name=name,
            uncertain=number,
            sources=MappingProxyType({name: replace(source, input=number)}),
            notes=notes,
        )

    # --- what it says -----------------------------------------------------------------------------

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
        """Coverage factor for 95 %: Student's t at `df` (see `fitkit.core.expanded`)."""
        return expanded(self.u_mm, self.df)[1]

    @property
    def U95_mm(self) -> float:
        """Expanded uncertainty for 95 % coverage, mm."""
        return expanded(self.u_mm, self.df)[0]

    @property
    def budget(self) -> tuple[BudgetRow, ...]:
        """Where the uncertainty comes from, the largest contribution first.

        Squares of the contributions add up to the square of `u_mm`, the inputs being independent.
        """
        from GTC import reporting

        known = {
            source.input.uid: source
            for source in self.sources.values()
            if source.input is not None and source.input.u  # an exact number has no identity
        }
        rows = []
        for part in reporting.budget(self.uncertain, trim=0):
            source = known.get(part.uid, Source(type="B", distribution="normal"))
            one = source.input
            if one is None:
                value = u = df = sensitivity = math.nan
            else:
                value, u, df = float(one.x), float(one.u), float(one.df)
                sensitivity = float(reporting.sensitivity(self.uncertain, one))
            rows.append(
                BudgetRow(
                    name=part.label,
                    value=value,
                    u=u,
                    df=df,
                    sensitivity=sensitivity,
                    contribution_mm=math.copysign(float(part.u), sensitivity),
                    source=source,
                )
            )
        return tuple(rows)

    def without(self, row: str) -> Estimate:
        """Give the estimate that it would be if one input, by its label, were exact.

        Raises
        ------
        StatsError
            If it does not rest on that input.
        """
        from GTC import reporting

        source = self.sources.get(row)
        if source is None or source.input is None:
            raise StatsError(
                f"does not rest on {row!r}",
                where=self.name,
                code="stats.no-such-input",
                remedy=f"It rests on: {', '.join(self.sources)}.",
            )
        one = source.input
        # First order, as the propagation itself.
        rest = self.uncertain - reporting.sensitivity(self.uncertain, one) * (one - one.x)
        sources = {name: kept for name, kept in self.sources.items() if name != row}
        return replace(self, uncertain=rest, sources=MappingProxyType(sources))

    def named(self, name: str, *notes: str) -> Estimate:
        """Give the same estimate under another name.

        Parameters
        ----------
        name : str
        *notes : str
            Are added behind those that it has.

        Returns
        -------
        Estimate
            Resting on the same inputs, so that both stay correlated.
        """
        return replace(self, name=name, notes=(*self.notes, *notes))

    # --- arithmetic -------------------------------------------------------------------------------

    def __add__(self, other: Estimate | float) -> Estimate:
        """Add another estimate, or an exact number of mm."""
        return self._with(other, lambda a, b: a + b, "{} + {}")

    def __radd__(self, other: float) -> Estimate:
        """Add to an exact number of mm; ``sum`` starts with 0."""
        return self._with(other, lambda a, b: b + a, "{1} + {0}") if other else self

    def __sub__(self, other: Estimate | float) -> Estimate:
        """Subtract another estimate, or an exact number of mm."""
        return self._with(other, lambda a, b: a - b, "{} - {}")

    def __rsub__(self, other: float) -> Estimate:
        """Subtract from an exact number of mm."""
        return self._with(other, lambda a, b: b - a, "{1} - {0}")

    def __mul__(self, factor: float) -> Estimate:
        """Scale by an exact number."""
        if isinstance(factor, Estimate):
            self._refuse("times", factor, "an area")
        return replace(self, uncertain=self.uncertain * float(factor))

    __rmul__ = __mul__

    def __truediv__(self, divisor: float) -> Estimate:
        """Divide by an exact number."""
        if isinstance(divisor, Estimate):
            self._refuse("over", divisor, "a plain number")
        return replace(self, uncertain=self.uncertain / float(divisor))

    def __rtruediv__(self, other: float) -> NoReturn:
        """Refuse: no length comes of it."""
        raise StatsError(
            f"{other:g} divided by a length is not a length",
            where=self.name,
            code="stats.not-a-length",
            remedy="Work with `.uncertain`, which has no unit.",
        )

    def __neg__(self) -> Estimate:
        """Turn the sign."""
        return replace(self, uncertain=-self.uncertain)

    def __pos__(self) -> Estimate:
        """Leave as it is."""
        return self

    def _refuse(self, verb: str, other: Estimate, kind: str) -> NoReturn:
        raise StatsError(
            f"{self.name!r} {verb} {other.name!r} gives {kind}, not a length",
            code="stats.not-a-length",
            remedy="Work with `.uncertain`, which has no unit.",
        )

    def _with(
        self, other: Estimate | float, verb: Callable[[Any, Any], Any], says: str
    ) -> Estimate:
        if not isinstance(other, Estimate):
            name = says.format(self.name, f"{other:g} mm")
            return replace(self, name=name, uncertain=verb(self.uncertain, float(other)))
        return Estimate(
            name=says.format(self.name, other.name),
            uncertain=verb(self.uncertain, other.uncertain),
            sources=MappingProxyType(_merged(self.sources, other.sources)),
            notes=tuple(dict.fromkeys((*self.notes, *other.notes))),
        )

    # --- for people -------------------------------------------------------------------------------

    def summary(self) -> str:
        """Say value, interval, budget and notes in plain text."""
        lines = [self._caption()]
        lines += [f"  {row[0]} ({row[1]}, {row[2]}): {row[5]}; {row[6]}" for row in self._rows()]
        lines += [f"  note: {note}" for note in self.notes]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        from fitkit.core.html import html_table, notes_html

        return html_table(self._caption(), _HEADER, self._rows()) + notes_html(self.notes)

    def __str__(self) -> str:
        """Value with its 95 % interval and coverage factor, two digits of uncertainty."""
        from fitkit.core.format import interval

        return interval(self.value_mm, self.U95_mm, self.k95)

    def _caption(self) -> str:
        return (
            f"{self.name}: {self}; u = {self.u_mm * 1000:.1f} µm, "
            f"{_df_text(self.df)} degrees of freedom"
        )

    def _rows(self) -> list[tuple[str, ...]]:
        return [
            (
                row.name,
                row.source.type,
                row.source.distribution,
                f"{row.u:.2g} {row.source.unit}".rstrip(),
                _df_text(row.df),
                f"{row.contribution_mm * 1000:+.1f} µm",
                row.source.basis,
            )
            for row in self.budget
        ]

    def __repr__(self) -> str:
        """One cheap line."""
        return f"Estimate({self.name!r}, {self.value_mm:.4f} mm, u {self.u_mm:.4f} mm)"


def _df_text(df: float) -> str:
    return "∞" if math.isinf(df) else "over 1000" if df > 1000 else f"{df:.3g}"


def _merged(ours: Mapping[str, Source], theirs: Mapping[str, Source]) -> dict[str, Source]:
    """Join sources; two different inputs of one name are told apart by a number."""
    merged = dict(ours)
    for name, source in theirs.items():
        key, number = name, 2
        while key in merged and not _same(merged[key], source):
            key, number = f"{name} ({number})", number + 1
        merged[key] = source
    return merged


def _same(one: Source, other: Source) -> bool:
    return one.input is other.input if one.input is not None else one == other
