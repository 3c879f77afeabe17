"""Calipers checked on known lengths: what is taken off, how sure readings get, and the file."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from fitkit.core.errors import FaultList, ReadingError
from fitkit.readings import Instrument, ReadingTable, load_instruments
from fitkit.readings.checked import record_check
from fitkit.readings.checks import Check, check_of, limit_of
from fitkit.stats import estimates
from fitkit.views.shell import main

FILE = """# calipers of the bench
schema = 1

[[instrument]]
name = "bench calipers"
resolution = "0.01 mm"
mpe = "0.03 mm"   # from the leaflet
repeatability = "0.01 mm"
repeatability_df = 30

[[instrument]]
name = "drawer calipers"
resolution = "0.1 mm"
mpe = "0.1 mm"
"""
DAY = dt.date(2026, 3, 16)
CHECK = Check(
    length_mm=10.0, known_to_mm=0.001, shown_mm=10.03, zero_mm=0.01, readings=5, spread_mm=0.005,
    date=DAY,
)  # fmt: skip
BENCH = Instrument(
    name="c", resolution_mm=0.01, mpe_mm=0.03, zero_error_mm=0.0, zero_u_mm=0.001,
    repeatability_mm=0.01, repeatability_df=30,
)  # fmt: skip


def _length(one: Instrument, mode: str = "outside"):
    rows = [
        {"feature": "bar", "reading": text, "instrument": "c", "mode": mode}
        for text in ("40.01", "40.02", "40.03")
    ]
    return estimates(ReadingTable.of(rows, unit="mm"), instruments=[one])["bar"]


def test_the_error_of_a_check_is_without_the_zero_of_that_day() -> None:
    assert CHECK.error_mm == pytest.approx(0.02)


def test_one_check_moves_by_its_share_of_what_is_known() -> None:
    # By hand: common 1.5e-4 mm², place 1.5e-4, own 3.3e-7 + 5e-6 + 1.67e-5 = 2.2e-5.
    limit = limit_of(0.03, 0.5, [CHECK], step_mm=0.01)
    share = 1.5e-4 / (1.5e-4 + 1.5e-4 + 2.2e-5)
    assert limit.error_mm == pytest.approx(0.02 * share, rel=1e-3)
    assert limit.u_common_mm**2 == pytest.approx(1.5e-4 * (1 - share), rel=1e-2)
    assert limit.u_place_mm == pytest.approx(np.sqrt(1.5e-4), rel=1e-6)


def test_checks_that_agree_correct_readings_and_make_them_surer() -> None:
    plain = _length(BENCH)
    checks = tuple(replace(CHECK, length_mm=n, shown_mm=n + 0.03) for n in (5.0, 10.0, 25.0, 50.0))
    checked = _length(replace(BENCH, checks=checks))
    # The checks' error of 0.02 mm, less what the leaflet's law of mean zero takes away.
    assert plain.value_mm - checked.value_mm == pytest.approx(0.019, abs=0.002)
    assert checked.U95_mm < 0.75 * plain.U95_mm
    assert any("narrowed by 4 checks" in note for note in checked.notes)
    assert _length(replace(BENCH, checks=checks), "inside").value_mm == plain.value_mm


@pytest.mark.parametrize("kind", ["usual", "as the leaflet", "up to the bound"])
@pytest.mark.parametrize("count", [1, 2, 5])
def test_what_checks_leave_holds_for_calipers_that_were_never_checked_there(kind, count) -> None:
    """Simulated calipers, their errors drawn otherwise than the formula supposes."""
    rng = np.random.default_rng(18)
    number, noise, zero_u = 800, 0.006, 0.005
    held, widths = 0, []
    for _ in range(number):
        if kind == "usual":
            error = rng.normal(0, 0.008) + rng.normal(0, 0.004, count + 1)
        elif kind == "as the leaflet":
            error = rng.normal(0, 0.0122) + rng.normal(0, 0.0122, count + 1)
        else:
            error = rng.uniform(-0.021, 0.021) + rng.uniform(-0.021, 0.021, count + 1)
        error = np.clip(error, -0.03, 0.03)
        checks = [
            Check(
                length_mm=10.0 + n, known_to_mm=0.001, readings=5, spread_mm=0.01,
                shown_mm=10.0 + n + error[n] + rng.normal(0, noise),
            )
            for n in range(count)
        ]  # fmt: skip
        limit = limit_of(0.03, 0.5, checks, step_mm=0.01)
        u = float(np.hypot(np.hypot(limit.u_common_mm, limit.u_place_mm), zero_u))
        off = error[count] + rng.normal(0, zero_u) - limit.error_mm
        held += abs(off) <= 1.96 * u
        widths.append(u)
    # Of 800 draws at 95 %, fewer than 92.5 % come out once in a thousand times.
    assert held / number > 0.925
    alone = limit_of(0.03, 0.5, [], step_mm=0.01)
    unchecked = float(np.hypot(np.hypot(alone.u_common_mm, alone.u_place_mm), zero_u))
    if kind == "usual" and count == 5:
        assert np.median(widths) < 0.65 * unchecked


def test_a_check_is_written_with_its_day_and_the_file_keeps_all_else(tmp_path) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(FILE)
    one = record_check(path, "Bench  Calipers", CHECK, zeroed=True)
    assert one.checks == (CHECK,)
    assert (one.zero_error_mm, one.zero_checked) == (0.01, DAY)
    text = path.read_text()
    assert "# from the leaflet" in text
    assert text.startswith("# calipers of the bench")
    later = replace(CHECK, shown_mm=10.02, date=dt.date(2026, 4, 1))
    other = replace(CHECK, length_mm=25.0, shown_mm=25.02)
    record_check(path, "bench calipers", other)
    one = record_check(path, "bench calipers", later)
    assert one.checks == (other, later)  # the newer one of a length counts
    assert load_instruments(path)["drawer calipers"].checks == ()


def test_a_check_of_calipers_that_the_file_does_not_describe_is_refused(tmp_path) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(FILE)
    with pytest.raises(ReadingError, match="There are: bench calipers, drawer calipers"):
        record_check(path, "ruler", CHECK)
    assert path.read_text() == FILE


def test_a_wrong_check_in_the_file_is_told_with_its_key(tmp_path) -> None:
    path = tmp_path / "instruments.toml"
    path.write_text(FILE + '[[instrument.check]]\nlength = "10"\nshown = "10 mm"\n')
    with pytest.raises(FaultList, match="length"):
        load_instruments(path)


def test_readings_of_another_length_are_no_check() -> None:
    with pytest.raises(ReadingError, match="Give the readings of that length"):
        check_of("10 mm", ["0.394"], known_to="0.001 mm")


def _run(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main(list(words))
    return int(ended.value.code or 0)


def test_the_command_checks_and_readings_says_so(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    (tmp_path / "workshop.toml").write_text("schema = 1\n")
    (tmp_path / "instruments.toml").write_text(FILE)
    (tmp_path / "r.csv").write_text(
        "feature,reading,instrument\nbar,40.01 mm,bench calipers\nbar,40.02 mm,bench calipers\n"
    )
    assert _run("readings", "r.csv") == 0
    assert "limit of error ± 0.03 mm, a bound" in capsys.readouterr().out
    before = dt.date.today()
    words = ["check-calipers", "bench calipers", "10 mm", "10.03", "10.03", "10.02"]
    assert _run(*words, "--zero", "0.01") == 0
    said = capsys.readouterr().out
    assert "reads +0.017 mm at 10 mm" in said
    assert "beyond its limit" not in said
    one = load_instruments(tmp_path / "instruments.toml")["bench calipers"]
    assert one.zero_checked is not None
    assert before <= one.zero_checked <= dt.date.today()
    assert one.checks[0].date == one.zero_checked
    assert _run("readings", "r.csv") == 0
    assert "narrowed by 1 check on known lengths" in capsys.readouterr().out
    assert _run("check-calipers", "bench calipers", "25 mm", "25.09") == 0
    assert "beyond its limit of error" in capsys.readouterr().out
    assert _run("check-calipers", "ruler", "25 mm", "25.01") == 2
