"""Files that a parameter names, taken in as content, so that a part can be made again without them.

A parameter of type `GivenFile` is typed as a path and held as a data URL (RFC 2397) of the file's
bytes, compressed by zlib (RFC 1950). A record that keeps the parameter keeps the file. In a part
sheet, paths count from the sheet's folder and must stay inside it: a sheet got from somebody else
opens none but its own files.

Only reading and packing happen here; what the bytes mean is for `outline`.
"""

from __future__ import annotations

import base64
import binascii
import zlib
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any
from urllib.parse import quote, unquote

from pydantic import BeforeValidator, Field

from fitkit.core.errors import PartError

__all__ = ["GivenFile", "content_of", "embedded", "file_parameter", "is_file", "name_of"]

MOST_BYTES = 20_000_000
_HEAD = "data:application/zlib;name="
_BASE64 = ";base64,"


def embedded(
    value: str,
    *,
    folder: Path | None = None,
    at: tuple[str | int, ...] = (),
    where: str | None = None,
) -> str:
    """Take a file in: the path of one becomes its content, content stays as it is.

    Parameters
    ----------
    value : str
        Path, data URL made by this function, or empty for no file.
    folder : Path, optional
        Folder from which the path counts and which it must not leave; the working folder, with no
        such fence, if not given.
    at : tuple of str and int
        Path of the parameter, for messages.
    where : str, optional
        The parameter, for the message.

    Returns
    -------
    str
        A data URL with the file's name and content; empty if there is no file.

    Raises
    ------
    PartError
        If there is no such file, it lies outside the folder, is too large, or cannot be read.

    Examples
    --------
    >>> embedded("")
    ''
    """
    if not value or value.startswith(_HEAD):
        return value
    path = Path(value) if folder is None else folder / value
    if folder is not None and not path.resolve().is_relative_to(folder.resolve()):
        raise PartError(
            f"{value!r} lies outside the part sheet's folder",
            where=where,
            at=at,
            code="file.outside-folder",
            remedy="Copy the file beside the sheet, and name it there.",
        )
    try:
        there = path.is_file()
    except (OSError, ValueError):  # too long a name, or a sign that no name can have
        there = False
    if not there:
        remedy = "Check the name; it counts from the " + (
            "part sheet's folder." if folder is not None else "working folder."
        )
        raise PartError(
            f"there is no file {value[:80]!r}",
            where=where,
            at=at,
            code="file.absent",
            remedy=remedy,
        )
    try:
        state = path.stat()
        if state.st_size > MOST_BYTES:
            raise PartError(
                f"{value!r} has {state.st_size / 1e6:.0f} MB, over {MOST_BYTES / 1e6:.0f} MB",
                where=where,
                at=at,
                code="file.too-large",
                remedy="Export less detail.",
            )
        return _packed(path.resolve(), state.st_mtime_ns, state.st_size)
    except OSError as error:
        raise PartError(
            f"{value!r} cannot be read: {error.strerror}",
            where=where,
            at=at,
            code="file.unreadable",
            remedy="Check the file.",
        ) from error


@lru_cache(maxsize=8)
def _packed(path: Path, changed: int, size: int) -> str:
    packed = base64.b64encode(zlib.compress(path.read_bytes(), 9)).decode("ascii")
    return f"{_HEAD}{quote(path.name, safe='')}{_BASE64}{packed}"


def name_of(value: str) -> str:
    """Name of an embedded file, or the path itself, for messages."""
    return unquote(value[len(_HEAD) :].split(";", 1)[0]) if value.startswith(_HEAD) else value


@lru_cache(maxsize=8)
def content_of(value: str) -> bytes:
    """Bytes of a file taken in by `embedded`.

    Raises
    ------
    PartError
        If the content is damaged or unpacks to more than a file may have.
    """
    data = value[len(_HEAD) :].partition(_BASE64)[2] if value.startswith(_HEAD) else ""
    unpack = zlib.decompressobj()
    try:
        content = unpack.decompress(base64.b64decode(data, validate=True), MOST_BYTES)
    except (binascii.Error, zlib.error, ValueError):
        content = b""
    if not content or not unpack.eof:
        raise PartError(
            "its kept content is damaged",
            where=name_of(value)[:80],
            code="file.damaged",
            remedy="Give the file again.",
        )
    return content


def _validated(value: Any) -> Any:
    # pydantic turns a ValueError, which a PartError is, into a fault of this parameter.
    return embedded(value) if isinstance(value, str) else value


# A file parameter: typed as a path, held as the file's content.
GivenFile = Annotated[str, BeforeValidator(_validated)]


def file_parameter(help: str, *, group: str, endings: tuple[str, ...], label: str = "") -> Any:
    """Declare a `GivenFile` parameter, empty by default.

    Parameters
    ----------
    help : str
        One plain sentence.
    group : str
        Heading under which a panel lists it.
    endings : tuple of str
        What such a file's name ends in, as ``.dxf``.
    label : str
        What a panel calls it; its name if empty.

    Returns
    -------
    pydantic field
    """
    extra: dict[str, Any] = {"group": group, "file": True, "endings": list(endings)}
    if label:
        extra["label"] = label
    return Field(default="", description=help, json_schema_extra=extra)


def is_file(extra: object) -> bool:
    """Tell by a parameter's ``json_schema_extra`` whether it names a file."""
    return isinstance(extra, dict) and bool(extra.get("file"))
