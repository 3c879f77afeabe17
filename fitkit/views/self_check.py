"""Whether what is installed here belongs together: libraries, the notebook's page side, the kernel.

A widget has two sides, a library in the notebook's kernel and an extension in the page, each found
by its own way; after an upgrade they may be of different versions, and nothing is shown. The page
gets the first extension on Jupyter's search path, so an old copy in a folder before ours wins.

Left out: a JupyterLab that was started from another environment than this one, and a page that has
been open since before the upgrade; neither can be seen from here.
"""

from __future__ import annotations

import json
import sys
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING

from packaging.requirements import Requirement

from fitkit.core.errors import FitkitError, UnavailableError

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["kernel_faults", "library_faults", "page_faults"]

# Python package of each widget library -> its extension, as Jupyter names the folder.
_PAGE_SIDES = {
    "anywidget": "anywidget",
    "jupyterlab-widgets": "@jupyter-widgets/jupyterlab-manager",
}
# Whose own needs are looked at as well: they pin what their two sides must be.
_LIBRARIES = ("fitkit", "ipywidgets", "anywidget")


def library_faults(needs: Iterable[str] | None = None) -> tuple[FitkitError, ...]:
    """Find libraries that are missing, or of a version that does not serve.

    Parameters
    ----------
    needs : iterable of str, optional
        Requirements after PEP 508; those of fitkit and of the widget libraries if not given.
    """
    if needs is None:
        needs = [need for name in _LIBRARIES for need in _needs(name)]
    faults = []
    for need in map(Requirement, needs):
        if need.marker and not need.marker.evaluate({"extra": ""}):
            continue
        try:
            have = metadata.version(need.name)
        except metadata.PackageNotFoundError:
            faults.append(_install(f"{need.name} is not installed", str(need)))
            continue
        if not need.specifier.contains(have, prereleases=True):
            what = f"version {have}, and {need.specifier} is needed"
            faults.append(_install(what, str(need), where=need.name))
    return tuple(faults)


def page_faults(folders: Sequence[Path] | None = None) -> tuple[FitkitError, ...]:
    """Find widget libraries whose page side is missing, or is another than the kernel side brings.

    Parameters
    ----------
    folders : sequence of Path, optional
        Where the page's extensions are looked for, the first one winning; Jupyter's if not given.
    """
    from jupyter_core.paths import jupyter_path

    if folders is None:
        folders = [Path(folder) for folder in jupyter_path("labextensions")]
    faults = []
    for library, extension in _PAGE_SIDES.items():
        try:
            brings = _brought(library, extension)
        except metadata.PackageNotFoundError:
            continue  # library_faults tells
        wanted = f"{library}=={metadata.version(library)}"
        served = next((f for folder in folders if (f := folder / extension).is_dir()), None)
        if served is None:
            faults.append(_install("its page side is missing", wanted, where=library, again=True))
            continue
        shows = _version_in(served / "package.json")
        if brings is None:
            faults.append(_install("its page side is damaged", wanted, where=library, again=True))
        elif shows != brings:
            faults.append(
                UnavailableError(
                    f"the page gets version {shows or 'unknown'} of it, from {served}, and the "
                    f"kernel side needs {brings}",
                    where=library,
                    code="views.other-version",
                    remedy=f"Delete that folder, type {_pip(wanted, again=True)}, and reload the "
                    "page.",
                )
            )
    return tuple(faults)


def kernel_faults() -> tuple[FitkitError, ...]:
    """Tell why the CAD kernel cannot be loaded; empty if it can. Takes a few seconds."""
    from fitkit.solids.bodies import kernel_names

    try:
        kernel_names()
    except FitkitError as error:
        return (error,)
    return ()


def _needs(library: str) -> Sequence[str]:
    try:
        return metadata.requires(library) or ()
    except metadata.PackageNotFoundError:
        return ()  # what needs it tells, or fitkit runs from its folder


def _brought(library: str, extension: str) -> str | None:
    """Version of the page side that came with a library; None if its file is gone."""
    place = f"share/jupyter/labextensions/{extension}/package.json"
    for file in metadata.files(library) or ():
        if file.as_posix().endswith(place):
            found = _version_in(Path(str(file.locate())))
            # anywidget numbers both its sides alike; the other's page side counts on its own.
            return metadata.version(library) if found and library == extension else found
    return None


def _version_in(package: Path) -> str | None:
    try:
        return str(json.loads(package.read_text(encoding="utf-8"))["version"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _install(
    what: str, wanted: str, *, where: str | None = None, again: bool = False
) -> FitkitError:
    return UnavailableError(
        what, where=where, code="views.not-usable", remedy=f"Type {_pip(wanted, again=again)}."
    )


def _pip(wanted: str, *, again: bool = False) -> str:
    force = "--force-reinstall --no-deps " if again else ""
    return f"'{sys.executable} -m pip install {force}\"{wanted}\"'"
