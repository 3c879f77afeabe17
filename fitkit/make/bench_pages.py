"""Pages to take to the bench: the order sheet of a fit ladder, and the inspection page of a print.

Each is one HTML text that needs no other file, to be printed on A4, with blanks to write into. What
was written is typed by the commands that the page names.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

    from fitkit.journal import PrintRecord
    from fitkit.journal.entries import FitEntry
    from fitkit.parts.contract import Part

__all__ = ["inspection_page", "ladder_page"]

_BEFORE_LADDER = (
    "Print it as it lies, with no compensation of outlines and holes, and let it cool.",
    "Scrape strings and blobs off; do not sand or cut.",
    "Read each hole twice with the inside jaws, across x and across y, turned to the largest "
    "reading; then the piece with the outside jaws.",
    "Try the piece in each hole from the widest to the narrowest, by hand and straight, and write "
    "down one word for each.",
)


@dataclass(frozen=True, slots=True)
class _Row:
    cells: tuple[str, ...]
    blanks: int
    picture: Any = ""
    name_at: int = 0


def ladder_page(part: Part, record: PrintRecord) -> str:
    """Write the order sheet of a fit ladder.

    Parameters
    ----------
    part : Part
        The ladder as built.
    record : PrintRecord
        Of its print.

    Returns
    -------
    str
        An HTML document of one page.
    """
    from markupsafe import Markup

    from fitkit.core.typed import command
    from fitkit.drawings import map_from_above
    from fitkit.fits import VERDICTS

    where = {one.name: one for one in part.dimensions}
    fits = sorted(record.fits, key=lambda one: one.sense == 0)
    places, rows = [], []
    for number, fit in enumerate(fits, start=1):
        if one := where.get(fit.name):
            x, y = ((a + b) / 2 for a, b in list(zip(one.start, one.end, strict=True))[:2])
            places.append((str(number), (x, y)))
        texts = fit.texts()
        gap = texts.gap if fit.sense else ""
        rows.append(
            _Row((str(number), fit.name, fit.mark, texts.drawn, texts.expected, gap), 3, name_at=1)
        )
    tried = next((one for one in fits if one.sense), fits[0])
    typed = command("fitted", record.code, f"{tried.name}=tight")
    return _page(
        title=record.title,
        lead=f"{record.printer or 'a generic printer'}, {record.material}, all lengths in mm",
        code=record.code,
        steps=_BEFORE_LADDER,
        map=Markup(map_from_above(part.bodies, places)),
        caption="Where each hole is, seen from above, numbered in the order of reading. The mark "
        "sunk before a hole is its gap in hundredths of a millimetre; the front is the side to "
        "which the marks stand upright.",
        table="What to read and to try",
        heads=("no.", "size", "mark", "drawn", "expected ± U95", "gap", "reading 1", "reading 2",
               "how it fits"),
        rows=rows,
        after=(f"One word for each: {', '.join(VERDICTS)}.", f"Then type: {typed}"),
    )  # fmt: skip


def inspection_page(record: PrintRecord, part: Part, *, notes: Sequence[str] = ()) -> str:
    """Write the inspection page of a print: each size with a picture of where the jaws go.

    Parameters
    ----------
    record : PrintRecord
    part : Part
        As built again from the record: it knows where on the bodies each size lies.
    notes : sequence of str
        What to say below the table.

    Returns
    -------
    str
        An HTML document.
    """
    from markupsafe import Markup

    from fitkit.core.typed import command
    from fitkit.drawings import JawPictures
    from fitkit.journal.inspection import jaws_text

    bodies = {body.name: JawPictures(body) for body in part.bodies}
    where = {one.name: one for one in part.dimensions if one.body in bodies}
    rows = []
    for fit in sorted(record.fits, key=lambda one: one.sense == 0):
        one = where.get(fit.name)
        picture = Markup(bodies[one.body].svg(one)) if one else "not shown on the part"
        texts = fit.texts()
        rows.append(
            _Row((_named(fit), jaws_text(fit), texts.drawn, texts.expected), 5, picture=picture)
        )
    csv = f"{record.code.lower()}.csv"
    return _page(
        title=f"Inspection of {record.title}",
        lead=f"{record.printer or 'a generic printer'}, {record.material}, made "
        f"{record.made_at:%Y-%m-%d}, all lengths in mm",
        code=record.code,
        steps=("Let it cool to room temperature, and scrape strings and blobs off.",
               "Read each size twice, and open the jaws between.",
               "Limits are written by whoever gives a tolerance; a size conforms if its whole "
               "interval of doubt lies within them (ISO 14253-1)."),
        map="",
        caption="",
        table="What to read",
        heads=("size", "jaws", "drawn", "expected ± U95", "where", "lowest", "highest", "read 1",
               "read 2", "verdict"),
        rows=rows,
        after=(
            f"To type it in: {command('inspection', record.code, csv)}, fill the file in, and "
            f"{command('fitted', record.code, '--sheet', csv)}",
            *notes,
        ),
    )  # fmt: skip


def _named(fit: FitEntry) -> str:
    return f"{fit.name} ({fit.mark})" if fit.mark else fit.name


def _page(**values: Any) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("fitkit", "make"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return environment.get_template("bench.html.j2").render(values)
