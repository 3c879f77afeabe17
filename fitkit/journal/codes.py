"""Trace codes: seven characters that a person can read off a printed part and type.

The alphabet leaves out letters and digits that are mistaken for each other when sunk into plastic
or read aloud (0 O Q, 1 I L, 2 Z, 5 S, 8 B, U V). It has a prime number of characters, 23, so that
one check character, a weighted sum modulo 23, finds every single wrong character and every pair of
swapped ones (the principle of ISO 7064 and ISBN-10: all weights and their differences differ from
zero modulo a prime). 23⁶ codes: two of 10,000 records drawn at random agree with probability 0.3,
which is why `Journal.add` refuses a code that is taken.
"""

from __future__ import annotations

import hashlib
import secrets

from fitkit.core.errors import JournalError

__all__ = ["ALPHABET", "LENGTH", "normal_code", "trace_code", "valid_trace_code"]

ALPHABET = "34679ACDEFGHJKMNPRTUWXY"
LENGTH = 7
_BASE = len(ALPHABET)


def trace_code(*, of: bytes | None = None) -> str:
    """Make a code.

    Parameters
    ----------
    of : bytes, optional
        Content that the code is to stand for: the same content gives the same code, so that
        bringing in the same row twice is noticed. Random if not given.

    Examples
    --------
    >>> code = trace_code()
    >>> valid_trace_code(code)
    True
    """
    if of is None:
        number = secrets.randbelow(_BASE ** (LENGTH - 1))
    else:
        number = int.from_bytes(hashlib.sha256(of).digest(), "big") % _BASE ** (LENGTH - 1)
    letters = []
    for _ in range(LENGTH - 1):
        number, digit = divmod(number, _BASE)
        letters.append(ALPHABET[digit])
    body = "".join(letters)
    return body + _check_character(body)


def valid_trace_code(code: str) -> bool:
    """Tell whether a code, as it is written in files, was read and typed correctly."""
    return (
        len(code) == LENGTH
        and all(letter in ALPHABET for letter in code)
        and _check_character(code[:-1]) == code[-1]
    )


def normal_code(typed: str) -> str:
    """Turn a code as typed (small letters, spaces, hyphens) into the way it is written in files.

    Raises
    ------
    JournalError
        If it cannot be a trace code: says whether a letter is foreign or misread.
    """
    code = "".join(typed.upper().replace("-", " ").split())
    if valid_trace_code(code):
        return code
    foreign = sorted({letter for letter in code if letter not in ALPHABET})
    if foreign:
        remedy = f"Codes have no {' '.join(foreign)}: look again."
    elif len(code) != LENGTH:
        remedy = f"Codes have {LENGTH} characters."
    else:
        remedy = "Its check character does not agree: one character is misread, or two are swapped."
    raise JournalError(f"{typed!r} is not a trace code", code="journal.not-a-code", remedy=remedy)


def _check_character(body: str) -> str:
    total = sum((place + 2) * ALPHABET.index(letter) for place, letter in enumerate(body))
    return ALPHABET[-total % _BASE]
