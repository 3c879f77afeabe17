"""What a print looks like, kept beside its record: a small picture and its drawings.

The binder shows them without building anything. They lie packed in the journal's folder ``views``
under the print's trace code; a print that has none, as all from before, is shown without.
"""

from __future__ import annotations

import io
import json
import zipfile
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from fitkit.core.files import read_plain
from fitkit.journal.names import inside

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from PIL.Image import Image

    from fitkit.drawings import Drawing
    from fitkit.journal.records import PrintRecord

__all__ = ["FOLDER", "KeptViews", "kept_views", "packed_views"]

FOLDER = "views"
_PICTURE = (360, 270)
# The largest drawings that were seen take 0.4 MB unpacked.
MAX_BYTES = 20_000_000


@dataclass(frozen=True, slots=True)
class KeptViews:
    """Picture and drawings of a print.

    Attributes
    ----------
    picture : bytes
        PNG; empty if there is none.
    drawings : tuple of dict
        As `fitkit.drawings.kept.drawing_data` gives them.
    """

    picture: bytes
    drawings: tuple[dict[str, Any], ...]


def packed_views(
    folder: Path, *, code: str, picture: Image | None, drawings: Iterable[Drawing]
) -> tuple[Path, bytes]:
    """Pack what a print looks like for a journal's folder; write nothing.

    Parameters
    ----------
    folder : Path
        The journal's.
    code : str
        Trace code of the print.
    picture : Image or None
        It is kept at 360 x 270 pixels.
    drawings : iterable of Drawing

    Returns
    -------
    path, content
    """
    from fitkit.drawings.kept import drawing_data

    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in _entries(picture, [drawing_data(one) for one in drawings]):
            # Without a time, so that the same views are the same bytes.
            archive.writestr(zipfile.ZipInfo(name), content, zipfile.ZIP_DEFLATED)
    return folder / FOLDER / f"{code}.zip", stream.getvalue()


def _entries(picture: Image | None, drawings: list[dict[str, Any]]) -> Iterable[tuple[str, bytes]]:
    if picture is not None:
        small, png = picture.copy(), io.BytesIO()
        small.thumbnail(_PICTURE)
        small.quantize(64).save(png, "PNG", optimize=True)
        yield "picture.png", png.getvalue()
    text = json.dumps(drawings, ensure_ascii=False, separators=(",", ":"))
    yield "drawings.json", text.encode()


def kept_views(record: PrintRecord, folder: Path) -> KeptViews | None:
    """Read what a print looks like.

    Parameters
    ----------
    record : PrintRecord
    folder : Path
        The journal's.

    Returns
    -------
    KeptViews or None
        None if nothing is kept, or what is kept cannot be read: a binder is made without it.
    """
    path = inside(folder / FOLDER, f"{record.code}.zip")
    if not path.is_file():
        return None
    with suppress(OSError, ValueError, KeyError, TypeError, zipfile.BadZipFile):
        raw = read_plain(path, max_bytes=MAX_BYTES)
        with zipfile.ZipFile(io.BytesIO(raw)) as archive:
            sizes = {one.filename: one.file_size for one in archive.infolist()}
            if sum(sizes.values()) > MAX_BYTES:
                return None
            picture = archive.read("picture.png") if "picture.png" in sizes else b""
            drawings = json.loads(archive.read("drawings.json"))
        return KeptViews(picture, tuple(drawings))
    return None
