"""Chances in percent: rounded sensibly, and never to certainty."""

from __future__ import annotations

import pytest

from fitkit.core.chances import say_chance


@pytest.mark.parametrize(
    ("chance", "said"),
    [
        (0.0, "under 0.1 %"),
        (0.00099, "under 0.1 %"),
        (0.001, "0.1 %"),
        (0.0099, "1.0 %"),
        (0.01, "1 %"),
        (0.5, "50 %"),
        (0.99, "99 %"),
        (0.9951, "99.5 %"),
        (0.999, "99.9 %"),
        (0.9999, "over 99.9 %"),
        (1.0, "over 99.9 %"),
    ],
)
def test_a_chance_is_said_in_percent_and_is_never_certain(chance: float, said: str) -> None:
    assert say_chance(chance) == said
