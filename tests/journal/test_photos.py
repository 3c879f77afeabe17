"""Photos: kept once under their hash, with a small turned thumbnail free of the camera's data."""

import io
import os

import pytest
from PIL import Image
from PIL.PngImagePlugin import PngInfo

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
    with Image.open(photo_path(journal.folder, again)) as held, Image.open(photo) as given:
        assert held.tobytes() == given.tobytes()  # not coded again
        assert dict(held.getexif()) == {0x0112: 6}  # which way up, and nothing else
    assert given.getexif()[0x013B] == "somebody"  # one's own photo is not touched
    small = Image.open(io.BytesIO(thumbnail_bytes(journal.folder, again)))
    assert small.size == (320, 480)  # turned upright, longest side 480
    assert not small.getexif()


def test_the_same_photo_is_kept_once(journal, made, photo):
    assert journal.keep_photo(photo) == journal.keep_photo(photo)
    for _ in range(2):
        journal.add(made(photos=(journal.keep_photo(photo),)))
    assert len(list((journal.folder / "photos").iterdir())) == 2


def test_a_photo_is_written_with_the_record_that_names_it_and_not_before(journal, made, photo):
    kept = journal.keep_photo(photo)
    assert not (journal.folder / "photos").exists()
    record = made(photos=(kept,))
    journal.add(record)
    assert photo_path(journal.folder, kept).is_file()
    with pytest.raises(JournalError) as caught:  # the code is taken, and nothing is left
        journal.add(record)
    assert caught.value.code == "journal.code-taken"
    assert len(list((journal.folder / "photos").iterdir())) == 2


def test_a_record_whose_photo_was_never_taken_in_is_refused(journal, made, photo, tmp_path):
    kept = type(journal)(tmp_path / "another").keep_photo(photo)
    with pytest.raises(JournalError) as caught:
        journal.add(made(photos=(kept,)))
    assert caught.value.code == "journal.photo-lost"
    assert journal.records() == []


def test_added_later_by_a_note(journal, made, photo):
    record = made()
    journal.add(record)
    journal.add(NoteRecord(of=record.code, photos=(journal.keep_photo(photo),)))
    from fitkit.journal.binder import pages

    assert len(pages(journal)[0].photos) == 1


def test_what_is_no_photo_is_refused(journal, tmp_path, monkeypatch):
    text = tmp_path / "x.jpg"
    text.write_text("no picture")
    with pytest.raises(JournalError, match="not a picture that can be read"):
        journal.keep_photo(text)
    with pytest.raises(JournalError, match="no such photo"):
        journal.keep_photo(tmp_path / "absent.jpg")
    monkeypatch.setattr("fitkit.journal.photos.MAX_PIXELS", 100)
    Image.new("RGB", (20, 20)).save(tmp_path / "big.png")
    with pytest.raises(JournalError, match="too many pixels"):
        journal.keep_photo(tmp_path / "big.png")
    assert MAX_PIXELS > 12_000_000  # a telephone's photo passes
    assert not journal.folder.exists()


PLACE = b"51.5 north, 7.4 east, by somebody"


def _picture(kind, **options):
    """A picture whose file carries a place and an owner in every way that the kind knows."""
    image = Image.effect_noise((160, 120), 60).convert("RGB")
    exif = Image.Exif()
    exif[0x013B] = exif[0x010E] = PLACE.decode()
    stream = io.BytesIO()
    if kind == "PNG":
        info = PngInfo()
        info.add_text("Author", PLACE.decode())
        info.add_itxt("XML:com.adobe.xmp", PLACE.decode())
        options["pnginfo"] = info
    else:
        options["xmp"] = PLACE
    if kind == "JPEG":
        options["comment"] = PLACE
    image.save(stream, kind, exif=exif, **options)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("kind", "options"),
    [
        ("JPEG", {}),
        ("JPEG", {"progressive": True}),
        ("JPEG", {"restart_marker_rows": 1}),
        ("PNG", {}),
        ("WEBP", {"lossless": True}),
        ("WEBP", {"quality": 70}),
    ],
)
def test_place_and_owner_do_not_come_into_the_journal(journal, made, tmp_path, kind, options):
    raw = _picture(kind, **options)
    path = tmp_path / "photo"
    path.write_bytes(raw + (raw if kind == "JPEG" else b""))  # as telephones put more behind it
    assert PLACE in path.read_bytes()
    photo = journal.keep_photo(path)
    journal.add(made(photos=(photo,)))
    kept = photo_path(journal.folder, photo).read_bytes()
    assert PLACE not in kept
    with Image.open(io.BytesIO(kept)) as held, Image.open(io.BytesIO(raw)) as given:
        assert held.tobytes() == given.tobytes()
        assert not held.getexif()
        assert held.format == kind


def test_a_cut_or_hostile_picture_is_refused_in_one_line(journal, tmp_path):
    whole = _picture("JPEG")
    path = tmp_path / "cut.jpg"
    for size in range(0, len(whole) - 1, max(1, len(whole) // 60)):
        path.write_bytes(whole[:size])
        with pytest.raises(JournalError, match="not a picture that can be read"):
            journal.keep_photo(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs pipes")
def test_pipes_folders_and_endless_devices_are_no_photos(journal, tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    (tmp_path / "folder.jpg").mkdir()
    (tmp_path / "zero.jpg").symlink_to("/dev/zero")
    for name in ("pipe.jpg", "folder.jpg", "zero.jpg"):
        with pytest.raises(JournalError, match="plain file"):
            journal.keep_photo(tmp_path / name)
