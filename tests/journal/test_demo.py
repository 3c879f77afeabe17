"""The demo journal that comes along loads whole and teaches."""

from pathlib import Path

from fitkit.journal import Journal, history, trials

DEMO = Path(__file__).parents[2] / "measurements" / "journal"


def demo(tmp_path):
    import shutil

    shutil.copytree(DEMO, tmp_path / "journal")
    return Journal(tmp_path / "journal")


def test_demo_loads_and_teaches(tmp_path):
    journal = demo(tmp_path)
    assert journal.damaged == ()
    assert {"print", "trial", "machine", "note"} <= {record.kind for record in journal.records()}
    versions = [v for v in history(journal, "sound board case") if v.verdict != "not tried"]
    assert "tight" in versions[0].verdict
    assert versions[1].verdict == "as wanted"
    assert "cannot be put down to one" in versions[1].lesson
    assert len(trials(journal)) >= 16
