"""Photos of prints: kept under the hash of their content, with a small thumbnail.

The same photo is kept once, and two people adding it at once is no conflict. What a camera writes
beside the picture (place, time, owner, device) is left out when a photo is taken in; the picture is
not coded again. The photo that was given is not touched.
"""

from __future__ import annotations

import errno
import hashlib
import io
import warnings
from contextlib import suppress
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.core.files import read_plain
from fitkit.journal.entries import Photo
from fitkit.journal.names import inside
from fitkit.journal.photo_data import without_data

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FOLDER", "packed_photo", "photo_path", "thumbnail_bytes"]

FOLDER = "photos"
MAX_BYTES = 30_000_000
# The largest telephones take 200 million; the decoder of the thumbnail reads a JPEG reduced.
MAX_PIXELS = 220_000_000
# Other kinds are decoded whole, in 3 or 4 bytes a pixel.
MAX_WHOLE_PIXELS = 60_000_000
THUMBNAIL_PIXELS = 480
_ORIENTATION = 0x0112  # the tag of Exif
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}


def packed_photo(folder: Path, path: Path, *, caption: str = "") -> tuple[Photo, dict[Path, bytes]]:
    """Read a picture, and make its thumbnail.

    Parameters
    ----------
    folder : Path
        Of the journal.
    path : Path
        Of the picture.
    caption : str

    Returns
    -------
    photo : Photo
        To go into a record.
    contents : dict of path to bytes
        The two files that it names, which are to be written with that record.

    Raises
    ------
    JournalError
        If it is missing, too large, or no JPEG, PNG or WebP picture.
    """
    try:
        raw = read_plain(path, max_bytes=MAX_BYTES)
    except FileNotFoundError:
        raise JournalError(
            "there is no such photo", file=path, code="journal.no-photo", remedy="Check the name."
        ) from None
    except OSError as error:
        raise JournalError(
            f"this photo cannot be read: {error.strerror}",
            file=path,
            code="journal.photo-unreadable",
            remedy="Give a JPEG, PNG or WebP file"
            + (", and make it smaller first." if error.errno == errno.EFBIG else "."),
        ) from error
    kind, orientation, small = _thumbnail(raw, path)
    try:
        raw = without_data(raw, kind, orientation=orientation)
    except ValueError as error:
        raise _no_picture(path) from error
    ending = _ENDINGS[kind]
    digest = hashlib.sha256(raw).hexdigest()
    name, thumbnail = f"{digest[:20]}.{ending}", f"{digest[:20]}-small.jpg"
    photo = Photo(name=name, thumbnail=thumbnail, sha256=digest, caption=caption)
    return photo, {inside(folder, FOLDER, name): raw, inside(folder, FOLDER, thumbnail): small}


def _thumbnail(raw: bytes, path: Path) -> tuple[str, int, bytes]:
    """Give the kind of picture, which way up it is held, and a small copy."""
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            # The bounds below are ours, and tell what is wrong.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(raw), formats=list(_ENDINGS)) as image:
                kind = image.format or ""
                most = MAX_PIXELS if kind == "JPEG" else min(MAX_PIXELS, MAX_WHOLE_PIXELS)
                if image.width * image.height > most:
                    raise JournalError(
                        "has too many pixels", file=path, code="journal.photo-pixels"
                    )
                orientation = image.getexif().get(_ORIENTATION, 1)
                image.draft("RGB", (2 * THUMBNAIL_PIXELS, 2 * THUMBNAIL_PIXELS))
                turned = ImageOps.exif_transpose(image).convert("RGB")
    except JournalError:
        raise
    except Exception as error:  # a decoder may fail in any way on a broken or hostile file
        raise _no_picture(path) from error
    turned.thumbnail((THUMBNAIL_PIXELS, THUMBNAIL_PIXELS))
    stream = io.BytesIO()
    turned.save(stream, "JPEG", quality=80, exif=b"")
    held = orientation if isinstance(orientation, int) and 1 <= orientation <= 8 else 1
    return kind, held, stream.getvalue()


def _no_picture(path: Path) -> JournalError:
    return JournalError(
        "it is not a picture that can be read",
        file=path,
        code="journal.not-a-picture",
        remedy="Use a JPEG, PNG or WebP file.",
    )


def photo_path(folder: Path, photo: Photo) -> Path:
    """Where a record's photo lies.

    Raises
    ------
    JournalError
        If it would lie outside of the journal's folder.
    """
    return inside(folder, FOLDER, photo.name)


def thumbnail_bytes(folder: Path, photo: Photo) -> bytes | None:
    """Read a photo's thumbnail; None if its file is not there."""
    with suppress(OSError, JournalError):
        return read_plain(inside(folder, FOLDER, photo.thumbnail), max_bytes=MAX_BYTES)
    return None
