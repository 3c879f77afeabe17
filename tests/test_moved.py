"""Old names work for one release, and say where they went."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module

import pytest

from fitkit.moved import MODULES, NAMES


@pytest.mark.parametrize("old", MODULES)
def test_an_old_module_is_the_new_one_and_says_so(old):
    new = import_module(MODULES[old])
    spec = new.__spec__
    sys.modules.pop(old, None)
    with pytest.warns(DeprecationWarning, match=MODULES[old]):
        assert import_module(old) is new
    assert new.__spec__ is spec
    sys.modules.pop(old, None)


@pytest.mark.parametrize(("room", "name"), [(r, n) for r, names in NAMES.items() for n in names])
def test_an_old_name_of_a_room_is_the_new_one_and_says_so(room, name):
    now, _, renamed = NAMES[room][name].partition(":")
    with pytest.warns(DeprecationWarning, match=f"{now}.{renamed or name}"):
        found = getattr(import_module(room), name)
    assert found is getattr(import_module(now), renamed or name)


def test_nothing_of_fitkit_uses_an_old_name():
    """Every module is imported with warnings as errors, and each public name is asked for."""
    code = """
import importlib, pkgutil, warnings
warnings.filterwarnings("error", message=".*the old name goes with the next release.*")
import fitkit
names = [m.name for m in pkgutil.walk_packages(fitkit.__path__, "fitkit.")]
for name in names:
    if name != "fitkit.__main__":
        module = importlib.import_module(name)
        for public in getattr(module, "__all__", ()):
            getattr(module, public)
print(len(names))
"""
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    assert int(run.stdout) > 150
