"""Prints that are made to be measured or tried: the calibration coupon and the fit ladder.

Both go the same way as any part, from a sheet through `make`, so that they have files, checks and a
record; the coupon gets its empty readings file and print order beside it.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.sheet import PartSheet, sheet_of

if TYPE_CHECKING:
    from fitkit.calibration import PrintSettings
    from fitkit.make import Made

__all__ = ["order_coupon", "order_ladder"]


def order_coupon(
    folder: str | Path,
    *,
    settings: PrintSettings,
    prints: int = 1,
    repeats: int = 2,
    instrument: str = "bench calipers",
) -> tuple[Made, tuple[Path, Path]]:
    """Make the calibration coupon's files, its empty readings file and its print order.

    Parameters
    ----------
    folder : path
    settings : PrintSettings
        Printer, material, layers and nozzle that it will be printed with.
    prints, repeats : int
        How many coupons will be printed, and how often each feature is read.
    instrument : str
        Goes into the readings file.

    Returns
    -------
    Made, (readings file, print order)
    """
    from fitkit.calibration import write_order
    from fitkit.make import make

    folder = Path(folder)
    made = make(
        _sheet(
            {
                "title": "calibration coupon",
                "template": "calibration coupon",
                "printer": {"generic": settings.material},
                "use": {"handling": "decor only"},
            },
            folder,
        ),
        into=folder,
    )
    order = write_order(
        folder, settings=settings, prints=prints, repeats=repeats, instrument=instrument
    )
    return made, order


def order_ladder(
    folder: str | Path,
    pair: str,
    behaviour: str,
    *,
    size_mm: float,
    specimens: int = 4,
    profile: str | Path | None = None,
    generic: str = "PETG",
    journal: str | Path | None = None,
) -> Made:
    """Make the ladder of gaps that teaches most, given the verdicts of the journal.

    Parameters
    ----------
    folder : path
    pair, behaviour : str
        What is to be learned.
    size_mm : float, mm
    specimens : int
        Gaps on the ladder, 1 to 12.
    profile : path, optional
        Printer's profile; published ranges of the material `generic` if not given.
    journal : path, optional
        Journal with earlier verdicts, which gets the record of this print too.
    """
    from fitkit.fits import next_ladder
    from fitkit.flow import read_inputs
    from fitkit.make import make
    from fitkit.parts.fit_ladder import FitLadder

    folder = Path(folder)
    printer = {"profile": str(Path(profile).resolve())} if profile else {"generic": generic}
    content: dict[str, Any] = {
        "title": f"{pair}, {behaviour}, {size_mm:g} mm, ladder",
        "template": FitLadder.title,
        "printer": printer,
        "use": {"handling": "decor only"},
    }
    if journal:
        content["journal"] = str(Path(journal).resolve())
    trials = read_inputs(_sheet(content, folder)).trials
    ladder = next_ladder(pair, behaviour, size_mm=size_mm, specimens=specimens, trials=trials)
    part = FitLadder.of_ladder(ladder)
    content["values"] = {
        "form": part.form,
        "nominal": f"{part.nominal!r} mm",
        "gaps": [f"{gap:.6f} mm" for gap in part.gaps],
        "own_piece": part.own_piece,
    }
    return make(_sheet(content, folder), into=folder)


def _sheet(content: dict[str, Any], folder: Path) -> PartSheet:
    """Make a sheet whose paths count from the folder above the files."""
    return sheet_of(content, path=folder / "order.toml")
