"""What has to be bought before parts can be put together: words for screws, inserts and nuts.

One place for the words, since like things are counted together by them, over all parts of a job.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from fitkit.fits.fasteners import hold_in_plastic, hold_of_size
from fitkit.parts.contract import Buy

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "cable_ties",
    "countersunk",
    "flat_headed",
    "inserts",
    "into_plastic",
    "magnets",
    "nuts",
    "pins",
    "seal_cord",
    "set_screws",
    "summed",
    "through_ears",
]


def cable_ties(width_mm: float, count: int, why: str) -> tuple[Buy, ...]:
    """Give cable ties of a width.

    Parameters
    ----------
    width_mm : float, mm
    count : int
    why : str

    Returns
    -------
    tuple of Buy
    """
    return _some(f"cable tie {width_mm:g} mm wide", count, why)


def magnets(diameter_mm: float, height_mm: float, count: int, why: str) -> tuple[Buy, ...]:
    """Give round magnets.

    Parameters
    ----------
    diameter_mm, height_mm : float, mm
    count : int
    why : str

    Returns
    -------
    tuple of Buy
    """
    return _some(f"round magnet {diameter_mm:g} mm, {height_mm:g} mm thick", count, why)


def pins(diameter_mm: float, length_mm: float, count: int, why: str) -> tuple[Buy, ...]:
    """Give straight pins of round steel, as long as they may be.

    Parameters
    ----------
    diameter_mm, length_mm : float, mm
    count : int
    why : str

    Returns
    -------
    tuple of Buy
    """
    length = math.floor(length_mm)
    return _some(f"steel pin {diameter_mm:g} mm, {length} mm long", count, why)


def seal_cord(thick_mm: float, length_mm: float, rubber: str, why: str) -> tuple[Buy, ...]:
    """Give one length of a round sealing cord.

    Parameters
    ----------
    thick_mm, length_mm : float, mm
    rubber : str
        ``solid`` or ``sponge``.
    why : str

    Returns
    -------
    tuple of Buy
    """
    what = f"round cord of {rubber} rubber {thick_mm:g} mm, {math.ceil(length_mm + 10)} mm long"
    return _some(what, 1, why)


def countersunk(screw: str, count: int, why: str) -> tuple[Buy, ...]:
    """Countersunk screws that hold a part to what it stands on; none for a count of 0.

    Parameters
    ----------
    screw : str
        ``M3``.
    count : int
    why : str
        What they are for.

    Returns
    -------
    tuple of Buy
    """
    return _some(f"countersunk screw {screw}, for what it stands on", count, why)


def flat_headed(
    screw: str, count: int, why: str, *, least_mm: float | None = None
) -> tuple[Buy, ...]:
    """Screws with a flat underside of the head.

    Parameters
    ----------
    screw : str
        ``M3``.
    count : int
    why : str
    least_mm : float, mm, optional
        Least length; for what the part stands on if not given.

    Returns
    -------
    tuple of Buy
    """
    end = "for what it stands on" if least_mm is None else f"{math.ceil(least_mm)} mm or longer"
    return _some(f"screw {screw} with a flat underside, {end}", count, why)


def through_ears(screw_mm: float, count: int, why: str) -> tuple[Buy, ...]:
    """Screws of a diameter through ears, into what the part stands on.

    Parameters
    ----------
    screw_mm : float, mm
    count : int
    why : str

    Returns
    -------
    tuple of Buy
    """
    what = f"screw of {screw_mm:g} mm with a flat underside, for what it stands on"
    return _some(what, count, why)


def into_plastic(
    screw_mm: float, clamped_mm: float, count: int, why: str, *, most_mm: float = math.inf
) -> tuple[Buy, ...]:
    """Screws that form their thread in a printed hole.

    Parameters
    ----------
    screw_mm : float, mm
    clamped_mm : float, mm
        What lies under the head before the thread begins.
    count : int
    why : str
    most_mm : float, mm
        No more thread than this finds plastic.

    Returns
    -------
    tuple of Buy
    """
    length = math.ceil(clamped_mm + min(hold_of_size(screw_mm).engage_mm, most_mm))
    what = f"screw M{screw_mm:g} that forms its thread in plastic, {length} mm long"
    return _some(what, count, why)


def inserts(screw: str, count: int, why: str, *, long_mm: float | None = None) -> tuple[Buy, ...]:
    """Heat-set inserts.

    Parameters
    ----------
    screw : str
        ``M3``.
    count : int
    why : str
    long_mm : float, mm, optional
        Their length; that of a common one if not given.

    Returns
    -------
    tuple of Buy
    """
    long = hold_in_plastic(screw).insert_length_mm if long_mm is None else long_mm
    return _some(f"heat-set insert {screw}, {long:g} mm long", count, why)


def nuts(screw: str, count: int, why: str) -> tuple[Buy, ...]:
    """Hexagon nuts.

    Parameters
    ----------
    screw : str
        ``M3``.
    count : int
    why : str

    Returns
    -------
    tuple of Buy
    """
    return _some(f"hexagon nut {screw}", count, why)


def set_screws(screw: str | None) -> tuple[Buy, ...]:
    """One set screw that forms its thread in plastic; none if there is no screw.

    Parameters
    ----------
    screw : str or None
        ``M3``.

    Returns
    -------
    tuple of Buy
    """
    return _some(f"set screw {screw}", int(screw is not None), "shaft")


def summed(buys: Iterable[Buy]) -> tuple[Buy, ...]:
    """Count like things together, with all that they are for.

    Parameters
    ----------
    buys : iterable of Buy

    Returns
    -------
    tuple of Buy
        In the order in which they came first.

    Examples
    --------
    >>> [buy] = summed([*nuts("M3", 2, "lid"), *nuts("M3", 4, "ears"), *nuts("M3", 1, "lid")])
    >>> buy.what, buy.count, buy.why
    ('hexagon nut M3', 7, 'lid, ears')
    """
    found: dict[str, tuple[int, dict[str, None]]] = {}
    for buy in buys:
        count, reasons = found.get(buy.what, (0, {}))
        found[buy.what] = (count + buy.count, reasons | ({buy.why: None} if buy.why else {}))
    return tuple(
        Buy(what=what, count=count, why=", ".join(reasons))
        for what, (count, reasons) in found.items()
    )


def _some(what: str, count: int, why: str) -> tuple[Buy, ...]:
    return (Buy(what=what, count=count, why=why),) if count else ()
