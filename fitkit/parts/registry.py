"""Templates by title: the shipped ones, loaded when first asked for, and a notebook's own.

A title is what a part sheet names (``board case``). Shipped titles are known without importing
their files; none of them loads the CAD kernel before a part is built.
"""

from __future__ import annotations

import difflib
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeVar

from fitkit.errors import PartError
from fitkit.parts.contract import Template

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["SPECIMENS", "register", "template", "templates", "titles"]

# Title -> the file in this room and the class in it.
_SHIPPED = {
    "board case": ("board_case", "BoardCase"),
    "clip tray": ("clip_tray", "ClipTray"),
    "ball seat": ("ball_seat", "BallSeat"),
    "cradle": ("cradle", "Cradle"),
    "panel": ("panel", "Panel"),
    "bracket": ("bracket", "Bracket"),
    "spacer": ("spacer", "Spacer"),
    "hanger plate": ("hanger", "HangerPlate"),
    "sleeve": ("sleeve", "Sleeve"),
    "knob": ("knob", "Knob"),
    "box lid": ("box_lid", "BoxLid"),
    "tray insert": ("tray_insert", "TrayInsert"),
    "calibration coupon": ("coupon", "CalibrationCoupon"),
    "fit ladder": ("fit_ladder", "FitLadder"),
}
# Printed to be measured or tried, and no parts for use.
SPECIMENS = frozenset({"calibration coupon", "fit ladder"})
_own: dict[str, type[Template]] = {}
_T = TypeVar("_T", bound=type[Template])


def titles() -> tuple[str, ...]:
    """Titles of all templates, shipped ones first; loads nothing."""
    return (*_SHIPPED, *(title for title in _own if title not in _SHIPPED))


def template(title: str) -> type[Template]:
    """Find a template by its title.

    Raises
    ------
    PartError
        If there is none; suggests the nearest title.
    """
    if title in _own:
        return _own[title]
    if title in _SHIPPED:
        home, name = _SHIPPED[title]
        found: type[Template] = getattr(import_module(f"fitkit.parts.{home}"), name)
        return found
    near = difflib.get_close_matches(str(title), titles(), n=1)
    raise PartError(
        f"no template {title!r}",
        where="template",
        remedy=f"Did you mean {near[0]!r}?" if near else f"There are: {', '.join(titles())}.",
    )


def templates() -> Mapping[str, type[Template]]:
    """All templates by title; loads their files, not the kernel."""
    return MappingProxyType({title: template(title) for title in titles()})


def register(cls: _T) -> _T:
    """Add a template of one's own, as a class decorator; a second one of its title replaces it.

    Raises
    ------
    PartError
        If it is no template or has no title.

    Examples
    --------
    >>> @register
    ... class Peg(Template):
    ...     title = "peg"
    >>> template("peg") is Peg
    True
    """
    if not (isinstance(cls, type) and issubclass(cls, Template)):
        raise PartError(f"{cls!r} is no template", remedy="Derive it from fitkit.parts.Template.")
    title = getattr(cls, "title", "")
    if not isinstance(title, str) or not title.strip():
        raise PartError(
            f"{cls.__name__} has no title", where="template", remedy="Write title = '...' in it."
        )
    _own[title] = cls
    return cls
