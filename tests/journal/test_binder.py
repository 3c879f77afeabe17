"""The journal as HTML, PDF and label: whole, self-contained, safe against what people write."""

import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import NoteRecord, tag_svg, trial_of, write_html, write_pdf
from fitkit.journal.binder import render_html

EVIL = "<img src=x onerror=alert(1)>\"'><script>alert(2)</script>"


class Tags(HTMLParser):
    def __init__(self):
        super().__init__()
        self.found, self.text = [], []

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text.append(data)


def parsed(text):
    tags = Tags()
    tags.feed(text)
    return tags


@pytest.fixture
def filled(journal, made, fit, tmp_path):
    from PIL import Image

    first = made(fits=[fit(gap_mm=0.2)], notes="stiff at the corner")
    second = made(day=3, material="PLA")
    journal.add(first)
    journal.add(second)
    journal.add(trial_of(first, {"lid": "tight"}, measured={"lid": "60.12 mm"}))
    picture = tmp_path / "lid.png"
    Image.new("RGB", (40, 30), "green").save(picture)
    photo = journal.keep_photo(picture, caption="corner")
    journal.add(NoteRecord(of=first.code, notes=("seen by two",), photos=(photo,)))
    return journal, first, second


def test_html_holds_sizes_verdicts_changes_notes_and_photos(filled, tmp_path):
    journal, first, second = filled
    text = write_html(journal, tmp_path / "binder.html").read_text("utf-8")
    tags = parsed(text)
    words = " ".join(" ".join(tags.text).split())
    for piece in (
        first.code, second.code, "stiff at the corner", "seen by two", "tight (lid)", "60.12",
        "lid: gap: 0.200 mm -> 0.300 mm", "material: PETG -> PLA", "2 inputs changed at once",
        "0 of 1 first prints fitted as wanted",
    ):  # fmt: skip
        assert piece in words, piece
    images = [attrs for tag, attrs in tags.found if tag == "img"]
    assert [image["alt"] for image in images] == ["corner"]
    assert all(image["src"].startswith("data:image/jpeg;base64,") for image in images)


def test_html_is_self_contained_and_has_no_scripts(filled):
    tags = parsed(render_html(filled[0]))
    assert not {tag for tag, _ in tags.found} & {"script", "link", "iframe", "object", "base"}
    for tag, attrs in tags.found:
        for name in ("src", "href"):
            assert attrs.get(name, "#").startswith(("#", "data:image/")), (tag, attrs)


def test_what_people_write_stays_text(journal, made, fit):
    record = made(EVIL, fits=[fit(EVIL)], notes=EVIL, maker=EVIL, spool=EVIL, cost={EVIL: EVIL})
    journal.add(record)
    journal.add(NoteRecord(of=record.code, notes=(EVIL,)))
    (journal.folder / "2026-01-01-AAAAAAA.json").write_text(EVIL)
    tags = parsed(render_html(journal))
    assert not [1 for tag, attrs in tags.found if tag == "script" or "onerror" in attrs]
    assert "".join(tags.text).count("<script>alert(2)</script>") >= 7


def test_pdf_has_a_page_a_print_in_any_letters(filled, tmp_path, made):
    journal = filled[0]
    journal.add(made("Gehäuse für den Lauschposten, žába, λ ± ≤", day=9))
    raw = write_pdf(journal, tmp_path / "binder.pdf").read_bytes()
    assert raw.startswith(b"%PDF-")
    assert raw.rstrip().endswith(b"%%EOF")
    assert raw.count(b"/Type /Page\n") == 4  # a cover and three prints


def test_one_part_only(filled, made):
    journal, first, _second = filled
    other = made("terminal tray")
    journal.add(other)
    text = render_html(journal, part="terminal tray")
    assert other.code in text
    assert first.code not in text


def test_an_empty_journal_still_renders(journal):
    assert "Journal of prints" in render_html(journal)


def test_tag_is_sound_xml_of_real_size_with_escaped_text(made):
    record = made(EVIL[:60], printer="b & w")
    root = ET.fromstring(tag_svg(record))
    assert (root.get("width"), root.get("height")) == ("62.0mm", "29.0mm")
    texts = [node.text for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts[0] == f"{record.code[:4]} {record.code[4:]}"
    assert texts[3] == "b & w"
    assert not [node for node in root.iter() if "script" in node.tag]


def test_the_tags_modules_can_be_read_at_real_size(made):
    # ISO/IEC 18004 leaves module size to the use; 0.4 mm and more is read by telephones: common
    # practice, no source.
    import segno

    from fitkit.journal.tag import HEIGHT_MM, tag_text

    code = segno.make(tag_text(made("t" * 200)), error="m", micro=False)
    assert (HEIGHT_MM - 3.0) / (code.symbol_size(border=4)[0]) > 0.4


def test_of_a_part_that_was_never_printed(journal, made):
    journal.add(made())
    with pytest.raises(JournalError, match="no print of 'otter'"):
        render_html(journal, part="otter")


@pytest.fixture
def drawn_journal(journal, made):
    """Forty prints of a plate, each with its kept picture and drawing."""
    from PIL import Image

    from fitkit.core.files import write_atomic
    from fitkit.drawings import TitleBlock, draw_body
    from fitkit.journal.kept_views import packed_views
    from fitkit.parts.contract import Body
    from fitkit.solids import extrude
    from fitkit.solids.profiles import rectangle

    drawing = draw_body(
        Body(name="plate", solid=extrude(rectangle(60, 40), 8.0)), [], TitleBlock(title="plate")
    )
    for day in range(40):
        record = made(title=f"plate {day % 7}", day=day)
        journal.add(record)
        path, raw = packed_views(
            journal.folder,
            code=record.code,
            picture=Image.new("RGB", (720, 540), "#6fa59a"),
            drawings=[drawing],
        )
        path.parent.mkdir(exist_ok=True)
        write_atomic(path, raw)
    return journal


def test_each_print_has_a_page_with_picture_drawing_and_code(drawn_journal, tmp_path):
    import re

    path = write_pdf(drawn_journal, tmp_path / "binder.pdf")
    raw = path.read_bytes()
    count = len(re.findall(rb"/Type /Page\b(?!s)", raw))
    assert count == 40 + 1  # and the contents
    tags = parsed(render_html(drawn_journal))
    heads = [attrs for tag, attrs in tags.found if attrs.get("class") == "page"]
    assert len(heads) == 40
    assert sum(tag == "svg" for tag, _ in tags.found) == 40
    assert sum(attrs.get("src", "").startswith("data:image/png") for _, attrs in tags.found) == 40
    words = " ".join(" ".join(tags.text).split())
    for number, record in ((1, "print 1 of 40"), (40, "print 40 of 40")):
        assert record in words, number


def test_a_kept_drawing_comes_back_to_a_hundredth_of_a_millimetre(drawn_journal):
    from fitkit.drawings.kept import elements_of
    from fitkit.journal.kept_views import kept_views

    record = drawn_journal.records("print")[0]
    views = kept_views(record, drawn_journal.folder)
    assert views.picture.startswith(b"\x89PNG")
    (data,) = views.drawings
    texts = {one.text for one in elements_of(data) if hasattr(one, "text")}
    assert {"60.00", "40.00", "8.00"} <= texts


@pytest.mark.parametrize("raw", [b"", b"no zip", b"PK\x05\x06" + 18 * b"\0"])
def test_a_binder_is_made_without_views_that_cannot_be_read(drawn_journal, raw):
    from fitkit.journal.kept_views import kept_views

    record = drawn_journal.records("print")[0]
    (drawn_journal.folder / "views" / f"{record.code}.zip").write_bytes(raw)
    assert kept_views(record, drawn_journal.folder) is None
    assert record.code in render_html(drawn_journal)
