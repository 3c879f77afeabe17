"""PrinterProfile: what one printer, with one material and one setting, does to drawn sizes.

The coefficients, their covariance and the print-to-print spread predict a printed size and its
standard uncertainty. What is uncertain has two parts with degrees of freedom of their own: the
fit within prints, and the spread between prints, which also moves each print still to come.

Model: `fitkit.calibration.model`. Interval: GUM (JCGM 100:2008) G.4, Welch and Satterthwaite.
Left out: settings that the readings cannot show (slicer, temperatures, speed), beyond the words
in the provenance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.model import TERMS, curve, design, print_loads
from fitkit.core.expanded import effective_df, expanded
from fitkit.core.format import with_doubt
from fitkit.core.sizes import kind_of, kinds

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import ArrayLike, NDArray

    from fitkit.calibration.model import Term
    from fitkit.core.sizes import Axis, SizeKind

__all__ = ["PrinterProfile", "Provenance", "Spread"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How prints differ from each other, and features within a print, as standard deviations.

    Attributes
    ----------
    print_width_mm : float, mm
        Of the line width from print to print; outsides grow by it, insides close by it.
    print_scale : float
        Of the scale from print to print, as a fraction.
    print_df : float
        Degrees of freedom of the two above.
    feature_mm : float, mm
        Of features of one print about the model, reading noise taken off.
    prints : int
        Number of prints that the coefficients rest on; 0 for a generic profile.
    """

    print_width_mm: float
    print_scale: float
    print_df: float
    feature_mm: float
    prints: int

    def sd_of(self, term: Term) -> float:
        """Standard deviation of a term from print to print, in its own unit; 0 if it stays."""
        return {"": 0.0, "width": self.print_width_mm, "scale": self.print_scale}[term.varies]


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Where a profile comes from, in plain words and hashes.

    Attributes
    ----------
    readings : tuple of str
        Files or tables that the fit read, each with its hash.
    made_on : str
        Date of the prints that it rests on, or of their readings, ISO 8601.
    method : str
        How the coefficients were found.
    model : str
        The terms that the data kept, and those left out.
    features, readings_count : int
        Features and single readings used.
    instruments : tuple of str
        What the readings were taken with: the corrections made, and the file that gives them.
        Empty in profiles that were fitted before this was written down.
    nozzle, spool, orientation : str
        As the maker noted them; a change of nozzle or spool ages the profile.
    borrowed : tuple of str
        Terms that the coupon did not measure and that are taken from the generic profile.
    verdict : str
        What the fit can tell, in one or two plain sentences.
    notes : tuple of str
        Doubts and decisions.
    aged : tuple of str
        Those of the notes that say why the profile may no longer hold; they are repeated beside
        every size that is drawn by it.
    """

    readings: tuple[str, ...] = ()
    made_on: str = ""
    method: str = ""
    model: str = ""
    features: int = 0
    readings_count: int = 0
    instruments: tuple[str, ...] = ()
    nozzle: str = ""
    spool: str = ""
    orientation: str = ""
    borrowed: tuple[str, ...] = ()
    verdict: str = ""
    notes: tuple[str, ...] = ()
    aged: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrinterProfile:
    """What a printer does to drawn sizes, as named terms with covariance.

    Attributes
    ----------
    name : str
        Short name, such as ``bench-petg``.
    printer, material : str
    layer_height_mm, first_layer_mm, nozzle_mm : float, mm
    bed_mm : 3 floats, mm
        Room to print in, along x, y, z.
    generic : bool
        True if no coupon of this printer stands behind it.
    terms : tuple of str, length k
        Names of the coefficients, from `model.TERMS`.
    coef : array of shape (k,)
    cov : array of shape (k, k)
        Of the coefficients, from the scatter within prints alone.
    df : float
        Degrees of freedom of `cov`.
    spread : Spread
        From print to print and from feature to feature.
    valid_mm : mapping of kind to (low, high), mm
        Drawn sizes that the coupon had; a kind that is absent was not measured.
    provenance : Provenance
    """

    name: str
    printer: str
    material: str
    layer_height_mm: float
    first_layer_mm: float
    nozzle_mm: float
    bed_mm: tuple[float, float, float]
    generic: bool
    terms: tuple[str, ...]
    coef: NDArray[np.float64]
    cov: NDArray[np.float64]
    df: float
    spread: Spread
    valid_mm: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    provenance: Provenance = field(default_factory=Provenance)

    def predict(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy"
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Foretell the printed size of features of a print still to come.

        Parameters
        ----------
        drawn_mm : array of shape (...), mm
        kind, axis
            See `model.loads`.

        Returns
        -------
        printed_mm, u_mm : arrays of shape (...), mm
            Expected size, and its standard uncertainty: model, print to print, and feature.
        """
        drawn = np.asarray(drawn_mm, dtype=float)
        within, between = self._variances(drawn, kind, axis)
        a, b, c = self.curve(kind, axis)
        return a * drawn + b + c / drawn, np.sqrt(within + between)

    def fitted(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy"
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Give the mean over many prints and features, and its standard uncertainty, in mm."""
        drawn = np.asarray(drawn_mm, dtype=float)
        model, between = self._mean_variances(drawn, kind, axis)
        a, b, c = self.curve(kind, axis)
        return a * drawn + b + c / drawn, np.sqrt(model + between)

    def effective_df(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy", mean: bool = False
    ) -> NDArray[np.float64]:
        """Degrees of freedom of a prediction (of the mean over prints if `mean`), GUM G.4."""
        drawn = np.asarray(drawn_mm, dtype=float)
        parts = self._mean_variances if mean else self._variances
        return self._df_of(*parts(drawn, kind, axis))

    def U95(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy", mean: bool = False
    ) -> NDArray[np.float64]:
        """Half width of the 95 % interval of a prediction, mm."""
        _, u = (self.fitted if mean else self.predict)(drawn_mm, kind=kind, axis=axis)
        df = self.effective_df(drawn_mm, kind=kind, axis=axis, mean=mean)
        return np.asarray(expanded(u, df)[0])

    def curve(self, kind: str, axis: Axis = "xy") -> tuple[float, float, float]:
        """Coefficients a, b, c of the printed size ``a*n + b + c/n``, mm."""
        return curve(self.terms, self.coef, self.stand_in(kind), axis)

    def stand_in(self, kind: str) -> SizeKind:
        """Give the kind whose terms serve: lying holes that nobody measured follow upright ones."""
        known = kind_of(kind)
        if known.stand_in and not self.generic and known not in self.valid_mm:
            return kind_of(known.stand_in)
        return known

    def value(self, term: str) -> tuple[float, float]:
        """Give one coefficient and its standard uncertainty, print to print counted."""
        at = self.terms.index(term)
        return float(self.coef[at]), math.sqrt(sum(self._term_variances(term)))

    def value95(self, term: str) -> tuple[float, float]:
        """Give one coefficient and the half width of its 95 % interval, in the term's unit."""
        value, u = self.value(term)
        within, between = self._term_variances(term)
        return value, expanded(u, float(self._df_of(within, between)))[0]

    def summary(self) -> str:
        """Say in plain lines what the printer does."""
        head = f"{self.name}: {self.printer}, {self.material}, {self.basis}"
        lines = [
            f"  {says}: {number}{note and f' ({note})'}" for says, number, note in self._rows()
        ]
        return "\n".join([head, *lines, self.provenance.verdict]).rstrip()

    def _rows(self) -> Iterator[tuple[str, str, str]]:
        """What a term says, its value with its interval, and whether it was measured."""
        for term in self.terms:
            value, U = self.value95(term)
            meaning = TERMS[term]
            if meaning.unit == "mm/mm":
                number = with_doubt(100 * value, 100 * U, "%", sign=True)
            else:
                number = with_doubt(value, U, meaning.unit, sign=True)
            lent = self.generic or term in self.provenance.borrowed
            instead = [
                kind.stand_in_says
                for kind in kinds()
                if term in kind.own_terms and self.stand_in(kind) != kind
            ]
            if instead:
                yield meaning.says, instead[0], "not measured"
            else:
                yield meaning.says, f"{number} (95 %)", "generic" if lent else ""

    def _repr_html_(self) -> str:
        from html import escape

        rows = "".join(
            f'<tr><th scope="row">{escape(says)}</th><td>{escape(number)}</td>'
            f"<td>{escape(note or 'measured')}</td></tr>"
            for says, number, note in self._rows()
        )
        notes = "".join(f"<li>{escape(note)}</li>" for note in self.provenance.notes)
        return (
            f"<table><caption>{escape(self.name)}: {escape(self.printer)}, "
            f"{escape(self.material)}, {escape(self.basis)}</caption>"
            '<thead><tr><th scope="col">what it does</th><th scope="col">by</th>'
            f'<th scope="col">basis</th></tr></thead><tbody>{rows}</tbody></table>'
            f"<p>{escape(self.provenance.verdict)}</p><ul>{notes}</ul>"
        )

    @property
    def basis(self) -> str:
        """What predictions rest on, for results and sheets."""
        if self.generic:
            return f"generic profile for {self.material}: no coupon of this printer"
        prints = self.spread.prints
        return f"profile {self.name}, {prints} print{'s' if prints != 1 else ''}"

    def __repr__(self) -> str:
        """One cheap line."""
        return f"PrinterProfile({self.name!r}, {self.basis})"

    def _term_variances(self, term: str) -> tuple[float, float]:
        """Variance of one coefficient from the fit within prints, and from print to print."""
        at = self.terms.index(term)
        between = 0.0
        if self.spread.prints:
            between = self.spread.sd_of(TERMS[term]) ** 2 / self.spread.prints
        return float(self.cov[at, at]), between

    def _df_of(self, within: ArrayLike, between: ArrayLike) -> NDArray[np.float64]:
        """Degrees of freedom of both variances together."""
        return effective_df((np.sqrt(within), self.df), (np.sqrt(between), self.spread.print_df))

    def _mean_variances(
        self, drawn: NDArray[np.float64], kind: str, axis: Axis
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        rows = design(self.terms, drawn, self.stand_in(kind), axis)
        model = np.einsum("...i,ij,...j->...", rows, self.cov, rows)
        between = self._print_variance(drawn, kind, axis) / max(self.spread.prints, 1)
        # A generic profile's ranges span printers already.
        return model, between if self.spread.prints else 0.0 * between

    def _variances(
        self, drawn: NDArray[np.float64], kind: str, axis: Axis
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        model, mean = self._mean_variances(drawn, kind, axis)
        return model + self.spread.feature_mm**2, mean + self._print_variance(drawn, kind, axis)

    def _print_variance(
        self, drawn: NDArray[np.float64], kind: str, axis: Axis
    ) -> NDArray[np.float64]:
        width, scale = print_loads(drawn, kind, axis)
        spread = self.spread
        return np.asarray((width * spread.print_width_mm) ** 2 + (scale * spread.print_scale) ** 2)
