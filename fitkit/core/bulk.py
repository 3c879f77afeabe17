"""Many objects made at once, without the collector of cycles going through all of them meanwhile.

Python looks for dead cycles each time that some hundred objects have been made, and now and then
goes through every one that lives. Where a file of 10,000 rows becomes 50,000 objects, none of which
is in a cycle, that takes up to half of the time, and more of it the more rows there are.
"""

from __future__ import annotations

import gc
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["without_collector"]


@contextmanager
def without_collector() -> Iterator[None]:
    """Let the collector wait while the block, or the function that this decorates, runs.

    It is for all threads of the process, so the block must be short and make no cycles. Where it
    waits already, or is off, it is left so.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
