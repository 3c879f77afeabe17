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
# Seconds of one core that a room's quick tests may take on a quiet machine. All of them, on two
# cores and with the browser's after them, are to end within 25 minutes.
BUDGET = {
    "notebooks": 240, "make": 240, "parts": 300, "widgets": 120, "fits": 120, "journal": 90,
    "checks": 90, "fuzz": 90, "flow": 90, "calibration": 90, "outside": 60, "stats": 60,
    "readings": 90, "views": 120, "browser": 480, "how_to": 60, "solids": 60, "drawings": 60,
}  # fmt: skip
OTHERS_BUDGET = 120
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


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Say how long each room took, beside what it may take; a long run fails nothing."""
    spent: dict[str, float] = {}
    for reports in terminalreporter.stats.values():
        for report in reports:
            if duration := getattr(report, "duration", 0.0):
                parts = Path(report.nodeid.partition("::")[0]).parts
                room = parts[1] if parts[0] == "tests" and len(parts) > 2 else parts[0]
                spent[room] = spent.get(room, 0.0) + duration
    if sum(spent.values()) < 60:
        return
    terminalreporter.section("seconds by room")
    for room, seconds in sorted(spent.items(), key=lambda item: -item[1]):
        most = BUDGET.get(room, OTHERS_BUDGET)
        over = "  over its budget" if seconds > most else ""
        terminalreporter.line(f"{room:14}{seconds:7.0f} of {most:4}{over}")
    terminalreporter.line(f"{'all':14}{sum(spent.values()):7.0f}")
