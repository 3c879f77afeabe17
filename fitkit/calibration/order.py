"""What goes to the bench with a coupon: an empty readings file and a sheet of what to read.

Both are made from the same feature list as the coupon's drawing, so a filled file fits without
any typing of names. The file is UTF-8 with commas, one row a reading, sizes in the unit chosen.
"""

from __future__ import annotations

import html
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.calibration.coupon import coupon_features, first_readings
from fitkit.calibration.order_map import order_map
from fitkit.calibration.settings import PrintSettings
from fitkit.core.errors import CalibrationError, FitkitError
from fitkit.core.files import create_atomic, write_atomic
from fitkit.core.staged import settle
from fitkit.readings.blank import blank_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from os import PathLike

    from fitkit.calibration.coupon import CouponFeature

__all__ = ["blank_readings", "order_files", "order_sheet", "write_order"]

_BEFORE = (
    "Print with any horizontal expansion, hole or first-layer compensation of the slicer off.",
    "Let the coupon cool to room temperature: read 25 °C too warm, 100 mm come out 0.2 mm long.",
    "Scrape strings and blobs off; read clear of the seam; close the jaws gently.",
    "Zero the calipers, then read down the list: outside jaws first, then inside jaws.",
    "Some features come twice: open the jaws and set them again for the second reading.",
    "Calibrate, and read again what it then asks for: about two features, once each.",
)


def blank_readings(
    features: Sequence[CouponFeature] | None = None,
    *,
    settings: PrintSettings | None = None,
    prints: int = 1,
    repeats: int = 1,
    instrument: str = "",
    unit: str = "mm",
) -> str:
    """Write an empty readings file as text: every row there, every reading blank.

    Parameters
    ----------
    features : sequence of CouponFeature, optional
        In the order of reading; `fitkit.calibration.coupon.first_readings` of the short coupon if
        None.
    settings : PrintSettings, optional
        What the coupon is printed on; stands in the ``item`` column.
    prints, repeats : int
        Copies of the coupon, and readings of each feature. Repeats are apart from each other, so
        that a reading is not simply remembered.
    instrument, unit : str
        Written on each row.

    Returns
    -------
    str
        CSV text with a head line, as `fitkit.readings.ReadingTable.read` takes it.

    Raises
    ------
    CalibrationError
        If `prints` or `repeats` is less than 1.
    """
    if prints < 1 or repeats < 1:
        raise CalibrationError(
            f"{prints} prints and {repeats} repeats are asked for",
            code="calibration.order-count",
            remedy="Give 1 or more of both.",
        )
    settings = settings or PrintSettings()
    return blank_table(
        {
            "item": settings.item(number),
            "feature": feature.name,
            "mode": feature.mode,
            "unit": unit,
            "instrument": instrument,
            "note": f"{feature.label}: {feature.how}",
            "round": "yes" if feature.kind.bore else "no",
        }
        for number in range(1, prints + 1)
        for _ in range(repeats)
        for feature in features or first_readings(coupon_features())
    )


def order_sheet(
    features: Sequence[CouponFeature] | None = None,
    *,
    settings: PrintSettings | None = None,
    prints: int = 1,
    repeats: int = 1,
    places: Mapping[str, tuple[Sequence[float], Sequence[float]]] | None = None,
) -> str:
    """Write the print order as one HTML page: what to read, where, with which jaws.

    Parameters
    ----------
    features, settings, prints, repeats
        As in `blank_readings`.
    places : mapping of feature name to (start, end), mm, optional
        Where on the coupon each is read; a map is drawn if they are given.

    Returns
    -------
    str
        A whole HTML document that needs no other file.
    """
    settings = settings or PrintSettings()
    features = tuple(features or first_readings(coupon_features()))
    # Room for a second reading: calibrating asks for some once more.
    columns = max(repeats, 2)
    rows = "\n".join(
        f'<tr><td>{number}</td><th scope="row">{html.escape(f.label)}</th>'
        f"<td>{html.escape(f.name)}</td><td>{f.drawn_mm:g}</td><td>{f.mode}</td>"
        f'<td class="how">{html.escape(f.how)}</td>' + '<td class="room"></td>' * columns + "</tr>"
        for number, f in enumerate(features, start=1)
    )
    heads = ("no.", "label", "feature", "drawn, mm", "jaws", "where and how")
    head = "".join(f'<th scope="col">{word}</th>' for word in heads)
    head += "".join(f'<th scope="col">reading {i + 1}, mm</th>' for i in range(columns))
    before = "\n".join(f"<li>{html.escape(line)}</li>" for line in _BEFORE)
    times = "each row once" if repeats == 1 else f"each row {repeats} times"
    drawn = order_map(features, places) if places else ""
    if drawn:
        diagonals = any(one.diagonal for one in features)
        lies = "D1 and D2 at the back" if diagonals else "the cut corner at the front left"
        drawn = (
            f"<figure>{drawn}<figcaption>Where each feature is, seen from above with {lies}, "
            "numbered in the order of reading: full lines with the outside jaws, "
            "dashed ones with the inside jaws.</figcaption></figure>\n"
        )
    copies = "one print" if prints == 1 else f"{prints} prints, each on its own, not side by side"
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>Coupon print order</title>
<style>
@page {{ size: A4; margin: 9mm }}
body {{ font: 8.5pt/1.25 sans-serif; margin: 0 auto; max-width: 19.2cm }}
h1 {{ font-size: 13pt; margin: 0 }}
p {{ margin: .1em 0 }}
ol {{ margin: .2em 0; padding-left: 1.6em }}
table {{ border-collapse: collapse; width: 100%; font-size: 7.8pt; line-height: 1.1 }}
caption {{ text-align: left; font-weight: bold; padding: .2em 0 }}
th, td {{ border: 1px solid; padding: 0 .35em; height: 5.2mm; text-align: left }}
th, td {{ white-space: nowrap }}
td.how {{ white-space: normal; font-size: 7pt }}
td.room {{ width: 1.8cm; min-width: 1.8cm }}
tr, figure {{ break-inside: avoid }}
figure {{ margin: 0; text-align: center }}
figure svg {{ width: 10.8cm; margin: -.4cm 0 }}
figcaption {{ font-size: 8pt; text-align: left }}
</style></head><body>
<h1>Coupon print order</h1>
<p>{html.escape(settings.item(1).rsplit(",", 1)[0])}; {copies}; {times}.</p>
<ol>
{before}
</ol>
{drawn}<table><caption>What to read</caption>
<thead><tr>{head}</tr></thead>
<tbody>
{rows}
</tbody></table>
</body></html>
"""


def write_order(
    folder: str | PathLike[str],
    features: Sequence[CouponFeature] | None = None,
    *,
    settings: PrintSettings | None = None,
    prints: int = 1,
    repeats: int = 1,
    instrument: str = "",
    stem: str = "coupon",
    places: Mapping[str, tuple[Sequence[float], Sequence[float]]] | None = None,
) -> tuple[Path, Path]:
    """Write the empty readings file and the order sheet into a folder.

    Parameters
    ----------
    folder : path
        Made if it is not there.
    features, settings, prints, repeats, instrument
        As in `blank_readings`.
    stem : str
        Both file names begin with it.
    places : mapping of feature name to (start, end), mm, optional
        As in `order_sheet`.

    Returns
    -------
    readings, sheet : Path
        The CSV file and the HTML page.

    Raises
    ------
    CalibrationError
        If the readings file is there already: it may be filled. The order sheet is written over.
    ExportError
        If one of them cannot be written.
    """
    readings, sheet = order_files(folder, stem)
    blank = blank_readings(
        features, settings=settings, prints=prints, repeats=repeats, instrument=instrument
    )
    # The file that is never written over comes last: one who is stopped before may begin again.
    page = order_sheet(features, settings=settings, prints=prints, repeats=repeats, places=places)
    there = sheet.exists()
    write_atomic(sheet, page)
    try:
        create_atomic(readings, blank)
    except FileExistsError as error:
        raise _taken(readings) from error
    except FitkitError:
        if not there:  # without the file to fill, the page tells of nothing
            sheet.unlink(missing_ok=True)
        raise
    return readings, sheet


def order_files(folder: str | PathLike[str], stem: str = "coupon") -> tuple[Path, Path]:
    """Name the files of an order, before long work rests on it; clear what a stopped one left.

    Parameters
    ----------
    folder : path
    stem : str
        As for `write_order`.

    Returns
    -------
    readings, sheet : Path

    Raises
    ------
    CalibrationError
        If the readings file is there already.
    """
    settle(folder)
    readings, sheet = Path(folder) / f"{stem}_readings.csv", Path(folder) / f"{stem}_order.html"
    if readings.exists():
        raise _taken(readings)
    return readings, sheet


def _taken(readings: Path) -> CalibrationError:
    return CalibrationError(
        "the readings file is there already and may hold readings",
        code="calibration.readings-there",
        where=str(readings),
        remedy="Move it away, or give another stem.",
    )
