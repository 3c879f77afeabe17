"""Public functions of several arguments say what they take, give and raise; counted by room.

The public names are those of the rooms' stubs, with the public methods of their classes; of a room
without a stub, those that each of its files promises.
"""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

from fitkit.core import errors

ROOT = Path(__file__).parents[1] / "fitkit"
FAULTS = {
    name
    for name, kind in vars(errors).items()
    if isinstance(kind, type) and issubclass(kind, errors.FitkitError)
}

Function = ast.FunctionDef | ast.AsyncFunctionDef


@cache
def _tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def _file(module: str) -> Path:
    base = ROOT.joinpath(*module.split("."))
    return base / "__init__.py" if base.is_dir() else base.with_suffix(".py")


def _defined(path: Path) -> dict[str, ast.AST]:
    return {
        item.name: item for item in _tree(path).body if isinstance(item, Function | ast.ClassDef)
    }


def _promised(path: Path) -> list[str]:
    """Names in a file's ``__all__``."""
    for node in _tree(path).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "__all__":
            return [str(name) for name in ast.literal_eval(node.value)]
    return []


def public() -> list[tuple[str, str, str, ast.AST]]:
    """Room, file, name, and definition of each public name that is defined in its file."""
    found = []
    stubs = sorted(ROOT.rglob("__init__.pyi"))
    for path in sorted(ROOT.rglob("*.py")):
        parts = path.relative_to(ROOT).with_suffix("").parts
        if path.name == "__init__.py" or any(stub.parent in path.parents for stub in stubs):
            continue
        defined = _defined(path)
        found += [
            (parts[0], str(path.relative_to(ROOT)), name, defined[name])
            for name in _promised(path)
            if name in defined
        ]
    for stub in stubs:
        home = stub.parent.relative_to(ROOT).parts
        for node in _tree(stub).body:
            if not (isinstance(node, ast.ImportFrom) and node.module):
                continue
            path = _file(".".join((*home, node.module)))
            defined = _defined(path)
            for alias in node.names:
                if alias.name in defined:
                    file = str(path.relative_to(ROOT))
                    found.append((home[0], file, alias.name, defined[alias.name]))
    return found


def functions() -> list[tuple[str, str, str, Function]]:
    """Public functions, and public methods of public classes."""
    found = []
    for room, file, name, node in public():
        if isinstance(node, Function):
            found.append((room, file, name, node))
        elif isinstance(node, ast.ClassDef):
            found += [
                (room, file, f"{name}.{item.name}", item)
                for item in node.body
                if isinstance(item, Function) and not item.name.startswith("_")
            ]
    return found


def _raises(node: Function) -> bool:
    """Whether the body raises a fault itself; nested functions are others' business."""
    todo: list[ast.AST] = list(node.body)
    while todo:
        at = todo.pop()
        if isinstance(at, Function | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(at, ast.Raise) and isinstance(at.exc, ast.Call):
            called = at.exc.func
            if isinstance(called, ast.Name) and called.id in FAULTS:
                return True
        todo += ast.iter_child_nodes(at)
    return False


def _gives(node: Function) -> bool:
    """Whether there is something given that is not told by the type alone being None."""
    given = "" if node.returns is None else ast.unparse(node.returns)
    return given not in ("None", "NoReturn", "Never")


def _arguments(node: Function) -> int:
    spec = node.args
    own = [one.arg for one in (*spec.posonlyargs, *spec.args, *spec.kwonlyargs)]
    rest = [one for one in (spec.vararg, spec.kwarg) if one]
    return len([name for name in own if name not in ("self", "cls")]) + len(rest)


def lacks(node: Function) -> list[str]:
    """Sections that a docstring should have and has not."""
    if _arguments(node) < 2 or any("overload" in ast.unparse(d) for d in node.decorator_list):
        return []
    text = ast.get_docstring(node) or ""
    kind = "Yields" if "Yields\n---" in text else "Returns"
    wanted = {"Parameters": True, kind: _gives(node), "Raises": _raises(node)}
    return [
        name
        for name, need in wanted.items()
        if need and not re.search(rf"^{name}\n-{{{len(name)}}}$", text, re.M)
    ]


def test_public_functions_tell_what_they_take_give_and_raise():
    left = [
        f"{file}: {name} lacks {section}"
        for _, file, name, node in functions()
        for section in lacks(node)
    ]
    assert not left, "\n".join(left)


def test_the_walk_sees_functions_and_methods():
    names = {f"{room}.{name}" for room, _, name, _ in functions()}
    assert {"core.to_mm", "make.make", "journal.Journal.add", "export.write_files"} <= names


def test_what_a_docstring_lacks_is_found():
    def of(text: str) -> list[str]:
        node = ast.parse(text).body[0]
        assert isinstance(node, Function)
        return lacks(node)

    assert of("def f(a, *, b) -> int:\n    'Add.'\n    raise PartError('x')") == [
        "Parameters",
        "Returns",
        "Raises",
    ]
    assert of("def f(a, b) -> None:\n    '''Add.\n\n    Parameters\n    ----------\n    '''") == []
    assert of("def f(a) -> int:\n    'One.'") == []
    assert of("def f(self, a) -> int:\n    'One.'") == []
