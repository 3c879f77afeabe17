"""Long fuzzing with coverage guidance: `python -m tests.fuzz TARGET [libFuzzer options]`.

Needs atheris, which is no dependency of the project: install it beside, in an environment that also
sees the project's. An input of ten seconds or two GiB ends the run as a find. Any other find is
written, one for each line of code that raised, as ``find-*`` beside ``-artifact_prefix``, and the
run goes on. Once mended, a find goes into ``tests/fuzz/corpus/TARGET/``.

    python -m tests.fuzz readings -max_total_time=600
"""

from __future__ import annotations

import sys
import tempfile
import traceback
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["fitkit"]):
    pass

from tests.fuzz.targets import TARGETS, run, seeds


def main() -> None:
    name, *options = sys.argv[1:]
    target = TARGETS[name]
    prefix = next((o.partition("=")[2] for o in options if o.startswith("-artifact_prefix=")), "")
    seen: set[str] = set()

    def keep_finds(data: bytes) -> None:
        try:
            run(target, data)
        except Exception as error:
            frame = traceback.extract_tb(error.__traceback__)[-1]
            place = f"{Path(frame.filename).stem}-{frame.lineno}-{type(error).__name__}"
            if place not in seen:
                seen.add(place)
                Path(f"{prefix}find-{place}").write_bytes(data)
                traceback.print_exc()

    with tempfile.TemporaryDirectory() as folder:
        for number, seed in enumerate(seeds(name)):
            (Path(folder) / f"seed-{number}").write_bytes(seed)
        bounds = ["-timeout=10", "-rss_limit_mb=2048", "-max_len=8192"]
        atheris.Setup([sys.argv[0], folder, *bounds, *options], keep_finds)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
