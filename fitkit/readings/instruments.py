"""Instruments of the workshop, from a TOML file.

What each resolves, how far it may err, and what its closed jaws showed when last looked at. An
instrument that nobody described is taken for usual calipers, never for perfect ones.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003 - pydantic reads the annotations at run time
import difflib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema

from fitkit.core.errors import ReadingError
from fitkit.core.models import StrictModel, load_model
from fitkit.core.units import to_mm
from fitkit.readings.checks import Check, Limit, limit_of
from fitkit.readings.dates import day_of

if TYPE_CHECKING:
    from collections.abc import Iterable
    from os import PathLike

    from fitkit.readings.table import ReadingTable

__all__ = [
    "MY_CALIPERS",
    "Instrument",
    "Instruments",
    "InstrumentsFile",
    "load_instruments",
    "name_for_readings",
    "same_instrument",
    "usual_calipers",
]

MY_CALIPERS = "my calipers"


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One pair of calipers or other length instrument, lengths in mm.

    Attributes
    ----------
    name : str
        As in the ``instrument`` column of readings.
    resolution_mm : float
        Step of its last digit.
    mpe_mm : float
        Maximum permissible error, to either side (ISO 14978).
    mpe_shared : float, 0 to 1
        Share of that error's variance that all readings of the instrument have in common; the
        rest is of each place of the scale. Common practice, no source; say 1 for a pure scale
        error.
    zero_error_mm : float
        What the closed jaws show.
    zero_u_mm : float or None
        Standard uncertainty of the zero check; None: from the resolution.
    zero_checked : date or None
    range_mm : float
        Largest size that it reads.
    inside_face_mm : float or None
        Width over both inside measuring faces and the gap between them.
    inside_face_tol_mm : float
        Half-width within which `inside_face_mm` lies.
    repeatability_mm : float or None
        Pooled standard deviation of one reading, from the instrument's history.
    repeatability_df : float
        Its degrees of freedom.
    basis : str
        Where the figures come from.
    assumed : bool
        True if nobody described it: the figures are those of usual calipers.
    checks : tuple of Check
        What it showed of known lengths.
    zero_from : str
        Table in which the closed jaws were written down; empty if its file says so.
    file : str
        Name of the file that describes it.
    """

    name: str
    resolution_mm: float
    mpe_mm: float
    mpe_shared: float = 0.5
    zero_error_mm: float = 0.0
    zero_u_mm: float | None = None
    zero_checked: dt.date | None = None
    range_mm: float = 150.0
    inside_face_mm: float | None = None
    inside_face_tol_mm: float = 0.0
    repeatability_mm: float | None = None
    repeatability_df: float = 0.0
    basis: str = ""
    assumed: bool = False
    checks: tuple[Check, ...] = ()
    zero_from: str = ""
    file: str = ""

    def limit(self, mode: str) -> Limit:
        """Say what is known of its error beside the zero, for readings of a mode.

        Checks with the inside jaws are of inside readings, those with the outside jaws of all
        others.
        """
        jaws = "inside" if mode == "inside" else "outside"
        mine = [check for check in self.checks if check.jaws == jaws]
        return limit_of(self.mpe_mm, self.mpe_shared, mine, step_mm=self.resolution_mm)

    def limit_text(self) -> str:
        """Say how its limit of error is known: a bound from a leaflet, or narrowed by checks."""
        bound = f"limit of error ± {self.mpe_mm:g} mm"
        if not self.checks:
            return (
                f"{bound}, a bound that its errors stay within; how they lie in it is not known "
                "until it is checked on a known length"
            )
        limit = self.limit(self.checks[0].jaws)
        days = [check.date for check in self.checks if check.date]
        when = f", the last of {max(days)}" if days else ""
        count = len(self.checks)
        return (
            f"{bound}, narrowed by {count} check{'s'[: count - 1]} on known lengths{when}: "
            f"reads {limit.error_mm:+.3f} mm, standard uncertainty "
            f"{math.hypot(limit.u_common_mm, limit.u_place_mm):.3f} mm"
        )

    def __str__(self) -> str:
        """Say what is corrected for, and where that stands."""
        zero = "no zero check"
        if self.zero_checked or self.zero_error_mm or self.zero_u_mm is not None:
            when = f" of {self.zero_checked}" if self.zero_checked else ""
            zero = f"zero error{when} {self.zero_error_mm:+.3f} mm"
        if self.assumed:
            return (
                f"{self.name or 'no instrument named'}: usual calipers assumed "
                f"({self.resolution_mm:g} mm, ± {self.mpe_mm:g} mm), "
                f"{zero if self.zero_from else 'no zero error'}, no jaw faces"
            )
        faces = "no jaw faces"
        if self.inside_face_mm is not None:
            faces = f"jaw faces {self.inside_face_mm:g} mm"
        where = f" ({self.file})" if self.file else ""
        return f"{self.name}{where}: {zero}, {faces}"


def name_for_readings(path: str | PathLike[str] | None) -> str:
    """Give the instrument that a new readings file names: the first of a file, if it is there."""
    if path is None or not Path(path).exists():
        return MY_CALIPERS
    return next(iter(load_instruments(path)))


def usual_calipers(name: str = "") -> Instrument:
    """Give the figures that an instrument gets which nobody described.

    Digital calipers of 150 mm: a step of 0.01 mm, a limit of error of ± 0.03 mm, and readings that
    repeat to 0.02 mm, known as well as from six of them. Common practice, no source.

    Examples
    --------
    >>> usual_calipers("drawer calipers").mpe_mm
    0.03
    """
    return Instrument(
        name=name,
        resolution_mm=0.01,
        mpe_mm=0.03,
        repeatability_mm=0.02,
        repeatability_df=5.0,
        basis="usual calipers; common practice, no source",
        assumed=True,
    )


def same_instrument(one: str, other: str) -> bool:
    """Tell whether two names are of one instrument: case and blanks do not count."""
    return _folded(one) == _folded(other)


def _folded(name: str) -> str:
    """Name as it is compared: without regard to case and blanks."""
    return "".join(name.split()).casefold()


class Instruments:
    """The instruments that a table may have been read with; every name finds one.

    Parameters
    ----------
    given : mapping of name to Instrument, or instruments, optional
        Those that somebody described.
    """

    def __init__(self, given: Mapping[str, Instrument] | Iterable[Instrument] | None = None):
        described = given.values() if isinstance(given, Mapping) else given or ()
        self.usual = usual_calipers()
        self._known = {_folded(one.name): one for one in described}
        if isinstance(given, Mapping):  # a table's own name for one counts, too
            self._known = {_folded(name): one for name, one in given.items()} | self._known

    def find(self, name: str) -> Instrument:
        """Find an instrument by its name in a table; case and blanks do not count.

        Returns
        -------
        Instrument
            Usual calipers of that name, `Instrument.assumed`, if nobody described it.

        Examples
        --------
        >>> bench = Instruments([replace(usual_calipers("bench calipers"), assumed=False)])
        >>> bench.find("Bench  Calipers").name, bench.find("ruler").assumed
        ('bench calipers', True)
        """
        return self._known.get(_folded(name)) or usual_calipers(" ".join(name.split()))

    def zeroed_by(self, table: ReadingTable) -> Instruments:
        """Take over what closed jaws showed, where a table of readings says so.

        Such a check was made with the readings themselves, so it counts before that of the
        instruments file. A check that names no instrument is of the only one that the table names.

        Parameters
        ----------
        table : ReadingTable

        Returns
        -------
        Instruments
            The same where the table has no such rows.
        """
        checks = table.zero_checks
        if checks.empty:
            return self
        named = [name for name in table.frame["instrument"].unique() if name]
        found = dict(self._known)
        for name, rows in checks.groupby("instrument", sort=False):
            whose = str(name) or (named[0] if len({*map(_folded, named)}) == 1 else "")
            one = self.find(whose)
            shown = rows["value_mm"].to_numpy(float)
            days = sorted(filter(None, map(day_of, rows["taken_at"])))
            spread = one.repeatability_mm or 0.0
            if len(shown) > 1:
                spread = float(shown.std(ddof=1))
            u = math.hypot(spread / math.sqrt(len(shown)), one.resolution_mm / math.sqrt(12))
            found[_folded(whose)] = replace(
                one,
                zero_error_mm=float(shown.mean()),
                zero_u_mm=u,
                zero_checked=days[-1] if days else None,
                zero_from=table.name,
            )
        made = Instruments()
        made._known = found
        return made

    def spelt(self, table: ReadingTable) -> ReadingTable:
        """Call each instrument of a table by one name, so that its repeats and zero are shared."""
        typed = table.frame["instrument"]
        names: dict[str, str] = {}
        first: dict[str, str] = {}  # how one that nobody described is spelt at first
        for name in dict.fromkeys(typed):
            found = self.find(name)
            alike = first.setdefault(_folded(name), found.name)
            names[name] = alike if found.assumed else found.name
        if all(name == one for name, one in names.items()):
            return table
        return replace(table, frame=table.frame.assign(instrument=typed.map(names)))

    def doubt(self, name: str) -> str:
        """Say what is assumed of an instrument that nobody described; empty if it is known."""
        one = self.find(name)
        if not one.assumed:
            return ""
        text = f"instrument {one.name!r} is not described" if one.name else "no instrument is named"
        text += (
            f": usual calipers are assumed (step {one.resolution_mm:g} mm, limit of error "
            f"± {one.mpe_mm:g} mm, {'zero as shown here' if one.zero_from else 'no zero error'})"
        )
        known = [key for key, other in self._known.items() if not other.assumed]
        near = difflib.get_close_matches(_folded(name), known, n=1) if name else []
        return f"{text}; did you mean {self._known[near[0]].name!r}?" if near else text


# Typed as text with its unit; a bare number is refused.
_Length = Annotated[float, BeforeValidator(to_mm), WithJsonSchema({"type": "string"})]


class _Check(StrictModel):
    """One ``[[instrument.check]]``: what the instrument showed of a known length.

    Attributes
    ----------
    length : length
        The known length.
    known_to : length
        How well it is known, as a limit to either side.
    shown : length
        What the instrument showed, on average.
    zero : length
        What it showed closed, just before.
    readings : int
        How many readings the average is of.
    spread : length
        Their standard deviation.
    jaws : {"outside", "inside"}
        Which jaws read it.
    date : date or None
        When it was done.
    """

    length: Annotated[_Length, Field(gt=0)]
    known_to: Annotated[_Length, Field(ge=0)] = 0.0
    shown: Annotated[_Length, Field(gt=0)]
    zero: _Length = 0.0
    readings: int = Field(default=1, ge=1)
    spread: Annotated[_Length, Field(ge=0)] = 0.0
    jaws: Literal["outside", "inside"] = "outside"
    date: dt.date | None = None

    def check(self) -> Check:
        return Check(
            length_mm=self.length,
            known_to_mm=self.known_to,
            shown_mm=self.shown,
            zero_mm=self.zero,
            readings=self.readings,
            spread_mm=self.spread,
            jaws=self.jaws,
            date=self.date,
        )


class _Row(StrictModel):
    """One ``[[instrument]]`` of the file; lengths are text with units.

    Attributes
    ----------
    name : str
        As in the column ``instrument`` of readings.
    resolution : length
        Step of its last digit.
    mpe : length
        Maximum permissible error, to either side, as its leaflet says.
    mpe_shared : float
        Share of that error's variance that all readings of the instrument have in common.
    zero_error : length
        What the closed jaws show.
    zero_u : length or None
        Standard uncertainty of that; from the resolution if not given.
    zero_checked : date or None
        When the closed jaws were looked at.
    range : length
        Largest size that it reads.
    inside_face : length or None
        Width over both inside measuring faces and the gap between them.
    inside_face_tolerance : length
        How far that width may be off, to either side.
    repeatability : length or None
        Standard deviation of one reading, from the instrument's history.
    repeatability_df : float
        Degrees of freedom of that.
    basis : str
        Where the figures come from.
    """

    name: str = Field(min_length=1)
    resolution: Annotated[_Length, Field(gt=0)]
    mpe: Annotated[_Length, Field(ge=0)]
    mpe_shared: float = Field(default=0.5, ge=0, le=1)
    zero_error: _Length = 0.0
    zero_u: Annotated[_Length, Field(ge=0)] | None = None
    zero_checked: dt.date | None = None
    range: Annotated[_Length, Field(gt=0)] = 150.0
    inside_face: Annotated[_Length, Field(ge=0)] | None = None
    inside_face_tolerance: Annotated[_Length, Field(ge=0)] = 0.0
    repeatability: Annotated[_Length, Field(gt=0)] | None = None
    repeatability_df: float = Field(default=0.0, ge=0)
    basis: str = ""
    check: list[_Check] = Field(default_factory=list)

    def instrument(self) -> Instrument:
        return Instrument(
            name=self.name,
            resolution_mm=self.resolution,
            mpe_mm=self.mpe,
            mpe_shared=self.mpe_shared,
            zero_error_mm=self.zero_error,
            zero_u_mm=self.zero_u,
            zero_checked=self.zero_checked,
            range_mm=self.range,
            inside_face_mm=self.inside_face,
            inside_face_tol_mm=self.inside_face_tolerance,
            repeatability_mm=self.repeatability,
            repeatability_df=self.repeatability_df,
            basis=self.basis,
            checks=tuple(one.check() for one in self.check),
        )


class InstrumentsFile(StrictModel):
    """Content of an instruments file.

    Attributes
    ----------
    schema_ : int
        Form of the file.
    """

    schema_: Literal[1] = Field(alias="schema")
    instrument: list[_Row] = Field(min_length=1)


def load_instruments(path: str | PathLike[str]) -> Mapping[str, Instrument]:
    """Load an instruments file: name to `Instrument`, in the file's order.

    Raises
    ------
    ReadingError
        If it cannot be opened or is not TOML, or names one instrument twice.
    FaultList
        All keys at fault.
    """
    path = Path(path)
    rows = load_model(
        path, InstrumentsFile, kind_of_file="instruments file", error=ReadingError
    ).instrument
    found = {row.name: replace(row.instrument(), file=path.name) for row in rows}
    if len({_folded(name) for name in found}) < len(rows):
        raise ReadingError(
            "this file names an instrument twice",
            file=path,
            code="readings.instrument-twice",
            remedy="Rename one.",
        )
    return MappingProxyType(found)
