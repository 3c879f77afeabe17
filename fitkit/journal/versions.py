"""Versions of what decides on a part's geometry: fitkit, Python, the kernel, the mesher."""

from __future__ import annotations

import platform
from importlib import metadata

__all__ = ["current_versions"]


def current_versions(template: str = "") -> dict[str, str]:
    """Versions of what decides on the geometry; nothing is loaded to find them.

    Parameters
    ----------
    template : str, optional
        Title of a template, whose package is named too if it comes from one.
    """
    from fitkit import __version__
    from fitkit.parts.registry import package_of

    found = {"fitkit": __version__, "python": platform.python_version()}
    # The kernel comes under either name; lib3mf and numpy shape the meshes.
    for name in ("build123d", "cadquery-ocp", "cadquery-ocp-novtk", "lib3mf", "numpy"):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    if template and (package := package_of(template)):
        found[package[0]] = package[1]
    return found
