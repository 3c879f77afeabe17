"""From a filled form of test strips to a material of one's own, with values, doubt and formula.

The form is a TOML file that ``fitkit strips`` writes beside the strips. The material goes into the
workshop, where a sheet's ``use`` names it; what was not tested comes from the published table.
"""

from __future__ import annotations

from datetime import date  # noqa: TC003 - pydantic reads it at run time
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import BeforeValidator, Field

from fitkit.checks.material import Material, Span, published_material
from fitkit.checks.strips import Tested, bending_modulus, borne_strain
from fitkit.core.errors import CheckError, FitkitError
from fitkit.core.models import StrictModel, load_model
from fitkit.core.units import to_grams, to_mm

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

__all__ = ["StripForm", "empty_form", "load_strips", "material_of_strips", "material_text"]


def _read(convert: Callable[[object], float]) -> BeforeValidator:
    def read(value: object) -> float:
        try:
            return convert(value)
        except FitkitError as error:  # pydantic tells a ValueError at its key
            raise ValueError(str(error)) from error

    return BeforeValidator(read)


_Length = Annotated[float, _read(to_mm), Field(gt=0, lt=1000)]
_Sag = Annotated[float, _read(to_mm), Field(gt=-1000, lt=1000)]
_Mass = Annotated[float, _read(to_grams), Field(ge=0, lt=100_000)]
_Lengths = Annotated[tuple[_Length, ...], Field(min_length=1, max_length=50)]


class _Load(StrictModel):
    """A weight, and the height of the strip's middle under it."""

    mass: _Mass
    sag: _Sag


class _Bending(StrictModel):
    """The bending strip."""

    span: _Length
    width: _Lengths
    thickness: _Lengths
    loads: tuple[_Load, ...] = Field(min_length=2, max_length=50)


class _Snap(StrictModel):
    """The snap strips."""

    thickness: _Lengths
    gave_way: _Lengths


class StripForm(StrictModel):
    """What was read on the test strips of one spool.

    Attributes
    ----------
    name, polymer : str
        The spool in the user's words, and the published row that fills the gaps.
    tested : date
    bending, snap
        Readings, in mm and g; None for strips that were not tested.
    """

    schema_version: Literal[1] = Field(default=1, alias="schema")
    name: str = Field(min_length=1, max_length=80)
    polymer: str
    tested: date
    bending: _Bending | None = None
    snap: _Snap | None = None


def load_strips(path: str | Path) -> StripForm:
    """Read a filled form.

    Raises
    ------
    CheckError
        If the file is missing or is not TOML.
    FaultList
        All faults of its keys at once.
    """
    return load_model(path, StripForm, kind_of_file="form of test strips", error=CheckError)


def material_of_strips(form: StripForm) -> Material:
    """Work out what the strips tell, and keep it as a material.

    The modulus is given from its low to its high end for 95 %; the strain from what nineteen of
    twenty further strips bear to the mean.

    Raises
    ------
    CheckError
        If the polymer is not published, or the readings cannot be (see `strips`).
    """
    published_material(form.polymer)
    spans: dict[str, Span] = {}
    if form.bending is not None:
        test = form.bending
        found = bending_modulus(
            [load.mass for load in test.loads],
            [load.sag for load in test.loads],
            span_mm=test.span,
            width_mm=test.width,
            thickness_mm=test.thickness,
        )
        spans["modulus"] = Span(
            low=round(found.value - found.U95),
            high=round(found.value + found.U95),
            source=f"bending strip tested {form.tested}: {_said(found)} MPa (95 %), "
            "E = L³ / (4 b h³ c)",
        )
    if form.snap is not None:
        found = borne_strain(form.snap.gave_way, form.snap.thickness)
        in_percent = Tested(100 * found.value, 100 * found.u, found.df)
        spans["snap_strain"] = Span(
            low=round(max(in_percent.value - in_percent.U95, 0.0), 2),
            high=round(in_percent.value, 2),
            source=f"{len(form.snap.gave_way)} snap strips tested {form.tested}: "
            f"{_said(in_percent)} % for a further one (95 %), 1.198 h / (D - h)",
        )
    if not spans:
        raise CheckError(
            "the form has no readings",
            code="material.no-readings",
            remedy="Fill in bending, snap, or both.",
        )
    return Material(name=form.name, polymer=form.polymer, properties=spans)


def _said(found: Tested) -> str:
    from fitkit.core.format import with_doubt

    return with_doubt(found.value, found.U95)


def material_text(material: Material) -> str:
    """Write a material as the TOML file that `load_material` reads."""
    lines = [
        "schema = 1",
        f"name = {_quoted(material.name)}",
        f"polymer = {_quoted(material.polymer)}",
        "# price_per_kg = 22.0",
        '# currency = "EUR"',
    ]
    for name, span in material.properties.items():
        lines += [
            "",
            f"[properties.{name}]",
            f"low = {span.low:g}",
            f"high = {span.high:g}",
            f"source = {_quoted(span.source)}",
        ]
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    import json

    # A JSON string is a TOML basic string.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def empty_form(polymer: str, *, span_mm: float, snaps: int, today: date) -> str:
    """Write a form to fill, with what to do.

    Parameters
    ----------
    polymer : str
    span_mm : float, mm
        Distance between the edges that suits the bending strip.
    snaps : int
        Number of snap strips.
    today : date
        Written as the day of the test.

    Returns
    -------
    str
        TOML, its readings as comments.
    """
    return f"""\
# Test strips of one spool. Take the '#' off the lines that you fill in; leave out a strip that
# you do not test. Print the strips lying flat and full (100 % infill), from the spool in question.
# Wear eye protection: a strip that breaks throws splinters.
schema = 1
name = {_quoted(f"my {polymer}")}
polymer = {_quoted(polymer)}
tested = {today.isoformat()}

# The bending strip lies across two edges {span_mm:g} mm apart, such as two equal boxes. Hang
# weights from its middle, weighed on kitchen scales, and read with the depth rod how far the middle
# is below a mark that stays, within a minute of hanging each. Nothing must bend for good.
# [bending]
# span = "{span_mm:g} mm"
# width = ["12.02 mm", "12.05 mm"]
# thickness = ["2.41 mm", "2.43 mm", "2.40 mm"]
# loads = [
#     {{ mass = "0 g", sag = "5.10 mm" }},
#     {{ mass = "250 g", sag = "6.08 mm" }},
#     {{ mass = "500 g", sag = "7.02 mm" }},
# ]

# Bend each of the {snaps} snap strips to a U between the outside jaws and close them slowly. Every
# few millimetres let go: write down the distance at which the strip broke or no longer sprang back.
# [snap]
# thickness = ["0.61 mm", "0.60 mm", "0.62 mm"]
# gave_way = ["21.4 mm", "19.8 mm", "22.0 mm"]
"""
