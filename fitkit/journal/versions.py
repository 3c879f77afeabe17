"""Versions of what decides on a part's geometry: fitkit, Python, the kernel, the mesher."""

from __future__ import annotations

import platform
from importlib import metadata

__all__ = ["current_versions"]


def current_versions() -> dict[str, str]:
    """Versions of what decides on the geometry; nothing is loaded to find them."""
    from fitkit import __version__

    found = {"fitkit": __version__, "python": platform.python_version()}
    # The kernel comes under either name; lib3mf and numpy shape the meshes.
    for name in ("build123d", "cadquery-ocp", "cadquery-ocp-novtk", "lib3mf", "numpy"):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            continue
    return found
