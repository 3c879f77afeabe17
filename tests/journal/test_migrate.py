"""Records of old schemas read as new ones; their files stay as they are."""

import json
import shutil
from pathlib import Path

import pytest

from fitkit.core.errors import JournalError
from fitkit.journal import Journal, PrintRecord, TrialRecord, trials
from fitkit.journal.migrate import read_record
from fitkit.journal.records import SCHEMA

OLD = Path(__file__).parents[1] / "data" / "journal"


@pytest.fixture
def old(tmp_path):
    shutil.copytree(OLD, tmp_path / "journal")
    return Journal(tmp_path / "journal")


def test_samples_cover_every_schema():
    versions = {json.loads(path.read_text())["schema"] for path in OLD.glob("*.json")}
    assert versions == set(range(1, SCHEMA + 1))


def test_schema_1_reads_with_all_its_content(old):
    before = {path.name: path.read_bytes() for path in old.files()}
    record, trial = old.records("print")[0], old.records("trial")[0]
    assert isinstance(record, PrintRecord)
    assert record.made_at.isoformat() == "2026-01-14T12:00:00+00:00"
    assert record.notes == ("lid a little stiff",)
    assert [(f.name, f.sha256) for f in record.files] == [("terminal-tray.3mf", "22" * 32)]
    assert [f.name for f in record.readings] == ["tray.csv"]
    assert isinstance(trial, TrialRecord)
    assert trial.of == record.code
    assert trial.notes == ()
    assert old.damaged == ()
    assert {path.name: path.read_bytes() for path in old.files()} == before


def test_old_verdicts_still_teach(old):
    (trial,) = trials(old)
    assert (trial.pair, trial.verdict, trial.gap_mm) == ("lid and rim", "tight", pytest.approx(0.3))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "empty"),
        (b'{"schema": 2', "not whole JSON"),
        (b"[" * 100_000, "not whole JSON"),
        (b"17", "not a record"),
        (b"{}", "names no schema version"),
        (b'{"schema": true}', "key"),
        (b'{"schema": 4}', "newer release of fitkit wrote it"),
        (b'{"schema": 2, "kind": "poem"}', "key"),
    ],
)
def test_what_is_no_record_is_refused_in_plain_words(content, message):
    with pytest.raises(JournalError, match=message):
        read_record(content)
