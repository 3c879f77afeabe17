"""Instruments files."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fitkit.errors import FaultList, ReadingError
from fitkit.readings import load_instruments

BENCH = Path(__file__).parents[2] / "shared/instruments/bench.toml"


def test_the_bench_file_loads_with_lengths_in_mm() -> None:
    bench = load_instruments(BENCH)
    one = bench["bench calipers"]
    assert (one.resolution_mm, one.mpe_mm, one.zero_error_mm) == (0.01, 0.03, -0.02)
    assert one.zero_checked == dt.date(2026, 3, 2)
    assert one.inside_face_mm == 0.5


def test_all_faults_of_a_file_are_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "i.toml"
    path.write_text('schema = 1\n[[instrument]]\nname = "a"\nresolution = 0.01\nmpe = "3 Mm"\nx=1')
    with pytest.raises(FaultList) as caught:
        load_instruments(path)
    text = str(caught.value)
    assert len(caught.value.faults) == 3
    assert "key instrument.0.resolution" in text
    assert "has no unit" in text
    assert "key instrument.0.x" in text


def test_a_missing_or_broken_file_is_told_plainly(tmp_path: Path) -> None:
    with pytest.raises(ReadingError, match="cannot be read"):
        load_instruments(tmp_path / "none.toml")
    (tmp_path / "bad.toml").write_text("schema = ")
    with pytest.raises(ReadingError, match="is not TOML"):
        load_instruments(tmp_path / "bad.toml")
    row = '[[instrument]]\nname="a"\nresolution="0.01 mm"\nmpe="0.03 mm"\n'
    (tmp_path / "twice.toml").write_text(f"schema = 1\n{row}{row}")
    with pytest.raises(ReadingError, match="twice"):
        load_instruments(tmp_path / "twice.toml")
