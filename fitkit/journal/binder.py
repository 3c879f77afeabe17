"""The journal for the binder: one self-contained HTML page, or a PDF.

Both hold the same `pages`: one a print, by part and then by date, with its picture, sizes, trials,
what was learned, notes, drawings and photos, and before them the contents. Each page bears its
number and the print's code. Pictures and drawings are those that were kept at the make; nothing is
built. The HTML asks nothing of a network and holds no scripts; jinja2 escapes every value.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from fitkit.core.files import write_atomic
from fitkit.core.format import NOTHING, length_text
from fitkit.journal.files import set_aside
from fitkit.journal.kept_views import kept_views
from fitkit.journal.lookup import success_periods, summaries
from fitkit.journal.part_history import history, said_of_withdrawn
from fitkit.journal.photos import thumbnail_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from fitkit.journal.entries import FitEntry
    from fitkit.journal.part_history import Version
    from fitkit.journal.records import NoteRecord, PrintRecord, Record, TrialRecord
    from fitkit.journal.store import Journal

__all__ = ["pages", "render_html", "write_html", "write_pdf"]

SIZE_HEADS = ("size", "wanted", "gap", "target", "drawn", "expected ± U95", "measured", "verdict")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BinderPage:
    """What the binder says of one print, as text; lengths in mm."""

    title: str
    code: str
    verdict: str
    facts: Sequence[tuple[str, str]]
    sizes: Sequence[Sequence[str]]
    learned: Sequence[str]
    notes: Sequence[str]
    photos: Sequence[tuple[str, bytes]]
    picture: bytes = b""
    drawings: Sequence[Mapping[str, Any]] = ()


def pages(journal: Journal, *, part: str | None = None) -> list[BinderPage]:
    """Gather the pages, by part and then by date.

    Parameters
    ----------
    journal : Journal
    part : str, optional
        Only this one.
    """
    if part is not None:
        titles = [part]
    else:
        found = (item.part for item in summaries(journal) if item.kind == "print")
        titles = list({title.casefold(): title for title in found}.values())
    notes = journal.records("note")
    return [_page(journal, v, notes) for title in titles for v in history(journal, title)]


def _page(journal: Journal, version: Version, notes: Sequence[NoteRecord]) -> BinderPage:
    record = version.record
    codes = (record.code, record.supersedes)
    around: list[Record] = [record, *version.trials, *(n for n in notes if n.of in codes)]
    words = [word for item in around for word in item.notes]
    words += [said_of_withdrawn(trial) for trial in version.withdrawn]
    # What is good to know before a print only is left to its sheet.
    found = [f for f in record.findings if f.get("severity") != "note"]
    words += [f"{f.get('severity')}: {f.get('text')}" for f in found]
    pictures = [
        (photo.caption, small)
        for item in around
        for photo in item.photos
        if (small := thumbnail_bytes(journal.folder, photo)) is not None
    ]
    views = kept_views(record, journal.folder)
    learned = [f"changed: {change}" for change in version.changes]
    learned += [version.lesson] if version.lesson else []
    learned += [f"broke: {one}" for one in version.broken]
    return BinderPage(
        title=record.title,
        code=record.code,
        verdict=version.verdict,
        facts=_facts(record),
        sizes=[_size(fit, version.trials) for fit in record.fits],
        learned=learned,
        notes=words,
        photos=pictures,
        picture=views.picture if views else b"",
        drawings=views.drawings if views else (),
    )


def _facts(record: PrintRecord) -> list[tuple[str, str]]:
    cost = ", ".join(
        f"{name} {_figure(value)}" for name, value in record.cost.items() if name != "moves"
    )
    facts = [
        ("made", f"{record.made_at:%Y-%m-%d %H:%M %Z}"),
        ("by", record.maker),
        ("template", record.template),
        ("printer", record.printer),
        ("material", record.material),
        ("spool", record.spool),
        ("nozzle", record.nozzle),
        ("profile", str(record.profile.get("name", ""))),
        ("readings", ", ".join(file.name for file in record.readings)),
        ("files", ", ".join(file.name for file in record.files)),
        ("cost", cost),
        ("corrects", f"{record.supersedes}: {record.reason}" if record.supersedes else ""),
        ("versions", ", ".join(f"{name} {value}" for name, value in record.versions.items())),
    ]
    return [(name, value) for name, value in facts if value]


def _figure(value: Any) -> str:
    """Write a figure of the cost, or its low and high ends, to three digits."""
    if isinstance(value, list | tuple):
        return " to ".join(map(_figure, value))
    return f"{value:.3g}" if isinstance(value, float) else str(value)


def _size(fit: FitEntry, trials: Iterable[TrialRecord]) -> list[str]:
    said = fit.texts()
    tried = [entry for trial in trials for entry in trial.fits if entry.name == fit.name]
    measured = [entry.measured_mm for entry in tried if entry.measured_mm is not None]
    verdicts = [entry.verdict for entry in tried if entry.verdict]
    return [
        said.name,
        said.wanted,
        said.gap,
        said.target,
        said.drawn,
        said.expected,
        length_text(measured[-1]) if measured else NOTHING,
        verdicts[-1] if verdicts else "not tried",
    ]


def _success(journal: Journal) -> list[str]:
    lines = []
    for row in success_periods(journal, by="year"):
        if row.share is None:
            lines.append(f"{row.period}: {row.first_prints} first prints, none tried")
        else:
            lines.append(
                f"{row.period}: {row.fitted} of {row.tried} first prints fitted as wanted, "
                f"{row.said('95 % interval ')}, "
                f"{row.first_prints - row.tried} not tried"
            )
    return lines


def render_html(journal: Journal, *, part: str | None = None) -> str:
    """Render the page as text."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("fitkit", "journal"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["jpeg"] = lambda raw: (
        "data:image/jpeg;base64," + base64.b64encode(raw).decode()
    )
    environment.filters["png"] = lambda raw: (
        "data:image/png;base64," + base64.b64encode(raw).decode()
    )
    environment.filters["svg"] = _svg
    return environment.get_template("binder.html.j2").render(
        pages=pages(journal, part=part),
        heads=SIZE_HEADS,
        success=_success(journal),
        aside=set_aside(journal.damaged),
        made=_today(),
    )


def _svg(drawing: Mapping[str, Any]) -> Any:
    """Draw a kept drawing, for the page to scale."""
    from markupsafe import Markup

    from fitkit.drawings import svg_of
    from fitkit.drawings.kept import elements_of

    width, height = drawing["size_mm"]
    return Markup(svg_of(elements_of(drawing), (width, height), title=str(drawing["body"])))


def render_pdf(journal: Journal, *, part: str | None = None) -> bytes:
    """Render the PDF, A4, one print a page or more."""
    found = pages(journal, part=part)
    pdf = _document()
    pdf.add_page()
    _heading(pdf, "Journal of prints", 16)
    _lines(pdf, [f"Made {_today()}. All lengths in mm.", *_success(journal)])
    _lines(pdf, set_aside(journal.damaged))
    if found:
        pdf.ln(2)
        starts = pdf.get_y()
        room = [_rows_from(pdf, starts), _rows_from(pdf, pdf.t_margin)]
        more = max(len(found) - room[0], 0)
        pdf.insert_toc_placeholder(
            lambda document, outline: _contents(document, outline, found),
            pages=1 + -(-more // room[1]),
            allow_extra_pages=True,
        )
    for number, page in enumerate(found, start=1):
        pdf.told = f"print {number} of {len(found)} · {page.title} · {page.code}"
        if number > 1:  # the contents end with a new page
            pdf.add_page()
        pdf.start_section(page.code)
        _print_page(pdf, page)
    return bytes(pdf.output())


_LINE_MM = 4.2


def _rows_from(pdf: Any, y: float) -> int:
    return int((pdf.eph + pdf.t_margin - y) // _LINE_MM)


def _contents(pdf: Any, outline: Sequence[Any], found: Sequence[BinderPage]) -> None:
    """Name each print with its page; a link leads there."""
    pdf.set_font("body", size=8.5)
    for entry, page in zip(outline, found, strict=True):
        link = pdf.add_link(page=entry.page_number)
        cells = (_fitted(page.title, 48), page.code, _fitted(page.verdict, 44))
        for text, wide in zip(cells, (82, 22, 64), strict=True):
            pdf.cell(wide, _LINE_MM, text, link=link)
        page_number = str(entry.page_number)
        pdf.cell(0, _LINE_MM, page_number, align="R", link=link, new_x="LMARGIN", new_y="NEXT")


def _fitted(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _print_page(pdf: Any, page: BinderPage) -> None:
    _heading(pdf, f"{page.title}  {page.code}", 13)
    top = pdf.get_y()
    if page.picture:
        pdf.image(page.picture, x=pdf.w - pdf.r_margin - 62, y=top, w=62, alt_text=page.title)
        pdf.set_right_margin(pdf.r_margin + 66)
    _lines(pdf, [f"Verdict: {page.verdict}", *(f"{a}: {b}" for a, b in page.facts)])
    if page.picture:
        pdf.set_right_margin(15)
        if pdf.page_no() == pdf.page and pdf.get_y() < top + 47:
            pdf.set_y(top + 47)
    if page.sizes:
        pdf.ln(2)
        pdf.set_font("body", size=7.5)
        widths = (16, 12, 7, 9, 9, 15, 10, 12)
        with pdf.table(
            text_align="LEFT", col_widths=widths, line_height=3.6, borders_layout="HORIZONTAL_LINES"
        ) as table:
            for cells in (SIZE_HEADS, *page.sizes):
                table.row(cells)
    for head, lines in (("What was learned", page.learned), ("Notes", page.notes)):
        if lines:
            _heading(pdf, head, 10)
            _lines(pdf, [f"- {line}" for line in lines])
    _draw(pdf, page.drawings)
    for caption, raw in page.photos:
        pdf.ln(2)
        pdf.image(raw, w=70, alt_text=caption or "photo")
        _lines(pdf, [caption] if caption else [])


def _draw(pdf: Any, drawings: Sequence[Mapping[str, Any]]) -> None:
    """Draw two drawings beside each other; one by itself is larger."""
    from fitkit.drawings.kept import elements_of
    from fitkit.drawings.pdf import paint

    beside = 1 if len(drawings) == 1 else 2
    wide = 0.7 * pdf.epw if beside == 1 else (pdf.epw - 3.0) / 2
    for nth in range(0, len(drawings), beside):
        row = drawings[nth : nth + beside]
        scales = [wide / float(one["size_mm"][0]) for one in row]
        high = max(s * float(one["size_mm"][1]) for s, one in zip(scales, row, strict=True))
        pdf.ln(2)
        if pdf.will_page_break(high):
            pdf.add_page()
        top = pdf.get_y()
        for place, (scale, one) in enumerate(zip(scales, row, strict=True)):
            left = pdf.l_margin + place * (wide + 3.0)
            paint(pdf, elements_of(one), foot=(left, top + high), font="body", scale=scale)
        pdf.set_y(top + high)


def _document() -> Any:
    from pathlib import Path

    import matplotlib as mpl
    from fpdf import FPDF

    class Pages(FPDF):  # type: ignore[misc] # its base ships no types
        """Pages with the print's code above and the page's number below."""

        told = ""

        def header(self) -> None:
            if self.told:
                self.set_font("body", size=8)
                self.cell(0, 4, self.told, border="B", new_x="LMARGIN", new_y="NEXT")

        def footer(self) -> None:
            self.set_y(-12)
            self.set_font("body", size=8)
            self.cell(0, 4, f"page {self.page_no()}", align="R")

    pdf = Pages(format="A4")
    pdf.set_title("Journal of prints")
    pdf.set_margins(15, 12, 15)
    pdf.set_auto_page_break(True, margin=14)
    # The PDF standard fonts lack most of the world's letters; matplotlib brings DejaVu along.
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    pdf.add_font("body", fname=fonts / "DejaVuSans.ttf")
    pdf.add_font("body", style="B", fname=fonts / "DejaVuSans-Bold.ttf")
    return pdf


def _heading(pdf: Any, text: str, size: int) -> None:
    pdf.ln(1.5)
    pdf.set_font("body", style="B", size=size)
    pdf.multi_cell(0, size * 0.55, text, new_x="LMARGIN", new_y="NEXT")


def _lines(pdf: Any, lines: Iterable[str]) -> None:
    pdf.set_font("body", size=8.5)
    for line in lines:
        pdf.multi_cell(0, _LINE_MM, line, new_x="LMARGIN", new_y="NEXT")


def _today() -> str:
    return f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC"


def write_html(journal: Journal, path: Path, *, part: str | None = None) -> Path:
    """Write the journal as one HTML page.

    Parameters
    ----------
    journal : Journal
    path : Path
        An older file of that name is replaced.
    part : str, optional
        Only this part.

    Returns
    -------
    Path
        The file.
    """
    return write_atomic(path, render_html(journal, part=part))


def write_pdf(journal: Journal, path: Path, *, part: str | None = None) -> Path:
    """Write the journal as a PDF.

    Parameters
    ----------
    journal, path, part
        As `write_html` takes them.

    Returns
    -------
    Path
        The file.
    """
    return write_atomic(path, render_pdf(journal, part=part))
