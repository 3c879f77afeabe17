"""Puts off a module of build123d until one of its functions is called.

It takes triangles back to faces, which fitkit never does, and loads a library of machine learning
for that: a quarter of what build123d takes to load. Whoever calls it gets it.
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from types import ModuleType

__all__ = ["put_off"]

_NAME = "build123d.brep_from_stl"


def put_off() -> None:
    """See to it that build123d loads without the module, if it is not loaded yet."""
    if "build123d" not in sys.modules and not any(isinstance(f, _Later) for f in sys.meta_path):
        sys.meta_path.insert(0, _Later())


class _Later(MetaPathFinder, Loader):
    """Finds the one module that can wait, once; afterwards it is found as all others are."""

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> Any:
        """Give a stand-in for the module, and leave the search for modules as it was."""
        if fullname != _NAME:
            return None
        sys.meta_path.remove(self)
        return ModuleSpec(fullname, self)

    def exec_module(self, module: ModuleType) -> None:
        """Give the stand-in the name that build123d takes from it, and all others when asked."""

        def real(name: str) -> Any:
            if name.startswith("__"):  # the import system asks whether it is a package
                raise AttributeError(name)
            if sys.modules.get(_NAME) is module:
                del sys.modules[_NAME]
            return getattr(import_module(_NAME), name)

        def detect_primitives(*args: Any, **kwargs: Any) -> Any:
            return real("detect_primitives")(*args, **kwargs)

        module.__dict__.update(detect_primitives=detect_primitives, __getattr__=real)
