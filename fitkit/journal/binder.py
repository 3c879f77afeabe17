"""The journal for the binder: one self-contained HTML page, or a PDF.

Both hold the same `pages`: one a print, oldest first, with its sizes, trials, notes, changes since
the print before, and thumbnails. The HTML asks nothing of a network and holds no scripts; jinja2
escapes every value.
"""

from __future__ import annotations

import base64
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from fitkit.core.files import write_atomic
from fitkit.core.format import NOTHING, length_text
from fitkit.journal.files import set_aside
from fitkit.journal.lookup import success_periods, summaries
from fitkit.journal.part_history import history, said_of_withdrawn
from fitkit.journal.photos import thumbnail_bytes

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
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
    changes: Sequence[str]
    lesson: str
    notes: Sequence[str]
    photos: Sequence[tuple[str, bytes]]


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
    words += [f"{f.get('severity')}: {f.get('text')}" for f in record.findings]
    pictures = [
        (photo.caption, small)
        for item in around
        for photo in item.photos
        if (small := thumbnail_bytes(journal.folder, photo)) is not None
    ]
    return BinderPage(
        title=record.title,
        code=record.code,
        verdict=version.verdict,
        facts=_facts(record),
        sizes=[_size(fit, version.trials) for fit in record.fits],
        changes=[str(change) for change in version.changes],
        lesson=version.lesson,
        notes=words,
        photos=pictures,
    )


def _facts(record: PrintRecord) -> list[tuple[str, str]]:
    cost = ", ".join(f"{name} {value}" for name, value in record.cost.items() if name != "moves")
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
    return environment.get_template("binder.html.j2").render(
        pages=pages(journal, part=part),
        heads=SIZE_HEADS,
        success=_success(journal),
        aside=set_aside(journal.damaged),
        made=_today(),
    )


def render_pdf(journal: Journal, *, part: str | None = None) -> bytes:
    """Render the PDF, A4, one print a page or more."""
    pdf = _document()
    pdf.add_page()
    _heading(pdf, "Journal of prints", 18)
    _lines(pdf, [f"made {_today()}; lengths in mm", *_success(journal)])
    _lines(pdf, set_aside(journal.damaged))
    for page in pages(journal, part=part):
        pdf.add_page()
        _heading(pdf, f"{page.title}  {page.code}", 14)
        _lines(pdf, [f"verdict: {page.verdict}", *(f"{a}: {b}" for a, b in page.facts)])
        if page.sizes:
            pdf.ln(2)
            pdf.set_font("body", size=8)
            with pdf.table(text_align="LEFT", col_widths=(16, 12, 7, 9, 9, 15, 10, 12)) as table:
                for cells in (SIZE_HEADS, *page.sizes):
                    table.row(cells)
        if page.changes:
            _heading(pdf, "changed since the print before", 11)
            _lines(pdf, [*page.changes, page.lesson])
        if page.notes:
            _heading(pdf, "notes", 11)
            _lines(pdf, page.notes)
        for caption, raw in page.photos:
            pdf.ln(2)
            pdf.image(raw, w=70, alt_text=caption or "photo")
            _lines(pdf, [caption] if caption else [])
    return bytes(pdf.output())


def _document() -> Any:
    from pathlib import Path

    import matplotlib as mpl
    from fpdf import FPDF

    pdf = FPDF(format="A4")
    pdf.set_title("Journal of prints")
    pdf.set_auto_page_break(True, margin=15)
    # The PDF standard fonts lack most of the world's letters; matplotlib brings DejaVu along.
    fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
    pdf.add_font("body", fname=fonts / "DejaVuSans.ttf")
    pdf.add_font("body", style="B", fname=fonts / "DejaVuSans-Bold.ttf")
    return pdf


def _heading(pdf: Any, text: str, size: int) -> None:
    pdf.ln(2)
    pdf.set_font("body", style="B", size=size)
    pdf.multi_cell(0, size * 0.55, text, new_x="LMARGIN", new_y="NEXT")


def _lines(pdf: Any, lines: Iterable[str]) -> None:
    pdf.set_font("body", size=9)
    for line in lines:
        pdf.multi_cell(0, 4.6, line, new_x="LMARGIN", new_y="NEXT")


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
