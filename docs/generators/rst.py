"""Small pieces of reStructuredText that the generated pages are made of."""

from __future__ import annotations

import re

__all__ = ["anchor", "entry", "facts", "found_by", "heading", "picture", "plain", "toctree"]


def found_by(*words: str) -> list[str]:
    """Name what a reader may type into the search to come here first."""
    return [f".. index:: {', '.join(f'! {word}' for word in words)}", ""]


def heading(text: str, sign: str = "=") -> list[str]:
    """Give a heading and the blank line below it."""
    return [text, sign * max(len(text), 3), ""]


def anchor(text: str) -> str:
    """Make a file name of a title: ``board case`` to ``board-case``."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def plain(text: str) -> str:
    """Escape what reStructuredText would take as a mark, but for names between backticks."""
    text = text.replace("``", "`")
    parts = text.split("`")
    if len(parts) % 2 == 0:
        return re.sub(r"([*_|\\`])", r"\\\1", text)
    return "".join(
        f"``{part}``" if i % 2 else re.sub(r"([*_|\\])", r"\\\1", part)
        for i, part in enumerate(parts)
    )


def entry(kind: str, name: str, *lines: str) -> list[str]:
    """Describe one thing that the search finds by its name."""
    body = [f"   {line}" if line else "" for line in lines]
    return [f".. {kind}:: {name}", "", *body, ""]


def facts(**said: str) -> str:
    """Give the facts of a thing in one line; empty ones are left out."""
    return " ".join(f"*{name}:* {text.rstrip('.')}." for name, text in said.items() if text)


def picture(path: str, alt: str, *, width: str = "") -> list[str]:
    """Show a picture, with words for who does not see it."""
    return [
        f".. image:: {path}",
        f"   :alt: {alt}",
        *([f"   :width: {width}"] if width else []),
        "",
    ]


def toctree(*pages: str, caption: str = "", hidden: bool = False) -> list[str]:
    """List pages; each becomes a link and a place in the contents."""
    lines = [".. toctree::", "   :maxdepth: 1"]
    if caption:
        lines.append(f"   :caption: {caption}")
    if hidden:
        lines.append("   :hidden:")
    return [*lines, "", *(f"   {page}" for page in pages), ""]
