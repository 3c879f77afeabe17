"""Sizes that no jaw reads directly: centre distances of holes, walls, offsets of ports.

Each is arithmetic on estimates, so that readings and instrument inputs which they share stay
correlated. Which edges were taken is always said, never guessed.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import StatsError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.stats.uncertainty import Estimate

__all__ = ["Agreement", "Edges", "agreement", "centre_distance", "port_offset", "wall"]

Edges = Literal["far", "near", "left", "right", "same side", "zeroed on the hole"]
_ROUNDING_MM = 1e-9
_EDGES = ("far", "near", "left", "right", "same side", "zeroed on the hole")


def centre_distance(
    found: Mapping[str, Estimate],
    span: str,
    *,
    edges: Edges | None = None,
    holes: tuple[str, str] | str,
) -> Estimate:
    """Find the distance of two holes' centres from one span over their edges.

    Parameters
    ----------
    found : mapping of feature name to Estimate
    span : str
        Feature read over the edges.
    edges : {"far", "near", "left", "right", "same side", "zeroed on the hole"}
        Which edges the span is over. ``far``: mean diameter is taken off; ``near``: it is added;
        ``left``: from the left edge of the left hole to that of the other, half the difference of
        diameters (the right hole's less the left one's) is added; ``right``: it is taken off;
        ``same side``: left or right, for holes of one diameter; ``zeroed on the hole``: the display
        was set to zero at the diameter of the first hole named and far edges were read, so half the
        difference (the other's less that one's) is taken off.
    holes : two names, or one name for two holes of one feature
        Features with the diameters; for ``left`` and ``right`` the left hole first, for ``zeroed
        on the hole`` the one at which the display was set to zero.

    Returns
    -------
    Estimate
        Distance of the centres, with the edges in its name.

    Raises
    ------
    StatsError
        If it is not said which edges were taken, or a feature is missing; if ``same side`` is said
        of holes whose diameters differ by more than their uncertainty.
    """
    if edges not in _EDGES:
        raise StatsError(
            f"the edges over which {span!r} was read are not given",
            where="centre distance",
            code="stats.edges-not-said",
            remedy=f"Give edges as one of: {', '.join(_EDGES)}.",
        )
    first, second = (holes, holes) if isinstance(holes, str) else holes
    reading = _get(found, span)
    match edges:
        case "far":
            size = reading - (_get(found, first) + _get(found, second)) / 2
        case "near":
            size = reading + (_get(found, first) + _get(found, second)) / 2
        case "left" | "right" | "same side":
            wider = (_get(found, second) - _get(found, first)) / 2
            if edges == "same side" and abs(wider.value_mm) > max(wider.U95_mm, _ROUNDING_MM):
                raise StatsError(
                    f"{first!r} and {second!r} differ by {2 * abs(wider.value_mm):.2f} mm, so it "
                    "matters which sides were taken",
                    where="centre distance",
                    code="stats.side-not-said",
                    remedy="Give edges as 'left' or 'right', the left hole's name first.",
                )
            size = reading - wider if edges == "right" else reading + wider
        case _ if first == second:
            size = reading
        case _:
            size = reading - (_get(found, second) - _get(found, first)) / 2
    return size.named(f"centres by {span} ({edges})")


def wall(found: Mapping[str, Estimate], outside: str, inside: str) -> Estimate:
    """Find the thickness of each of two equal walls, from the size outside and inside.

    Parameters
    ----------
    found : mapping of feature name to Estimate
    outside, inside : str
        Features with the size over both walls and between them.

    Returns
    -------
    Estimate
        Half the difference; what both readings share, such as the zero error, cancels.
    """
    return ((_get(found, outside) - _get(found, inside)) / 2).named(f"wall of {outside}")


def port_offset(
    found: Mapping[str, Estimate], reading: str, width: str, *, edge: Literal["near", "far"]
) -> Estimate:
    """Find how far a port's middle is from the board's edge.

    Parameters
    ----------
    found : mapping of feature name to Estimate
    reading : str
        Feature read from the board's edge to an edge of the port.
    width : str
        Feature with the port's width.
    edge : {"near", "far"}
        Which edge of the port, seen from the board's edge.

    Returns
    -------
    Estimate
        Distance from the board's edge to the port's middle.

    Raises
    ------
    StatsError
        If it is not said which edge, or a feature is missing.
    """
    if edge not in ("near", "far"):
        raise StatsError(
            f"it is not said to which edge {reading!r} was read",
            where="port offset",
            code="stats.edge-not-said",
            remedy="Give edge as 'near' or 'far'.",
        )
    half = _get(found, width) / 2
    whole = _get(found, reading)
    return (whole + half if edge == "near" else whole - half).named(f"middle by {reading} ({edge})")


def _get(found: Mapping[str, Estimate], name: str) -> Estimate:
    try:
        return found[name]
    except KeyError:
        raise StatsError(
            f"there is no feature {name!r}",
            code="stats.no-such-feature",
            remedy=f"There are: {', '.join(found) or 'none'}.",
        ) from None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Agreement:
    """Whether several ways to one size agree within the uncertainty of their differences.

    Attributes
    ----------
    ways : tuple of Estimate
    best : Estimate
        The way of least uncertainty, with a note if the ways clash.
    difference_mm, U95_mm : float, mm
        Of the pair that clashes most; what they share cancels.
    agree : bool
    text : str
    """

    ways: tuple[Estimate, ...]
    best: Estimate
    difference_mm: float
    U95_mm: float
    agree: bool
    text: str


def agreement(ways: Sequence[Estimate], *, diameter: Estimate | None = None) -> Agreement:
    """Compare ways to one size, pair by pair.

    Parameters
    ----------
    ways : two or more Estimates
    diameter : Estimate, optional
        Of the holes; a clash by just that much is then explained.

    Returns
    -------
    Agreement
        The pair that clashes most, and the way of least uncertainty.

    Raises
    ------
    StatsError
        For fewer than two ways.
    """
    if len(ways) < 2:
        raise StatsError(
            "one way to a size cannot be compared",
            code="stats.too-few-ways",
            remedy="Give two or more.",
        )
    pairs = [(one, other, other - one) for one, other in combinations(ways, 2)]
    # An exact difference of two readings that share everything still has rounding.
    one, other, gap = max(pairs, key=lambda p: abs(p[2].value_mm) / max(p[2].U95_mm, 1e-9))
    agree = abs(gap.value_mm) <= max(gap.U95_mm, 1e-9)
    text = (
        f"{one.name} and {other.name} differ by {gap.value_mm:+.3f} mm, "
        f"{'within' if agree else 'outside'} ± {gap.U95_mm:.3f} mm (95 %)"
    )
    if not agree and diameter is not None:
        off = abs(abs(gap.value_mm) - diameter.value_mm)
        if off <= gap.U95_mm + diameter.U95_mm:
            text += (
                f"; that is one hole diameter ({diameter.value_mm:.2f} mm): was one reading "
                "zeroed on the hole, or taken over other edges than said?"
            )
    best = min(ways, key=lambda way: way.u_mm)
    return Agreement(
        ways=tuple(ways),
        best=best if agree else best.named(best.name, text),
        difference_mm=gap.value_mm,
        U95_mm=gap.U95_mm,
        agree=agree,
        text=text,
    )
