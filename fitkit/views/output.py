r"""How texts reach a terminal, a pipe or a log file: in any encoding, and as letters only.

Titles and notes may come from somebody else's file. Control characters in them, which would set a
terminal's title, clear its screen or turn the reading direction, are shown as ``\x1b`` and the
like. Signs that the output's encoding does not have are written as the nearest plain ones.
"""

from __future__ import annotations

import codecs
import sys
import unicodedata
from contextlib import suppress

import click

__all__ = ["refuse_broken_words", "say", "say_beside", "serve_any_encoding", "shown", "visible"]

# Plain forms of the signs that messages use.
_PLAIN = {
    "±": "+/-",
    "–": "-",
    "—": "-",
    "…": "...",
    "×": "x",
    "µ": "u",
    "μ": "u",
    "°": " deg ",
    "²": "2",
    "³": "3",
    "½": "1/2",
    "≤": "<=",
    "≥": ">=",
    "−": "-",
    "→": "->",
    "■": "#",
    "▲": "!",
    "○": "o",
    "“": '"',
    "”": '"',
    "‘": "'",
    "’": "'",
}
# Line ends and tabs are layout; all other controls, and marks that turn the reading direction
# (Unicode Standard Annex 9), are shown.
_KEPT = "\n\t"
_TURNING = {*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200E, 0x200F, 0x061C}


def visible(text: str) -> str:
    r"""Show control characters by their number.

    Examples
    --------
    >>> visible("A\x1b]0;title\x07")
    'A\\x1b]0;title\\x07'
    """
    if text.isprintable():
        return text
    return "".join(
        ascii(sign)[1:-1]
        if sign not in _KEPT and (unicodedata.category(sign) == "Cc" or ord(sign) in _TURNING)
        else sign
        for sign in text
    )


def shown(text: str) -> str:
    """Make a text safe for rich: no control characters, and brackets that are no markup."""
    from rich.markup import escape

    return escape(visible(text))


def say(message: object = "", *, err: bool = False, nl: bool = True) -> None:
    """Print a message, whatever it quotes from a file.

    Parameters
    ----------
    message : object
        Shown as `str` gives it.
    err : bool
        To the standard error instead of the standard output.
    nl : bool
        Whether a line end follows.
    """
    text = visible(str(message))
    stream = sys.stderr if err else sys.stdout
    encoding = getattr(stream, "encoding", None) or "utf-8"
    # click takes ASCII for a mistake and writes UTF-8 then, beside what rich writes in ASCII.
    with suppress(LookupError):
        text = text.encode(encoding, "fitkit.plain").decode(encoding)
    click.echo(text, err=err, nl=nl)


def say_beside(name: str, text: str, *, indent: int) -> None:
    """Print a name, and a text beside it that stays in its column.

    Parameters
    ----------
    name, text : str
    indent : int
        Where the column begins.
    """
    import shutil
    import textwrap

    wide = max(shutil.get_terminal_size().columns - indent, 20)
    first, *rest = textwrap.wrap(text, wide) or [""]
    say(f"{name:{indent}}{first}")
    for line in rest:
        say(f"{'':{indent}}{line}")


def serve_any_encoding() -> None:
    """Let no sign of a message end a command, as where output is redirected to a file.

    Python then writes in the system's encoding, such as Windows-1252 or ASCII.
    """
    for stream in (sys.stdout, sys.stderr):
        # Streams of notebooks and tests take any sign, and cannot be set.
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="fitkit.plain")  # type: ignore[union-attr]


def _plain(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    signs = error.object[error.start : error.end]
    return "".join(_PLAIN.get(sign) or _base(sign) for sign in signs), error.end


def _base(sign: str) -> str:
    """Give a letter without its accent; a question mark if there is none."""
    base = unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode()
    return base or "?"


codecs.register_error("fitkit.plain", _plain)


def refuse_broken_words(words: list[str]) -> None:
    """Refuse words of a command that are not text in the terminal's encoding.

    Raises
    ------
    click.UsageError
        With the word, and what to set.
    """
    for word in words:
        try:
            word.encode()
        except UnicodeEncodeError:
            raise click.UsageError(
                f"{word!a} is not text in the encoding of this terminal "
                f"({sys.getfilesystemencoding()}). Set the terminal to UTF-8, such as with "
                "'export LC_ALL=C.UTF-8', or write the word in plain letters."
            ) from None
