"""Folders that arrive whole or not at all, alone or together with one file elsewhere.

Files are made in a hidden folder beside the target, flushed, and moved into place by renaming the
whole folder (POSIX rename(), IEEE Std 1003.1-2017). A folder of files that was there is renamed
aside first and deleted last. One in which somebody works, or which holds more than files, is not
moved: its files are replaced one by one, and what a killed program did not replace is replaced by
the next start. Where files elsewhere must appear with the folder, such as a print's record and what
it keeps, the steps are written down in a hidden plan beside the first of them, whose being there
decides: `settle` then finishes what a killed program left, or takes it back. Left out: disks and
network folders that report a flush before it happened; folders that somebody else writes into
meanwhile.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from fitkit.core.errors import StateError
from fitkit.core.files import (
    create_atomic,
    make_folder,
    read_plain,
    sync_folder,
    write_atomic,
)
from fitkit.core.leavings import LEAVING, is_left_behind, neighbour
from fitkit.core.locks import sole_writer
from fitkit.core.plain_errors import plain_errors

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping
    from os import PathLike

__all__ = ["create_together", "settle", "staged_folder"]

# A plan of 50,000 names has some 2 MB.
_MOST_PLANNED = 10_000_000


@contextmanager
def staged_folder(
    target: str | PathLike[str],
    *,
    drop: Collection[str] = (),
    arrives_with: Mapping[Path, str | bytes] | None = None,
) -> Iterator[Path]:
    """Give an empty folder; put it in the place of `target` at the end, or leave nothing.

    Files of `target` with other names stay.

    Parameters
    ----------
    target : path
        Folder to fill, made if it is not there. A link is followed.
    drop : collection of str
        Names in `target` that go with this, such as the files of an earlier print; may be filled
        while the block runs.
    arrives_with : mapping of path to text or bytes, optional
        New files elsewhere that appear if and only if the folder does; may be filled while the
        block runs. The first decides and comes last: while it is not there, the others, which lie
        below its folder, are taken back.

    Yields
    ------
    Path
        Folder beside `target`, on the same file system.

    Raises
    ------
    ExportError
        If the files cannot be written or moved; all is then as it was. What else the block raises
        goes through unchanged.
    FileExistsError
        If a file elsewhere is there already.
    StateError
        If a folder bears the name of a file that is to be put there.
    """
    target = Path(os.path.realpath(target))
    with plain_errors(target):
        make_folder(target.parent)
        stage = neighbour(target)
        stage.mkdir()
    try:
        with plain_errors(target):
            yield stage
            with sole_writer(target):
                _arrive(stage, target, drop, dict(arrives_with or {}))
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _arrive(
    stage: Path, target: Path, drop: Collection[str], files: dict[Path, str | bytes]
) -> None:
    _refuse_folders_in_the_way(stage, target)
    file, others = next(iter(files), None), tuple(files)[1:]
    pour = _stays_in_place(target, file)
    if not pour:
        _bring_others(target, stage, drop)
    _sync_tree(stage)
    if file is None and not pour:
        _Move(stage=stage, target=target, drop=tuple(drop)).forth()
        return
    if file is not None:
        make_folder(file.parent)
    ready = stage.with_name(stage.name.removesuffix(".part") + ".ready")
    move = _Move(stage=ready, target=target, drop=tuple(drop), file=file, others=others, pour=pour)
    plan = write_atomic(neighbour(file or target, "plan"), move.to_json())
    written: list[Path] = []
    try:
        stage.rename(ready)
        sync_folder(ready.parent)
        for path in reversed(files):
            create_atomic(path, files[path])
            written.append(path)
        move.forth()
    except BaseException:
        if ready.exists():  # it has not arrived, so its files must not be there either
            for path in reversed(written):
                path.unlink(missing_ok=True)
            shutil.rmtree(ready, ignore_errors=True)
        raise
    finally:
        # Last: as long as it is there, what is half done can be finished or taken back.
        if not ready.exists():
            plan.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Move:
    """A finished folder on its way into its place; `file` decides whether it goes there.

    `others` are new files below that file's folder, which go if it does not come. With `pour`, the
    folder's files go into the folder that is there, one by one.
    """

    stage: Path
    target: Path
    drop: tuple[str, ...] = ()
    file: Path | None = None
    others: tuple[Path, ...] = ()
    pour: bool = False

    @property
    def old(self) -> Path:
        """Where the folder that was there waits meanwhile."""
        return self.stage.with_suffix(".old")

    def forth(self) -> None:
        """Put the folder in its place, or leave all as it was."""
        if self.pour:
            self._poured()
            return
        try:
            if self.target.exists():
                self.target.rename(self.old)
            self.stage.rename(self.target)
        except BaseException:
            if self.old.exists() and not self.target.exists():
                self.old.rename(self.target)
            raise
        sync_folder(self.target.parent)
        self.end()

    def _poured(self) -> None:
        undo: list[tuple[Path, Path]] = []

        def moved(source: Path, place: Path) -> None:
            place.parent.mkdir(parents=True, exist_ok=True)
            source.rename(place)
            undo.append((place, source))

        news = [path for path in sorted(self.stage.rglob("*")) if not path.is_dir()]
        try:
            for name in self.drop:
                if os.path.lexists(self.target / name) and not (self.target / name).is_dir():
                    moved(self.target / name, self.old / name)
            for new in news:
                inner = new.relative_to(self.stage)
                if os.path.lexists(self.target / inner):
                    moved(self.target / inner, self.old / inner)
                moved(new, self.target / inner)
        except BaseException:
            for now, before in reversed(undo):
                now.rename(before)
            shutil.rmtree(self.old, ignore_errors=True)  # all of it is back
            raise
        sync_folder(self.target)
        shutil.rmtree(self.old, ignore_errors=True)
        shutil.rmtree(self.stage, ignore_errors=True)

    def end(self) -> None:
        """Delete the folder that was there, but for what came into it meanwhile."""
        if not self.old.exists():
            return
        with suppress(OSError):  # the new one is in its place; `settle` tries this again
            for item in self.old.iterdir():
                if item.name not in self.drop and not os.path.lexists(self.target / item.name):
                    item.rename(self.target / item.name)
        shutil.rmtree(self.old, ignore_errors=True)

    def to_json(self) -> str:
        """Write it down as a plan."""
        return json.dumps(
            {
                "stage": os.path.abspath(self.stage),
                "target": os.path.abspath(self.target),
                "drop": list(self.drop),
                "pour": self.pour,
                "file": None if self.file is None else self.file.name,
                "others": [
                    path.relative_to(self.file.parent).as_posix()
                    for path in self.others
                    if self.file is not None
                ],
            }
        )

    @classmethod
    def of_plan(cls, plan: Path) -> _Move:
        """Read a plan; its names must be ours, since somebody else may have written it."""
        told = json.loads(read_plain(plan, max_bytes=_MOST_PLANNED))
        stage, target, name = Path(told["stage"]), Path(told["target"]), told["file"]
        match = LEAVING.fullmatch(stage.name)
        own = match is not None and match["kind"] == "ready" and match["name"] == target.name
        names = [*told["drop"], *([] if name is None else [name])]
        others = told.get("others", [])
        if not own or stage.parent != target.parent or any(Path(one).name != one for one in names):
            raise ValueError("not a plan of ours")
        return cls(
            stage=stage,
            target=target,
            drop=tuple(told["drop"]),
            file=None if name is None else plan.parent / name,
            others=tuple(_below(plan, one) for one in others),
            pour=bool(told["pour"]),
        )


def create_together(contents: Mapping[Path, str | bytes]) -> tuple[Path, ...]:
    """Create new files below one folder: all of them or none, even if the program is stopped.

    A hidden plan in that folder names them until the last is written; `settle` takes back those
    that a plan without its program names, unless all of them are there.

    Parameters
    ----------
    contents : mapping of path to text or bytes
        All below the folder of the one nearest to the root, which is made if it is not there. A
        folder that is made for one of them stays.

    Returns
    -------
    tuple of Path
        The files, as given.

    Raises
    ------
    FileExistsError
        If one of the names is taken; nothing is then left.
    ExportError
        If one cannot be written; nothing is then left.
    """
    if not contents:
        return ()
    base = min((path.parent for path in contents), key=lambda folder: len(folder.parts))
    names = [path.relative_to(base).as_posix() for path in contents]
    for path in contents:
        if os.path.lexists(path):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    plan = write_atomic(
        neighbour(base / Path(names[0]).name, "plan"), json.dumps({"take_back": names})
    )
    made: list[Path] = []
    try:
        for path, text in contents.items():
            create_atomic(path, text, flush_folder=False)
            made.append(path)
        for folder in dict.fromkeys(path.parent for path in contents):
            sync_folder(folder)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
    finally:
        plan.unlink(missing_ok=True)
    return tuple(contents)


def settle(*folders: str | PathLike[str]) -> tuple[str, ...]:
    """Finish or take back what killed programs left in folders, and say so.

    Parameters
    ----------
    *folders : paths
        Those in which files or folders are written; a folder that is not there is passed over. The
        ones that hold plans (a journal) come first, since a plan says what becomes of a folder.

    Returns
    -------
    tuple of str
        One plain sentence for each thing done; empty, and cheap, if nothing was left.
    """
    told = []
    for folder in dict.fromkeys(Path(os.path.realpath(folder)) for folder in folders):
        try:
            left = [
                folder / entry.name
                for entry in os.scandir(folder)
                if entry.name.startswith(".") and LEAVING.fullmatch(entry.name)
            ]
        except OSError:
            continue
        for kind in ("plan", "old", "part"):
            for path in sorted(left):
                if path.suffix == f".{kind}" and is_left_behind(path):
                    # What cannot be put right now, such as in a folder of somebody else's, is left.
                    with suppress(OSError, ValueError, KeyError, TypeError):
                        told += _settled(path, kind)
    return tuple(told)


def _settled(path: Path, kind: str) -> list[str]:
    match = LEAVING.fullmatch(path.name)
    assert match is not None
    place = path.with_name(match["name"])
    if kind == "plan":
        return _settled_plan(path)
    if kind == "old":
        if place.exists():
            _Move(stage=path.with_suffix(".part"), target=place).end()
            return [f"{place}: deleted what a stopped program had replaced"]
        path.rename(place)
        return [f"{place}: put back as it was before a program was stopped"]
    if not path.is_dir() or path.is_symlink():
        path.unlink()
    elif match["host"]:
        shutil.rmtree(path)
    else:  # the first release moved old files into such a folder
        return [f"{path}: left by an earlier version that was stopped; look whether you need it"]
    return [f"{place}: took away an unfinished copy that a stopped program had left"]


def _settled_plan(plan: Path) -> list[str]:
    told = json.loads(read_plain(plan, max_bytes=_MOST_PLANNED))
    if "take_back" in told:
        return _taken_back(plan, told["take_back"])
    move = _Move.of_plan(plan)
    part = move.stage.with_suffix(".part")
    if move.file is not None and not move.file.exists():
        if move.old.exists() and not move.target.exists():
            move.old.rename(move.target)
        for folder in (move.stage, part):
            if folder.exists():
                shutil.rmtree(folder)
        _take_back(plan, move.others)
        said = [f"{move.target}: took back what a stopped program had not finished"]
    elif move.stage.exists():
        if not move.pour and move.old.exists() and move.target.exists():
            raise OSError(errno.EEXIST, "somebody else has put a folder there", str(move.target))
        move.forth()
        record = f", together with its record {move.file.name}" if move.file else ""
        said = [f"{move.target}: put in place{record}"]
    elif move.pour:
        shutil.rmtree(move.old, ignore_errors=True)
        said = []
    else:
        move.end()
        said = []
    plan.unlink()
    return said


def _taken_back(plan: Path, names: list[str]) -> list[str]:
    files = [_below(plan, name) for name in names]
    if all(path.is_file() for path in files):  # it was stopped after the last of them
        plan.unlink()
        return []
    count = _take_back(plan, files)
    plan.unlink()
    return [
        f"{plan.parent}: took back {count} files of {len(names)} that a stopped program had "
        "begun to write together"
    ]


def _below(plan: Path, name: str) -> Path:
    """Give a file that a plan names, which must lie below the plan's folder."""
    path = plan.parent / name
    if ".." in path.parts or Path(name).is_absolute():
        raise ValueError("not a plan of ours")
    return path


def _take_back(plan: Path, files: Iterable[Path]) -> int:
    """Delete those files that came after a plan, so that no older file can be meant; count them."""
    begun = plan.stat().st_mtime_ns
    count = 0
    for path in files:
        if path.is_file() and path.lstat().st_mtime_ns >= begun:
            path.unlink()
            count += 1
    return count


def _refuse_folders_in_the_way(stage: Path, target: Path) -> None:
    if target.exists() and not target.is_dir():
        raise NotADirectoryError(errno.ENOTDIR, "it is a file, not a folder", str(target))
    for item in stage.iterdir():
        place = target / item.name
        if place.is_dir() and not place.is_symlink() and not item.is_dir():
            raise StateError(
                f"a folder bears the name of the file {item.name}",
                where=str(target),
                code="file.folder-in-the-way",
                remedy="Rename or move that folder, or name another one for the files.",
            )


def _stays_in_place(target: Path, file: Path | None) -> bool:
    """Tell whether a folder must not be moved: somebody works in it, or it holds folders or more.

    A shell or a notebook whose folder is renamed and deleted is lost; a whole workshop would be
    linked again; and a record that lies in it would go with the old folder.
    """
    if not target.is_dir():
        return False
    with suppress(OSError):
        if Path.cwd().is_relative_to(target):
            return True
    if file is not None and Path(os.path.realpath(file.parent)).is_relative_to(target):
        return True
    return any(item.is_dir() and not item.is_symlink() for item in target.iterdir())


def _bring_others(target: Path, stage: Path, drop: Collection[str]) -> None:
    """Give the stage what the target holds besides: by links, so that nothing is written again."""
    if not target.is_dir():
        return
    shutil.copymode(target, stage)
    for item in sorted(target.iterdir()):
        place = stage / item.name
        if item.name not in drop and not os.path.lexists(place):
            _link(item, place)


def _link(source: Path, target: Path) -> None:
    try:
        os.link(source, target, follow_symlinks=False)
    except (OSError, NotImplementedError):  # the disk has no hard links
        shutil.copy2(source, target, follow_symlinks=False)


def _sync_tree(folder: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_symlink():
            continue
        if path.is_file():
            with suppress(PermissionError), path.open("rb+") as stream:
                os.fsync(stream.fileno())
        elif path.is_dir():
            sync_folder(path)
    sync_folder(folder)
