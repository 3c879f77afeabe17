"""Files that are there whole or not at all, whatever stops the program.

Each write goes to a name of its own beside the target, is flushed to the disk, and is moved into
place in one step; a reader sees the old content or the new. Source: POSIX rename() and link(),
IEEE Std 1003.1-2017, which replace or refuse a name atomically within one file system. Left out:
disks and network folders that report a flush before it happened.
"""

from __future__ import annotations

import errno
import os
import shutil
import tempfile
import tomllib
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import InputError
from fitkit.core.leavings import neighbour
from fitkit.core.locks import sole_writer
from fitkit.core.plain_errors import plain_errors

if TYPE_CHECKING:
    from os import PathLike

__all__ = [
    "check_archive",
    "create_atomic",
    "make_folder",
    "read_plain",
    "read_toml",
    "refuse_closed_folder",
    "sync_folder",
    "write_atomic",
]

# About a record and its sheet: a disk without room for it is full.
_SAMPLE_BYTES = 65_536
# File systems without hard links answer a link with one of these.
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}


def write_atomic(path: str | PathLike[str], content: bytes | str) -> Path:
    """Write a file whole, in place of an older one if there is one.

    Parameters
    ----------
    path : path
        Its folder is made if it is not there. A link is followed: what it leads to is replaced.
    content : bytes or str
        Text is written as UTF-8 with its line ends as they are.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    ExportError
        If it cannot be written; an older file is then untouched.
    """
    target = Path(path)
    with plain_errors(target):
        target = Path(os.path.realpath(target))
        make_folder(target.parent)
        beside = _written_beside(target, content)
        try:
            several = False
            with suppress(FileNotFoundError):
                shutil.copymode(target, beside)
                several = target.stat().st_nlink > 1
            if several:
                # A new file would part it from its other names (hard links). Written in its place
                # it keeps them; the whole copy beside it stays until that is done.
                _overwrite(target, content)
                beside.unlink()
            else:
                beside.replace(target)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        sync_folder(target.parent)
    return Path(path)


def create_atomic(
    path: str | PathLike[str], content: bytes | str, *, flush_folder: bool = True
) -> Path:
    """Write a new file whole; never touch one that is there.

    Parameters
    ----------
    path : path
        Its folder is made if it is not there.
    content : bytes or str
        Text is written as UTF-8 with its line ends as they are.
    flush_folder : bool
        Flush the folder's list of names at once; who writes many does it at the end.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    FileExistsError
        If the name is taken, even by someone who took it at the same moment.
    ExportError
        If it cannot be written.
    """
    target = Path(path)
    with plain_errors(target):
        make_folder(target.parent)
        beside = _written_beside(target, content)
        try:
            _claim(beside, target)
        finally:
            beside.unlink(missing_ok=True)
        if flush_folder:
            sync_folder(target.parent)
    return target


def make_folder(folder: Path) -> None:
    """Make a folder, and those above it, unless it is there.

    Raises
    ------
    OSError
        If it cannot be made; a file of its name is a `NotADirectoryError`.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:  # which for a file to be created means that its name is taken
        raise NotADirectoryError(
            errno.ENOTDIR, "a file bears the name of this folder", str(folder)
        ) from None


def refuse_closed_folder(folder: str | PathLike[str]) -> None:
    """Refuse a folder in which no file can be made, before long work rests on it.

    What the attempt makes is taken away again, the folder itself if it was not there.

    Raises
    ------
    OSError
        If the folder cannot be made or written into.
    """
    folder = Path(os.path.realpath(folder))
    missing = [one for one in (folder, *folder.parents) if not one.exists()]
    try:
        make_folder(folder)
        with tempfile.TemporaryFile(dir=folder) as stream:
            stream.write(bytes(_SAMPLE_BYTES))
            stream.flush()
            os.fsync(stream.fileno())
    finally:
        for one in missing:
            with suppress(OSError):  # somebody else's files may lie there by now
                one.rmdir()


def _written_beside(target: Path, content: bytes | str) -> Path:
    data = content.encode() if isinstance(content, str) else content
    beside = neighbour(target)
    try:
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _overwrite(target: Path, content: bytes | str) -> None:
    data = content.encode() if isinstance(content, str) else content
    before = target.read_bytes()
    try:
        _put(target, data)
    except BaseException:
        _put(target, before)
        raise


def _put(target: Path, data: bytes) -> None:
    with target.open("r+b") as stream:
        stream.write(data)
        stream.truncate()
        stream.flush()
        os.fsync(stream.fileno())


def _claim(beside: Path, target: Path) -> None:
    """Give a finished file its name, unless the name is taken."""
    try:
        os.link(beside, target)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
    else:
        return
    # Without hard links, a lock keeps two writers apart.
    with sole_writer(target):
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
        beside.rename(target)


def sync_folder(folder: Path) -> None:
    """Flush a folder's list of names, where the system can."""
    if os.name != "posix":
        return
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def read_plain(path: str | PathLike[str], *, max_bytes: int = 50_000_000) -> bytes:
    """Read a file that someone else may have named: a plain one, of bounded size.

    Parameters
    ----------
    path : path
    max_bytes : int
        The largest size that is read.

    Returns
    -------
    bytes
        All that the file holds.

    Raises
    ------
    OSError
        If it cannot be read, is larger, or is a device or a pipe, which may never end.
    """
    path = Path(path)
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "it is not a plain file", str(path))
    with path.open("rb") as stream:
        content = stream.read(max_bytes + 1)
    if len(content) > max_bytes:
        raise OSError(errno.EFBIG, f"it is larger than {max_bytes / 1e6:g} MB", str(path))
    return content


def read_toml(path: str | PathLike[str], *, max_bytes: int = 2_000_000) -> dict[str, Any]:
    """Read a TOML file that someone else may have written.

    Parameters
    ----------
    path : path
    max_bytes : int
        The largest size that is read.

    Returns
    -------
    dict
        The document's top table, as `tomllib` gives it.

    Raises
    ------
    OSError
        As `read_plain`.
    ValueError
        If it is not UTF-8 text or not TOML, with the line, or nested without bound.
    """
    text = read_plain(path, max_bytes=max_bytes).decode("utf-8-sig")
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ValueError("its brackets are nested too deep") from None


def check_archive(
    path: str | PathLike[str], *, max_bytes: int = 200_000_000, max_members: int = 2_000
) -> None:
    """Refuse a zip archive (.xlsx, .3mf) that would unpack without bound.

    Parameters
    ----------
    path : path
    max_bytes : int
        Of all members together, unpacked.
    max_members : int

    Raises
    ------
    ExportError
        If it is not an archive, has too many members, unpacks to too much, or names a member that
        leads out of the folder it is unpacked in.

    Notes
    -----
    Sizes are those that the archive declares; Python's reader stops a member there.
    """
    import zipfile

    path = Path(path)
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
    except (zipfile.BadZipFile, NotImplementedError, OSError, ValueError) as error:
        raise InputError(
            "it is not an archive that can be read", file=path, code="archive.not-readable"
        ) from error
    if len(members) > max_members:
        raise InputError(
            f"it holds more than {max_members} files", file=path, code="archive.too-many-files"
        )
    if sum(member.file_size for member in members) > max_bytes:
        raise InputError(
            f"it unpacks to more than {max_bytes // 1_000_000} MB",
            file=path,
            code="archive.too-large",
        )
    for member in members:
        parts = Path(member.filename.replace("\\", "/")).parts
        if ".." in parts or member.filename.startswith(("/", "\\")) or ":" in member.filename:
            raise InputError(
                f"the archive contains an unsafe path: {member.filename!r}",
                file=path,
                code="archive.unsafe-path",
            )
