"""The check of licences finds what would bind fitkit, and what states nothing."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def script():
    spec = importlib.util.spec_from_file_location("licences", ROOT / ".ci" / "licences.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize(
    ("licence", "told", "said"),
    [
        ("MIT", "", None),
        ("GPL-3.0-only", "`it`", "would bind fitkit"),
        ("GNU Affero General Public License v3", "`it`", "would bind fitkit"),
        ("LGPL-3.0-only", "", "name it in DEVELOPERS.md"),
        ("LGPL-3.0-only", "`it` is named", None),
        ("", "", "states no licence"),
        ("", "`it` was looked at", None),
    ],
)
def test_a_licence_that_binds_and_a_missing_one_are_told(script, licence, told, said):
    faults = script.faults_of({"it": licence}, told)
    assert len(faults) == (said is not None)
    assert all(said in fault for fault in faults)


def test_all_that_a_user_installs_fits(script, capsys):
    assert script.main() == 0, capsys.readouterr().out
    assert script.licence_of("no such package") is None
