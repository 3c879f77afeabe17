"""One-dimensional tolerance chains: worst case, root-sum-square, and who causes the spread.

A chain is a signed sum of named contributors: those that open the gap when they grow, and those
that close it. The root-sum-square takes correlations along (JCGM 100:2008, 5.2.2); a contributor's
share of the variance is a_i sum_j a_j C_ij / u², which sums to 1 over the chain. `chain_sample`
draws the whole distribution.

Left out: chains in two dimensions (tilt, see `pattern` for holes), and parts that yield.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal, get_args

import numpy as np

from fitkit.core.errors import FitError
from fitkit.core.expanded import effective_df, expanded

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from typing import Any

    from numpy.typing import NDArray

    from fitkit.calibration.compensation import CompensatedSize
    from fitkit.calibration.joint import Joint
    from fitkit.calibration.learned import PrintedSize
    from fitkit.fits.iso286 import Limits
    from fitkit.stats.uncertainty import Estimate

    Array = NDArray[np.floating[Any]]

__all__ = ["Chain", "Contributor", "Shape", "Span", "chain_between", "printed_together"]

Shape = Literal["normal", "rectangular", "triangular", "student t"]
Origin = Literal["reading", "print", "limits", "coat", "stated"]
# Half-width of a shape over its standard deviation. A normal has none; ±3 is the trade's custom.
_HALF_WIDTH: dict[str, float] = {
    "normal": 3.0,
    "rectangular": math.sqrt(3.0),
    "triangular": math.sqrt(6.0),
}
# What lies within ±3 standard deviations of a normal; of a Student's t as much counts.
_WITHIN_3 = 0.9973
# With so many degrees of freedom Student's t is drawn as a normal distribution.
_MANY = 100
_BETTER: dict[str, str] = {
    "reading": "read it again, or with a finer instrument",
    "print": "print and measure a coupon of this kind of size, and calibrate",
    "limits": "measure the part in hand, or buy a closer grade",
    "coat": "measure the coat on a scrap piece, or mask the face",
    "stated": "measure it instead of trusting a stated tolerance",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contributor:
    """One length of a chain.

    Attributes
    ----------
    name : str
    value_mm : float, mm
        Its best value.
    u_mm : float, mm
        Standard uncertainty, 0 or more.
    opens : bool
        True if the gap grows with it.
    times : float
        How often it counts, above 0: a coat on two faces at once counts twice.
    shape : {"normal", "rectangular", "triangular", "student t"}
    df : float
        Degrees of freedom of a student t.
    origin : {"reading", "print", "limits", "coat", "stated"}
        Where its spread comes from, which decides what would mend it.
    estimate : Estimate or None
        Kept so that two estimates that rest on the same reading stay correlated.
    size : CompensatedSize or None
        Kept so that sizes of one print share what is unknown of the printer.
    """

    name: str
    value_mm: float
    u_mm: float
    opens: bool
    times: float = 1.0
    shape: Shape = "normal"
    df: float = math.inf
    origin: Origin = "stated"
    estimate: Estimate | None = None
    size: CompensatedSize | None = None

    def __post_init__(self) -> None:
        where = f"contributor {self.name!r}"
        if not (math.isfinite(self.value_mm) and math.isfinite(self.u_mm) and self.u_mm >= 0):
            raise FitError(
                f"its value is {self.value_mm:g} mm and its standard uncertainty {self.u_mm:g} mm",
                where=where,
                code="fits.contributor",
                remedy="Give finite numbers, the uncertainty 0 mm or more.",
            )
        if not (math.isfinite(self.times) and self.times > 0):
            raise FitError(
                f"it counts {self.times:g} times",
                where=where,
                code="fits.times",
                remedy="Give a number above 0; say with `opens` which way it works.",
            )
        if self.shape not in get_args(Shape):
            raise FitError(
                f"{self.shape!r} is not a shape of a distribution that a chain knows",
                where=where,
                code="fits.shape",
                remedy=f"It knows: {', '.join(get_args(Shape))}.",
            )
        if self.shape == "student t" and not self.df > 0:
            raise FitError(
                f"it has {self.df:g} degrees of freedom",
                where=where,
                code="fits.df",
                remedy="Give a number above 0.",
            )

    @classmethod
    def of_estimate(
        cls, estimate: Estimate, *, opens: bool, times: float = 1.0, name: str = ""
    ) -> Contributor:
        """Take a measured size; few readings make it a Student t.

        Parameters
        ----------
        estimate : Estimate
            It is kept, so that it stays correlated with others that rest on the same reading.
        opens : bool
            Whether the gap grows with it.
        times : float
            How often it counts, above 0.
        name : str
            The estimate's name if empty.

        Returns
        -------
        Contributor
            A normal where the estimate has a hundred degrees of freedom or more.
        """
        return cls(
            name=name or estimate.name,
            value_mm=estimate.value_mm,
            u_mm=estimate.u_mm,
            opens=opens,
            times=times,
            shape="student t" if estimate.df < _MANY else "normal",
            df=estimate.df,
            origin="reading",
            estimate=estimate,
        )

    @classmethod
    def of_compensated(cls, size: CompensatedSize, *, opens: bool, name: str = "") -> Contributor:
        """Take a size as this printer should make it; its target's reading does not move it.

        Parameters
        ----------
        size : CompensatedSize
            It is kept: sizes of one print share what is unknown of the printer, and a `Chain` of
            several sizes that were worked out with one profile ties them accordingly.
        opens : bool
            Whether the gap grows with it.
        name : str
            The size's name, or its kind, if empty.

        Returns
        -------
        Contributor
            A normal where the size has a hundred degrees of freedom or more.
        """
        return cls(
            name=name or size.name or size.kind,
            value_mm=size.expected_mm,
            u_mm=size.u_print_mm,
            opens=opens,
            shape="student t" if size.df < _MANY else "normal",
            df=size.df,
            origin="print",
            size=size,
        )

    @classmethod
    def of_limits(cls, limits: Limits, *, opens: bool, name: str = "") -> Contributor:
        """Take a bought part: anywhere between its limits of size.

        Parameters
        ----------
        limits : Limits
            As `fitkit.fits.limits` gives them.
        opens : bool
            Whether the gap grows with it.
        name : str
            Nominal size and class, such as ``8 h9``, if empty.

        Returns
        -------
        Contributor
            A rectangular one about the middle of the limits.
        """
        return cls(
            name=name or f"{limits.nominal_mm:g} {limits.name}",
            value_mm=0.5 * (limits.least_mm + limits.greatest_mm),
            u_mm=(limits.upper_mm - limits.lower_mm) / math.sqrt(12.0),
            opens=opens,
            shape="rectangular",
            origin="limits",
        )

    @property
    def factor(self) -> float:
        """Sensitivity of the gap: how many mm it opens per mm."""
        return self.times if self.opens else -self.times

    @property
    def half_width_mm(self) -> float:
        """How far it may be off at worst: the ends of its shape, or what 99.7 % lie within."""
        if self.shape == "student t":
            return expanded(self.u_mm, self.df, _WITHIN_3)[0]
        return self.u_mm * _HALF_WIDTH[self.shape]


def _asked(part: Contributor) -> PrintedSize | None:
    """What was asked of the printer for a contributor; None if it is not a size of a print."""
    return part.size.printed if part.size is not None and part.size.printer else None


def _one_print(one: CompensatedSize | None, other: CompensatedSize | None) -> bool:
    """Tell whether two sizes were worked out with the same profile and lessons."""
    if one is None or other is None or one.printer is None or other.printer is None:
        return False
    return all(a is b for a, b in zip(one.printer, other.printer, strict=True))


def printed_together(
    sizes: Joint, names: Sequence[str], opens: Sequence[bool]
) -> tuple[tuple[Contributor, ...], dict[tuple[str, str], float]]:
    """Take several sizes of one print, with all that they share of the printer.

    Parameters
    ----------
    sizes : Joint
        Of n sizes, as `fitkit.calibration.joint` predicts them.
    names : sequence of n str
    opens : sequence of n bool
        Whether the gap grows with each.

    Returns
    -------
    contributors : tuple of n Contributor
        With the degrees of freedom of each.
    correlations : dict of (name, name) to float
        For `Chain.correlations`.
    """
    correlation = sizes.correlation()
    parts = []
    for i, (name, way) in enumerate(zip(names, opens, strict=True)):
        one = sizes.sum([float(i == j) for j in range(len(names))])
        parts.append(
            Contributor(
                name=name,
                value_mm=one.value_mm,
                u_mm=one.u_mm,
                opens=way,
                shape="student t" if one.df < _MANY else "normal",
                df=one.df,
                origin="print",
            )
        )
    ties = {
        (names[i], names[j]): float(correlation[i, j])
        for i, j in itertools.combinations(range(len(names)), 2)
    }
    return tuple(parts), ties


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A gap as the signed sum of contributors.

    Attributes
    ----------
    name : str
        Of the gap.
    contributors : tuple of Contributor
        Names are unique.
    correlations : mapping of (name, name) to float
        Beyond those that estimates and sizes of one print bring along, or in their place.
    least_mm : float, mm
        The gap must not be smaller; 0 means no interference.
    most_mm : float or None, mm
        Nor larger than this, if given.

    Raises
    ------
    FitError
        If a name comes twice (with contradictory directions or not), a correlation names no
        contributor, or the correlations cannot all hold at once.
    """

    name: str
    contributors: tuple[Contributor, ...]
    correlations: Mapping[tuple[str, str], float] = field(default_factory=dict)
    least_mm: float = 0.0
    most_mm: float | None = None

    def __post_init__(self) -> None:
        if not self.contributors:
            raise FitError(
                "the chain has no contributors",
                where=self.name,
                code="fits.empty-chain",
                remedy="Name at least one length.",
            )
        seen: dict[str, Contributor] = {}
        for part in self.contributors:
            other = seen.setdefault(part.name, part)
            if other is part:
                continue
            if other.opens != part.opens:
                raise FitError(
                    f"{part.name!r} both opens and closes the gap",
                    where=self.name,
                    code="fits.both-ways",
                    remedy="Give it one direction; two different lengths need two names.",
                )
            raise FitError(
                f"{part.name!r} comes twice",
                where=self.name,
                code="fits.named-twice",
                remedy="Say times=2 if the same length counts twice, or rename one.",
            )
        if self.most_mm is not None and self.most_mm < self.least_mm:
            raise FitError(
                f"the gap is to be at least {self.least_mm:g} mm and at most {self.most_mm:g} mm",
                where=self.name,
                code="fits.limits-crossed",
                remedy="Swap the two.",
            )
        self.correlation()

    def correlation(self) -> Array:
        """Correlation matrix of the contributors, in their order.

        Raises
        ------
        FitError
            If a pair is unknown, or the matrix is not positive semidefinite.
        """
        names = [part.name for part in self.contributors]
        matrix = np.eye(len(names))
        for (i, a), (j, b) in itertools.combinations(enumerate(self.contributors), 2):
            if a.estimate is not None and b.estimate is not None:
                from GTC import get_correlation

                matrix[i, j] = matrix[j, i] = get_correlation(
                    a.estimate.uncertain, b.estimate.uncertain
                )
        self._tie_what_is_printed(matrix)
        for (first, second), value in self.correlations.items():
            if first not in names or second not in names or first == second:
                raise FitError(
                    f"a correlation of {first!r} with {second!r} cannot be used",
                    where=self.name,
                    code="fits.no-such-contributor",
                    remedy=f"Name two different ones of: {', '.join(names)}.",
                )
            i, j = names.index(first), names.index(second)
            matrix[i, j] = matrix[j, i] = value
        if np.linalg.eigvalsh(matrix)[0] < -1e-9:
            raise FitError(
                "these correlations cannot all hold at once",
                where=self.name,
                code="fits.correlations",
                remedy="Each lies from -1 to 1, and two lengths tied to a third are tied together.",
            )
        return matrix

    def _tie_what_is_printed(self, matrix: Array) -> None:
        """Enter what sizes of one print share of their printer; coats stay each one's own."""
        from fitkit.calibration.joint import joint

        left = [i for i, part in enumerate(self.contributors) if _asked(part) and part.u_mm > 0]
        while left:
            first = self.contributors[left[0]].size
            group = [i for i in left if _one_print(first, self.contributors[i].size)]
            left = [i for i in left if i not in group]
            if first is None or first.printer is None or len(group) < 2:
                continue
            asked = [one for i in group if (one := _asked(self.contributors[i]))]
            cov = joint(asked, first.printer.profile, learned=first.printer.learned).cov_mm2
            u_mm = np.array([self.contributors[i].u_mm for i in group])
            # A coat or a layer makes a size less sure than the printer's terms alone.
            own = np.maximum(u_mm, np.sqrt(np.diag(cov)))
            tied = cov / np.outer(own, own)
            np.fill_diagonal(tied, 1.0)
            matrix[np.ix_(group, group)] = tied

    @property
    def gap_mm(self) -> float:
        """Best value of the gap."""
        return sum(part.factor * part.value_mm for part in self.contributors)

    @property
    def u_mm(self) -> float:
        """Standard uncertainty of the gap: root-sum-square with correlations."""
        return math.sqrt(max(float(self._covariances().sum()), 0.0))

    @property
    def df(self) -> float:
        """Effective degrees of freedom of the gap (Welch and Satterthwaite, GUM G.4.1).

        Contributors that are tied together count as one, with the fewest degrees of freedom among
        them: the formula is for independent ones, and this is on the safe side.
        """
        covariances = self._covariances()
        tied = np.abs(covariances) > 0
        left = {i for i in range(len(tied)) if tied[i, i]}
        parts = []
        while left:
            group, grown = set[int](), {min(left)}
            while grown != group:
                group = grown
                grown = group | set(np.flatnonzero(tied[sorted(group)].any(axis=0)).tolist())
            variance = float(covariances[np.ix_(sorted(group), sorted(group))].sum())
            least = min(self.contributors[i].df for i in group)
            parts.append((math.sqrt(max(variance, 0.0)), least))
            left -= group
        return float(effective_df(*parts))

    @property
    def worst_case_mm(self) -> tuple[float, float]:
        """Least and greatest gap if all contributors are at their ends at once."""
        reach = sum(abs(part.factor) * part.half_width_mm for part in self.contributors)
        return self.gap_mm - reach, self.gap_mm + reach

    @property
    def root_sum_square_mm(self) -> tuple[float, float]:
        """Band of the gap for 95 %, as Student's t at its degrees of freedom."""
        reach, _ = expanded(self.u_mm, self.df)
        return self.gap_mm - reach, self.gap_mm + reach

    def shares(self) -> dict[str, float]:
        """Share of each contributor in the variance of the gap; they sum to 1.

        A share can be negative where a contributor offsets another that it is correlated with.
        """
        rows = self._covariances().sum(axis=1)
        total = float(rows.sum())
        return {
            part.name: float(row) / total if total else 0.0
            for part, row in zip(self.contributors, rows, strict=True)
        }

    def advice(self) -> str:
        """Say which contributor to know better, how, and what that would bring."""
        shares = self.shares()
        worst = max(self.contributors, key=lambda part: shares[part.name])
        if shares[worst.name] <= 0.0:
            return "no contributor has any spread, so there is nothing to know better"
        known = replace(worst, u_mm=0.0)
        rest = [known if part is worst else part for part in self.contributors]
        better = replace(self, contributors=tuple(rest))
        reach, less = (expanded(one.u_mm, one.df)[0] for one in (self, better))
        return (
            f"{worst.name} causes {100 * shares[worst.name]:.0f} % of the variance: "
            f"{_BETTER[worst.origin]}; were it known exactly, ± {reach:.2f} mm would "
            f"shrink to ± {less:.2f} mm (95 %)"
        )

    def _covariances(self) -> Array:
        spread = np.array([part.factor * part.u_mm for part in self.contributors])
        return np.asarray(self.correlation() * np.outer(spread, spread))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Span:
    """A length from one face to another, along the chain's positive direction.

    `part.opens` is ignored here: the walk from face to face finds the direction.
    """

    part: Contributor
    start: str
    end: str


def chain_between(
    name: str, start: str, end: str, spans: Sequence[Span], *, least_mm: float = 0.0
) -> Chain:
    """Find the chain from one face to another, each length's direction worked out on the way.

    Parameters
    ----------
    name : str
        Of the gap, which is the position of `end` less that of `start`.
    start, end : str
        Faces between which the gap lies.
    spans : sequence of Span
        Those that do not lie on the way are left out.
    least_mm : float, mm
        Of the chain: the gap must not be smaller.

    Returns
    -------
    Chain
        Its contributors stand in the order of the walk.

    Raises
    ------
    FitError
        If the faces are not joined, or a ring of lengths joins a face to itself.

    Examples
    --------
    >>> case = Contributor(name="case depth", value_mm=20.0, u_mm=0.05, opens=True)
    >>> board = Contributor(name="board", value_mm=19.6, u_mm=0.02, opens=True)
    >>> chain = chain_between("play", "board top", "rim",
    ...     [Span(part=case, start="floor", end="rim"),
    ...      Span(part=board, start="floor", end="board top")])
    >>> [(part.name, part.opens) for part in chain.contributors], round(chain.gap_mm, 3)
    ([('board', False), ('case depth', True)], 0.4)
    """
    _refuse_rings(name, spans)
    way = _walk(start, end, spans)
    if way is None:
        faces = sorted({face for span in spans for face in (span.start, span.end)})
        raise FitError(
            f"no lengths lead from {start!r} to {end!r}",
            where=name,
            code="fits.faces-not-joined",
            remedy=f"Check the faces' names: {', '.join(faces)}.",
        )
    parts = tuple(replace(span.part, opens=forward) for span, forward in way)
    return Chain(name=name, contributors=parts, least_mm=least_mm)


def _refuse_rings(name: str, spans: Iterable[Span]) -> None:
    """Join faces span by span; one that joins two faces already joined closes a ring."""
    joined: list[Span] = []
    for span in spans:
        way = [] if span.start == span.end else _walk(span.start, span.end, joined)
        if way is not None:
            ring = [span.part.name, *(other.part.name for other, _ in way)]
            raise FitError(
                f"the lengths {', '.join(ring)} form a ring: each depends on the others",
                where=name,
                code="fits.ring",
                remedy="Leave out the length that follows from the rest.",
            )
        joined.append(span)


def _walk(start: str, end: str, spans: Sequence[Span]) -> list[tuple[Span, bool]] | None:
    """Find the way from face to face through spans without rings, each forward or back."""
    ways: dict[str, list[tuple[Span, bool]]] = {start: []}
    faces = [start]
    while faces:
        face = faces.pop()
        for span in spans:
            for here, there, forward in (
                (span.start, span.end, True),
                (span.end, span.start, False),
            ):
                if here == face and there not in ways:
                    ways[there] = [*ways[face], (span, forward)]
                    faces.append(there)
    return ways.get(end)
