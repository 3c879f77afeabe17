"""The demo workshop: the exhibits bench of an invented visitor centre, to copy and work in.

The original lies in the project's folders ``measurements`` and ``shared``, of which the wheel
brings a copy. It is read-only, so that lessons, tests and documents always find it as it was.
Whoever wants to make its parts works on a copy.
"""

from __future__ import annotations

import shutil
from pathlib import Path

from fitkit.core.errors import ExportError, WorkshopError
from fitkit.core.files import make_folder
from fitkit.core.leavings import neighbour
from fitkit.core.staged import settle
from fitkit.workshop import FILE_NAME

__all__ = ["DEMO_SHEET", "copy_demo"]

# The demo's workshop, and what its paths lead to beside it.
DEMO_SHEET = Path("measurements", "sound_board.toml")
_WORKSHOP, _BESIDE = "measurements", "shared"
_NOT_LESSONS = shutil.ignore_patterns("made", "*.cfg", ".ipynb_checkpoints")
_NOT_COPIED = shutil.ignore_patterns("*.py", "__pycache__", ".index.json", "*.part")


def copy_demo(
    folder: str | Path, *, source: str | Path | None = None, lessons: bool = False
) -> Path:
    """Copy the demo workshop into a new folder, whole or not at all.

    Parameters
    ----------
    folder : path
        Must not be there yet, or be empty.
    source : path, optional
        Folder that holds ``measurements`` and ``shared``; the project's own if not given.
    lessons : bool
        Whether the notebooks of the lessons come along, as ``FOLDER/lessons``.

    Returns
    -------
    Path
        The copy's workshop, ``FOLDER/measurements``.

    Raises
    ------
    WorkshopError
        If the folder holds something already, or there is no demo to copy.
    ExportError
        If it cannot be written; nothing is then left.
    """
    folder, demo = Path(folder), Path(source) if source else demo_source()
    settle(folder.parent)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise WorkshopError(
            "this folder is there already",
            where=str(folder),
            code="workshop.folder-taken",
            remedy="Choose another folder.",
        )
    stage = neighbour(folder)
    try:
        make_folder(folder.parent)
        for name in (_WORKSHOP, _BESIDE):
            shutil.copytree(demo / name, stage / name, ignore=_NOT_COPIED)
        if lessons:
            shutil.copytree(demo / "notebooks", stage / "lessons", ignore=_NOT_LESSONS)
        file = stage / _WORKSHOP / FILE_NAME
        lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
        text = "".join(line for line in lines if not line.startswith("read_only"))
        file.write_text(text, encoding="utf-8")
        if folder.exists():
            folder.rmdir()  # empty; a folder cannot be renamed onto another on every system
        stage.rename(folder)
    except shutil.Error as errors:  # it goes on after a file that could not be copied
        (_, _, why), *_ = errors.args[0]
        raise _not_written(folder, why) from errors
    except OSError as error:
        raise _not_written(folder, error.strerror or str(error)) from error
    finally:
        shutil.rmtree(stage, ignore_errors=True)
    return folder / _WORKSHOP


def _not_written(folder: Path, why: str) -> ExportError:
    return ExportError(
        f"cannot be written: {why}",
        file=folder,
        code="file.not-written",
        remedy="Check that the disk has room and that you may write there.",
    )


def demo_source() -> Path:
    """Find the folder that holds the demo: the package's own copy, else that of the project.

    The wheel brings a copy; where the project's folder is installed in place, it is that one. The
    current folder and those above it are looked at last.

    Raises
    ------
    WorkshopError
        If there is none, as where fitkit was installed without its project folder.
    """
    here = Path.cwd()
    package = Path(__file__).resolve().parent
    for folder in (package / "_demo", package.parent, here, *here.parents):
        if (folder / _WORKSHOP / FILE_NAME).is_file() and (folder / _BESIDE).is_dir():
            return folder
    raise WorkshopError(
        "there is no demo to copy",
        where=str(here),
        code="workshop.no-demo",
        remedy="The demo comes with the project's folder; get a complete copy of it.",
    )
