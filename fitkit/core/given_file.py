"""Files that a parameter names, taken in as content, so that a part can be made again without them.

A parameter of type `GivenFile` is typed as a path and held as a data URL (RFC 2397) of the file's
bytes, compressed by zlib (RFC 1950). A record that keeps the parameter keeps the file. In a part
sheet, paths count from the sheet's folder and must stay inside it: a sheet got from somebody else
opens none but its own files.

A given shape may have a hundred megabytes. A parameter of type `GivenShapeFile` therefore names its
file by name and SHA-256, with the place where it lay; a record keeps the made bodies beside it, and
never the shape itself.

Only reading and packing happen here; what the bytes mean is for `outline` and `given_mesh`.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import zlib
from functools import lru_cache
from pathlib import Path
from typing import Annotated, Any, NamedTuple
from urllib.parse import quote, unquote

from pydantic import BeforeValidator, Field

from fitkit.core.errors import PartError

__all__ = [
    "GivenFile",
    "GivenShape",
    "GivenShapeFile",
    "content_of",
    "embedded",
    "file_parameter",
    "is_file",
    "is_shape",
    "name_of",
    "referred",
    "shape_at",
    "shape_parameter",
    "shapes_lie_in",
    "without_place",
]

MOST_BYTES = 20_000_000
# Two million triangles take 100 MB in a binary STL file, five times as much in its text form.
MOST_SHAPE_BYTES = 600_000_000
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
    path = _found(value, folder, at, where)
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


def _found(value: str, folder: Path | None, at: tuple[str | int, ...], where: str | None) -> Path:
    """Find a file that is there, inside the folder if there is one."""
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
    return path


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


# --- shapes, which are too large to be held ------------------------------------------------------

_SHAPE = "shape:sha256="


class GivenShape(NamedTuple):
    """A file that holds a shape: its content's hash, its name, and where it lies."""

    sha256: str
    name: str
    path: Path


def referred(
    value: str,
    *,
    folder: Path | None = None,
    at: tuple[str | int, ...] = (),
    where: str | None = None,
) -> str:
    """Refer to a file by its content: the path of one becomes hash, name and place.

    Parameters
    ----------
    value, folder, at, where
        As of `embedded`.

    Returns
    -------
    str
        The reference; empty if there is no file.

    Raises
    ------
    PartError
        If there is no such file, it lies outside the folder, is too large, or cannot be read.
    """
    if not value or value.startswith(_SHAPE):
        return value
    path = _found(value, folder, at, where)
    try:
        state = path.stat()
        if state.st_size > MOST_SHAPE_BYTES:
            raise PartError(
                f"{value!r} has {state.st_size / 1e6:.0f} MB, over {MOST_SHAPE_BYTES / 1e6:.0f} MB",
                where=where,
                at=at,
                code="file.too-large",
                remedy="Export less detail, or the binary form of STL.",
            )
        sha256 = _hash(path.resolve(), state.st_mtime_ns, state.st_size)
    except OSError as error:
        raise PartError(
            f"{value!r} cannot be read: {error.strerror}",
            where=where,
            at=at,
            code="file.unreadable",
            remedy="Check the file.",
        ) from error
    place = quote(path.resolve().as_posix(), safe="/:")
    return f"{_SHAPE}{sha256};name={quote(path.name, safe='')};at={place}"


@lru_cache(maxsize=8)
def _hash(path: Path, changed: int, size: int) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


# Where shapes are looked for by name and content that are no longer where they lay.
_folders: list[Path] = []


def shapes_lie_in(folder: Path) -> None:
    """Look for shapes in a folder, too, if they are not where they lay."""
    if folder not in _folders:
        _folders.insert(0, folder)


def without_place(value: str) -> str:
    """Give a reference without where the file lies, as a record keeps it; other text as it is."""
    return value.partition(";at=")[0] if value.startswith(_SHAPE) else value


def shape_at(value: str) -> GivenShape:
    """Find the file of a reference that `referred` made.

    Parameters
    ----------
    value : str
        A path is taken as well.

    Returns
    -------
    GivenShape

    Raises
    ------
    PartError
        If no file of this content is where it lay, nor of its name in a folder of `shapes_lie_in`.
    """
    if not value.startswith(_SHAPE):
        value = referred(value)
    fields = dict(part.partition("=")[::2] for part in value[len("shape:") :].split(";"))
    sha256, name = fields["sha256"], unquote(fields.get("name", ""))
    places = [Path(unquote(fields["at"]))] if "at" in fields else []
    for path in (*places, *(folder / name for folder in _folders)):
        try:
            state = path.stat()
            if _hash(path.resolve(), state.st_mtime_ns, state.st_size) == sha256:
                return GivenShape(sha256, name, path)
        except OSError:
            continue
    raise PartError(
        f"the shape {name!r} with the content {sha256[:12]} is not there any more",
        code="file.shape-gone",
        remedy="Put the file back beside the part sheet, as it was.",
    )


def _referred(value: Any) -> Any:
    return referred(value) if isinstance(value, str) else value


# A parameter that is a given shape: typed as a path, held as a reference, kept without its place.
GivenShapeFile = Annotated[str, BeforeValidator(_referred)]


def shape_parameter(help: str, *, group: str, endings: tuple[str, ...]) -> Any:
    """Declare a `GivenShapeFile` parameter, empty by default.

    Parameters
    ----------
    help, group, endings
        As of `file_parameter`.

    Returns
    -------
    pydantic field
    """
    extra: dict[str, Any] = {"group": group, "file": True, "shape": True, "endings": list(endings)}
    return Field(default="", description=help, json_schema_extra=extra)


def is_shape(extra: object) -> bool:
    """Tell by a parameter's ``json_schema_extra`` whether it names a given shape."""
    return isinstance(extra, dict) and bool(extra.get("shape"))
