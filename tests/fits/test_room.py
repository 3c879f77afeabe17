"""The room as a whole: what it lends out, what it loads, and that its examples hold."""

from __future__ import annotations

import doctest
import pkgutil
import subprocess
import sys
from importlib import import_module

import pytest

from fitkit import fits


def test_every_public_name_is_there() -> None:
    assert len(set(fits.__all__)) == len(fits.__all__)
    for name in fits.__all__:
        assert getattr(fits, name) is not None
    with pytest.raises(AttributeError, match="nothing"):
        fits.nothing  # noqa: B018 - asking is the test


def test_choosing_a_gap_loads_no_kernel_and_no_plotting() -> None:
    code = (
        "import sys; from fitkit.fits import choose_gap; "
        "choose_gap('peg and hole', 'slides', size_mm=8.0); "
        "print(sorted(m for m in ('OCP', 'build123d', 'matplotlib', 'ipywidgets', 'statsmodels') "
        "if m in sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", [m.name for m in pkgutil.iter_modules(fits.__path__)])
def test_examples_in_docstrings_hold(name: str) -> None:
    result = doctest.testmod(import_module(f"fitkit.fits.{name}"))
    assert result.failed == 0
