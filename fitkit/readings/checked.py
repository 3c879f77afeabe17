"""A check of calipers on a known length, written with its day into the instruments file.

The file keeps its comments and all else; a check of the same length with the same jaws takes the
place of the one before. Left out: when a check is due again.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import ReadingError
from fitkit.core.files import read_plain, write_atomic
from fitkit.core.locks import sole_writer
from fitkit.readings.instruments import load_instruments, same_instrument

if TYPE_CHECKING:
    from os import PathLike

    from fitkit.readings.checks import Check
    from fitkit.readings.instruments import Instrument

__all__ = ["record_check"]


def record_check(
    path: str | PathLike[str], name: str, check: Check, *, zeroed: bool = False
) -> Instrument:
    """Write a check into an instruments file.

    Parameters
    ----------
    path : path
        Instruments file that describes the instrument.
    name : str
        Of the instrument; case and blanks do not count.
    check : Check
    zeroed : bool
        Whether the jaws were closed and read with it: that is then the file's zero check, too.

    Returns
    -------
    Instrument
        As the file says now.

    Raises
    ------
    ReadingError
        If the file does not describe the instrument, or cannot be read.
    ExportError
        If it cannot be written.
    """
    import tomlkit

    path = Path(path)
    with sole_writer(path):
        known = load_instruments(path)
        found = next((one for one in known if same_instrument(one, name)), None)
        if found is None:
            raise ReadingError(
                f"no instrument {name!r} is described",
                file=path,
                code="readings.no-such-instrument",
                remedy=f"There are: {', '.join(known)}.",
            )
        content = tomlkit.parse(read_plain(path).decode("utf-8-sig"))
        tables: Any = content["instrument"]
        table = next(one for one in tables if one["name"] == found)
        if zeroed and check.date:
            table["zero_error"] = _length(check.zero_mm)
            table["zero_checked"] = check.date
        kept = [
            one
            for one, old in zip(table.get("check", []), known[found].checks, strict=True)
            if (old.length_mm, old.jaws) != (check.length_mm, check.jaws)
        ]
        checks = tomlkit.aot()
        for one in kept:
            checks.append(one)
        checks.append(_table(check))
        table["check"] = checks
        write_atomic(path, tomlkit.dumps(content))
    return load_instruments(path)[found]


def _table(check: Check) -> Any:
    import tomlkit

    table = tomlkit.table()
    for name, value in (
        ("length", _length(check.length_mm)),
        ("known_to", _length(check.known_to_mm)),
        ("shown", _length(check.shown_mm)),
        ("zero", _length(check.zero_mm)),
        ("readings", check.readings),
        ("spread", _length(check.spread_mm)),
        ("jaws", check.jaws),
        ("date", check.date),
    ):
        if value is not None:
            table[name] = value
    return table


def _length(size_mm: float) -> str:
    return f"{round(size_mm, 5):.10g} mm"
