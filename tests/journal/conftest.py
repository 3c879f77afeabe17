"""A journal, and prints to put into it."""

from datetime import UTC, datetime, timedelta

import pytest

from fitkit.journal import FitEntry, Journal, PrintRecord

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


def fit(name="lid", **changed):
    content = {
        "name": name,
        "pair": "lid and rim",
        "wanted": "slides",
        "kind": "outside",
        "sense": -1,
        "nominal_mm": 60.3,
        "gap_mm": 0.3,
        "target_mm": 60.0,
        "u_target_mm": 0.01,
        "drawn_mm": 60.1,
        "expected_mm": 60.02,
        "u_print_mm": 0.04,
        "U95_mm": 0.1,
        "basis": "profile bench-petg, 2 prints",
    }
    return FitEntry(**(content | changed))


def made(title="sound board case", *, day=0, fits=None, **rest):
    content = {
        "template": "board case",
        "values": {"wall": "2.4 mm", "board_length": "68.5 mm"},
        "printer": "bench",
        "material": "PETG",
        "made_at": START + timedelta(days=day),
        "versions": {"fitkit": "0.1.0"},
    } | rest
    return PrintRecord.new(title=title, fits=[fit()] if fits is None else fits, **content)


@pytest.fixture
def journal(tmp_path):
    return Journal(tmp_path / "journal")


@pytest.fixture(name="made")
def _made():
    return made


@pytest.fixture(name="fit")
def _fit():
    return fit
