"""What the whole test run shares: notebooks run as tests, and none of the user's own yeses.

The cells of a notebook share a kernel, so workers must take whole files: ``-n 2 --dist loadfile``.
"""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from hypothesis import settings

from fitkit.core.threads import one_thread_each

if TYPE_CHECKING:
    import pytest

HERE = Path(__file__).parent
# Where lessons work; what they make there may hold notebooks of their own.
collect_ignore_glob = ["notebooks/made/*"]


def pytest_configure(config: pytest.Config) -> None:
    """Run every notebook in this environment, its outputs held against the stored ones."""
    # A lesson says yes to running a template file, and the yes is kept in the user's state folder.
    # A run has a new one of its own, whatever the environment names: the user's list stays as it
    # is, and the lesson is refused at first each time, as its stored output says.
    state = tempfile.TemporaryDirectory(prefix="fitkit-state-", ignore_cleanup_errors=True)
    config.add_cleanup(state.cleanup)
    os.environ["XDG_STATE_HOME"] = state.name
    # As the commands do it: what is imported here so far has not loaded NumPy.
    one_thread_each()
    # A busy machine is no fault of the example that it took long over.
    settings.register_profile("no times", deadline=None)
    settings.load_profile("no times")
    # Messages name commands as the user types them, which is not to depend on how tests are begun.
    os.environ.pop("FITKIT_COMMAND", None)
    config.option.nbval = True
    config.option.nbval_current_env = True
    config.option.nbval_sanitize_with = str(HERE / "notebooks" / "sanitize.cfg")
