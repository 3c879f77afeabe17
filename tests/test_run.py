"""The set-up script says in one line what is missing, and begins a broken set-up again."""

import builtins
import ctypes
import importlib.util
import re
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
        run.pip_install(None, "x")
    assert told in said(capsys)


def test_a_set_up_without_its_stamp_or_of_another_lock_is_not_done(run, monkeypatch, tmp_path):
    lock, stamp, python = tmp_path / "lock", tmp_path / "stamp", tmp_path / "python"
    lock.write_text("a==1\n")
    python.touch()
    monkeypatch.setattr(run, "PYTHON", str(python))
    assert not run.is_set_up(lock, stamp)
    run.write_stamp(str(lock), str(stamp))
    assert run.is_set_up(lock, stamp)
    lock.write_text("a==2\n")
    assert not run.is_set_up(lock, stamp)


@pytest.fixture
def watched(run, monkeypatch, tmp_path):
    """The script in a folder of its own, with what it would install or run written down."""
    done: list[str] = []
    venv = tmp_path / ".venv"
    venv.mkdir()
    for name, path in {
        "ROOT": tmp_path,
        "VENV": venv,
        "PYTHON": venv / "python",
        "LOCK": tmp_path / "requirements.lock",
        "DEV_LOCK": tmp_path / "requirements-dev.lock",
        "STAMP": venv / "user.txt",
        "DEV_STAMP": venv / "dev.txt",
    }.items():
        monkeypatch.setattr(run, name, str(path))
    (tmp_path / "requirements.lock").write_text("a==1\n")
    (tmp_path / "requirements-dev.lock").write_text("a==1\nb==1\n")

    def installed(lock, *words):
        (venv / "python").touch()
        done.append(Path(lock).name if lock else "the project")

    def no_venv(command, **how):
        venv.mkdir()
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(run, "pip_install", installed)
    monkeypatch.setattr(run.subprocess, "run", no_venv)
    monkeypatch.setattr(run, "run", lambda *words, **how: 0)
    monkeypatch.setattr(run, "check_libraries", lambda: None)
    return done


USER = ["requirements.lock", "the project"]


def test_a_user_gets_what_a_user_needs_and_a_developer_the_rest_once(run, watched):
    run.main(["--version"])
    assert watched == USER
    run.main(["lab"])
    assert watched == USER
    run.main(["test", "-x"])
    run.main(["bench", "fits"])
    assert watched == [*USER, "requirements-dev.lock"]


def test_adding_for_developers_is_begun_again_where_it_was_interrupted_and_only_there(
    run, watched, monkeypatch
):
    run.main(["--version"])

    def interrupted(lock, *words):
        raise KeyboardInterrupt

    with monkeypatch.context() as once:
        once.setattr(run, "pip_install", interrupted)
        with pytest.raises(SystemExit):
            run.main(["test"])
    run.main(["--version"])  # users' part is as it was
    assert watched == USER
    run.main(["test", "-x"])
    assert watched == [*USER, *USER, "requirements-dev.lock"]


def test_a_network_that_failed_while_adding_leaves_the_set_up_as_it_was(run, watched, monkeypatch):
    run.main(["--version"])
    with monkeypatch.context() as once:
        once.setattr(run, "pip_install", lambda *words: run.stop("no network"))
        with pytest.raises(SystemExit):
            run.main(["test"])
    run.main(["test", "-x"])
    assert watched == [*USER, "requirements-dev.lock"]


def entries(name: str) -> set[str]:
    text = (ROOT / name).read_text()
    found = [line for line in text.splitlines() if line and not line.startswith((" ", "#"))]
    assert all("==" in line and line.endswith("\\") for line in found)
    assert "://" not in text
    return set(found)


def test_the_locks_have_hashes_and_no_address():
    assert len(entries("requirements.lock")) > 100
    assert len(entries("requirements-dev.lock")) > 150


def test_a_developer_has_all_that_a_user_has_in_the_same_versions():
    pin = re.compile(r"[^ ;]+==[^ ;]+")
    user, developer = (
        {pin.match(line)[0] for line in entries(name)}
        for name in ("requirements.lock", "requirements-dev.lock")
    )
    assert user <= developer


def test_a_user_installs_nothing_that_only_tests_need():
    names = {line.split("==")[0] for line in entries("requirements.lock")}
    assert "jupyterlab" in names
    assert not names & {"statsmodels", "pytest", "hypothesis", "mypy", "dask", "pandera"}


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
