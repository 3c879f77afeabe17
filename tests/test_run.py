"""The set-up script says in one line what is missing, and begins a broken set-up anew."""

import builtins
import ctypes
import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture
def run():
    spec = importlib.util.spec_from_file_location("run_script", ROOT / "run.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def said(capsys) -> str:
    lines = capsys.readouterr().err.strip().splitlines()
    assert len(lines) == 1
    return lines[0]


def test_an_old_python_is_named(run, monkeypatch, capsys):
    monkeypatch.setattr(sys, "version_info", (3, 10, 4, "final", 0))
    with pytest.raises(SystemExit, match="2"):
        run.check_machine()
    assert said(capsys).startswith("fitkit: Python 3.11 or newer is needed, this is 3.10.4")


def test_a_missing_venv_module_is_named(run, monkeypatch, capsys):
    real = builtins.__import__

    def no_venv(name, *rest):
        if name == "ensurepip":
            raise ImportError(name)
        return real(name, *rest)

    monkeypatch.setattr(builtins, "__import__", no_venv)
    with pytest.raises(SystemExit, match="2"):
        run.check_machine()
    assert "sudo apt install python3-venv" in said(capsys)


def test_missing_system_libraries_are_named_with_the_line_that_mends_it(run, monkeypatch, capsys):
    def none(name):
        raise OSError(name)

    monkeypatch.setattr(ctypes, "CDLL", none)
    monkeypatch.setattr(sys, "platform", "linux")
    with pytest.raises(SystemExit, match="2"):
        run.check_libraries()
    assert "'sudo apt install libgl1 libx11-6'" in said(capsys)


def test_too_little_disk_is_said_before_anything_is_fetched(run, monkeypatch, capsys):
    monkeypatch.setattr(run.shutil, "disk_usage", lambda path: type("D", (), {"free": 10**9}))
    with pytest.raises(SystemExit, match="2"):
        run.set_up()
    assert "less than 3 GB of disk" in said(capsys)


@pytest.mark.parametrize(
    ("pip_says", "told"),
    [
        ("OSError: [Errno 28] No space left on device", "the disk is full"),
        ("Failed to establish a new connection: NewConnectionError", "no network"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES FROM THE FILE", "differs from the lock"),
        ("ERROR: something else", "installing failed: ERROR: something else"),
    ],
)
def test_a_trouble_of_the_installer_becomes_one_line(
    run, monkeypatch, capsys, tmp_path, pip_says, told
):
    (tmp_path / ".venv").mkdir()
    monkeypatch.setattr(run, "ROOT", str(tmp_path))
    fake = tmp_path / "pip.py"
    fake.write_text(f"import sys\nprint({pip_says!r})\nsys.exit(1)\n")
    real = subprocess.Popen
    monkeypatch.setattr(
        run.subprocess, "Popen", lambda command, **how: real([sys.executable, str(fake)], **how)
    )
    with pytest.raises(SystemExit, match="2"):
        run.pip_install("x")
    assert told in said(capsys)


def test_a_set_up_without_its_stamp_or_of_another_lock_is_not_done(run, monkeypatch, tmp_path):
    lock, stamp, python = tmp_path / "lock", tmp_path / "stamp", tmp_path / "python"
    lock.write_text("a==1\n")
    python.touch()
    monkeypatch.setattr(run, "LOCK", str(lock))
    monkeypatch.setattr(run, "STAMP", str(stamp))
    monkeypatch.setattr(run, "PYTHON", str(python))
    assert not run.is_set_up()
    stamp.write_text(run.wanted_stamp())
    assert run.is_set_up()
    lock.write_text("a==2\n")
    assert not run.is_set_up()


def test_the_lock_has_hashes_and_no_address():
    text = (ROOT / "requirements.lock").read_text()
    entries = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
    assert len(entries) > 100
    assert all("==" in line and line.endswith("\\") for line in entries)
    assert "://" not in text


def test_the_script_uses_the_standard_library_alone():
    import ast

    tree = ast.parse((ROOT / "run.py").read_text())
    names = {
        alias.name.split(".")[0]
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    assert names <= sys.stdlib_module_names
    assert not any(isinstance(node, ast.ImportFrom) for node in ast.walk(tree))
