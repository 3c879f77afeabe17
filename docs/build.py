"""Make the gallery's pictures and the reference from the real thing: parts built, docstrings read.

.venv/bin/python docs/build.py              all
.venv/bin/python docs/build.py reference    only docs/reference.md
.venv/bin/python docs/build.py assumptions  only docs/assumptions.md
.venv/bin/python docs/build.py templates    only the pictures that 'fitkit new --list' names
"""

from __future__ import annotations

import importlib
import inspect
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parent.parent
DOCS = ROOT / "docs"
ROOMS = (
    "core.errors",
    "core.units",
    "core.sizes",
    "core.given_file",
    "workshop",
    "readings",
    "stats",
    "calibration",
    "fits",
    "solids",
    "parts",
    "checks",
    "export",
    "journal",
    "flow",
    "make",
    "views.notebook",
    "views.lessons",
    "widgets",
)


def reference() -> str:
    """Write the public names of every room with their signatures and docstrings as Markdown."""
    lines = [
        "# Reference",
        "",
        "Made from the docstrings by `docs/build.py`. Lengths are mm unless a line says otherwise.",
    ]
    for room in ROOMS:
        module = importlib.import_module(f"fitkit.{room}")
        lines += ["", f"## fitkit.{room}", "", inspect.getdoc(module) or ""]
        for name in sorted(module.__all__, key=str.casefold):
            lines += _entry(f"fitkit.{room}.{name}", getattr(module, name))
    return "\n".join(lines).rstrip() + "\n"


def _entry(path: str, thing: object) -> list[str]:
    # Names handed on from other libraries have their own documents.
    if not getattr(thing, "__module__", "").startswith("fitkit") or not callable(thing):
        return []
    lines = ["", f"### {path}", ""]
    if inspect.isfunction(thing):
        lines += ["```text", f"{thing.__name__}{_signature(thing)}", "```", ""]
    lines += ["```text", inspect.getdoc(thing) or "", "```"]
    if inspect.isclass(thing):
        for name, member in inspect.getmembers(thing, _is_own(thing)):
            doc = inspect.getdoc(member)
            if not name.startswith("_") and doc:
                lines.append(f"- `{name}`: {doc.splitlines()[0]}")
    return lines


def _is_own(owner: type) -> Callable[[object], bool]:
    def own(member: object) -> bool:
        function = member.fget if isinstance(member, property) else member
        return inspect.isroutine(function) and getattr(function, "__qualname__", "").startswith(
            owner.__name__ + "."
        )

    return own


def _signature(function: Callable[..., object]) -> str:
    """Write a signature with its annotations as they stand in the source."""
    signature = inspect.signature(function)
    words, seen_star = [], False
    for parameter in signature.parameters.values():
        if parameter.kind is parameter.VAR_POSITIONAL:
            seen_star = True
        if parameter.kind is parameter.KEYWORD_ONLY and not seen_star:
            words.append("*")
            seen_star = True
        mark = {parameter.VAR_POSITIONAL: "*", parameter.VAR_KEYWORD: "**"}.get(parameter.kind, "")
        word = f"{mark}{parameter.name}"
        if parameter.annotation is not parameter.empty:
            word += f": {parameter.annotation}"
        if parameter.default is not parameter.empty:
            named = getattr(
                parameter.default, "__name__", None
            )  # a function's repr has its address
            word += f" = {named or repr(parameter.default)}"
        words.append(word)
    line = f"({', '.join(words)}) -> {signature.return_annotation}"
    return (
        line
        if len(line) < 90
        else line.replace(", ".join(words), "".join(f"\n    {word}," for word in words) + "\n")
    )


def gallery() -> str:
    """Build each demo part, draw it, and write the page that shows them."""
    from fitkit.export import file_name
    from fitkit.flow import build, load_sheet, mesh_part, prepare
    from fitkit.make import draw_apart

    lines = ["# Parts of the listening post", ""]
    lines += [
        "Each is made by `python3 run.py make` from its part sheet; fitkit drew the pictures."
    ]
    for path in sorted((ROOT / "measurements").glob("*.toml")):
        if path.name == "workshop.toml":
            continue
        sheet = load_sheet(path)
        plan = prepare(sheet)
        name = f"{file_name(sheet.title)}.png"
        draw_apart(mesh_part(build(plan))).save(DOCS / "pictures" / name, optimize=True)
        lines += ["", f"## {sheet.title}", "", f"![{sheet.title}](pictures/{name})", ""]
        lines += [f"Template {sheet.template}: `measurements/{path.name}`."]
    return "\n".join(lines) + "\n"


def template_pictures() -> None:
    """Draw each template as a new part starts, its sizes being the template's own."""
    from fitkit.export import file_name
    from fitkit.flow import mesh_part
    from fitkit.make import draw_apart
    from fitkit.parts import templates

    for title, kind in templates().items():
        if not kind.ordered_by:
            part = kind.of(**kind.measuring.starts_with).build()
            # A few colours are enough for shaded faces, and keep the checkout small.
            picture = draw_apart(mesh_part(part)).convert("RGB").quantize(64)
            picture.save(DOCS / "pictures" / f"template-{file_name(title)}.png", optimize=True)


def main(words: list[str]) -> None:
    """Write what the words name, or everything."""
    if not words or "reference" in words:
        (DOCS / "reference.md").write_text(reference(), encoding="utf-8")
    if not words or "assumptions" in words:
        sys.path.insert(0, str(DOCS))
        from assumptions import page

        (DOCS / "assumptions.md").write_text(page(), encoding="utf-8")
    if not words or "templates" in words:
        template_pictures()
    if not words or "gallery" in words:
        (DOCS / "gallery.md").write_text(gallery(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
