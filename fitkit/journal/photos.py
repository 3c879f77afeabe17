"""Photos of prints: kept as they are under the hash of their content, with a small thumbnail.

The same photo is kept once, and two people adding it at once is no conflict. Thumbnails carry none
of the camera's data (place, owner); the kept photo does, so look before sharing the folder.
"""

from __future__ import annotations

import hashlib
import io
import warnings
from contextlib import suppress
from typing import TYPE_CHECKING

from fitkit.core.errors import JournalError
from fitkit.core.files import create_atomic
from fitkit.journal.entries import Photo
from fitkit.journal.names import inside

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["FOLDER", "keep_photo", "photo_path", "thumbnail_bytes"]

FOLDER = "photos"
MAX_BYTES = 30_000_000
MAX_PIXELS = 100_000_000
THUMBNAIL_PIXELS = 480
_ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}


def keep_photo(folder: Path, path: Path, *, caption: str = "") -> Photo:
    """Copy a picture and its thumbnail into a journal's folder.

    Raises
    ------
    JournalError
        If it is missing, too large, or no JPEG, PNG or WebP picture.
    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise JournalError(
                f"larger than {MAX_BYTES // 1_000_000} MB",
                file=path,
                code="journal.photo-too-large",
                remedy="Make it smaller first.",
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        raise JournalError(
            "no such photo", file=path, code="journal.no-photo", remedy="Check the name."
        ) from None
    ending, small = _thumbnail(raw, path)
    digest = hashlib.sha256(raw).hexdigest()
    name, thumbnail = f"{digest[:20]}.{ending}", f"{digest[:20]}-small.jpg"
    for file, content in ((name, raw), (thumbnail, small)):
        with suppress(FileExistsError):  # kept before: same hash, same content
            create_atomic(inside(folder, FOLDER, file), content)
    return Photo(name=name, thumbnail=thumbnail, sha256=digest, caption=caption)


def _thumbnail(raw: bytes, path: Path) -> tuple[str, bytes]:
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(raw), formats=list(_ENDINGS)) as image:
                kind = image.format or ""
                if image.width * image.height > MAX_PIXELS:
                    raise JournalError(
                        "has too many pixels", file=path, code="journal.photo-pixels"
                    )
                turned = ImageOps.exif_transpose(image).convert("RGB")
    except JournalError:
        raise
    except Exception as error:  # a decoder may fail in any way on a broken or hostile file
        raise JournalError(
            "no picture that can be read",
            file=path,
            code="journal.not-a-picture",
            remedy="Use a JPEG, PNG or WebP file.",
        ) from error
    turned.thumbnail((THUMBNAIL_PIXELS, THUMBNAIL_PIXELS))
    stream = io.BytesIO()
    turned.save(stream, "JPEG", quality=80, exif=b"")
    return _ENDINGS[kind], stream.getvalue()


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
        return inside(folder, FOLDER, photo.thumbnail).read_bytes()
    return None
