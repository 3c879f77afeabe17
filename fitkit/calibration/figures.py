"""Figures of a fit: residuals, how each kind errs with its band, and parts with and without.

Each function gives a matplotlib `Figure` and keeps no state; kinds are told apart by marker as
well as by colour.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from fitkit.core.expanded import expanded
from fitkit.core.sizes import kind_of, kinds as every_kind

if TYPE_CHECKING:
    from collections.abc import Mapping

    from matplotlib.figure import Figure
    from numpy.typing import ArrayLike

    from fitkit.calibration.fit import CouponFit
    from fitkit.calibration.profile import PrinterProfile

__all__ = ["deviation_figure", "errors_figure", "residual_figure"]

# Marker and colour of each kind, in the order of the kinds; more kinds than these begin again.
_MARKS = (
    ("o", "#0072b2"),
    ("^", "#d55e00"),
    ("v", "#e69f00"),
    ("D", "#cc79a7"),
    ("s", "#56b4e9"),
    ("X", "#000000"),
    ("P", "#009e73"),
)


def _mark(kind: str) -> tuple[str, str]:
    """Marker and colour of a kind."""
    return _MARKS[every_kind().index(kind_of(kind)) % len(_MARKS)]


def residual_figure(fit: CouponFit) -> Figure:
    """Residuals over the drawn size, each with the 95 % band expected of it."""
    from matplotlib.figure import Figure

    table = fit.table()
    figure = Figure(figsize=(7.5, 4.2), layout="constrained")
    axes = figure.subplots()
    for kind, rows in table.groupby("kind", sort=False):
        mark, colour = _mark(str(kind))
        axes.errorbar(
            rows["drawn_mm"],
            rows["residual_mm"],
            yerr=expanded(rows["u_mm"].to_numpy(float))[0],
            fmt=mark,
            color=colour,
            markersize=5,
            linewidth=0.7,
            label=str(kind).replace("_", " "),
        )
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_xscale("log")
    axes.set_xlabel("drawn size, mm")
    axes.set_ylabel("printed less fitted, mm")
    axes.set_title(f"{fit.profile.name}: residuals with the band expected, 95 %")
    axes.legend(fontsize=8, ncols=4)
    return figure


def deviation_figure(
    profile: PrinterProfile, *, kinds: tuple[str, ...] = ("outside", "inside", "hole")
) -> Figure:
    """How much each kind comes out off its drawn size, with the 95 % band of a new print.

    Parameters
    ----------
    profile : PrinterProfile
    kinds : tuple of str
        Kinds of size to show, each over the sizes that were read, or 2 to 100 mm if none was.

    Returns
    -------
    Figure
        Drawn size on a logarithmic axis, printed less drawn in mm; a marker and a colour a kind.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.5, 4.2), layout="constrained")
    axes = figure.subplots()
    for kind in kinds:
        low, high = profile.measured(kind) or (2.0, 100.0)
        sizes = np.geomspace(low, high, 80)
        mean, _ = profile.predict(sizes, kind=kind)
        half = profile.U95(sizes, kind=kind)
        mark, colour = _mark(kind)
        axes.plot(
            sizes,
            mean - sizes,
            color=colour,
            marker=mark,
            markevery=16,
            label=kind.replace("_", " "),
        )
        axes.fill_between(sizes, mean - sizes - half, mean - sizes + half, color=colour, alpha=0.15)
    axes.axhline(0.0, color="black", linewidth=0.8)
    axes.set_xscale("log")
    axes.set_xlabel("drawn size, mm")
    axes.set_ylabel("printed less drawn, mm")
    axes.set_title(f"{profile.basis}: what comes out, 95 %")
    axes.legend(fontsize=8)
    return figure


def errors_figure(errors_mm: Mapping[str, ArrayLike]) -> Figure:
    """Errors of parts by way of drawing, side by side, each with its root mean square.

    Parameters
    ----------
    errors_mm : mapping of name to array, mm
        Printed less wanted: ``as drawn``, ``one scale``, ``compensated``.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.5, 3.6), layout="constrained")
    axes = figure.subplots()
    names = list(errors_mm)
    found = [np.asarray(errors_mm[name], dtype=float) for name in names]
    axes.boxplot(found, orientation="horizontal", whis=(2.5, 97.5), showfliers=False)
    labels = [
        f"{name}\nrms {float(np.sqrt(np.mean(error**2))):.3f} mm"
        for name, error in zip(names, found, strict=True)
    ]
    axes.set_yticks(range(1, len(names) + 1), labels)
    axes.axvline(0.0, color="black", linewidth=0.8)
    axes.set_xlabel("printed less wanted, mm (box: half of all; whiskers: 95 %)")
    return figure
