"""A verdict is added in one file; every room that uses verdicts then knows it.

The file of the verdicts is changed while it is imported, in a process of its own: records, tables,
model, figures, shell and page are those of the package as it stands.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
HOME = ROOT / "fitkit" / "fits" / "trial.py"
CHANGED = """
import importlib.abc
import importlib.util
import sys

class Changed(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    def find_spec(self, name, path, target=None):
        if name == "fitkit.fits.trial":
            return importlib.util.spec_from_file_location(name, HOME, loader=self)
    def exec_module(self, module):
        text = open(HOME, encoding="utf-8").read()
        for old, new in [
            ('Verdict = Literal["will not go", "tight",',
             'Verdict = Literal["will not go", "drags", "tight",'),
            ('    VerdictKind(word="tight",',
             '    VerdictKind(word="drags", sign="▼", look=("#CC79A7", "-.", "D")),\\n'
             '    VerdictKind(word="tight",'),
        ]:
            assert text.count(old) == 1, old
            text = text.replace(old, new)
        exec(compile(text, HOME, "exec"), module.__dict__)

sys.meta_path.insert(0, Changed())
"""
USED = """
import tempfile
from pathlib import Path
from click.testing import CliRunner
from fitkit.fits import VERDICTS, Trial, choose_gap, learn
from fitkit.journal import Journal
from fitkit.journal.spreadsheet import bring_in
from fitkit.views.shell_journal import log
from fitkit.widgets import protocol

assert VERDICTS[:3] == ("will not go", "drags", "tight")

# The model has one more threshold, and a trial with the word teaches it: the gap gets wider.
pair = ("peg and hole", "slides")
said = tuple(
    Trial(pair=pair[0], behaviour=pair[1], size_mm=8.0, gap_mm=0.3, verdict=word)
    for word in ("drags", "tight")
)
model = learn(*pair, size_mm=8.0, trials=said)
assert model.thresholds_mm.shape[1] == len(VERDICTS) - 1 == 5
assert model.p_verdict([0.3]).shape == (1, 6)
gaps = [choose_gap(*pair, size_mm=8.0, trials=said[:n]).gap_mm for n in (0, 1)]
assert gaps[1] > gaps[0], gaps

# A table of trials comes in with it, the journal keeps it, and the shell lists it and finds it.
with tempfile.TemporaryDirectory() as folder:
    journal, table = Journal(Path(folder) / "journal"), Path(folder) / "trials.csv"
    table.write_text(
        "date,pair,behaviour,size_mm,gap_mm,verdict\\n2026-05-01,peg and hole,slides,8,0.3,Drags\\n"
    )
    assert bring_in(journal, table).added == 1
    (trial,) = journal.records("trial")
    assert [entry.verdict for entry in trial.fits] == ["drags"]
    options = ["--all", "--verdict", "drags", "--journal", str(journal.folder)]
    listed = CliRunner().invoke(log, options)
    assert listed.exit_code == 0, listed.output
    assert trial.code in listed.output

# The page takes its sign from the same place.
assert protocol.constants()["SIGNS"]["drags"] == "▼"
"""


def test_a_verdict_that_one_file_adds_is_known_to_model_journal_shell_and_page():
    environ = os.environ | {"PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"}
    code = f"HOME = {str(HOME)!r}\n{CHANGED}\n{USED}"
    done = subprocess.run(
        [sys.executable, "-c", code], env=environ, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode == 0, done.stderr
