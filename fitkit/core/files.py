"""Files that are there whole or not at all, whatever stops the program.

Each write goes to a name of its own beside the target, is flushed to the disk, and is moved into
place in one step; a reader sees the old content or the new. Source: POSIX rename() and link(),
IEEE Std 1003.1-2017, which replace or refuse a name atomically within one file system. Left out:
disks and network folders that report a flush before it happened.
"""

from __future__ import annotations

import errno
import os
import secrets
import shutil
import tomllib
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fitkit.core.errors import ExportError, FitkitError, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from os import PathLike

__all__ = [
    "check_archive",
    "create_atomic",
    "read_plain",
    "read_toml",
    "staged_folder",
    "write_atomic",
]

# Disk full, or the user's share of it (Windows has no quota error).
_FULL = {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC)}
# File systems without hard links answer a link with one of these.
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}


def write_atomic(path: str | PathLike[str], content: bytes | str) -> Path:
    """Write a file whole, in place of an older one if there is one.

    Parameters
    ----------
    path : path
        Its folder is made if it is not there.
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
    with _plain_errors(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        beside = _written_beside(target, content)
        try:
            with suppress(FileNotFoundError):
                shutil.copymode(target, beside)
            beside.replace(target)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        _sync_folder(target.parent)
    return target


def create_atomic(path: str | PathLike[str], content: bytes | str) -> Path:
    """Write a new file whole; never touch one that is there.

    Parameters
    ----------
    path : path
        Its folder is made if it is not there.
    content : bytes or str
        Text is written as UTF-8.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    FileExistsError
        If the name is taken, even by someone who took it at the same moment.
    ExportError
        If it cannot be written.
    """
    target = Path(path)
    with _plain_errors(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        beside = _written_beside(target, content)
        try:
            _claim(beside, target)
        finally:
            beside.unlink(missing_ok=True)
        _sync_folder(target.parent)
    return target


@contextmanager
def staged_folder(target: str | PathLike[str]) -> Iterator[Path]:
    """Give an empty folder; at the end, move its files to `target`, all of them or none.

    Files of `target` with other names stay. If a move fails, those before it are undone.

    Parameters
    ----------
    target : path
        Folder to fill, made if it is not there.

    Yields
    ------
    Path
        Folder beside `target`, on the same file system.

    Raises
    ------
    ExportError
        If the files cannot be written or moved. What else the block raises goes through unchanged.
    """
    target = Path(target)
    with _plain_errors(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        stage = _beside(target)
        stage.mkdir()
    try:
        with _plain_errors(target):
            yield stage
            _sync_tree(stage)
            _into_place(stage, target)
    finally:
        shutil.rmtree(stage, ignore_errors=True)


@contextmanager
def _plain_errors(target: Path) -> Iterator[None]:
    """Say an operating system's error in plain words."""
    try:
        yield
    except (FitkitError, FileExistsError):
        raise
    except OSError as error:
        full = error.errno in _FULL
        raise ExportError(
            f"cannot be written: {error.strerror or error}",
            file=target,
            code="file.not-written",
            remedy="Free some space and do it again."
            if full
            else "Check that the folder is there and that you may write in it.",
        ) from error


def _beside(target: Path) -> Path:
    """Name a hidden neighbour that no other process will choose."""
    return target.with_name(f".{target.name}.{os.getpid()}-{secrets.token_hex(4)}.part")


def _written_beside(target: Path, content: bytes | str) -> Path:
    data = content.encode() if isinstance(content, str) else content
    beside = _beside(target)
    try:
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    return beside


def _claim(beside: Path, target: Path) -> None:
    """Give a finished file its name, unless the name is taken."""
    try:
        os.link(beside, target)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
    else:
        return
    # Without hard links, a second name made exclusively keeps two writers apart.
    claim = target.with_name(f".{target.name}.claim")
    claim.open("xb").close()
    try:
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
        beside.rename(target)
    finally:
        claim.unlink(missing_ok=True)


def _into_place(stage: Path, target: Path) -> None:
    if not target.exists():
        stage.rename(target)
        _sync_folder(target.parent)
        return
    replaced = _beside(target)
    replaced.mkdir()
    undo: list[tuple[Path, Path]] = []
    try:
        for item in sorted(stage.iterdir()):
            place = target / item.name
            if place.exists():
                place.rename(replaced / item.name)
                undo.append((replaced / item.name, place))
            item.rename(place)
            undo.append((place, item))
    except BaseException:
        for now, before in reversed(undo):
            now.rename(before)
        raise
    finally:
        shutil.rmtree(replaced, ignore_errors=True)
    _sync_folder(target)


def _sync_tree(folder: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            with path.open("rb+") as stream:
                os.fsync(stream.fileno())
        elif path.is_dir():
            _sync_folder(path)
    _sync_folder(folder)


def _sync_folder(folder: Path) -> None:
    """Flush the folder's list of names, where the system can."""
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
            "no archive that can be read", file=path, code="archive.not-readable"
        ) from error
    if len(members) > max_members:
        raise InputError(
            f"holds more than {max_members} files", file=path, code="archive.too-many-files"
        )
    if sum(member.file_size for member in members) > max_bytes:
        raise InputError(
            f"unpacks to more than {max_bytes // 1_000_000} MB",
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
