#!/usr/bin/env python3
"""Set fitkit up on this machine and run it; needs Python 3.11 or newer and nothing else.

    python3 run.py            make the demo's case in a copy of the demo, folder demo
    python3 run.py test       run the tests
    python3 run.py lab        open JupyterLab at notebooks/
    python3 run.py check-more run what takes long: slow tests, the wheel, other Pythons, mutants
    python3 run.py docs       build the documentation and open it
    python3 run.py bench      print the speed table
    python3 run.py WORDS...   any fitkit command, such as: new "relay box" --folder my_parts

The first run makes the environment .venv beside this file from requirements.lock; later runs
use it as it is until the lock changes. It is replaced only by a finished one: where a new one
cannot be fetched, the old one goes on. 'test', 'docs' and 'bench' add what developers need,
from requirements-dev.lock. An interrupted set-up is begun again by the next run; of two runs at
once, one waits.
"""

import contextlib
import ctypes
import hashlib
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import time
import webbrowser

ROOT = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(ROOT, ".venv")
LOCK = os.path.join(ROOT, "requirements.lock")
STAMP = os.path.join(VENV, "fitkit-set-up.txt")
# All of LOCK in the same versions, and what tests and benches need beside it.
DEV_LOCK = os.path.join(ROOT, "requirements-dev.lock")
DEV_STAMP = os.path.join(VENV, "fitkit-set-up-dev.txt")
SCRIPTS, EXECUTABLE = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
PYTHON = os.path.join(VENV, SCRIPTS, EXECUTABLE)
# What is said and done while setting up, beside the environment: a failed one is deleted.
LOG = os.path.join(ROOT, ".venv.log")
NEEDS_BYTES = 3 * 10**9
# What pip says -> what a person should do. Looked for in this order.
PIP_TROUBLES = (
    ("No space left on device", "the disk is full: free about 3 GB and run this again"),
    (
        "THESE PACKAGES DO NOT MATCH THE HASHES",
        "a package differs from the lock: do not use it; "
        "check the network you are on, then run this again",
    ),
    (
        r"NewConnectionError|name resolution|getaddrinfo|ConnectTimeout|ConnectionError|ProxyError"
        r"|Network is unreachable|Max retries exceeded",
        "no network: the packages cannot be fetched; connect and run this again",
    ),
    (
        # pip that does not try again says no more than this without a network either.
        r"satisfies the requirement (\S+) \(from versions: none\)",
        r"nothing is to be had of \1: no network, or an index that does not have it "
        "(see .venv.log)",
    ),
    (
        r"No matching distribution found for (\S+)",
        r"\1 has no build for this machine and this Python, or the index that has it "
        "cannot be reached (see .venv.log)",
    ),
)


# Set where an environment that is of another place goes on.
EXTRA = {}


def stop(message):
    """End with one plain line and status 2."""
    print(f"fitkit: {message}", file=sys.stderr)
    sys.exit(2)


def check_machine():
    """Say in one line what this machine lacks."""
    if sys.version_info < (3, 11):  # noqa: UP036 (older Pythons run this line too)
        have = ".".join(map(str, sys.version_info[:3]))
        stop(f"Python 3.11 or newer is needed, this is {have}: install one and run it on run.py")
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        stop(
            "Python's venv module is missing: on Debian or Ubuntu, 'sudo apt install python3-venv'"
        )
    if not os.path.isfile(LOCK):
        stop("requirements.lock is missing beside run.py: get a complete copy of the project")


def check_libraries():
    """The CAD kernel is linked against two system libraries that a bare Linux server lacks."""
    if not sys.platform.startswith("linux"):
        return
    missing = []
    for library, package in (("libGL.so.1", "libgl1"), ("libX11.so.6", "libx11-6")):
        try:
            ctypes.CDLL(library)
        except OSError:
            missing.append(package)
    if missing:
        stop(
            "the CAD kernel needs system libraries that are missing: on Debian or Ubuntu, "
            f"'sudo apt install {' '.join(missing)}'"
        )


def wanted_stamp(lock):
    """What the environment must have been made from: this lock, this Python, this place."""
    with open(lock, "rb") as stream:
        digest = hashlib.sha256(stream.read().replace(b"\r\n", b"\n")).hexdigest()
    return f"{digest} python {sysconfig.get_python_version()} at {ROOT}\n"


def is_set_up(lock, stamp):
    """Whether a finished environment of just this lock is there."""
    try:
        with open(stamp, encoding="utf-8") as stream:
            return stream.read() == wanted_stamp(lock) and os.path.exists(PYTHON)
    except OSError:
        return False


def write_stamp(lock, stamp):
    """Say that all of a lock is installed; whole or not at all."""
    with open(stamp + ".new", "w", encoding="utf-8") as stream:
        stream.write(wanted_stamp(lock))
    os.replace(stamp + ".new", stamp)


def real_place():
    """Where the environment lies: .venv may be a link, such as to a larger disk."""
    place = os.path.realpath(VENV)
    if not os.path.isdir(os.path.dirname(place)):
        stop(f".venv is a link to {place}, whose folder is not there: mend or delete the link")
    return place


def refuse_what_is_not_ours(place):
    """Delete no environment that somebody else has made."""
    ours = (os.path.basename(STAMP), os.path.basename(DEV_STAMP), "set-up.log")
    if not os.path.lexists(place) or (os.path.isdir(place) and not os.listdir(place)):
        return
    if not any(os.path.exists(os.path.join(place, name)) for name in ours):
        stop(f"{place} was not made by run.py, which needs its place: rename it, then run this")


def set_up():
    """Make the environment beside the one that is there, and put it in its place when finished."""
    place = real_place()
    refuse_what_is_not_ours(place)
    if shutil.disk_usage(os.path.dirname(place)).free < NEEDS_BYTES:
        stop("less than 3 GB of disk are free here: free some and run this again")
    started = time.monotonic()
    print("fitkit: setting up .venv beside run.py (once; a few minutes on a slow line)", flush=True)
    new, old = place + ".new", place + ".old"
    # One without its stamp was interrupted: begin it again, since a half-installed package cannot
    # be told from a whole one.
    remove(new)
    try:
        make_environment(new)
        put_in_place(new, place, old)
    except BaseException:
        remove(new)
        raise
    remove(old)
    print(f"fitkit: set up in {time.monotonic() - started:.0f} s", flush=True)


def make_environment(new):
    """Make a whole environment in a folder; its stamp comes last."""
    made = subprocess.run([sys.executable, "-m", "venv", new], capture_output=True, text=True)
    if made.returncode:
        stop(f"the environment could not be made: {(made.stderr or made.stdout).strip()[-300:]}")
    # Some Pythons put an old setuptools there, with known faults; the lock has what is needed.
    pip(new, "uninstall", "--yes", "setuptools")
    pip_install(LOCK, "--no-deps", "--require-hashes", "-r", LOCK, venv=new)
    pip_install(None, "--no-deps", "--no-build-isolation", "--no-index", "-e", ROOT, venv=new)
    write_stamp(LOCK, os.path.join(new, os.path.basename(STAMP)))


def put_in_place(new, place, old):
    """Rename the old environment aside and the new one in; let its commands know where they are."""
    scripts = os.path.join(new, SCRIPTS)
    for name in os.listdir(scripts) if os.path.isdir(scripts) else ():
        path = os.path.join(scripts, name)
        if os.path.islink(path) or not os.path.isfile(path) or name == EXECUTABLE:
            continue
        with open(path, "rb") as stream:
            content = stream.read()
        if os.fsencode(new) in content:
            with open(path, "wb") as stream:
                stream.write(content.replace(os.fsencode(new), os.fsencode(place)))
    # A set-up that was killed between the two renamings has left the old one aside.
    if os.path.isdir(place):
        remove(old)
        os.replace(place, old)
    try:
        os.replace(new, place)
    except BaseException:
        if os.path.isdir(old) and not os.path.exists(place):
            os.replace(old, place)
        raise


def remove(folder):
    """Delete a folder of ours, if it is there."""
    shutil.rmtree(folder, ignore_errors=True)


def goes_on(environment):
    """Whether the environment that is there runs fitkit, though it is of another lock or place."""
    command = [PYTHON, "-c", "import fitkit.views.shell, fitkit.flow.sheet"]
    try:
        tried = subprocess.run(command, capture_output=True, env=environment, cwd=ROOT, timeout=120)
    except (OSError, subprocess.TimeoutExpired):
        return False
    return tried.returncode == 0


@contextlib.contextmanager
def alone():
    """Let one set-up at a time work here; the others wait. The system ends the lock with us."""
    with open(os.path.join(ROOT, ".venv.lock"), "a+b") as stream:
        if not locked(stream):
            print("fitkit: another run is setting up; waiting for it", flush=True)
            while not locked(stream):
                time.sleep(1)
        yield


def locked(stream):
    """Take the lock, if nobody has it."""
    try:
        if os.name == "nt":
            import msvcrt

            stream.seek(0)
            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def set_up_or_go_on():
    """Make a new environment, or go on with the old one and say so where that is impossible."""
    place = real_place()
    if not os.path.isdir(place) and os.path.isdir(place + ".old"):
        os.replace(place + ".old", place)  # a set-up was killed between its two renamings
    try:
        set_up()
    except SystemExit:
        outside = {"PYTHONPATH": ROOT}  # the old one may have been made for another place
        if not goes_on(os.environ | outside):
            raise
        EXTRA.update(outside)
        print(
            "fitkit: going on with the environment of an earlier set-up; "
            "the next run tries again to renew it",
            file=sys.stderr,
            flush=True,
        )


def set_up_for_developers():
    """Add what tests and benches need; what users need is there and stays as it is."""
    if not os.path.isfile(DEV_LOCK):
        stop("requirements-dev.lock is missing beside run.py: get a complete copy of the project")
    begun = DEV_STAMP + ".begun"
    if os.path.exists(begun):  # interrupted: see set_up
        set_up()
    print("fitkit: adding what tests and benches need (once)", flush=True)
    with open(begun, "w", encoding="utf-8"):
        pass
    try:
        pip_install(DEV_LOCK, "--no-deps", "--require-hashes", "-r", DEV_LOCK)
    except SystemExit:  # pip ended by itself and left nothing half done
        os.remove(begun)
        raise
    write_stamp(DEV_LOCK, DEV_STAMP)
    os.remove(begun)


def pip(venv, *words):
    """Run pip without a word; whether it did what was asked is seen by what follows."""
    # -I: what a person's PYTHONPATH holds is not in the environment, and pip would think it is.
    command = [os.path.join(venv, SCRIPTS, EXECUTABLE), "-I", "-m", "pip", *words]
    subprocess.run(command, capture_output=True, cwd=ROOT)


def pip_install(lock, *words, venv=VENV):
    """Run pip with a moving line, and turn its troubles into one line of ours."""
    total = 0
    if lock:
        with open(lock, encoding="utf-8") as stream:
            names = {line.split("==")[0] for line in stream if re.match(r"[A-Za-z0-9._-]+==", line)}
        total = len(names)
    command = [
        os.path.join(venv, SCRIPTS, EXECUTABLE),
        "-I",
        "-m",
        "pip",
        "install",
        "--disable-pip-version-check",
        "--no-input",
        "--progress-bar",
        "off",
        "--prefer-binary",
        *words,
    ]
    seen = 0
    tty = sys.stdout.isatty()
    with open(LOG, "w", encoding="utf-8") as log:
        process = subprocess.Popen(
            command,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            cwd=ROOT,
        )
        for line in process.stdout:
            log.write(line)
            if line.startswith("Collecting") and total:
                seen += 1
                name = re.split(r"[=<>\s]", line.split()[1])[0]
                say_progress(f"fetching {min(seen, total)} of {total}: {name}", tty, seen % 40 == 0)
            elif line.startswith("Installing collected"):
                say_progress("unpacking all (the CAD kernel is large)", tty, True)
        process.wait()
    if tty:
        print("\r" + " " * 70 + "\r", end="", flush=True)
    if process.returncode:
        with open(LOG, encoding="utf-8") as log:
            said = log.read()
        for pattern, message in PIP_TROUBLES:
            if match := re.search(pattern, said):
                stop(match.expand(message))
        errors = [line for line in said.splitlines() if line.startswith("ERROR")]
        stop(f"installing failed: {errors[0] if errors else 'see .venv.log'}")


def say_progress(text, tty, milestone):
    """One line that moves on a terminal; a line now and then in a log."""
    if tty:
        print(f"\r  {text:<66.66}", end="", flush=True)
    elif milestone:
        print(f"  {text}", flush=True)


def run(*words, folder=ROOT):
    """Run Python in the environment and give its exit status."""
    # Messages of fitkit name its commands as this person types them; files are read as UTF-8
    # whatever the locale, which libraries may change under way.
    environment = os.environ | {"FITKIT_COMMAND": "python3 run.py", "PYTHONUTF8": "1"} | EXTRA
    try:
        return subprocess.run([PYTHON, *words], cwd=folder, env=environment).returncode
    except KeyboardInterrupt:
        return 130


def test(words):
    """Run the tests that the words choose, or all quick ones: two at a time, then the browser's."""
    if words:
        return run("-m", "pytest", *words)
    # What pytest leaves out by itself (slow, browser) stands in pyproject.toml.
    # Nothing is tried again: a test that wavers is mended.
    status = run("-m", "pytest", "-n", "2", "--dist", "loadfile")
    if status:
        return status
    return run("-m", "pytest", "-m", "browser and not slow", "tests/browser")


def check_more(words):
    """Run what is too long for every change; the words choose among the four, all if none is given.

    All of them run, whatever comes of the others; the status is that of the first that fails.
    """
    others = [name for name in ("python3.12", "python3.13") if shutil.which(name)]
    steps = {
        "slow": ("-m", "pytest", "-m", "slow"),
        "wheel": (os.path.join(".ci", "bare_wheel.py"),),
        "pythons": (os.path.join(".ci", "bare_wheel.py"), *others) if others else (),
        "mutants": (os.path.join(".ci", "mutants.py"),),
    }
    if unknown := [word for word in words if word not in steps]:
        stop(f"'check-more' knows {', '.join(steps)}, not {unknown[0]}")
    worst = 0
    for name in words or steps:
        if not steps[name]:
            print("fitkit: no other Python was found here (python3.12, python3.13)", flush=True)
            continue
        print(f"fitkit: check-more {name}", flush=True)
        worst = run(*steps[name]) or worst
    return worst


def docs(words):
    """Build the documentation and open it; or do with it what the words say."""
    status = run(os.path.join("docs", "build.py"), *words)
    if status == 0 and not words:
        page = os.path.join(ROOT, "artefacts", "docs", "html", "index.html")
        if not opened(page):
            print("fitkit: no browser was found here; open the page above in one")
    return status


def opened(page):
    """Open a page in a browser with windows, if there is one."""
    has_screen = os.name == "nt" or sys.platform == "darwin"
    if not has_screen and not (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        return False
    return webbrowser.open("file://" + page)


def main(words):
    """Set up if needed, then do what the words say."""
    if words[:1] in (["-h"], ["--help"], ["help"]):
        print(__doc__)
        return 0
    check_machine()
    developer = words[:1] in (["check-more"], ["test"], ["bench"], ["docs"])
    if not is_set_up(LOCK, STAMP) or (developer and not is_set_up(DEV_LOCK, DEV_STAMP)):
        try:
            with alone():  # another run may have set up meanwhile
                if not is_set_up(LOCK, STAMP):
                    set_up_or_go_on()
                if developer and not is_set_up(DEV_LOCK, DEV_STAMP):
                    set_up_for_developers()
        except KeyboardInterrupt:
            stop("interrupted; the next run begins the set-up again")
        except OSError as error:
            stop(f"set-up failed: {error}")
    check_libraries()
    first, rest = (words[0], words[1:]) if words else ("", [])
    if first == "test":
        return test(rest)
    if first == "lab":
        # It opens at the lessons, reaches all of the project, and asks no server for news.
        places = (
            f"--ServerApp.root_dir={ROOT}",
            f"--ServerApp.preferred_dir={os.path.join(ROOT, 'notebooks')}",
        )
        return run("-m", "jupyterlab", *places, "--LabApp.news_url=None", *rest)
    if first == "check-more":
        return check_more(rest)
    if first == "docs":
        return docs(rest)
    if first == "bench":
        return run("-m", "bench", *rest)
    if first:
        return run("-m", "fitkit", *words, folder=None)  # paths count from where you are
    status = run("-m", "fitkit", "demo", "demo")
    if status == 0:
        print(
            "\nNext: 'python3 run.py lab' opens the notebooks, 'python3 run.py test' tests it all."
        )
    return status


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
