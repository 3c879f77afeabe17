"""Build sdist and wheel, install the wheel in a bare environment, and use it far from the checkout.

    .venv/bin/python .ci/bare_wheel.py                  with this Python
    .venv/bin/python .ci/bare_wheel.py python3.13 ...   with others

The wheel is built from the sdist, so that what the sdist lacks is seen. The environment gets what
requirements.lock names, each held to its hash, and the wheel; it knows nothing of the checkout.
Then a newcomer's way is gone in an empty folder: the demo with its lessons, a part of one's own, a
lesson run. It takes some minutes, 1.3 GB of disk for each Python, and a network or a filled cache.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tarfile
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
READINGS = """feature,mode,reading 1,reading 2,reading 3,unit,round
shaft,outside,5.98,5.97,5.98,mm,yes
flat to round,outside,4.49,4.50,4.50,mm,
shaft length,depth,12.02,12.05,12.03,mm,
"""


def run(*words: str | Path, folder: Path) -> str:
    """Run a program that knows nothing of this environment; its end other than 0 ends us."""
    kept = {"HOME", "PATH", "LANG", "TMPDIR", "PIP_INDEX_URL", "PIP_CONFIG_FILE", "PIP_CACHE_DIR"}
    environment = {name: value for name, value in os.environ.items() if name in kept}
    environment |= {"PYTHONUTF8": "1", "XDG_STATE_HOME": str(folder / "state")}
    done = subprocess.run(
        [str(word) for word in words], cwd=folder, env=environment, capture_output=True, text=True
    )
    if done.returncode:
        sys.exit(f"{' '.join(map(str, words))}\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return done.stdout


def built(folder: Path) -> Path:
    """Build the sdist, and the wheel from what the sdist holds."""
    run(sys.executable, "-m", "hatchling", "build", "-t", "sdist", "-d", folder, folder=ROOT)
    (archive,) = folder.glob("*.tar.gz")
    with tarfile.open(archive) as content:
        content.extractall(folder / "unpacked", filter="data")
    (source,) = (folder / "unpacked").iterdir()
    run(sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder, folder=source)
    (wheel,) = folder.glob("*.whl")
    print(f"{archive.name} {archive.stat().st_size / 1e6:.1f} MB")
    print(f"{wheel.name} {wheel.stat().st_size / 1e6:.1f} MB")
    return wheel


def installed(python: str, wheel: Path, folder: Path) -> Path:
    """Make an environment of the wheel and what the lock names; give its folder of programs."""
    run(python, "-m", "venv", folder / "env", folder=folder)
    programs = folder / "env" / ("Scripts" if os.name == "nt" else "bin")
    pip = (programs / "python", "-m", "pip", "install", "--quiet", "--disable-pip-version-check")
    lock = ROOT / "requirements.lock"
    run(*pip, "--no-deps", "--require-hashes", "-r", lock, folder=folder)
    run(*pip, "--no-deps", "--no-index", wheel, folder=folder)
    run(programs / "python", "-m", "pip", "check", folder=folder)
    return programs


def used(programs: Path, folder: Path) -> None:
    """Go a newcomer's way."""
    fitkit = programs / "fitkit"
    here = run(programs / "python", "-c", "import fitkit; print(fitkit.__file__)", folder=folder)
    if Path(here.strip()).is_relative_to(ROOT):
        sys.exit(f"fitkit came from the checkout: {here}")
    print(run(fitkit, "--version", folder=folder).strip())
    run(fitkit, "self-check", folder=folder)
    run(fitkit, "demo", "bench", folder=folder)
    lessons = sorted((folder / "bench" / "lessons").glob("*.ipynb"))
    if len(lessons) < 9:
        sys.exit(f"the demo brought {len(lessons)} lessons")
    run(fitkit, "new", "cap", "--template", "knob", "--folder", "parts", folder=folder)
    (folder / "parts" / "readings" / "cap.csv").write_text(READINGS, encoding="utf-8")
    run(fitkit, "make", "parts/cap.toml", folder=folder)
    if not list((folder / "parts" / "made").rglob("*.3mf")):
        sys.exit("no 3MF was made")
    lesson = next(path for path in lessons if path.stem.startswith("01"))
    run(programs / "jupyter", "execute", lesson.name, folder=lesson.parent)


def main(pythons: list[str]) -> int:
    """Try the wheel with each Python."""
    with tempfile.TemporaryDirectory(prefix="fitkit-wheel-") as place:
        wheel = built(Path(place))
        for number, python in enumerate(pythons or [sys.executable]):
            began = time.monotonic()
            folder = Path(place) / str(number)
            folder.mkdir()
            print(run(python, "--version", folder=folder).strip(), flush=True)
            used(installed(python, wheel, folder), folder)
            print(f"the wheel does all of it, in {time.monotonic() - began:.0f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
