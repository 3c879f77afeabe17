"""Linear algebra in one thread, unless the user has said otherwise."""

import os
import subprocess
import sys

import pytest

from fitkit.core.threads import one_thread_each

ASK = """
import sys
from click import command
from fitkit.views import shell

@shell.commands.command("threads")
def threads():
    import numpy.linalg
    from threadpoolctl import threadpool_info
    print({pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"})

shell.main(["threads"])
"""


@pytest.mark.parametrize("of_the_user", [None, "2"])
def test_commands_do_linear_algebra_in_one_thread_or_as_the_user_has_set(of_the_user):
    names = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")
    env = {name: value for name, value in os.environ.items() if name not in names}
    env |= {} if of_the_user is None else dict.fromkeys(names, of_the_user)
    done = subprocess.run(
        [sys.executable, "-c", ASK], env=env, capture_output=True, text=True, check=True
    )
    # a machine of one core gives one thread whatever is asked for
    wanted = 1 if of_the_user is None else min(2, os.cpu_count() or 1)
    assert done.stdout.strip() == f"{{{wanted}}}"


def test_what_was_set_is_named_and_stays_the_users(monkeypatch):
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    assert one_thread_each() == ("OPENBLAS_NUM_THREADS",)
    assert os.environ["OMP_NUM_THREADS"] == "3"
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "1")  # so that it is taken away again
    assert one_thread_each() == ()
