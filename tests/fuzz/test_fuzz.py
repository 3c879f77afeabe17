"""Every reader of what people hand us refuses in plain words, whatever the bytes.

The quick part: each kept input, cuts and splices of it, and bytes at random, the same each time.
The long runs with coverage guidance are `python -m tests.fuzz`.
"""

from __future__ import annotations

import contextlib
import signal

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from tests.fuzz.targets import TARGETS, run, seeds

# An input that takes longer hangs: counted by the processor's time, so that a busy machine fails
# nothing, and by the clock for what waits for a file that never ends.
BUSY_S, WAITING_S = 20, 300
SLOW = {"plan", "readings", "pasted", "command_line", "journal_folder"}


@contextlib.contextmanager
def bounded():
    """Stop an input that hangs, where the system can."""
    if not hasattr(signal, "SIGALRM"):
        yield
        return

    limits = {
        (signal.ITIMER_PROF, signal.SIGPROF): BUSY_S,
        (signal.ITIMER_REAL, signal.SIGALRM): WAITING_S,
    }
    with contextlib.ExitStack() as after:
        for (timer, number), seconds in limits.items():

            def stop(number, frame, seconds=seconds):
                raise TimeoutError(f"more than {seconds} s for one input")

            after.callback(signal.signal, number, signal.signal(number, stop))
            after.callback(signal.setitimer, timer, 0.0)
            signal.setitimer(timer, seconds)
        yield


def mutated(kept: list[bytes]) -> st.SearchStrategy[bytes]:
    """Draw a kept input with a piece of it replaced by a piece of another, or by bytes."""

    @st.composite
    def spliced(draw: st.DrawFn) -> bytes:
        whole = draw(st.sampled_from(kept))
        start = draw(st.integers(0, len(whole)))
        end = draw(st.integers(start, min(len(whole), start + 40)))
        other = draw(st.sampled_from(kept))
        at = draw(st.integers(0, len(other)))
        piece = draw(
            st.one_of(
                st.binary(max_size=12),
                st.just(other[at : at + 20]),
                st.text(max_size=8).map(lambda text: text.encode("utf-8", "surrogatepass")),
            )
        )
        return whole[:start] + piece + whole[end:]

    return spliced()


@pytest.mark.parametrize("name", TARGETS)
def test_kept_inputs_and_finds_are_read_or_refused(name):
    for data in seeds(name):
        with bounded():
            run(TARGETS[name], data)


@pytest.mark.parametrize("name", TARGETS)
def test_spliced_and_random_bytes_are_read_or_refused(name):
    @settings(
        max_examples=25 if name in SLOW else 60,
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(st.one_of(mutated(seeds(name)), st.binary(max_size=200)))
    def fuzz(data: bytes) -> None:
        with bounded():
            run(TARGETS[name], data)

    fuzz()


def test_the_net_catches():
    """A target that raises anything but a plain refusal is a find."""

    def bad(data: bytes) -> None:
        raise KeyError(data)

    with pytest.raises(KeyError):
        run(bad, b"x")
