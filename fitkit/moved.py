"""Names that moved: the old ones work for one more release, and a warning names the new one.

Modules are found by a finder of the import system, names of a room by the room's ``__getattr__``.
Nothing of fitkit itself uses an old name; a test walks the tables.
"""

from __future__ import annotations

import sys
import warnings
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from types import ModuleType

__all__ = ["MODULES", "NAMES", "install", "with_moved_names"]

# Modules that README, lessons or the reference named in release 0.1 -> where they are now.
MODULES = {
    "fitkit.compensate": "fitkit.calibration.compensation",
    "fitkit.errors": "fitkit.core.errors",
    "fitkit.units": "fitkit.core.units",
    "fitkit.mesh": "fitkit.solids.mesh",
    "fitkit.mesh_picture": "fitkit.solids.picture",
    "fitkit.shown": "fitkit.views.notebook",
    "fitkit.lessons": "fitkit.views.lessons",
    "fitkit.cli": "fitkit.views.shell",
    "fitkit.parts.solids": "fitkit.solids.bodies",
    "fitkit.parts.profiles": "fitkit.solids.profiles",
    "fitkit.parts.fit_ladder": "fitkit.parts.designs.fit_ladder",
}
# Room -> name -> the room that has it now, and after a colon its new name if it has one.
NAMES = {
    "fitkit.parts": {
        "GivenFile": "fitkit.core.given_file",
        "file_parameter": "fitkit.core.given_file",
        "kernel_ready": "fitkit.solids",
        "tessellate": "fitkit.solids",
    },
    "fitkit.journal": {
        "compensated_anew": "fitkit.make:compensated_again",
        "rebuild": "fitkit.make",
        "reprint": "fitkit.make",
    },
    "fitkit.export": {
        "Plate": "fitkit.solids",
        "lay_out": "fitkit.solids",
        "write_bodies": "fitkit.export:write_files",
    },
    "fitkit.checks": {"Finding": "fitkit.core.finding", "SEVERITIES": "fitkit.core.finding"},
}


def _warn(old: str, new: str, stacklevel: int) -> None:
    warnings.warn(
        f"{old} has moved. Use {new}; the old name goes with the next release.",
        DeprecationWarning,
        stacklevel=stacklevel + 1,
    )


class _Moved(MetaPathFinder, Loader):
    """Find a module under its old name."""

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if name not in MODULES:
            return None
        _warn(name, MODULES[name], stacklevel=2)
        return ModuleSpec(name, self)

    def create_module(self, spec: ModuleSpec) -> ModuleType:
        module = import_module(MODULES[spec.name])
        self._own = module.__spec__
        return module

    def exec_module(self, module: ModuleType) -> None:
        # The import system has just put the old name's spec on the module.
        module.__spec__ = self._own


def install() -> None:
    """Let old modules be found, after all that are where they should be."""
    if not any(isinstance(finder, _Moved) for finder in sys.meta_path):
        sys.meta_path.append(_Moved())


def with_moved_names(room: str, find: Callable[[str], Any]) -> Callable[[str], Any]:
    """Let a room's ``__getattr__`` find names that it had before.

    Parameters
    ----------
    room : str
        Full name of the room.
    find : callable of str
        Its ``__getattr__`` as it is.

    Returns
    -------
    callable of str
        A ``__getattr__`` that finds the old names too, and warns that they have moved.
    """
    names = NAMES[room]

    def found(name: str) -> Any:
        if name in names:
            now, _, renamed = names[name].partition(":")
            _warn(f"{room}.{name}", f"{now}.{renamed or name}", stacklevel=2)
            return getattr(import_module(now), renamed or name)
        return find(name)

    return found
