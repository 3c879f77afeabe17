"""What calipers read for a template, and how the readings become its parameters.

A template declares it once, as data: features with the jaws that read them and where to put these,
and an expression for each parameter that is a size of the real object. What a variant does not need
is not asked for. Files of a new part, grids and holders are made from it; nothing is computed here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import BaseModel

__all__ = ["FromReadings", "Measuring", "Reading", "UsedWhen"]

# Parameters that only some variants use: for each, the values of other parameters with which it
# counts.
UsedWhen = dict[str, dict[str, tuple[object, ...]]]

_WORD = re.compile(r"[A-Za-z_]\w*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A feature that calipers can read on the real object.

    Attributes
    ----------
    feature : str
        Its name in the readings file, in small letters and plain words.
    note : str
        Where to put the jaws.
    mode : {"outside", "inside", "depth", "step"}
        Which faces of the calipers read it.
    round : bool
        Whether a round hole or a round body is read.
    between : str
        Round hole whose far walls a span's jaws touch; empty if it is not such a span.
    """

    feature: str
    note: str
    mode: Literal["outside", "inside", "depth", "step"] = "outside"
    round: bool = False
    between: str = ""

    @property
    def name(self) -> str:
        """The feature as an expression writes it."""
        return self.feature.replace(" ", "_")


@dataclass(frozen=True, slots=True, kw_only=True)
class FromReadings:
    """A parameter and the expression of features that it follows from.

    Attributes
    ----------
    parameter : str
        Its path, such as ``board_length`` or ``cutouts.0.width``.
    text : str
        The expression, features written with underscores.
    when : mapping of parameter to values
        The variants that need it: each parameter named has one of the values. Empty: all.
    spares : tuple of str
        Parameters that need no value of their own then.
    """

    parameter: str
    text: str
    when: Mapping[str, tuple[object, ...]] = field(default_factory=dict)
    spares: tuple[str, ...] = ()

    def counts_for(self, variant: BaseModel) -> bool:
        """Tell whether a variant needs it."""
        return all(getattr(variant, name) in values for name, values in self.when.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class Measuring:
    """How a template's object is measured.

    Attributes
    ----------
    readings : tuple of Reading
        In the order in which they are best read.
    sizes : tuple of FromReadings
    starts_with : mapping
        Parameters, as a part sheet holds them, without which a new sheet would make nothing.
    often : tuple of str
        Parameters that most people look for next.
    """

    readings: tuple[Reading, ...] = ()
    sizes: tuple[FromReadings, ...] = ()
    starts_with: Mapping[str, Any] = field(default_factory=dict)
    often: tuple[str, ...] = ()

    def sizes_of(self, variant: BaseModel) -> tuple[FromReadings, ...]:
        """Name the parameters that a variant takes from readings."""
        return tuple(one for one in self.sizes if one.counts_for(variant))

    def readings_of(self, *sizes: FromReadings) -> tuple[Reading, ...]:
        """Name the features that sizes follow from, in the declared order."""
        needed = {word for one in sizes for word in _WORD.findall(one.text)}
        return tuple(one for one in self.readings if one.name in needed)
