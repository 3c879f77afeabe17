"""List every figure that rests on no published source, found by the marks that stand beside it.

A mark is one of two phrases, ``no source`` (common practice, or a choice of ours) and ``from
memory`` (published, but recalled and not looked up). It stands

- in a comment behind a constant, or in the comment lines over it: then it is said of that constant
  and of the numbers that follow without a blank line or another comment line;
- in the opening docstring of a file, in a sentence on "Sizes" or "figures below": of all constants
  of the file that are numbers;
- in any other docstring: of the file, class or function as a whole;
- in a table (CSV): in its ``# source:`` lines of the whole table, or in a row.

Texts that a result shows, such as the ``basis`` of a finding, are no marks: they say it again.
"""

from __future__ import annotations

import ast
import csv
import io
import re
import tokenize
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterator

PACKAGE = Path(__file__).resolve().parents[2] / "fitkit"
# Not where a docstring quotes what a result says of itself.
MARK = re.compile(r"(?<!prior: common practice, )no source|from memory")
# These explain the marks.
EXPLAIN = ("data/__init__.py", "core/finding.py")


class Assumption(NamedTuple):
    """A figure without a source: file, line of the mark, what it is named, its value, the words."""

    file: str
    line: int
    name: str
    value: str
    words: str

    @property
    def standing(self) -> str:
        """Which of the two it is."""
        return "from memory" if "from memory" in self.words else "no source"


def assumptions(package: Path = PACKAGE) -> list[Assumption]:
    """Find all, file by file."""
    found: list[Assumption] = []
    for path in sorted(package.rglob("*")):
        name = path.relative_to(package).as_posix()
        if name in EXPLAIN:
            continue
        if path.suffix == ".py":
            found += _of_code(name, path.read_text(encoding="utf-8"))
        elif path.suffix == ".csv":
            found += _of_table(name, path.read_text(encoding="utf-8"))
    return found


def _of_code(file: str, text: str) -> list[Assumption]:
    tree = ast.parse(text)
    constants = {
        node.lineno: (ast.unparse(_target(node)), ast.unparse(node.value), node.end_lineno)
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign | ast.AnnAssign) and node.value is not None
    }
    top = [n.lineno for n in tree.body if isinstance(n, ast.Assign | ast.AnnAssign)]
    of_file = {line: constants[line] for line in top if line in constants}
    found = list(_of_docstrings(file, tree, of_file))
    for first, last, words in _comments(text):
        if not MARK.search(words):
            continue
        if first in constants:  # behind it
            lines = [first]
        else:
            lines, at = [], last + 1
            while at in constants and (not lines or _is_figure(constants[at][1])):
                lines.append(at)
                at = constants[at][2] + 1
        named = [constants[line][:2] for line in lines] or [("", "")]
        found += [Assumption(file, first, name, value, words) for name, value in named]
    return sorted(found, key=lambda one: one.line)


def _target(node: ast.Assign | ast.AnnAssign) -> ast.expr:
    return node.targets[0] if isinstance(node, ast.Assign) else node.target


def _of_docstrings(
    file: str, tree: ast.Module, constants: dict[int, tuple[str, str, int]]
) -> Iterator[Assumption]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            continue
        text = ast.get_docstring(node)
        if not text or not MARK.search(text):
            continue
        sentences = re.split(r"(?<=\.)\s+(?=[A-Z])|\n\n", text)
        for sentence in sentences:
            words = " ".join(sentence.split())
            if not MARK.search(words):
                continue
            line = node.body[0].lineno
            if isinstance(node, ast.Module) and re.search("^Sizes|figures below", words):
                for name, value, _ in constants.values():
                    if _is_figure(value):
                        yield Assumption(file, line, name, value, words)
            else:
                yield Assumption(file, line, getattr(node, "name", ""), "", words)


def _comments(text: str) -> list[tuple[int, int, str]]:
    """Give comments, neighbouring lines of their own as one: first line, last line, words."""
    found: list[tuple[int, int, str]] = []
    lines = text.splitlines()
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        if token.type != tokenize.COMMENT:
            continue
        line, words = token.start[0], token.string.lstrip("# ")
        goes_on = all(lines[at].lstrip().startswith("#") for at in (line - 1, line - 2))
        if goes_on and found and found[-1][1] == line - 1:
            found[-1] = (found[-1][0], line, f"{found[-1][2]} {words}")
        else:
            found.append((line, line, words))
    return found


def _of_table(file: str, text: str) -> list[Assumption]:
    lines = text.splitlines()
    head = [line for line in lines if line.startswith("#")]
    found = [
        Assumption(file, number, "", "the whole table", line.lstrip("# "))
        for number, line in enumerate(head, 1)
        if MARK.search(line)
    ]
    columns = lines[len(head)].split(",")
    for number, line in enumerate(lines[len(head) + 1 :], len(head) + 2):
        if MARK.search(line):
            cells = next(csv.reader([line]))
            words = "; ".join(cell for cell in cells if MARK.search(cell))
            said = dict(zip(columns, cells, strict=False))
            name = " ".join(v for v in said.values() if v and not _number(v) and v not in words)
            values = [v for v in said.values() if _number(v)]
            found.append(Assumption(file, number, name, " to ".join(dict.fromkeys(values)), words))
    return found


def _is_figure(code: str) -> bool:
    """Whether an expression is a number, or numbers."""
    return bool(re.fullmatch(r"[-\d.,e() ]+", code))


def _number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True


def page() -> str:
    """Write the list as Markdown."""
    lines = [
        "# Assumptions: figures without a published source",
        "",
        "Made from the marks in code and tables when these pages are built. `no source` is common",
        "practice or a choice of ours; `from memory` is published, but was recalled and not looked",
        "up. Who has a source writes it in the place of the mark. A finding that rests on one says",
        "so as its basis.",
    ]
    found = assumptions()
    for file in dict.fromkeys(one.file for one in found):
        lines += ["", f"## {file}", ""]
        lines += ["| what | value | standing | said there |", "|---|---|---|---|"]
        for one in found:
            if one.file == file:
                name = f"`{one.name}`" if one.name and one.file.endswith(".py") else one.name
                value = one.value if len(one.value) < 40 else "see there"
                cells = (name, value, one.standing, one.words)
                lines.append("| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |")
    return "\n".join(lines) + "\n"
