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
        (
            "ERROR: Could not find a version that satisfies the requirement click==8.1 "
            "(from versions: none)\nERROR: No matching distribution found for click==8.1",
            "nothing is to be had of click==8.1: no network, or an index that does not have it",
        ),
        (
            "ERROR: No matching distribution found for click==8.1",
            "click==8.1 has no build for this machine and this Python, or the index that has it",
        ),
    ],
)
def test_a_trouble_of_the_installer_becomes_one_line(
    run, monkeypatch, capsys, tmp_path, pip_says, told
):
    monkeypatch.setattr(run, "ROOT", str(tmp_path))
    monkeypatch.setattr(run, "LOG", str(tmp_path / ".venv.log"))
    fake = tmp_path / "pip.py"
    fake.write_text(f"import sys\nprint({pip_says!r})\nsys.exit(1)\n")
    real = subprocess.Popen
    monkeypatch.setattr(
        run.subprocess, "Popen", lambda command, **how: real([sys.executable, str(fake)], **how)
    )
    with pytest.raises(SystemExit, match="2"):
        run.pip_install(None, "x")
    assert told in said(capsys)


def test_the_installer_does_not_see_what_a_persons_pythonpath_holds(run, monkeypatch, tmp_path):
    """It would take that for installed, and leave out of the environment what the lock names."""
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "theirs"))
    asked = []
    real = subprocess.Popen

    def instead(command, **how):
        asked.append(command)
        code = "import sys; sys.exit(any('theirs' in path for path in sys.path))"
        return real([sys.executable, *command[1:-2][:1], "-c", code], **how)

    monkeypatch.setattr(run, "LOG", str(tmp_path / "log"))
    monkeypatch.setattr(run, "ROOT", str(tmp_path))
    monkeypatch.setattr(run.subprocess, "Popen", instead)
    run.pip_install(None, "x", venv=str(tmp_path))  # stops with status 2 if the path was seen
    run.pip(str(tmp_path), "uninstall", "setuptools")
    assert [command[1:4] for command in asked] == [["-I", "-m", "pip"]] * 2


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
    for name, path in {
        "ROOT": tmp_path,
        "VENV": venv,
        "PYTHON": venv / run.SCRIPTS / run.EXECUTABLE,
        "LOG": tmp_path / ".venv.log",
        "LOCK": tmp_path / "requirements.lock",
        "DEV_LOCK": tmp_path / "requirements-dev.lock",
        "STAMP": venv / "user.txt",
        "DEV_STAMP": venv / "dev.txt",
    }.items():
        monkeypatch.setattr(run, name, str(path))
    (tmp_path / "requirements.lock").write_text("a==1\n")
    (tmp_path / "requirements-dev.lock").write_text("a==1\nb==1\n")

    def installed(lock, *words, venv=None):
        done.append(Path(lock).name if lock else "the project")

    def instead(command, **how):
        if command[1:3] == ["-m", "venv"]:
            scripts = Path(command[3]) / run.SCRIPTS
            scripts.mkdir(parents=True)
            (scripts / run.EXECUTABLE).touch()
            (scripts / "tool").write_text(f"#!{command[3]}/python\n")
        if "uninstall" in command:
            assert command[-1] == "setuptools"
        old = Path(command[0]).parent.parent / "works"
        return subprocess.CompletedProcess(command, int("-c" in command and not old.exists()))

    monkeypatch.setattr(run, "pip_install", installed)
    monkeypatch.setattr(run.subprocess, "run", instead)
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

    def interrupted(lock, *words, **how):
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
        once.setattr(run, "pip_install", lambda *words, **how: run.stop("no network"))
        with pytest.raises(SystemExit):
            run.main(["test"])
    run.main(["test", "-x"])
    assert watched == [*USER, "requirements-dev.lock"]


def unreachable(lock, *words, venv=None):
    print("fitkit: no network", file=sys.stderr)
    sys.exit(2)


def works(folder: Path) -> Path:
    """Mark an environment as one that runs fitkit, and put something into it."""
    (folder / "works").write_text("it does", encoding="utf-8")
    return folder


def test_without_a_network_a_changed_lock_goes_on_with_the_old_environment(
    run, watched, monkeypatch, capsys, tmp_path
):
    run.main(["--version"])
    venv = works(tmp_path / ".venv")
    (tmp_path / "requirements.lock").write_text("a==2\n")
    monkeypatch.setattr(run, "pip_install", unreachable)
    assert run.main(["log"]) == 0
    assert "going on with the environment of an earlier set-up" in capsys.readouterr().err
    assert (venv / "works").exists()
    assert sorted(p.name for p in tmp_path.glob(".venv*")) == [".venv", ".venv.lock"]
    assert {"PYTHONPATH": str(tmp_path)} == run.EXTRA


def test_an_interrupted_renewal_leaves_the_old_environment(run, watched, monkeypatch, tmp_path):
    run.main(["--version"])
    venv = works(tmp_path / ".venv")
    (tmp_path / "requirements.lock").write_text("a==2\n")

    def interrupted(lock, *words, venv=None):
        raise KeyboardInterrupt

    monkeypatch.setattr(run, "pip_install", interrupted)
    with pytest.raises(SystemExit):
        run.main(["log"])
    assert (venv / "works").exists()
    assert not (tmp_path / ".venv.new").exists()


def test_a_renewed_environment_takes_the_place_and_its_commands_know_it(run, watched, tmp_path):
    run.main(["--version"])
    venv = works(tmp_path / ".venv")
    (tmp_path / "requirements.lock").write_text("a==2\n")
    run.main(["--version"])
    assert not (venv / "works").exists()
    assert (venv / run.SCRIPTS / "tool").read_text() == f"#!{venv}/python\n"
    assert sorted(p.name for p in tmp_path.glob(".venv*")) == [".venv", ".venv.lock"]


def test_a_set_up_killed_between_its_renamings_is_mended(run, watched, monkeypatch, tmp_path):
    run.main(["--version"])
    works(tmp_path / ".venv").rename(tmp_path / ".venv.old")
    (tmp_path / "requirements.lock").write_text("a==2\n")
    monkeypatch.setattr(run, "pip_install", unreachable)
    assert run.main(["log"]) == 0
    assert (tmp_path / ".venv" / "works").exists()


def test_an_environment_of_ones_own_is_never_deleted(run, watched, capsys, tmp_path):
    (tmp_path / ".venv").mkdir()
    (tmp_path / ".venv" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(SystemExit, match="2"):
        run.main(["log"])
    assert "was not made by run.py" in said(capsys)
    assert (tmp_path / ".venv" / "mine.txt").exists()
    assert watched == []


@pytest.mark.skipif(sys.platform == "win32", reason="links need rights on Windows")
def test_an_environment_behind_a_link_stays_on_its_disk(run, watched, tmp_path):
    (tmp_path / "disk").mkdir()
    (tmp_path / ".venv").symlink_to(tmp_path / "disk" / "venv")
    run.main(["--version"])
    (tmp_path / "requirements.lock").write_text("a==2\n")
    run.main(["--version"])
    assert (tmp_path / ".venv").is_symlink()
    assert [p.name for p in (tmp_path / "disk").iterdir()] == ["venv"]
    assert watched == [*USER, *USER]


def test_a_link_to_a_disk_that_is_not_there_is_told(run, watched, capsys, tmp_path):
    (tmp_path / ".venv").symlink_to(tmp_path / "gone" / "venv")
    with pytest.raises(SystemExit, match="2"):
        run.main(["log"])
    assert "whose folder is not there" in said(capsys)


def test_of_two_at_once_one_waits_and_finds_it_done(tmp_path):
    code = f"""
import importlib.util, sys, time
spec = importlib.util.spec_from_file_location("run_script", {str(ROOT / "run.py")!r})
run = importlib.util.module_from_spec(spec)
spec.loader.exec_module(run)
run.ROOT = {str(tmp_path)!r}
with run.alone():
    with open({str(tmp_path / "steps")!r}, "a") as stream:
        for step in ("in", "out"):
            stream.write(step + " ")
            stream.flush()
            time.sleep(0.5)
"""
    both = [
        subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
        for _ in range(2)
    ]
    told = [one.communicate(timeout=60)[0] for one in both]
    assert [one.returncode for one in both] == [0, 0]
    assert (tmp_path / "steps").read_text() == "in out in out "
    assert sorted(told) == ["", "fitkit: another run is setting up; waiting for it\n"]


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
