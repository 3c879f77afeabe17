"""Profiles as TOML files: checked on the way in, every digit kept on the way out.

The file is schema-versioned; all faults of a file are told at once. A fault in a number that
matters (an asymmetric covariance, an unknown term) is refused, never mended in silence.
"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

import numpy as np
import tomlkit
from pydantic import Field, model_validator

from fitkit.calibration.model import TERMS
from fitkit.calibration.profile import PrinterProfile, Provenance, Spread
from fitkit.core.errors import CalibrationError
from fitkit.core.files import write_atomic
from fitkit.core.models import StrictModel, load_model
from fitkit.core.sizes import kinds

if TYPE_CHECKING:
    from os import PathLike

__all__ = ["SCHEMA", "load_profile", "profile_content", "save_profile"]

SCHEMA = 1
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class _SpreadFile(StrictModel):
    print_width_mm: NotNegative
    print_scale: NotNegative
    print_df: Annotated[float, Field(gt=0)]
    feature_mm: NotNegative
    prints: Annotated[int, Field(ge=0)]


class _ProvenanceFile(StrictModel):
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


class _ProfileFile(StrictModel):
    schema_: Literal[1] = Field(alias="schema")
    name: Annotated[str, Field(min_length=1)]
    printer: str
    material: Annotated[str, Field(min_length=1)]
    layer_height_mm: Positive
    first_layer_mm: Positive
    nozzle_mm: Positive
    bed_mm: tuple[Positive, Positive, Positive]
    generic: bool
    terms: dict[str, Annotated[float, Field(allow_inf_nan=False)]]
    covariance: list[list[Annotated[float, Field(allow_inf_nan=False)]]]
    df: Annotated[float, Field(gt=0)]
    spread: _SpreadFile
    valid_mm: dict[str, tuple[Positive, Positive]]
    provenance: _ProvenanceFile

    @model_validator(mode="after")
    def _whole(self) -> Self:
        unknown = sorted(set(self.terms) - set(TERMS))
        if unknown:
            raise ValueError(f"no term {unknown[0]!r}; there are: {', '.join(TERMS)}")
        strange = sorted(set(self.valid_mm) - set(kinds()))
        if strange:
            raise ValueError(
                f"{strange[0]!r} is not a kind of size; kinds are: {', '.join(kinds())}"
            )
        size = len(self.terms)
        if len(self.covariance) != size or any(len(row) != size for row in self.covariance):
            raise ValueError(f"covariance is not {size} x {size}, one row a term")
        cov = np.array(self.covariance)
        if not np.allclose(cov, cov.T, rtol=1e-9, atol=0) or (
            np.linalg.eigvalsh(cov).min() < -1e-9 * max(np.trace(cov), 1e-300)
        ):
            raise ValueError("covariance is not symmetric and positive; was the file edited?")
        return self


def profile_content(profile: PrinterProfile) -> dict[str, Any]:
    """Give what a profile's file holds, as plain data.

    Returns
    -------
    dict
        Keys in the order of the file, lengths in mm; text, numbers, and lists and dicts of them.
    """
    return {
        "schema": SCHEMA,
        "name": profile.name,
        "printer": profile.printer,
        "material": profile.material,
        "layer_height_mm": float(profile.layer_height_mm),
        "first_layer_mm": float(profile.first_layer_mm),
        "nozzle_mm": float(profile.nozzle_mm),
        "bed_mm": [float(side) for side in profile.bed_mm],
        "generic": bool(profile.generic),
        "df": float(profile.df),
        "covariance": profile.cov.tolist(),
        "terms": dict(zip(profile.terms, profile.coef.tolist(), strict=True)),
        "spread": _fields(profile.spread),
        "valid_mm": {
            str(kind): [float(end) for end in span] for kind, span in profile.valid_mm.items()
        },
        "provenance": _fields(profile.provenance),
    }


def _fields(part: Spread | Provenance) -> dict[str, Any]:
    return {
        key: list(value) if isinstance(value, tuple) else value
        for key, value in asdict(part).items()
        if value or key != "aged"  # few profiles are, and older files have no such key
    }


def save_profile(profile: PrinterProfile, path: str | PathLike[str]) -> Path:
    """Write a profile as TOML, replacing the file whole.

    Returns
    -------
    Path
        The file written.
    """
    target = Path(path)
    document = tomlkit.document()
    document.add(tomlkit.comment("What this printer does to drawn sizes; lengths in mm."))
    document.add(tomlkit.comment("Made from coupon readings: fit again rather than edit."))
    for key, value in profile_content(profile).items():
        match key:
            case "covariance":
                rows = tomlkit.array()
                for row in value:
                    rows.append(row)
                document[key] = rows.multiline(True)
            case "terms":
                terms = tomlkit.table()
                for name, amount in value.items():
                    terms[name] = amount
                    terms[name].comment(f"{TERMS[name].unit}: {TERMS[name].says}")
                document[key] = terms
            case _:
                document[key] = value
    return write_atomic(target, tomlkit.dumps(document))


def load_profile(path: str | PathLike[str]) -> PrinterProfile:
    """Read a profile from TOML.

    Raises
    ------
    CalibrationError
        If the file is absent or no TOML.
    FaultList
        If its content does not hold together: every fault is listed.
    """
    held = load_model(
        path,
        _ProfileFile,
        kind_of_file="profile",
        error=CalibrationError,
        if_absent="Check the path, or fit a coupon first.",
    )
    return PrinterProfile(
        name=held.name,
        printer=held.printer,
        material=held.material,
        layer_height_mm=held.layer_height_mm,
        first_layer_mm=held.first_layer_mm,
        nozzle_mm=held.nozzle_mm,
        bed_mm=held.bed_mm,
        generic=held.generic,
        terms=tuple(held.terms),
        coef=np.array(list(held.terms.values())),
        cov=np.array(held.covariance).reshape(len(held.terms), len(held.terms)),
        df=held.df,
        spread=Spread(**held.spread.model_dump()),
        valid_mm=MappingProxyType(dict(held.valid_mm)),
        provenance=Provenance(**held.provenance.model_dump()),
    )
