"""Many random inputs for all targets, without guidance: `python -m tests.fuzz.long COUNT`.

Each input is a kept one, mutated: pieces cut out, doubled, swapped with those of others, bytes
changed, or words and numbers that have caused trouble put in. Each process draws its own from a
seed, so that a run can be done again. Prints, for each target, how many were tried, the slowest one
and the largest memory; a find is printed with its input. Ends with status 1 if there is one.

    python -m tests.fuzz.long 2000000 --seed 1 --only length,record
"""

from __future__ import annotations

import argparse
import json
import random
import sys
import time
import traceback
from collections import Counter
from pathlib import Path

from fitkit.core.threads import one_thread_each
from tests.fuzz.targets import TARGETS, run, seeds

SLOWEST_S, MOST_MB = 2.0, 300
# How often each is drawn: cheap ones more often.
WEIGHTS = {
    "length": 220, "expression": 160, "trace_code": 100, "pasted": 25, "record": 90, "sheet": 60,
    "profile": 30, "instruments": 60, "material": 60, "readings": 20, "round_trip": 10,
    "workshop_file": 60, "cache": 25, "journal_folder": 15, "trials_table": 50, "workbook": 12,
    "variants": 20, "mesh_file": 15, "plan": 1, "command_line": 3,
}  # fmt: skip
WORDS = [
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"=1+1", b"6" * 320, b"1e999", b"-0", b"nan", b"inf",
    b"12,345", b"\xc2\xbd", b"\xe2\x88\x92", b"[" * 300, b'"', b"\r", b"\x1b]0;x\x07", b"../..",
    b"0001-01-01T00:00:00+14:00", b"9999-12-31T23:59:59-14:00", b"true", b"{}", b"[]", b"null",
    b"\xf0\x9f\xa6\x89", b"'3/16\"'", b"12.34 mm \xc2\xb1 0.02", b";;;;", b"\t\t", b"self",
    b"/dev/zero", b"__class__",
]  # fmt: skip


def mutated(draw: random.Random, kept: list[bytes]) -> bytes:
    """Change a kept input a little, or make one of nothing."""
    if draw.random() < 0.05:
        return draw.randbytes(draw.randrange(200))
    data = bytearray(draw.choice(kept))
    for _ in range(draw.choice((1, 1, 1, 2, 3, 8))):
        start = draw.randrange(len(data) + 1)
        end = min(len(data), start + draw.choice((0, 1, 2, 5, 20, 100)))
        match draw.randrange(6):
            case 0:
                data[start:end] = b""
            case 1:
                data[start:start] = data[start:end]
            case 2:
                other = draw.choice(kept)
                at = draw.randrange(len(other) + 1)
                data[start:end] = other[at : at + draw.choice((1, 5, 30))]
            case 3:
                data[start:end] = draw.choice(WORDS)
            case 4 if data:
                data[draw.randrange(len(data))] = draw.randrange(256)
            case _:
                data[start:end] = draw.choice(
                    (b"0", b"9", b"-", b".", b",", b"e", b"\n", b" ", b"/")
                )
    return bytes(data[:20_000])


def main() -> int:
    """Run, and report."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("count", type=int)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--only", default="")
    options.add_argument("--seconds", type=float, default=float("inf"))
    given = options.parse_args()
    one_thread_each()  # as the shell does; another run beside this one is not slowed then
    names = [name for name in given.only.split(",") if name] or list(TARGETS)
    draw = random.Random(given.seed)
    kept = {name: seeds(name) or [b""] for name in names}
    tried, slowest, finds = Counter[str](), dict.fromkeys(names, 0.0), set[tuple[str, str]]()
    weights = [WEIGHTS.get(name, 10) for name in names]
    ends = time.monotonic() + given.seconds
    for _ in range(given.count):
        (name,) = draw.choices(names, weights)
        data = mutated(draw, kept[name])
        began = time.process_time()
        try:
            run(TARGETS[name], data)
        except BaseException as error:
            if isinstance(error, KeyboardInterrupt):
                break
            frame = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{Path(frame.filename).name}:{frame.lineno} {type(error).__name__}"
            place = f"{name}: {where}: {str(error)[:300]}"
            if (name, where) not in finds:
                finds.add((name, where))
                print("FIND", place, repr(data[:2000]), flush=True)
        # Processor time, which what else the machine does disturbs less.
        slowest[name] = max(slowest[name], time.process_time() - began)
        tried[name] += 1
        if time.monotonic() > ends:
            break
    import psutil

    told = {
        "seed": given.seed,
        "inputs": tried.total(),
        "each": dict(tried),
        "slowest_s": {name: round(value, 2) for name, value in slowest.items()},
        "memory_MB": round(getattr(psutil.Process().memory_info(), "rss", 0) / 1e6),
        "finds": len(finds),
    }
    print(json.dumps(told), flush=True)
    return 1 if finds else 0


if __name__ == "__main__":
    sys.exit(main())
