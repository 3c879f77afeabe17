"""Importing fitkit is cheap: neither the CAD kernel nor widgets come along."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

import fitkit
from fitkit.demo import copy_demo

HEAVY = (
    "OCP", "build123d", "ipywidgets", "anywidget", "statsmodels", "matplotlib",
    "pint", "hypothesis", "dask", "numpy", "pandas", "scipy",
)  # fmt: skip


def loaded_after(statement: str) -> set[str]:
    """Names of the heavy packages that a fresh interpreter holds after a statement."""
    code = f"{statement}\nimport sys\nprint(*(m for m in {HEAVY} if m in sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


def test_importing_fitkit_loads_nothing_heavy():
    assert loaded_after("import fitkit") == set()


def test_the_command_line_answers_before_numpy_is_loaded():
    assert loaded_after("import fitkit.views.shell") == set()


@pytest.mark.parametrize(
    "room",
    ["units", "readings", "stats", "calibration", "fits", "compensate", "checks", "journal",
     "parts", "flow", "flow.sheet", "flow.expressions", "make"],
)  # fmt: skip
def test_a_room_loads_no_kernel_and_no_widgets(room):
    assert loaded_after(f"import fitkit.{room}") & {
        "OCP", "build123d", "ipywidgets", "anywidget"
    } == set()  # fmt: skip


def test_making_a_part_loads_nothing_that_only_happens_to_be_installed(tmp_path):
    copy_demo(tmp_path)
    sheet = tmp_path / "measurements" / "terminal_tray.toml"
    making = f"from fitkit.make import make\nmake({str(sheet)!r}, into={str(tmp_path / 'out')!r})"
    found = loaded_after(making)
    assert "build123d" in found
    assert not found & {"pint", "hypothesis", "dask", "statsmodels", "ipywidgets", "anywidget"}


def test_the_probe_sees_a_heavy_import():
    assert "matplotlib" in loaded_after("import matplotlib.figure")


def test_public_names_are_the_rooms():
    import fitkit

    assert set(dir(fitkit)) >= set(fitkit.__all__) - {"__version__"}
    with pytest.raises(AttributeError, match="attic"):
        _ = fitkit.attic


def test_every_public_name_is_there_when_all_are_loaded_at_once():
    """The stubs promise names that arrive on first use; here all of them must arrive."""
    code = """
import importlib, pathlib
import fitkit
for stub in pathlib.Path(fitkit.__file__).parent.glob("*/__init__.pyi"):
    room = importlib.import_module(f"fitkit.{stub.parent.name}")
    missing = [name for name in room.__all__ if name not in vars(room)]
    assert not missing, (room.__name__, missing)
    print(room.__name__)
"""
    run = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        env=os.environ | {"EAGER_IMPORT": "1"},
    )
    assert run.returncode == 0, run.stderr
    assert len(run.stdout.split()) >= 12


def test_what_a_templates_author_needs_is_public():
    from fitkit import parts, solids

    assert {
        "Template", "Part", "Body", "FitSize", "KeyDimension", "size", "choice", "Rules", "Length",
        "Angle", "Area", "Wall", "SnapArm", "Lug", "Boss", "Vent", "Bridge", "Reading",
        "FromReadings", "Measuring", "register",
    } <= set(parts.__all__)  # fmt: skip
    assert {"extrude", "cut", "fuse", "chamfer", "checked", "circle", "rectangle"} <= set(
        solids.__all__
    )


def test_no_public_name_is_that_of_a_file_that_does_not_hold_it():
    """Once imported, such a file would take the place of the name, which comes on first use."""
    hidden = [
        f"{stub.parent.name}.{alias.name}"
        for stub in Path(fitkit.__file__).parent.rglob("__init__.pyi")
        for block in ast.parse(stub.read_text("utf-8")).body
        if isinstance(block, ast.ImportFrom)
        for alias in block.names
        if alias.name != block.module
        and any((stub.parent / alias.name).with_suffix(end).exists() for end in ("", ".py"))
    ]
    assert not hidden
