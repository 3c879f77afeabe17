"""Templates by title: the shipped ones, a notebook's own, and those of installed packages.

A title is what a part sheet names (``board case``). Shipped titles are known without importing
their files; none of them loads the CAD kernel before a part is built.

A package brings templates by entry points of the group ``fitkit.templates`` (PyPA, Entry points
specification). The name of one is the title of its template, blanks written as ``-`` or ``_`` where
a tool wants it so. They are looked for only when a title is neither registered nor shipped, so no
package can take the place of a shipped template. Whoever installed a package has let its code run:
nothing is asked. A template in a file of one's own is the matter of `own_file`.
"""

from __future__ import annotations

import difflib
import re
from functools import cache
from importlib import import_module
from types import MappingProxyType
from typing import TYPE_CHECKING, TypeVar

from fitkit.core.errors import PartError
from fitkit.parts.contract import Template
from fitkit.parts.own_file import MODULE

if TYPE_CHECKING:
    from collections.abc import Mapping
    from importlib.metadata import EntryPoint

__all__ = [
    "SPECIMENS",
    "known_carriers",
    "package_of",
    "register",
    "shipped",
    "template",
    "templates",
    "titles",
]

GROUP = "fitkit.templates"

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
    "test strips": ("bend_strips", "BendStrips"),
}
# Carriers of several things: templates too, but none of them is a part before it is given things.
_CARRIERS = {
    "case": ("case", "Case"),
    "plate": ("plate", "MountingPlate"),
    "given shape": ("given", "OnShape"),
}
# Printed to be measured or tried, and no parts for use.
SPECIMENS = frozenset({"calibration coupon", "fit ladder", "test strips"})
_own: dict[str, type[Template]] = {}
_T = TypeVar("_T", bound=type[Template])


def shipped() -> tuple[str, ...]:
    """Titles of the templates that come with fitkit."""
    return tuple(_SHIPPED)


def known_carriers() -> dict[str, type[Template]]:
    """Give the shipped carriers of several things by title."""
    return {title: template(title) for title in _CARRIERS}


def titles() -> tuple[str, ...]:
    """Titles of all templates: shipped, registered, of installed packages; loads none of them."""
    return tuple(dict.fromkeys((*_SHIPPED, *_own, *_installed())))


def template(title: str) -> type[Template]:
    """Find a template by its title.

    Raises
    ------
    PartError
        If there is none (suggests the nearest title), or an installed package's cannot be loaded.
    """
    if title in _own:
        return _own[title]
    if title in _SHIPPED:
        home, name = _SHIPPED[title]
        found: type[Template] = getattr(import_module(f"fitkit.parts.designs.{home}"), name)
        return found
    if title in _CARRIERS:
        home, name = _CARRIERS[title]
        carrier: type[Template] = getattr(import_module(f"fitkit.parts.carriers.{home}"), name)
        return carrier
    if _plain(title) in _installed():
        return _of_package(title)
    near = difflib.get_close_matches(str(title), (*titles(), *_CARRIERS), n=1)
    raise PartError(
        f"there is no template {title!r}",
        where="template",
        code="template.unknown",
        remedy=f"Did you mean {near[0]!r}?" if near else f"There are: {', '.join(titles())}.",
    )


def package_of(title: str) -> tuple[str, str] | None:
    """Name and version of the package that a title comes from; None for shipped and own ones."""
    if (
        title in _own
        or title in _SHIPPED
        or title in _CARRIERS
        or _plain(title) not in _installed()
    ):
        return None
    found = _installed()[_plain(title)][0].dist
    return (found.name, found.version) if found else None


@cache
def _installed() -> Mapping[str, tuple[EntryPoint, ...]]:
    """Entry points by title, looked for once: going through what is installed takes a while."""
    from importlib.metadata import entry_points

    found: dict[str, tuple[EntryPoint, ...]] = {}
    for point in entry_points(group=GROUP):
        title = _plain(point.name)
        if point not in found.get(title, ()):
            found[title] = (*found.get(title, ()), point)
    return MappingProxyType(found)


def _plain(title: str) -> str:
    """Give a title with blanks alone between its words, as names of entry points are compared."""
    return " ".join(re.split(r"[-_\s]+", title.strip("-_ ")))


def _of_package(title: str) -> type[Template]:
    points = _installed()[_plain(title)]
    names = [point.dist.name if point.dist else "?" for point in points]
    if len(points) > 1:
        raise PartError(
            f"{len(points)} installed templates have the title {title!r}",
            where=f"packages {', '.join(names)}",
            code="template.several-packages",
            remedy="Remove all of these packages but one.",
        )
    where = f"package {names[0]}, entry point {points[0].value}"
    try:
        found = points[0].load()
    except Exception as error:
        raise PartError(
            f"the template {title!r} cannot be loaded: {type(error).__name__}: {error}",
            where=where,
            code="template.not-loaded",
            remedy="Update the package, or tell whoever made it.",
        ) from error
    if not (isinstance(found, type) and issubclass(found, Template)):
        raise PartError(
            f"{found!r} is not a template",
            where=where,
            code="template.not-one",
            remedy="Name a class that derives from fitkit.parts.Template.",
        )
    if _plain(getattr(found, "title", "")) != _plain(title):
        raise PartError(
            f"holds the template {getattr(found, 'title', '')!r}, not {title!r}",
            where=where,
            code="template.other-title",
            remedy="Give the entry point the template's title as its name.",
        )
    return found


def templates() -> Mapping[str, type[Template]]:
    """All templates by title; loads their files and packages, not the kernel."""
    return MappingProxyType({title: template(title) for title in titles()})


def register(cls: _T) -> _T:
    """Add a template of one's own, as a class decorator; a second one of its title replaces it.

    Raises
    ------
    PartError
        If it is not a template or has no title.

    Examples
    --------
    >>> @register
    ... class Peg(Template):
    ...     title = "peg"
    >>> template("peg") is Peg
    True
    """
    if not (isinstance(cls, type) and issubclass(cls, Template)):
        raise PartError(
            f"{cls!r} is not a template",
            code="template.not-one",
            remedy="Derive it from fitkit.parts.Template.",
        )
    title = getattr(cls, "title", "")
    if not isinstance(title, str) or not title.strip():
        raise PartError(
            f"{cls.__name__} has no title",
            where="template",
            code="template.no-title",
            remedy="Write title = '...' in it.",
        )
    # A template file belongs to the sheets that name it, not to all that this process makes.
    if not cls.__module__.startswith(MODULE):
        _own[title] = cls
    return cls
