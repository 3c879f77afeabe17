"""Photos: kept once under their hash, with a small turned thumbnail free of the camera's data."""

import io

import pytest
from PIL import Image

from fitkit.core.errors import JournalError
from fitkit.journal import NoteRecord
from fitkit.journal.photos import MAX_PIXELS, photo_path, thumbnail_bytes


@pytest.fixture
def photo(tmp_path):
    image = Image.new("RGB", (1200, 800), (200, 30, 30))
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn 90 degrees clockwise (EXIF 2.3, tag Orientation)
    exif[0x013B] = "somebody"
    path = tmp_path / "lid.jpg"
    image.save(path, exif=exif)
    return path


def test_kept_with_a_thumbnail(journal, made, photo):
    kept = journal.keep_photo(photo, caption="stuck lid")
    record = made(photos=(kept,))
    journal.add(record)
    (again,) = journal.get(record.code).photos
    assert photo_path(journal.folder, again).read_bytes() == photo.read_bytes()
    small = Image.open(io.BytesIO(thumbnail_bytes(journal.folder, again)))
    assert small.size == (320, 480)  # turned upright, longest side 480
    assert not small.getexif()


def test_the_same_photo_is_kept_once(journal, photo):
    assert journal.keep_photo(photo) == journal.keep_photo(photo)
    assert len(list((journal.folder / "photos").iterdir())) == 2


def test_added_later_by_a_note(journal, made, photo):
    record = made()
    journal.add(record)
    journal.add(NoteRecord(of=record.code, photos=(journal.keep_photo(photo),)))
    from fitkit.journal.binder import pages

    assert len(pages(journal)[0].photos) == 1


def test_what_is_no_photo_is_refused(journal, tmp_path, monkeypatch):
    text = tmp_path / "x.jpg"
    text.write_text("no picture")
    with pytest.raises(JournalError, match="no picture that can be read"):
        journal.keep_photo(text)
    with pytest.raises(JournalError, match="no such photo"):
        journal.keep_photo(tmp_path / "absent.jpg")
    monkeypatch.setattr("fitkit.journal.photos.MAX_PIXELS", 100)
    Image.new("RGB", (20, 20)).save(tmp_path / "big.png")
    with pytest.raises(JournalError, match="too many pixels"):
        journal.keep_photo(tmp_path / "big.png")
    assert MAX_PIXELS > 12_000_000  # a telephone's photo passes
    assert not journal.folder.exists()
