"""The thread that loads the kernel ends with the program, whenever that is, and prints nothing."""

import os
import subprocess
import sys

import pytest

START = "import sys, time; from fitkit.solids import kernel_ready; kernel_ready(); "
# How a program may end while the kernel is being loaded, and with which status.
ENDS = {
    "at once": ("pass", 0),
    "by its status": ("sys.exit(3)", 3),
    "early": ("time.sleep(0.2)", 0),
    "in the midst": ("time.sleep(0.7)", 0),
    "late": ("time.sleep(1.5)", 0),
    "when it is there": ("kernel_ready(wait=True)", 0),
}


def run(*arguments, folder, env=None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *arguments],
        cwd=folder,
        env=os.environ | (env or {}),
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.mark.parametrize("end", ENDS)
def test_a_program_that_ends_while_the_kernel_loads_says_nothing(end, tmp_path):
    code, status = ENDS[end]
    ended = run("-c", START + code, folder=tmp_path)
    assert (ended.returncode, ended.stdout, ended.stderr) == (status, "", "")


# Modules that go on without what they cannot import; the first logs what it misses.
FORGIVING = ("hashlib", "uuid", "zipfile", "scipy", "ezdxf")


@pytest.mark.parametrize("midst_of", FORGIVING)
def test_it_says_nothing_in_the_midst_of_a_module_that_forgives_what_is_missing(midst_of, tmp_path):
    code = (
        "import sys, threading, types; from fitkit.solids import kernel_ready\n"
        f"assert {midst_of!r} not in sys.modules\n"
        "main = threading.main_thread()\n"
        "ended = types.SimpleNamespace(is_alive=lambda: False)\n"
        f"threading.main_thread = lambda: ended if {midst_of!r} in sys.modules else main\n"
        "kernel_ready(wait=True)\n"
        "print('build123d' in sys.modules)"
    )
    ended = run("-c", code, folder=tmp_path)
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "False\n", "")


def test_it_says_nothing_where_nothing_was_ever_loaded(tmp_path):
    """Without compiled files every module is slow to load, as on the first day."""
    ended = run(
        "-c",
        START + "time.sleep(1)",
        folder=tmp_path,
        env={"PYTHONPYCACHEPREFIX": str(tmp_path / "compiled"), "PYTHONDONTWRITEBYTECODE": "1"},
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "", "")


def test_a_kernel_that_cannot_be_loaded_is_told_by_who_needs_it(tmp_path):
    code = (
        "sys.modules['build123d'] = None; kernel_ready(wait=True)\n"
        "try:\n    import build123d\n"
        "except ImportError: print('told')"
    )
    ended = run(
        "-c", "import sys; from fitkit.solids import kernel_ready; " + code, folder=tmp_path
    )
    assert (ended.returncode, ended.stdout, ended.stderr) == (0, "told\n", "")


def test_the_search_for_modules_is_as_before_once_the_kernel_is_there(tmp_path):
    code = (
        "import sys; from fitkit.solids import kernel_ready; "
        "kernel_ready(wait=True); "
        "print([type(f).__module__ for f in sys.meta_path if type(f).__module__[:6] == 'fitkit'])"
    )
    assert run("-c", code, folder=tmp_path).stdout == "['fitkit.moved']\n"


def test_what_of_the_kernel_is_put_off_works_when_it_is_asked_for(tmp_path):
    code = (
        "import sys; from fitkit.solids import kernel_ready\n"
        "kernel_ready(wait=True); print('sklearn' in sys.modules)\n"
        "import build123d as b, build123d.brep_from_stl as module\n"
        "b.export_stl(b.Box(10, 20, 30), 'box.stl')\n"
        "faces, left, _ = b.detect_primitives(b.Mesher().read('box.stl')[0])\n"
        "print(sorted(round(face.area) for face in faces), len(left), module.MeshIndex.__name__)"
    )
    said = run("-c", code, folder=tmp_path).stdout
    assert said == "False\n[200, 200, 300, 300, 600, 600] 0 MeshIndex\n"


@pytest.mark.parametrize(
    ("values", "use", "said"),
    [
        ('height = "a lot"', "", "values.height"),
        ('height = "1000 mm"', "", "height"),
        ('height = "10 mm"', 'handling = "thrown"', "handling"),
    ],
    ids=["a parameter", "out of bounds", "a misspelt use"],
)
def test_a_refused_sheet_shows_its_one_message_and_loads_no_kernel(values, use, said, tmp_path):
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(
        'schema = 1\ntitle = "spacer"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
        f"[values]\n{values}\n[use]\n{use}\n",
        encoding="utf-8",
    )
    code = (
        "import sys; from fitkit.views.shell import main\n"
        "try:\n    main(['make', 'sheet.toml', '--quiet'])\n"
        "finally:\n    print('OCP' in sys.modules)"
    )
    ended = run("-c", code, folder=tmp_path)
    assert ended.returncode == 2
    assert ended.stderr.startswith("fitkit: ")
    assert ended.stderr.count("\n") == 1
    assert said in ended.stderr
    assert ended.stdout == "False\n"
