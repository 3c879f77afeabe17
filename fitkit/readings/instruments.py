"""Instruments of the workshop, from a TOML file.

What each resolves, how far it may err, and what its closed jaws showed when last looked at.
"""

from __future__ import annotations

import datetime as dt  # noqa: TC003 - pydantic reads the annotations at run time
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from fitkit.errors import FaultList, ReadingError
from fitkit.files import read_toml
from fitkit.units import to_mm

if TYPE_CHECKING:
    from collections.abc import Mapping
    from os import PathLike

__all__ = ["Instrument", "load_instruments"]


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
    """

    name: str
    resolution_mm: float
    mpe_mm: float
    mpe_shared: float = 0.5
    zero_error_mm: float = 0.0
    zero_u_mm: float | None = None
    zero_checked: dt.date | None = None
    inside_face_mm: float | None = None
    inside_face_tol_mm: float = 0.0
    repeatability_mm: float | None = None
    repeatability_df: float = 0.0
    basis: str = ""


_Length = Annotated[float, BeforeValidator(to_mm)]


class _Row(BaseModel):
    """One ``[[instrument]]`` of the file; lengths are text with units."""

    model_config = ConfigDict(extra="forbid")

    name: str = Field(min_length=1)
    resolution: Annotated[_Length, Field(gt=0)]
    mpe: Annotated[_Length, Field(ge=0)]
    mpe_shared: float = Field(default=0.5, ge=0, le=1)
    zero_error: _Length = 0.0
    zero_u: Annotated[_Length, Field(ge=0)] | None = None
    zero_checked: dt.date | None = None
    inside_face: Annotated[_Length, Field(ge=0)] | None = None
    inside_face_tolerance: Annotated[_Length, Field(ge=0)] = 0.0
    repeatability: Annotated[_Length, Field(gt=0)] | None = None
    repeatability_df: float = Field(default=0.0, ge=0)
    basis: str = ""

    def instrument(self) -> Instrument:
        return Instrument(
            name=self.name,
            resolution_mm=self.resolution,
            mpe_mm=self.mpe,
            mpe_shared=self.mpe_shared,
            zero_error_mm=self.zero_error,
            zero_u_mm=self.zero_u,
            zero_checked=self.zero_checked,
            inside_face_mm=self.inside_face,
            inside_face_tol_mm=self.inside_face_tolerance,
            repeatability_mm=self.repeatability,
            repeatability_df=self.repeatability_df,
            basis=self.basis,
        )


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid")

    schema_: Literal[1] = Field(alias="schema")
    instrument: list[_Row] = Field(min_length=1)


def load_instruments(path: str | PathLike[str]) -> Mapping[str, Instrument]:
    """Load an instruments file: name to `Instrument`, in the file's order.

    Raises
    ------
    ReadingError
        If it cannot be opened or is no TOML, or names one instrument twice.
    FaultList
        All keys at fault.
    """
    path = Path(path)
    try:
        content: dict[str, Any] = read_toml(path)
    except OSError as error:
        raise ReadingError(f"cannot be read: {error.strerror}", where=str(path)) from error
    except ValueError as error:
        raise ReadingError(f"is not TOML: {error}", where=path.name) from error
    try:
        rows = _File.model_validate(content).instrument
    except ValidationError as error:
        raise FaultList(
            ReadingError(
                f"{item['input']!r}: {item['msg'].removeprefix('Value error, ')}",
                where=f"{path.name}, key {'.'.join(map(str, item['loc']))}",
            )
            for item in error.errors()
        ) from error
    found = {row.name: row.instrument() for row in rows}
    if len(found) < len(rows):
        raise ReadingError("names an instrument twice", where=path.name, remedy="Rename one.")
    return MappingProxyType(found)
