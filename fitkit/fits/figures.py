"""Pictures of fits: verdicts against gap, a chain as a waterfall, gaps beside ISO zones.

Each function returns a matplotlib `Figure` of its own, made without pyplot, so that notebooks and
sheets show the same picture and none lingers. Colours are those of Okabe and Ito (2008), which the
colour-blind can part; each series also has its own line, hatch or marker, and words beside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.chances import say_chance
from fitkit.core.expanded import expanded
from fitkit.core.units import Quantity
from fitkit.fits.iso286 import PREFERRED_FITS, standard_fit
from fitkit.fits.trial import AS_WANTED, VERDICT_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from fitkit.fits.chain import Chain
    from fitkit.fits.chain_sample import ChainSample
    from fitkit.fits.choose import GapChoice
    from fitkit.fits.verdicts import VerdictModel

__all__ = ["chain_figure", "iso_figure", "sample_figure", "verdict_figure"]

_ORANGE, _GREEN, _SKY, _RED, _BLACK = (
    "#E69F00",
    "#009E73",
    "#56B4E9",
    "#D55E00",
    "#000000",
)


def verdict_figure(
    model: VerdictModel, *, u_gap_mm: float = 0.0, next_gaps_mm: Sequence[float] = ()
) -> Figure:
    """Draw the chance of each verdict against gap, with the trials as points.

    Parameters
    ----------
    model : VerdictModel
    u_gap_mm : float, mm
        Standard uncertainty with which a print keeps a gap.
    next_gaps_mm : sequence of float, mm
        Gaps of the next ladder, marked on the axis.

    Returns
    -------
    matplotlib.figure.Figure
        Trials of sizes within a quarter of the model's are shown as points above the curves.
    """
    own = [t for t in model.trials if (t.pair, t.behaviour) == (model.pair, model.behaviour)]
    own = [t for t in own if 0.8 <= t.size_mm / model.size_mm <= 1.25]
    count = f"{len(own)} trials as points" if own else "no trials of this fit yet"
    figure, axes = _figure(
        7.0, 4.2, f"{model.pair}, {model.behaviour}, {model.size_mm:g} mm: {count}"
    )
    low, high = model.wanted_band_mm
    shown = [low - 0.15, high + 0.15, *next_gaps_mm, *(t.gap_mm for t in own)]
    gaps = np.linspace(min(shown), max(shown), 241)
    chances = model.p_verdict(gaps, u_gap_mm=u_gap_mm)
    for at_row, (kind, chance) in enumerate(zip(VERDICT_KINDS, chances.T, strict=True)):
        verdict, (colour, line, marker) = kind.word, kind.look
        wide = 2.4 if kind.fitted else 1.4
        axes.plot(gaps, chance, color=colour, linestyle=line, linewidth=wide, label=verdict)
        at = [t for t in own if t.verdict == verdict]
        if at:
            axes.errorbar(
                [t.gap_mm for t in at],
                [1.06 + 0.035 * at_row] * len(at),
                xerr=[t.u_gap_mm for t in at],
                color=colour,
                marker=marker,
                linestyle="none",
                elinewidth=0.8,
            )
    best, chance = model.best_gap_mm(u_gap_mm=u_gap_mm)
    best_low, best_high = model.best_gap_band_mm(0.9)
    axes.axvspan(best_low, best_high, color="0.92", zorder=0, label="best gap, 90 %")
    _line_at(axes, best)
    axes.text(best, chance + 0.02, f" {best:.2f} mm: {say_chance(chance)} {AS_WANTED}", fontsize=8)
    if len(next_gaps_mm):
        axes.plot(
            next_gaps_mm,
            [0.03] * len(next_gaps_mm),
            color=_BLACK,
            marker="D",
            markersize=5,
            linestyle="none",
            label="print next",
        )
    axes.set_ylim(0.0, 1.25 if own else 1.02)
    axes.set_yticks(np.linspace(0.0, 1.0, 6))
    axes.set_xlabel("gap as printed, on the full size (mm)")
    axes.set_ylabel("chance of the verdict")
    _legend(axes, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure


def chain_figure(chain: Chain) -> Figure:
    """Draw a chain as a horizontal waterfall: each length adds to or takes from the gap."""
    count = len(chain.contributors)
    figure, axes = _figure(7.5, 3.1 + 0.38 * count, f"tolerance chain: {chain.name}", below_in=1.1)
    shares, at, names = chain.shares(), 0.0, []
    for row, part in enumerate(chain.contributors):
        step = part.factor * part.value_mm
        colour, hatch = (_SKY, "") if part.opens else (_ORANGE, "//")
        _bar(axes, row, at, at + step, colour, hatch)
        at += step
        axes.vlines(at, row - 0.3, row + 1.3, color="0.3", linewidth=0.8)
        names.append(
            f"{part.name}  {step:+.2f} ± {expanded(part.times * part.u_mm, part.df)[0]:.2f} mm "
            f"({100 * shares[part.name]:.0f} % of variance)"
        )
    low, high = chain.root_sum_square_mm
    _bar(axes, count, 0.0, chain.gap_mm, _GREEN, "xx")
    names.append(f"{chain.name}  {chain.gap_mm:.2f} mm, {low:.2f} to {high:.2f} mm (95 %)")
    _line_at(axes, 0.0)
    _rows(axes, names)
    axes.set_xlabel("along the chain (mm); hatched: closes the gap")
    _gap_alone(figure, chain)
    return figure


def _gap_alone(figure: Figure, chain: Chain) -> None:
    """Draw the gap on a scale of its own: beside lengths of 70 mm, 0.2 mm cannot be seen."""
    below = figure.axes[1]
    below.spines[["top", "right"]].set_visible(False)
    low, high = chain.root_sum_square_mm
    _bar(below, 0, 0.0, chain.gap_mm, _GREEN, "xx")
    below.errorbar(
        chain.gap_mm,
        0,
        xerr=[[chain.gap_mm - low], [high - chain.gap_mm]],
        color=_BLACK,
        capsize=4,
    )
    for limit in (chain.least_mm, chain.most_mm):
        if limit is not None:
            _line_at(below, limit, wide=1.2)
    below.set_yticks([0], ["the gap alone"], fontsize=8)
    below.set_xlabel("gap (mm); thick lines: its limits; bar: 95 %")


def iso_figure(choices: Iterable[GapChoice], *, size_mm: float) -> Figure:
    """Draw the bands of chosen gaps beside the clearances of standard fits at the same size.

    Parameters
    ----------
    choices : iterable of GapChoice
        Each becomes one row, on top and hatched.
    size_mm : float, mm
        Nominal size of the standard fits, over 0 and to 500 mm.

    Returns
    -------
    matplotlib.figure.Figure
    """
    rows = [(f"{c.pair}, {c.behaviour}", c.low_mm, c.high_mm, c.gap_mm) for c in choices]
    own = len(rows)
    for name, words in PREFERRED_FITS.items():
        fit = standard_fit(name, Quantity(size_mm, "mm"))
        low, high = fit.least_clearance_mm, fit.greatest_clearance_mm
        rows.append((f"{name} {words}", low, high, 0.5 * (low + high)))
    title = f"{size_mm:g} mm: printed gaps (hatched) beside ISO 286 fits of machined parts"
    figure, axes = _figure(7.5, 1.4 + 0.3 * len(rows), title)
    for row, (_, low, high, middle) in enumerate(rows):
        printed = row < own
        colour, hatch = (_GREEN, "//") if printed else ("0.8", "")
        _bar(axes, row, low, high, colour, hatch)
        axes.plot(middle, row, color=_BLACK, marker="D" if printed else "|", markersize=5)
    _line_at(axes, 0.0)
    _rows(axes, [row[0] for row in rows])
    axes.set_xlabel("clearance (mm); left of 0 is interference")
    return figure


def sample_figure(sample: ChainSample) -> Figure:
    """Draw the drawn gaps of a chain as a histogram, what lies outside its limits hatched."""
    chain, gaps = sample.chain, sample.gaps_mm
    words = f"{say_chance(sample.p_interference)} too tight"
    if sample.p_too_wide is not None:
        words += f", {say_chance(sample.p_too_wide)} too wide"
    figure, axes = _figure(7.0, 3.4, f"{chain.name}: {words}")
    counts, edges = np.histogram(gaps, bins=80)
    middle, width = 0.5 * (edges[:-1] + edges[1:]), edges[1] - edges[0]
    outside = middle < chain.least_mm
    if chain.most_mm is not None:
        outside |= middle > chain.most_mm
    share = counts / len(gaps)
    axes.bar(middle[~outside], share[~outside], width, color=_SKY, label="within limits")
    if outside.any():
        axes.bar(
            middle[outside],
            share[outside],
            width,
            color=_RED,
            hatch="//",
            edgecolor="0.3",
            linewidth=0.3,
            label="outside",
        )
    for edge in sample.band_mm():
        _line_at(axes, edge, style="--")
    for limit in (chain.least_mm, chain.most_mm):
        if limit is not None:
            _line_at(axes, limit, wide=1.2)
    axes.set_xlabel("gap (mm); solid: limits, dashed: 95 % of the gaps")
    axes.set_ylabel("share of the draws")
    _legend(axes, loc="center left", bbox_to_anchor=(1.0, 0.5))
    return figure


def _figure(
    width_in: float, height_in: float, title: str, *, below_in: float = 0.0
) -> tuple[Figure, Axes]:
    """Make a figure with its axes, and with others of `below_in` under them."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, height_in), layout="constrained")
    heights = [height_in - below_in, below_in] if below_in else [height_in]
    axes = figure.subplots(len(heights), height_ratios=heights, squeeze=False)[0, 0]
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_title(title, fontsize=10)
    return figure, axes


def _bar(axes: Axes, row: int, start: float, end: float, colour: str, hatch: str) -> None:
    axes.barh(
        row,
        end - start,
        left=start,
        height=0.6,
        color=colour,
        hatch=hatch,
        edgecolor="0.3",
        linewidth=0.6,
    )


def _line_at(axes: Axes, x: float, *, style: str = "-", wide: float = 0.8) -> None:
    axes.axvline(x, color=_BLACK, linestyle=style, linewidth=wide)


def _rows(axes: Axes, names: Sequence[str]) -> None:
    """Name the rows, the first on top."""
    axes.set_yticks(range(len(names)), names, fontsize=8)
    axes.invert_yaxis()


def _legend(axes: Axes, **where: Any) -> None:
    axes.legend(fontsize=8, frameon=False, **where)
