"""A printing material: ranges of its properties with their sources, and what the workshop knows.

Published ranges come from the table ``materials``; a workshop's own TOML names the polymer and adds
its spool's price, density or own test results, which win. A property that nobody gave is None, and
the checks say so. Leaves out everything that a property sheet gives at one temperature only: these
are values for a room.
"""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import AfterValidator, Field, model_validator

from fitkit.core.errors import CheckError
from fitkit.core.models import StrictModel, load_model
from fitkit.data import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = [
    "Currency",
    "Material",
    "Span",
    "currency_digits",
    "load_material",
    "published_material",
]

# Property, its unit here, and what it means; names and units of the table and of material files.
PROPERTIES: Mapping[str, str] = MappingProxyType(
    {
        "density": "g/cm3",
        "modulus": "MPa",  # in tension, along the layers
        "strength": "MPa",  # in tension, along the layers
        "layer_factor": "1",  # strength across the layers over strength along them
        "snap_strain": "%",  # that an arm bears once
        "repeated_factor": "1",  # of that, in repeated use
        "steady_factor": "1",  # strength under a load that stays for years, over strength
        "softening": "degC",
        "conductivity": "W/(m K)",
        "emissivity": "1",
        "friction": "1",  # on itself
    }
)


@cache
def currency_digits() -> Mapping[str, int]:
    """Give the ISO 4217 codes of all currencies, each with the decimal digits of its coin."""
    frame = load_table("currencies").frame
    return MappingProxyType(dict(zip(frame["code"], map(int, frame["digits"]), strict=True)))


def _known_currency(code: str) -> str:
    if code not in currency_digits():
        raise ValueError("is not an ISO 4217 currency code; write one such as EUR, JPY or KES")
    return code


# An ISO 4217 code of the table `currencies`.
Currency = Annotated[str, AfterValidator(_known_currency)]


class Span(StrictModel):
    """A property as a range, with its source.

    Attributes
    ----------
    low, high : float
        Ends of the range, in the property's unit.
    source : str
        Where they come from.
    """

    low: float
    high: float
    source: str = Field(min_length=3)

    @model_validator(mode="after")
    def _ordered(self) -> Span:
        if self.low > self.high:
            raise ValueError(f"low {self.low:g} is above high {self.high:g}")
        return self

    @property
    def mid(self) -> float:
        """Middle of the range."""
        return (self.low + self.high) / 2


class Drying(StrictModel):
    """How the spool is dried before use.

    Attributes
    ----------
    temperature_c : float, °C
        Of the oven.
    hours : float
        How long.
    """

    temperature_c: float = Field(gt=20, le=120)
    hours: float = Field(gt=0, le=48)


class Material(StrictModel):
    """What a part is printed from.

    Attributes
    ----------
    name : str
        The maker's name for it, such as ``bench PETG, grey``.
    polymer : str
        Row of the published table that fills the gaps: ``PETG``.
    price_per_kg : float or None
        What a kilogram costs.
    currency : str or None
        ISO 4217 code of that price.
    drying : Drying or None
    note : str
        Your words.
    properties : dict of name to Span
        Units as in `PROPERTIES`.
    schema_version : int
        Form of the file.
    """

    schema_version: Literal[1] = Field(default=1, alias="schema")
    name: str = Field(min_length=1, max_length=80)
    polymer: str
    price_per_kg: float | None = Field(default=None, ge=0)
    currency: Currency | None = None
    drying: Drying | None = None
    note: str = ""
    properties: dict[str, Span] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _known(self) -> Material:
        unknown = sorted(set(self.properties) - set(PROPERTIES))
        if unknown:
            raise ValueError(
                f"a material has no property {unknown[0]!r}; there are: {', '.join(PROPERTIES)}"
            )
        return self

    def get(self, name: str) -> Span | None:
        """Give a property's range, or None if nobody gave it."""
        if name not in PROPERTIES:
            raise KeyError(name)
        return self.properties.get(name)


def published_material(polymer: str) -> Material:
    """Make a material from published ranges alone.

    Raises
    ------
    CheckError
        If the table has no such polymer.
    """
    spans = _published(polymer)
    if not spans:
        raise CheckError(
            f"there are no published figures for {polymer!r}",
            where="material",
            code="material.not-published",
            remedy=f"Use one of {', '.join(_polymers())}, or a material file of your own.",
        )
    return Material(name=polymer, polymer=polymer, properties=spans)


def load_material(path: str | Path) -> Material:
    """Read a workshop's material file, gaps filled from the published table.

    Raises
    ------
    CheckError
        If the file is missing or is not TOML.
    FaultList
        All faults of its keys at once.
    """
    own = load_model(path, Material, kind_of_file="material file", error=CheckError)
    return own.model_copy(update={"properties": _published(own.polymer) | own.properties})


def _polymers() -> list[str]:
    from fitkit.data import load_table

    names = load_table("materials").frame["material"].unique()
    return sorted(str(name) for name in names if name != "any")


def _published(polymer: str) -> dict[str, Span]:
    from fitkit.data import load_table

    if polymer not in _polymers():
        return {}
    frame = load_table("materials").frame
    rows = frame[frame["material"].isin(["any", polymer])]
    return {
        row["property"]: Span(low=row["low"], high=row["high"], source=row["source"])
        for row in rows.to_dict("records")
        if row["property"] in PROPERTIES
    }
