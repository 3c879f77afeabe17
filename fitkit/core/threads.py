"""Linear algebra in one thread.

Our matrices are small. With two threads each product waits for the slower one: on two busy cores
they took two thirds of the processor's time of a whole part, and made it three times as long.
"""

from __future__ import annotations

import os

__all__ = ["one_thread_each"]

_VARIABLES = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS")


def one_thread_each() -> tuple[str, ...]:
    """Ask for one thread in this process, if it has not loaded NumPy yet, and in those it starts.

    What the user has set stays.

    Returns
    -------
    tuple of str
        Names of the environment variables that were set; taken away again, they hold no more.
    """
    added = tuple(name for name in _VARIABLES if name not in os.environ)
    os.environ.update(dict.fromkeys(added, "1"))
    return added
