"""A chain against the bare NumPy that gives the same gaps; a gap learned against one curve."""

from __future__ import annotations

from typing import Any

import numpy as np

from bench.pairs import paired

_SAMPLES = 1_000_000


def rows(*, smoke: bool = False) -> list[dict[str, Any]]:
    return [chain_row(smoke), choice_row(smoke), ladder_row(smoke)]


def chain_row(smoke: bool) -> dict[str, Any]:
    from fitkit.fits import Chain, Contributor, sample_chain

    parts = tuple(
        Contributor(name=f"c{i}", value_mm=10.0 + i, u_mm=0.02 + 0.01 * i, opens=i % 2 == 0)
        for i in range(10)
    )
    chain = Chain(name="gap", contributors=parts)
    value = np.array([part.value_mm for part in parts])
    u = np.array([part.u_mm for part in parts])
    sign = np.array([part.factor for part in parts])

    samples = 1_000 if smoke else _SAMPLES

    def bare() -> object:
        draws = np.random.default_rng(0).standard_normal((samples, 10))
        return (value + u * draws) @ sign

    both = paired(lambda: sample_chain(chain, samples), bare, smoke=smoke)
    return both.row(f"10-link chain, {samples:,} samples / bare NumPy", "wanted: 1.3 or less")


def choice_row(smoke: bool) -> dict[str, Any]:
    from fitkit.fits import Trial, choose_gap, learn
    from fitkit.fits.verdicts import _learn

    trials = tuple(
        Trial(pair="peg and hole", behaviour="slides", size_mm=10.0, gap_mm=0.05 * i, verdict=word)
        for i, word in enumerate(
            ["will not go", "will not go", "tight", "tight", "as wanted", "as wanted", "loose"]
        )
    )
    model = learn("peg and hole", "slides", size_mm=10.0, trials=trials)
    gaps = np.linspace(-0.2, 0.8, 1001)

    def learned() -> object:
        _learn.cache_clear()
        return choose_gap("peg and hole", "slides", size_mm=10.0, trials=trials)

    both = paired(learned, lambda: model.p_wanted(gaps), smoke=smoke)
    return both.row("gap from 7 trials, learned again / one model's curve at 1001 gaps")


def ladder_row(smoke: bool) -> dict[str, Any]:
    from fitkit.fits import learn, next_ladder

    fit = ("peg and hole", "slides")
    model = learn(*fit, size_mm=10.0)
    gaps = np.linspace(-0.2, 0.6, 41)
    both = paired(
        lambda: next_ladder(*fit, size_mm=10.0, specimens=4),
        lambda: model.p_by_draw(gaps, u_gap_mm=0.04),
        smoke=smoke,
    )
    return both.row("ladder of 4 gaps / verdicts of 41 gaps by 2048 draws, once")
