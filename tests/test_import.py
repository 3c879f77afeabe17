"""Importing fitkit is cheap: neither the CAD kernel nor widgets come along."""

import subprocess
import sys

import pytest

HEAVY = ("OCP", "build123d", "ipywidgets", "anywidget", "statsmodels", "matplotlib")


def loaded_after(statement: str) -> set[str]:
    """Names of the heavy packages that a fresh interpreter holds after a statement."""
    code = f"{statement}\nimport sys\nprint(*(m for m in {HEAVY} if m in sys.modules))"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return set(run.stdout.split())


def test_importing_fitkit_loads_nothing_heavy():
    assert loaded_after("import fitkit") == set()


@pytest.mark.parametrize(
    "room",
    ["units", "readings", "stats", "calibration", "fits", "compensate", "checks", "journal",
     "parts", "flow", "flow.sheet", "flow.expressions", "make"],
)  # fmt: skip
def test_a_room_loads_no_kernel_and_no_widgets(room):
    assert loaded_after(f"import fitkit.{room}") & {
        "OCP", "build123d", "ipywidgets", "anywidget"
    } == set()  # fmt: skip


def test_the_probe_sees_a_heavy_import():
    assert "matplotlib" in loaded_after("import matplotlib.figure")


def test_public_names_are_the_rooms():
    import fitkit

    assert set(dir(fitkit)) >= set(fitkit.__all__) - {"__version__"}
    with pytest.raises(AttributeError, match="attic"):
        _ = fitkit.attic
