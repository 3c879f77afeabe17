"""Instruments files."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from fitkit.core.errors import FaultList, ReadingError
from fitkit.readings import load_instruments
from fitkit.readings.instruments import Instruments, name_for_readings, usual_calipers

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
    assert "key instrument 1.resolution" in text
    assert "has no unit" in text
    assert "key instrument 1.x" in text


def test_a_missing_or_broken_file_is_told_plainly(tmp_path: Path) -> None:
    with pytest.raises(ReadingError) as caught:
        load_instruments(tmp_path / "none.toml")
    assert caught.value.code == "file.absent"
    (tmp_path / "bad.toml").write_text("schema = ")
    with pytest.raises(ReadingError) as caught:
        load_instruments(tmp_path / "bad.toml")
    assert caught.value.code == "file.not-toml"
    row = '[[instrument]]\nname="a"\nresolution="0.01 mm"\nmpe="0.03 mm"\n'
    for other in (row, row.replace('"a"', '" A"')):  # capitals and blanks make no other name
        (tmp_path / "twice.toml").write_text(f"schema = 1\n{row}{other}")
        with pytest.raises(ReadingError, match="twice"):
            load_instruments(tmp_path / "twice.toml")


def test_an_instrument_is_found_without_regard_to_case_and_blanks() -> None:
    bench = Instruments(load_instruments(BENCH))
    for typed in ("Bench calipers", " bench  CALIPERS ", "benchcalipers"):
        assert bench.find(typed).zero_error_mm == -0.02
        assert not bench.doubt(typed)


def test_one_that_nobody_described_is_usual_and_a_near_name_is_suggested() -> None:
    """0.01 mm, ± 0.03 mm, 0.02 mm with 5 degrees of freedom: common practice, no source."""
    bench = Instruments(load_instruments(BENCH))
    one = bench.find("bench calliper")
    assert one.assumed
    assert (one.resolution_mm, one.mpe_mm, one.zero_error_mm) == (0.01, 0.03, 0.0)
    assert (one.repeatability_mm, one.repeatability_df) == (0.02, 5.0)
    assert bench.doubt("bench calliper").endswith("did you mean 'bench calipers'?")
    assert "did you mean" not in bench.doubt("micrometer")
    assert "no instrument is named" in Instruments(None).doubt("")


def test_an_instrument_says_what_it_corrects_for_and_where_that_stands() -> None:
    bench = load_instruments(BENCH)
    assert str(bench["bench calipers"]) == (
        "bench calipers (bench.toml): zero error of 2026-03-02 -0.020 mm, jaw faces 0.5 mm"
    )
    assert "no zero error, no jaw faces" in str(usual_calipers("loft"))


def test_new_readings_name_the_first_instrument_of_a_file(tmp_path: Path) -> None:
    assert name_for_readings(BENCH) == "bench calipers"
    assert name_for_readings(tmp_path / "none.toml") == "my calipers"
    assert name_for_readings(None) == "my calipers"
