"""Commands as the user can type them: how this process was started, and what comes next.

A message that says what to type must work where the reader stands: after the set-up by ``run.py``
no ``fitkit`` is on the path.
"""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

__all__ = ["STARTED_BY", "command", "quoted"]

# Set by a program that starts fitkit for the user, such as run.py: what the user typed to start it.
STARTED_BY = "FITKIT_COMMAND"


def command(*words: str) -> str:
    """Give a fitkit command as the user of this process can type it.

    Parameters
    ----------
    *words
        Of the command; those that hold blanks or signs are quoted.

    Examples
    --------
    >>> command("fitted", "K7M3PXA", "lid=as wanted").partition("fitted ")[2]
    "K7M3PXA 'lid=as wanted'"
    """
    return " ".join((_start(), *map(quoted, words)))


def quoted(word: str) -> str:
    """Quote a word for the shell if it needs it; on Windows with double quotes."""
    import shlex

    if os.name == "nt":
        plain = word and not set(word) & set(" \t=&|<>^;,()%!'")
        return word if plain else f'"{word}"'
    # An equals sign needs no quotes for the shell, but reads better with them.
    return f"'{word}'" if "=" in word and shlex.quote(word) == word else shlex.quote(word)


def _start() -> str:
    """Give what starts fitkit: as told, by its own name, or as a module of this Python."""
    told = os.environ.get(STARTED_BY, "").strip()
    if told:
        return told
    if Path(sys.argv[0]).stem == "fitkit":
        return "fitkit"
    # The short name will do where it leads to this same Python.
    name = Path(sys.executable).stem
    short = shutil.which(name) == sys.executable
    return f"{name if short else quoted(sys.executable)} -m fitkit"
