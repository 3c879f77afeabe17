"""Writes web/src/protocol.ts from fitkit/widgets/protocol.py: python web/protocol.py [--check].

The page's types and constants are the kernel's own. With --check nothing is written, and the
status is 1 if the file is not as it would be written.
"""

from __future__ import annotations

import dataclasses
import json
import sys
import types
from pathlib import Path
from typing import (
    Annotated,
    Any,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
)

from typing_extensions import is_typeddict

from fitkit.core.finding import Severity
from fitkit.fits.trial import Verdict
from fitkit.widgets import protocol
from fitkit.widgets.fields import Kind

__all__ = ["NAMES", "TARGET", "page_source"]

TARGET = Path(__file__).parent / "src" / "protocol.ts"
_PLAIN = {str: "string", int: "number", float: "number", bool: "boolean", type(None): "null"}
# What the protocol's annotations name without importing it.
NAMES = {"Severity": Severity, "Verdict": Verdict, "Kind": Kind}
# Traitlets, which are no messages.
_STATES = (protocol.GridSetup, protocol.PanelDoc, protocol.TrialState)


def _type(of: Any, named: dict[str, type]) -> str:
    """Say an annotation in TypeScript; classes met on the way are added to `named`."""
    origin, inner = get_origin(of), get_args(of)
    if origin is Annotated:
        return _type(inner[0], named)
    if origin in (Union, types.UnionType):
        return " | ".join(_type(one, named) for one in inner)
    if origin is Literal:
        return " | ".join(json.dumps(one) for one in inner)
    if origin is list:
        item = _type(inner[0], named)
        return f"({item})[]" if "|" in item else f"{item}[]"
    if origin is tuple:
        return f"[{', '.join(_type(one, named) for one in inner)}]"
    if origin is dict:
        return f"Record<string, {_type(inner[1], named)}>"
    if of in _PLAIN:
        return _PLAIN[of]
    if dataclasses.is_dataclass(of) or is_typeddict(of):
        if of.__name__ not in named:
            named[of.__name__] = of
            _fields(of, named)  # what it is made of
        return str(of.__name__)
    raise TypeError(f"{of!r} has no words for the page")


def _fields(of: Any, named: dict[str, type]) -> dict[str, tuple[str, bool]]:
    """Give each field's type in TypeScript, and whether it may be absent."""
    hints = get_type_hints(of, localns=NAMES, include_extras=True)
    if is_typeddict(of):
        return {
            name: (_type(get_args(hint)[0], named), True)
            if get_origin(hint) is NotRequired
            else (_type(hint, named), False)
            for name, hint in hints.items()
        }
    given = {
        field.name
        for field in dataclasses.fields(of)
        if field.default is not dataclasses.MISSING and field.name != "kind"
    }
    return {name: (_type(hint, named), name in given) for name, hint in hints.items()}


def _interface(of: Any, named: dict[str, type]) -> str:
    lines = [f"/** {(of.__doc__ or '').splitlines()[0]} */", f"export interface {of.__name__} {{"]
    lines += [f"  {k}{'?' if maybe else ''}: {t};" for k, (t, maybe) in _fields(of, named).items()]
    return "\n".join([*lines, "}"])


def _literal(value: object) -> str:
    """Say a constant as JSON, one entry a line."""
    if isinstance(value, list):
        inside = [json.dumps(one, ensure_ascii=False) for one in value]
        return "[\n  " + ",\n  ".join(inside) + ",\n]"
    if isinstance(value, dict):
        inside = [
            f"{json.dumps(str(k), ensure_ascii=False)}: {json.dumps(v, ensure_ascii=False)}"
            for k, v in value.items()
        ]
        return "{\n  " + ",\n  ".join(inside) + ",\n}"
    return json.dumps(value, ensure_ascii=False)


def page_source() -> str:
    """Give the text of the page's protocol file."""
    named: dict[str, type] = {}
    unions = []
    described: dict[str, dict[str, list[str]]] = {}
    for view, heard in protocol.HEARD.items():
        unions.append(f"export type {view}Message = {_type(heard, named)};")
        described[view] = {
            get_args(get_type_hints(kind)["kind"])[0]: [
                f"{name}?" if maybe else name for name, (_t, maybe) in _fields(kind, named).items()
            ]
            for kind in get_args(heard)
        }
    for view, sent in protocol.SENT.items():
        if sent:
            kinds = " | ".join(_type(kind, named) for kind in sent)
            unions.append(f"export type {view}Answer = {kinds};")
    for state in _STATES:
        _type(state, named)
    parts = [
        "// Written by web/protocol.py from fitkit/widgets/protocol.py: change it there.",
        *(
            f"export const {name} = {_literal(value)} as const;"
            for name, value in protocol.constants().items()
        ),
        "// Fields of each message that a view sends; those with ? may be absent.\n"
        f"export const DESCRIBED: Record<string, Record<string, string[]>> = "
        f"{_literal(described)};",
        "export type Severity = keyof typeof MARKS;\nexport type Verdict = keyof typeof SIGNS;\n"
        'export type View = (typeof VIEWS)[number]["name"];\n'
        "export type Head = (typeof HEADS)[number];\n"
        "export type ArrayName = keyof typeof ARRAYS;",
        *unions,
        *(_interface(one, named) for one in list(named.values())),
    ]
    return "\n\n".join(parts) + "\n"


if __name__ == "__main__":
    wanted = page_source()
    if sys.argv[1:] == ["--check"]:
        if TARGET.read_text(encoding="utf-8") != wanted:
            sys.exit("web/src/protocol.ts is stale. Write it again: python web/protocol.py")
    else:
        TARGET.write_text(wanted, encoding="utf-8")
