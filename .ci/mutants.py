"""Make small changes in the numeric rooms, one at a time, and see whether the tests notice them.

    .venv/bin/python .ci/mutants.py                      300 changes
    .venv/bin/python .ci/mutants.py --count 30 --seed 7

Changes are drawn at random, with a seed that is printed, from all that can be made in stats,
calibration and fits: a comparison turned or its edge moved, + for -, * for /, and for or, a `not`
taken away, a number one larger, True for False, a result that is None. Each is made in a copy of
the tree. First the tests of these rooms run once to find which of them touch which line; then, for
each change, those that touch its line run until one fails. A change in a line that no test touches
lives, and so does one that hangs no test and fails none; a run that hangs is noticed.

Left out: changes in annotations, docstrings, messages, imports and seeds. Some changes that live
are no faults, since they change nothing that counts (a bound that is never reached, a starting
value).
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("stats", "calibration", "fits")
TESTS = [f"tests/{room}" for room in (*ROOMS, "outside")]
NEEDED = ("fitkit", "tests", "studies", "bench", "measurements", "shared", "docs", "web/src")
FILES = ("pyproject.toml", "conftest.py", "README.md", "DEVELOPERS.md", "run.py")
# Tests at most for one change, drawn from those that touch its line.
MOST_TESTS = 60
LONG = 300  # s

COMPARE = {
    ast.Lt: "<=", ast.LtE: "<", ast.Gt: ">=", ast.GtE: ">", ast.Eq: "!=", ast.NotEq: "==",
    ast.Is: "is not", ast.IsNot: "is", ast.In: "not in", ast.NotIn: "in",
}  # fmt: skip
ARITHMETIC = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*", ast.Pow: "*"}


@dataclass(frozen=True)
class Change:
    """A change of one line: what stood between two columns, and what stands there now."""

    file: str
    line: int
    start: int
    end: int
    new: str

    def made_in(self, text: str) -> str:
        """Give a file's text with the change; columns count bytes, as `ast` gives them."""
        lines = text.encode().split(b"\n")
        row = lines[self.line - 1]
        lines[self.line - 1] = row[: self.start] + self.new.encode() + row[self.end :]
        return b"\n".join(lines).decode()


def changes_of(file: Path) -> list[Change]:
    """Find all changes that can be made in a file."""
    text = file.read_text(encoding="utf-8")
    name = file.relative_to(ROOT).as_posix()
    rows = text.encode().split(b"\n")
    tree = ast.parse(text)
    skipped = {id(child) for node in ast.walk(tree) for child in _left_out(node)}
    found = []

    def between(left: ast.AST, right: ast.AST, new: str) -> None:
        """Change the sign between two parts of an expression, if it is on one line."""
        if left.end_lineno != right.lineno:
            return
        line, start, end = left.end_lineno, left.end_col_offset, right.col_offset
        sign = rows[line - 1][start:end]
        if sign.strip(b" ()") and b")" not in sign and b"(" not in sign:
            found.append(Change(name, line, start, end, f" {new} "))

    def whole(node: ast.AST, new: str) -> None:
        if node.lineno == node.end_lineno:
            place = (node.lineno, node.col_offset, node.end_col_offset)
            found.append(Change(name, *place, new))

    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Compare) and len(node.ops) == 1:
            between(node.left, node.comparators[0], COMPARE[type(node.ops[0])])
        elif isinstance(node, ast.BinOp) and type(node.op) in ARITHMETIC:
            between(node.left, node.right, ARITHMETIC[type(node.op)])
        elif isinstance(node, ast.BoolOp):
            between(*node.values[:2], "or" if isinstance(node.op, ast.And) else "and")
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
            whole(node, f"({ast.unparse(node.operand)})")
        elif isinstance(node, ast.Constant) and type(node.value) in (int, float):
            whole(node, f"({node.value!r} + 1)")
        elif isinstance(node, ast.Constant) and isinstance(node.value, bool):
            whole(node, str(not node.value))
        elif isinstance(node, ast.Return) and node.value is not None:
            whole(node, "return None")
    return found


def _left_out(node: ast.AST) -> list[ast.AST]:
    """Parts of a node in which nothing is changed: annotations, messages, what types see alone."""
    parts: list[ast.AST | None] = []
    if isinstance(node, ast.FunctionDef):
        arguments = [*node.args.args, *node.args.kwonlyargs, *node.args.posonlyargs]
        parts += [node.returns, *(argument.annotation for argument in arguments)]
        parts += node.decorator_list
    if isinstance(node, ast.ClassDef):
        parts += node.decorator_list
    if isinstance(node, ast.AnnAssign):
        parts.append(node.annotation)
    if isinstance(node, ast.JoinedStr | ast.Raise):
        parts.append(node)
    if isinstance(node, ast.keyword) and node.arg == "seed":
        parts.append(node)
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        parts.append(node)
    return [child for part in parts if part is not None for child in ast.walk(part)]


def copied(folder: Path) -> Path:
    """Copy what the tests need."""
    for name in NEEDED:
        if (ROOT / name).is_dir():
            ignored = shutil.ignore_patterns("__pycache__", "node_modules", "made")
            shutil.copytree(ROOT / name, folder / name, ignore=ignored)
    for name in FILES:
        shutil.copy(ROOT / name, folder / name)
    return folder


def fails(tree: Path, *words: str, most_s: float) -> bool:
    """Run pytest in a copy, which is the fitkit that it finds; a run that hangs fails, too."""
    environment = os.environ | {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *words]
    try:
        done = subprocess.run(
            command, cwd=tree, env=environment, capture_output=True, timeout=most_s
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def touched(tree: Path) -> dict[tuple[str, int], list[str]]:
    """Run all tests once: which of them touch which line."""
    sources = [f"--cov=fitkit.{room}" for room in ROOMS]
    (tree / "contexts.ini").write_text("[run]\nbranch = false\n", encoding="utf-8")
    told = ("--cov-config=contexts.ini", "--cov-context=test", "--cov-report=")
    if fails(tree, *sources, *told, *TESTS, most_s=10 * LONG):
        sys.exit("the tests fail without any change: mend that first")
    found: dict[tuple[str, int], list[str]] = {}
    from coverage.numbits import numbits_to_nums

    with sqlite3.connect(tree / ".coverage") as data:
        rows = data.execute(
            "select file.path, context.context, line_bits.numbits from line_bits "
            "join file on file.id = file_id join context on context.id = context_id"
        )
        for path, context, bits in rows:
            name = Path(path).relative_to(tree).as_posix()
            for line in numbits_to_nums(bits):
                if test := context.partition("|")[0]:
                    found.setdefault((name, line), []).append(test)
                else:  # run on import: any test of the room's notices it
                    found.setdefault((name, line), [])
    return found


def noticed(change: Change, tests: list[str], place: Path) -> bool:
    """Make a change in a copy of its own, and tell whether a test fails."""
    with tempfile.TemporaryDirectory(dir=place) as folder:
        tree = copied(Path(folder))
        path = tree / change.file
        path.write_text(change.made_in(path.read_text(encoding="utf-8")), encoding="utf-8")
        return fails(tree, *tests, most_s=LONG)


def main() -> int:
    """Draw, try, and say what lives."""
    asked = argparse.ArgumentParser(description="Change the numeric rooms and see who notices.")
    asked.add_argument("--count", type=int, default=300)
    asked.add_argument("--seed", type=int, default=20261128)
    asked.add_argument("--workers", type=int, default=2)
    said = asked.parse_args()
    every = [
        change
        for room in ROOMS
        for file in sorted((ROOT / "fitkit" / room).rglob("*.py"))
        for change in changes_of(file)
    ]
    draw = random.Random(said.seed)
    chosen = draw.sample(every, min(said.count, len(every)))
    print(f"{len(chosen)} of {len(every)} changes, seed {said.seed}", flush=True)
    lives = []
    with tempfile.TemporaryDirectory(prefix="fitkit-mutants-") as folder:
        place = Path(folder).resolve()
        (place / "base").mkdir()
        lines = touched(copied(place / "base"))

        def try_it(change: Change) -> tuple[Change, bool]:
            tests = lines.get((change.file, change.line))
            if tests is None:
                return change, False
            room = change.file.split("/")[1]
            few = random.Random(said.seed).sample(tests, min(MOST_TESTS, len(tests)))
            return change, noticed(change, sorted(few) or [f"tests/{room}"], place)

        with ThreadPoolExecutor(said.workers) as pool:
            for number, (change, seen) in enumerate(pool.map(try_it, chosen), 1):
                if not seen:
                    lives.append(change)
                    row = (ROOT / change.file).read_text("utf-8").split("\n")[change.line - 1]
                    print(f"lives: {change.file}:{change.line}: {row.strip()}  ->  {change.new}")
                if number % 20 == 0:
                    print(f"{number} tried, {number - len(lives)} noticed", flush=True)
    share = 1 - len(lives) / len(chosen)
    print(f"{len(chosen) - len(lives)} of {len(chosen)} noticed: {share:.1%}")
    return 0 if share >= 0.9 else 1


if __name__ == "__main__":
    sys.exit(main())
