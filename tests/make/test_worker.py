"""The build process: newest wins, crashes are survived, classes of a notebook travel."""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import textwrap
import time

import numpy as np
import pytest

from fitkit.core.errors import FitError, PartError
from fitkit.make.worker import Worker

LONG = 60.0  # s: a limit for a stuck test, not a measure


def slept(seconds: float, value: object) -> object:
    time.sleep(seconds)
    return value


@pytest.fixture
def worker():
    made = Worker(patience_s=0.2)
    yield made
    made.close()


@pytest.fixture
def outcomes():
    return queue.Queue()


def test_a_result_comes_back_with_its_arrays(worker, outcomes):
    ticket = worker.submit(np.arange, 100_000.0, done=outcomes.put)
    outcome = outcomes.get(timeout=LONG)
    assert outcome.ticket == ticket
    assert outcome.error is None
    np.testing.assert_array_equal(outcome.value, np.arange(100_000.0))


def threads_of_linear_algebra() -> set[int]:
    import numpy.linalg  # noqa: F401 - its library is what is looked for
    from threadpoolctl import threadpool_info

    return {pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"}


def test_linear_algebra_has_one_thread_in_the_child_and_is_left_alone_here(worker, outcomes):
    before = dict(os.environ)
    worker.submit(threads_of_linear_algebra, done=outcomes.put)
    assert outcomes.get(timeout=LONG).value == {1}
    assert dict(os.environ) == before


def test_newest_wins_and_what_it_pushed_out_is_never_heard_of(worker, outcomes):
    worker.submit(slept, 30, "stuck", done=outcomes.put)
    for value in range(30):
        last = worker.submit(slept, 0, value, done=outcomes.put)
    outcome = outcomes.get(timeout=LONG)
    assert (outcome.ticket, outcome.value, outcome.newest) == (last, 29, True)
    with pytest.raises(queue.Empty):
        outcomes.get(timeout=0.3)


def test_a_quick_stale_result_is_handed_on_and_marked(worker, outcomes):
    worker.patience_s = LONG
    worker.submit(slept, 0.3, "first", done=outcomes.put)
    while not worker._running:
        time.sleep(0.01)
    worker.submit(slept, 0, "second", done=outcomes.put)
    first, second = outcomes.get(timeout=LONG), outcomes.get(timeout=LONG)
    assert (first.value, first.newest) == ("first", False)
    assert (second.value, second.newest) == ("second", True)


def test_a_crash_is_told_and_the_next_task_is_done(worker, outcomes):
    worker.submit(os.abort, done=outcomes.put)
    crash = outcomes.get(timeout=LONG)
    assert isinstance(crash.error, PartError)
    assert "stopped" in str(crash.error)
    worker.submit(pow, 2, 3, done=outcomes.put)
    assert outcomes.get(timeout=LONG).value == 8


def test_a_child_killed_while_idle_is_replaced(worker, outcomes):
    worker.submit(os.getpid, done=outcomes.put)
    first = outcomes.get(timeout=LONG).value
    os.kill(first, 9)
    time.sleep(0.3)
    worker.submit(os.getpid, done=outcomes.put)
    assert outcomes.get(timeout=LONG).value != first


def test_cancelling_kills_and_tells_nothing(worker, outcomes):
    worker.submit(slept, 30, "stuck", done=outcomes.put)
    while not worker._running:
        time.sleep(0.01)
    worker.cancel()
    worker.submit(pow, 2, 3, done=outcomes.put)
    assert outcomes.get(timeout=LONG).value == 8


def refused() -> None:
    raise FitError("no such fit", where="lid", remedy="Name another.")


def test_errors_keep_their_kind_and_parts(worker, outcomes):
    worker.submit(refused, done=outcomes.put)
    outcome = outcomes.get(timeout=LONG)
    assert isinstance(outcome.error, FitError)
    assert (outcome.error.where, outcome.error.remedy) == ("lid", "Name another.")
    assert "refused" in outcome.details


def test_a_template_writers_own_mistake_is_named_with_its_line(worker, outcomes):
    worker.submit(lambda: {}["missing"], done=outcomes.put)
    error = outcomes.get(timeout=LONG).error
    assert isinstance(error, PartError)
    assert "KeyError: 'missing'" in str(error)
    assert "line" in error.where


def test_progress_is_reported(worker, outcomes):
    def steps(report):
        report("one")
        report("two")
        return "done"

    said = []
    worker.submit(steps, done=outcomes.put, progress=said.append)
    assert outcomes.get(timeout=LONG).value == "done"
    assert said == ["one", "two"]


def test_closing_ends_the_child(worker, outcomes):
    worker.submit(os.getpid, done=outcomes.put)
    pid = outcomes.get(timeout=LONG).value
    worker.close()
    worker.close()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
    with pytest.raises(RuntimeError, match="closed"):
        worker.submit(pow, 2, 3, done=outcomes.put)


@pytest.mark.slow
def test_a_fresh_interpreter_serves_where_there_is_no_fork_server(outcomes):
    worker = Worker(method="spawn")
    worker.submit(pow, 2, 3, done=outcomes.put)
    assert outcomes.get(timeout=LONG).value == 8
    worker.close()


def test_a_script_without_a_main_guard_is_not_run_again(tmp_path):
    # Its own class goes along, as a notebook's does.
    script = tmp_path / "script.py"
    script.write_text(
        textwrap.dedent(
            """
            import queue
            from fitkit.parts.contract import Length, Template, size
            from fitkit.make.worker import Worker
            print("run")
            class Rod(Template):
                title = "rod"
                length: Length = size("5 mm", low="1 mm", high="9 mm", help="Length.")
                def build(self, drawn=None, *, title=""):
                    return self.length * 2
            seen = queue.Queue()
            worker = Worker()
            worker.submit(lambda rod: rod.build(), Rod.of(length="4 mm"), done=seen.put)
            print(seen.get(timeout=60).value)
            worker.close()
            """
        )
    )
    done = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.stderr == ""
    assert done.stdout.split() == ["run", "8.0"]


def test_no_process_outlives_its_parent(tmp_path):
    script = tmp_path / "script.py"
    script.write_text(
        "import os, queue\nfrom fitkit.make.worker import Worker\nw = Worker()\nq = queue.Queue()\n"
        "w.submit(os.getpid, done=q.put)\nprint(q.get(timeout=60).value, flush=True)\n"
        "os.kill(os.getpid(), 9)\n"
    )
    done = subprocess.run(
        [sys.executable, script], capture_output=True, text=True, timeout=120, check=False
    )
    pid = int(done.stdout)
    deadline = time.monotonic() + LONG
    while time.monotonic() < deadline:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    pytest.fail("the child lives on")


def rebuilt(height_mm: float) -> float:
    """Build a part with its meshes as a preview does; give the process's memory, MB."""
    import psutil

    from fitkit.export.scene import scene_of
    from fitkit.parts import template

    part = template("spacer").of(height=f"{height_mm:.2f} mm").build()
    assert scene_of(part).arrays
    return float(psutil.Process().memory_info().rss / 1e6)


@pytest.mark.parametrize("count", [30, pytest.param(1_000, marks=pytest.mark.slow)])
def test_one_process_builds_again_and_again_without_growing(worker, outcomes, count):
    """Memory after the first builds against the last ones, each a median of a tenth of them."""
    memory = []
    for number in range(count):
        worker.submit(rebuilt, 10.0 + 0.02 * number, done=outcomes.put)
        outcome = outcomes.get(timeout=LONG)
        assert outcome.error is None
        memory.append(outcome.value)
    tenth = count // 10
    early, late = np.median(memory[tenth : 2 * tenth]), np.median(memory[-tenth:])
    print(f"{count} builds: {early:.0f} MB, then {late:.0f} MB")
    # A solid that was kept at each build, with its mesh, would take far more.
    assert late - early < 5, (early, late)
