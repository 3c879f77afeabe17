"""Profiles as TOML files: checked on the way in, every digit kept on the way out.

The file keeps what was known before any print and the readings themselves, so that nothing is lost
when the model learns better; what follows stands on top as comments. It is schema-versioned; all
faults of a file are told at once. A fault in a number that matters (an asymmetric covariance, an
unknown term) is refused, never mended in silence.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

import numpy as np
import tomlkit
from pydantic import Field, model_validator

from fitkit.calibration.effects import SizeAt, Sizes, Source
from fitkit.calibration.model import TERMS, Place
from fitkit.calibration.posterior import Evidence
from fitkit.calibration.prior import Prior, learned_prior
from fitkit.calibration.profile import PrinterProfile, Provenance
from fitkit.core.errors import CalibrationError
from fitkit.core.files import write_atomic
from fitkit.core.models import StrictModel, load_model, load_toml
from fitkit.core.sizes import Axis, kind_of, kinds

if TYPE_CHECKING:
    from collections.abc import Sequence
    from os import PathLike

    from tomlkit.items import InlineTable

__all__ = ["SCHEMA", "load_profile", "profile_content", "save_profile"]

SCHEMA = 2
Finite = Annotated[float, Field(allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]
# A profile of the first form was measured, so it strays little from what it says.
_OLD_TAIL_DF = 30.0
_OLD_NOTE = (
    "from a profile of an older form, which kept no readings: fit its coupon again to have the "
    "readings counted one by one"
)
# What readings share is kept as columns, a few for all; smaller ones are rounding, mm².
_LEAST_SHARED = 1e-14


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


class _SourceFile(StrictModel):
    printer: str = ""
    material: str = ""
    nozzle: str = ""
    spool: str = ""
    day: NotNegative = 0.0


class _ReadingFile(StrictModel):
    kind: str
    axis: Axis
    drawn_mm: Positive
    read_mm: Positive
    own_mm2: NotNegative
    shared_mm: tuple[Finite, ...]
    coupon: bool
    print_code: str
    feature: str
    place: Place = "mid"
    diagonal: Literal[-1, 0, 1] = 0
    wall_mm: NotNegative = 0.0
    step_mm: NotNegative = 0.0
    source: _SourceFile = _SourceFile()


class _HeadFile(StrictModel):
    name: Annotated[str, Field(min_length=1)]
    printer: str
    material: Annotated[str, Field(min_length=1)]
    layer_height_mm: Positive
    first_layer_mm: Positive
    nozzle_mm: Positive
    bed_mm: tuple[Positive, Positive, Positive]
    generic: bool
    # Terms and their covariance: what was known before any reading; in the first form, the fit.
    terms: dict[str, Finite]
    covariance: list[list[Finite]]
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


class _FirstSpread(StrictModel):
    print_width_mm: NotNegative
    print_scale: NotNegative
    print_df: Annotated[float, Field(gt=0)]
    feature_mm: NotNegative
    prints: Annotated[int, Field(ge=0)]


class _FirstFile(_HeadFile):
    schema_: Literal[1] = Field(alias="schema")
    df: Annotated[float, Field(gt=0)]
    spread: _FirstSpread


class _ProfileFile(_HeadFile):
    schema_: Literal[2] = Field(alias="schema")
    tail_df: Annotated[float, Field(gt=0)]
    says: str
    prints: Annotated[int, Field(ge=0)]
    now: _SourceFile = _SourceFile()
    readings: tuple[_ReadingFile, ...] = ()

    @model_validator(mode="after")
    def _of_one_form(self) -> Self:
        if len({len(row.shared_mm) for row in self.readings}) > 1:
            raise ValueError("readings have shared_mm of different lengths")
        strange = sorted({row.kind for row in self.readings} - set(kinds()))
        if strange:
            raise ValueError(
                f"{strange[0]!r} is not a kind of size; kinds are: {', '.join(kinds())}"
            )
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
        "prints": int(profile.prints),
        "tail_df": float(profile.prior.tail_df),
        "says": profile.prior.says,
        "covariance": profile.prior.cov.tolist(),
        "readings": _readings(profile.evidence),
        "terms": dict(zip(profile.terms, profile.prior.mean.tolist(), strict=True)),
        # Few name a material there, and files of an earlier release have no such key.
        "now": {k: v for k, v in asdict(profile.now).items() if v or k != "material"},
        "valid_mm": {
            str(kind): [float(end) for end in span] for kind, span in profile.valid_mm.items()
        },
        "provenance": {
            key: list(value) if isinstance(value, tuple) else value
            for key, value in asdict(profile.provenance).items()
            if value or key != "aged"  # few profiles are, and older files have no such key
        },
    }


def save_profile(profile: PrinterProfile, path: str | PathLike[str]) -> Path:
    """Write a profile as TOML, replacing the file whole.

    Parameters
    ----------
    profile : PrinterProfile
    path : path
        Of the file; its folder must exist.

    Returns
    -------
    Path
        The file written.
    """
    document = tomlkit.document()
    document.add(tomlkit.comment("What this printer does to drawn sizes; lengths in mm."))
    document.add(tomlkit.comment("Made from coupon readings: fit again rather than edit."))
    for line in profile.summary().splitlines():
        document.add(tomlkit.comment(line))
    for key, value in profile_content(profile).items():
        match key:
            case "covariance" | "readings":
                rows = tomlkit.array()
                for row in value:
                    rows.append(_on_one_line(row) if isinstance(row, dict) else row)
                document[key] = rows.multiline(bool(value))
            case "terms":
                terms = tomlkit.table()
                terms.comment("before any reading")
                for name, amount in value.items():
                    terms[name] = amount
                    terms[name].comment(f"{TERMS[name].unit}: {TERMS[name].says}")
                document[key] = terms
            case _:
                document[key] = value
    return write_atomic(Path(path), tomlkit.dumps(document))


def _on_one_line(row: dict[str, Any]) -> InlineTable:
    table = tomlkit.inline_table()
    table.update(row)
    return table


def _readings(evidence: Evidence | None) -> list[dict[str, Any]]:
    """Give each reading, with what it shares with the others as columns."""
    if evidence is None:
        return []
    values, vectors = np.linalg.eigh(evidence.shared)
    kept = values > _LEAST_SHARED
    shared = vectors[:, kept] * np.sqrt(values[kept])
    rows = []
    for at, size in enumerate(evidence.sizes.asked):
        row: dict[str, Any] = {
            "feature": size.feature,
            "print_code": size.print_code,
            "kind": str(size.kind),
            "axis": size.axis,
            "drawn_mm": float(size.drawn_mm),
            "read_mm": float(evidence.read_mm[at]),
            "own_mm2": float(evidence.own[at]),
            "shared_mm": shared[at].tolist(),
            "coupon": bool(evidence.coupon[at]),
        }
        plain = SizeAt(kind=size.kind, drawn_mm=size.drawn_mm)
        for key in ("place", "diagonal", "wall_mm", "step_mm"):
            if getattr(size, key) != getattr(plain, key):
                row[key] = getattr(size, key)
        told = {key: word for key, word in asdict(size.source).items() if word}
        if told:
            row["source"] = told
        rows.append(row)
    return rows


def _evidence(rows: Sequence[_ReadingFile]) -> Evidence | None:
    if not rows:
        return None
    shared = np.array([row.shared_mm for row in rows], dtype=float).reshape(len(rows), -1)
    return Evidence(
        sizes=Sizes.of(
            SizeAt(
                kind=kind_of(row.kind),
                axis=row.axis,
                drawn_mm=row.drawn_mm,
                place=row.place,
                diagonal=row.diagonal,
                wall_mm=row.wall_mm,
                print_code=row.print_code,
                feature=row.feature,
                source=Source(**row.source.model_dump()),
                step_mm=row.step_mm,
            )
            for row in rows
        ),
        read_mm=np.array([row.read_mm for row in rows]),
        own=np.array([row.own_mm2 for row in rows]),
        shared=shared @ shared.T,
        coupon=np.array([row.coupon for row in rows]),
    )


def load_profile(path: str | PathLike[str]) -> PrinterProfile:
    """Read a profile from TOML; one of the first form is still read, with a note.

    Raises
    ------
    CalibrationError
        If the file is absent or not TOML.
    FaultList
        If its content does not hold together: every fault is listed.
    """
    if_absent = "Check the path, or fit a coupon first."
    raw = load_toml(path, kind_of_file="profile", error=CalibrationError, if_absent=if_absent)
    held: _FirstFile | _ProfileFile
    if raw.get("schema") == 1:
        held = load_model(
            raw, _FirstFile, kind_of_file="profile", error=CalibrationError, file=path
        )
    else:
        held = load_model(
            raw, _ProfileFile, kind_of_file="profile", error=CalibrationError, file=path
        )
    provenance = Provenance(**held.provenance.model_dump())
    if isinstance(held, _FirstFile):
        prior, evidence, prints, now = _first_prior(held), None, held.spread.prints, Source()
        if held.generic:
            prior = learned_prior(held.material)
        else:
            provenance = replace(provenance, notes=(*provenance.notes, _OLD_NOTE))
    else:
        prior, evidence, prints = _prior(held), _evidence(held.readings), held.prints
        now = Source(**held.now.model_dump())
    return PrinterProfile(
        name=held.name,
        printer=held.printer,
        material=held.material,
        layer_height_mm=held.layer_height_mm,
        first_layer_mm=held.first_layer_mm,
        nozzle_mm=held.nozzle_mm,
        bed_mm=held.bed_mm,
        generic=held.generic,
        prior=prior,
        evidence=evidence,
        prints=prints,
        now=now,
        valid_mm=MappingProxyType({kind_of(name): span for name, span in held.valid_mm.items()}),
        provenance=provenance,
    )


def _prior(held: _ProfileFile) -> Prior:
    at = [list(TERMS).index(name) for name in held.terms]
    mean, cov = np.zeros(len(TERMS)), np.zeros((len(TERMS), len(TERMS)))
    mean[at] = list(held.terms.values())
    cov[np.ix_(at, at)] = held.covariance
    missing = [i for i in range(len(TERMS)) if i not in at]
    if missing:  # of a release with fewer terms: what other printers teach stands in
        usual = learned_prior(held.material)
        mean[missing] = usual.mean[missing]
        cov[np.ix_(missing, missing)] = usual.cov[np.ix_(missing, missing)]
    return Prior(mean=mean, cov=cov, tail_df=held.tail_df, says=held.says)


def _first_prior(held: _FirstFile) -> Prior:
    """Take what a profile of the first form says, with how its prints varied, as known."""
    usual = learned_prior(held.material)
    mean, cov = usual.mean.copy(), usual.cov.copy()
    at = [list(TERMS).index(name) for name in held.terms]
    cov[at, :] = cov[:, at] = 0.0
    mean[at] = list(held.terms.values())
    cov[np.ix_(at, at)] = held.covariance
    prints = max(held.spread.prints, 1)
    for what, sd in (("width", held.spread.print_width_mm), ("scale", held.spread.print_scale)):
        moved = np.array([float(t.varies == what and t.name in held.terms) for t in TERMS.values()])
        cov += sd**2 / prints * np.outer(moved, moved)
    return Prior(mean=mean, cov=cov, tail_df=_OLD_TAIL_DF, says=_OLD_NOTE)
