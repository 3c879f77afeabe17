"""PrinterProfile: what one printer, with one material and one setting, does to drawn sizes.

A profile keeps what was known before any print (`prior`) and the readings themselves (`evidence`).
Everything else follows from the one update in `posterior`: the printer's terms, the size to expect
of a print still to come, and its ±, which owns the doubt about the terms, what no term holds, and
how prints and features differ.

Left out: settings that the readings cannot show (slicer, temperatures, speed), beyond the words
in the provenance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import numpy as np

from fitkit.calibration.effects import SizeAt, Sizes, Source
from fitkit.calibration.model import TERMS, curve
from fitkit.calibration.posterior import NOBODYS, PECULIAR_MM, PRINT_SD, SCATTER_MM, Evidence, learn
from fitkit.core.expanded import expanded
from fitkit.core.format import with_doubt
from fitkit.core.sizes import kind_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from numpy.typing import ArrayLike, NDArray

    from fitkit.calibration.posterior import Foreseen, Knowledge
    from fitkit.calibration.prior import Prior
    from fitkit.core.sizes import Axis

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
    print_height_mm, print_flare_mm : float, mm
        Of the first layer's height from print to print, and of its flare.
    feature_mm : float, mm
        Of features of one print about the model, reading noise taken off.
    """

    print_width_mm: float
    print_scale: float
    print_height_mm: float
    print_flare_mm: float
    feature_mm: float


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
        What the terms rest on.
    features, readings_count : int
        Features and single readings used.
    instruments : tuple of str
        What the readings were taken with: the corrections made, and the file that gives them.
        Empty in profiles that were fitted before this was written down.
    nozzle, spool, orientation : str
        As the maker noted them; a change of nozzle or spool ages the profile.
    borrowed : tuple of str
        Terms that no reading acts on, so that they are what other printers teach.
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
    """What a printer does to drawn sizes.

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
    prior : Prior
        What was known before any reading.
    evidence : Evidence or None
        The readings.
    prints : int
        Number of coupons that were read; 0 for a generic profile.
    now : Source
        The printer with nozzle and spool as they are now. Where that is not what the readings were
        made with, they tell less, and every ± is wider.
    valid_mm : mapping of kind to (low, high), mm
        Drawn sizes that were read; a kind that is absent was not measured.
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
    prior: Prior
    evidence: Evidence | None = None
    prints: int = 0
    now: Source = NOBODYS
    valid_mm: Mapping[str, tuple[float, float]] = field(
        default_factory=lambda: MappingProxyType({})
    )
    provenance: Provenance = field(default_factory=Provenance)
    # Worked out on first use and kept: what follows from prior and evidence.
    _kept: dict[str, Any] = field(default_factory=dict, init=False, repr=False)

    @property
    def known(self) -> Knowledge:
        """What prior and readings tell together."""
        if "known" not in self._kept:
            self._kept["known"] = learn(self.prior, self.evidence)
        found: Knowledge = self._kept["known"]
        return found

    def with_evidence(self, *more: Evidence) -> PrinterProfile:
        """Give the profile with further readings."""
        parts = [part for part in (self.evidence, *more) if part is not None]
        return replace(self, evidence=Evidence.joined(parts) if parts else None)

    def sizes(self, sizes: Iterable[SizeAt], *, source: Source | None = None) -> Sizes:
        """Lay out sizes of this printer.

        Parameters
        ----------
        sizes : iterable of SizeAt
        source : Source, optional
            What they were printed with; the printer as it is now if None.

        Returns
        -------
        Sizes
        """
        return Sizes.of(replace(size, source=source or self.now) for size in sizes)

    def expect(self, sizes: Iterable[SizeAt], *, lasting: bool = False) -> Foreseen:
        """Predict sizes of one print still to come, all together, so that gaps are differences.

        Parameters
        ----------
        sizes : iterable of SizeAt
        lasting : bool
            Predict means over many prints and features instead.

        Returns
        -------
        Foreseen
            Means, joint covariance and U95, in mm, in the order of `sizes`.
        """
        return self.known.predict(self.sizes(sizes), lasting=lasting)

    def predict(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy"
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Predict the printed size of features of a print still to come.

        Parameters
        ----------
        drawn_mm : array of shape (...), mm
        kind, axis
            See `model.loads`. A pocket's walls are taken to be as long as the pocket is wide.

        Returns
        -------
        printed_mm, u_mm : arrays of shape (...), mm
            Expected size, and its standard uncertainty.
        """
        found = self._at(drawn_mm, kind, axis)
        shape: tuple[int, ...] = np.shape(drawn_mm)
        return found.mean_mm.reshape(shape), found.u_mm.reshape(shape)

    def fitted(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy"
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Give the mean over many prints and features.

        Parameters
        ----------
        drawn_mm, kind, axis
            As in `predict`.

        Returns
        -------
        mean_mm, u_mm : arrays of shape (...), mm
            The mean size and its standard uncertainty, without what prints and features scatter.
        """
        found = self._at(drawn_mm, kind, axis, lasting=True)
        shape: tuple[int, ...] = np.shape(drawn_mm)
        return found.mean_mm.reshape(shape), found.u_mm.reshape(shape)

    def effective_df(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy"
    ) -> NDArray[np.float64]:
        """Degrees of freedom of a prediction: those at which Student's t has the same U95.

        Parameters
        ----------
        drawn_mm, kind, axis
            As in `predict`.

        Returns
        -------
        array of shape (...)
            Infinite where the prediction is normal.
        """
        shape: tuple[int, ...] = np.shape(drawn_mm)
        return self._at(drawn_mm, kind, axis).df.reshape(shape)

    def U95(
        self, drawn_mm: ArrayLike, *, kind: str, axis: Axis = "xy", mean: bool = False
    ) -> NDArray[np.float64]:
        """Half width of the 95 % interval of a prediction.

        Parameters
        ----------
        drawn_mm, kind, axis
            As in `predict`.
        mean : bool
            Of the mean over many prints and features, as `fitted` gives it, instead of one print.

        Returns
        -------
        array of shape (...), mm
        """
        shape: tuple[int, ...] = np.shape(drawn_mm)
        return self._at(drawn_mm, kind, axis, lasting=mean).U95_mm.reshape(shape)

    def curve(self, kind: str, axis: Axis = "xy") -> tuple[float, float, float]:
        """Coefficients of the printed size ``a*n + b + c/n`` by the terms alone.

        Parameters
        ----------
        kind, axis
            As in `predict`.

        Returns
        -------
        a, b, c : float
            Without unit, mm, and mm². What the readings show beyond the terms is not in them.
        """
        return curve(self.terms, self.coef, kind, axis)

    def measured(self, kind: str) -> tuple[float, float] | None:
        """Give the drawn sizes of a kind that were read, mm; None if none was."""
        known = kind_of(kind)
        return self.valid_mm.get(known) or self.valid_mm.get(known.range_of)

    @property
    def terms(self) -> tuple[str, ...]:
        """Names of the coefficients."""
        return tuple(TERMS)

    @property
    def coef(self) -> NDArray[np.float64]:
        """Expected coefficients, shape (k,)."""
        return self._fitted_terms[0]

    @property
    def cov(self) -> NDArray[np.float64]:
        """Covariance of the coefficients, shape (k, k)."""
        return self._fitted_terms[1]

    @property
    def _fitted_terms(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        if "terms" not in self._kept:
            self._kept["terms"] = self.known.terms(self.now)
        found: tuple[NDArray[np.float64], NDArray[np.float64]] = self._kept["terms"]
        return found

    @property
    def spread(self) -> Spread:
        """How prints and features differ, as far as the readings tell."""
        known = self.known
        factor = math.sqrt(float(known.weights @ known.between))
        width, scale, height, flare = (factor * sd for sd in PRINT_SD)
        return Spread(
            print_width_mm=width,
            print_scale=scale,
            print_height_mm=height,
            print_flare_mm=flare,
            feature_mm=math.sqrt(float(known.weights @ known.scatter))
            * math.hypot(PECULIAR_MM, SCATTER_MM),
        )

    def value(self, term: str) -> tuple[float, float]:
        """Give one coefficient and its standard uncertainty."""
        at = self.terms.index(term)
        return float(self.coef[at]), math.sqrt(self.cov[at, at])

    def value95(self, term: str) -> tuple[float, float]:
        """Give one coefficient and the half width of its 95 % interval, in the term's unit."""
        value, u = self.value(term)
        return value, expanded(u)[0]

    def summary(self) -> str:
        """Say in plain lines what the printer does."""
        head = f"{self.name}: {self.printer}, {self.material}, {self.basis}"
        lines = [
            f"  {says}: {number}{note and f' ({note})'}" for says, number, note in self._rows()
        ]
        return "\n".join([head, *lines, self.provenance.verdict]).rstrip()

    def _rows(self) -> Iterator[tuple[str, str, str]]:
        """What a term says, its value with its interval, and whether it was measured."""
        coef, cov = self._fitted_terms
        for term, value, var in zip(self.terms, coef, np.diag(cov), strict=True):
            meaning, U = TERMS[term], expanded(math.sqrt(var))[0]
            if meaning.unit == "mm/mm":
                number = with_doubt(100 * value, 100 * U, "%", sign=True)
            else:
                number = with_doubt(value, U, meaning.unit, sign=True)
            assumed = self.generic or term in self.provenance.borrowed
            yield meaning.says, f"{number} (95 %)", "as other printers do" if assumed else ""

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
        return f"profile {self.name}, {self.prints} print{'s' if self.prints != 1 else ''}"

    def __repr__(self) -> str:
        """One cheap line."""
        return f"PrinterProfile({self.name!r}, {self.basis})"

    def _at(self, drawn_mm: ArrayLike, kind: str, axis: Axis, *, lasting: bool = False) -> Foreseen:
        closed = kind_of(kind).closed
        return self.expect(
            (
                SizeAt(kind=kind, axis=axis, drawn_mm=float(n), wall_mm=float(n) if closed else 0.0)
                for n in np.ravel(np.asarray(drawn_mm, dtype=float))
            ),
            lasting=lasting,
        )
