"""What the whole test run shares: notebooks run as tests.

The cells of a notebook share a kernel, so workers must take whole files: ``-n 2 --dist loadfile``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pytest

HERE = Path(__file__).parent
# Where lessons work; what they make there may hold notebooks of their own.
collect_ignore_glob = ["notebooks/made/*"]


def pytest_configure(config: pytest.Config) -> None:
    """Run every notebook in this environment, its outputs held against the stored ones."""
    config.option.nbval = True
    config.option.nbval_current_env = True
    config.option.nbval_sanitize_with = str(HERE / "notebooks" / "sanitize.cfg")
