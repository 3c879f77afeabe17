r"""Numbers as a workbook's cell shows them: with the decimals and the words of its number format.

What stands beside the number on the screen is part of what a person has read there: a cell of the
format ``0.00\ "in"`` holds 1.25 and shows ``1.25 in``. Source of the codes: ECMA-376, part 1,
18.8.31 (numFmts). Left out: fractions and exponents, which are given as the plain number, colours,
and the thousands marks of the screen.
"""

from __future__ import annotations

import re

__all__ = ["as_shown"]

_TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|[_*].|\[\$(?P<sign>[^\]-]*)[^\]]*\]|\[[^\]]*\]'
    r"|(?P<number>General|[0#?][0#?,.]*|\.[0#?]+)|(?P<exponent>E[+-]0+|/\s*[\d?#]+)"
    r"|(?P<percent>%)|(?P<plain>.)",
    re.DOTALL | re.IGNORECASE,
)


def as_shown(value: float, form: str) -> str:
    r"""Write a number with the decimals, the percent sign and the words that its format shows.

    Parameters
    ----------
    value : float
    form : str
        Number format of the cell, as in the workbook.

    Returns
    -------
    str
        Words stand on the side on which they are shown. A fraction, or a format with a condition,
        gives the plain number.

    Examples
    --------
    >>> as_shown(1.25, '0.000" in"'), as_shown(0.1234, "0.0%"), as_shown(12.5, "General")
    ('1.250 in', '12.3%', '12.5')
    >>> as_shown(1.25, r"0.00\ \i\n"), as_shown(1300, "0.0,")
    ('1.25 in', '1.3 thousand')
    >>> as_shown(-1.2, "0.0;[Red](0.0)")
    '-1.2'
    """
    if _CONDITION.search(form):
        return f"{value:.12g}"
    part, shown = _section(form, value)
    before, behind, number = "", "", ""
    for match in _TOKEN.finditer(part):
        if match["exponent"]:
            return f"{value:.12g}"
        if match["percent"]:
            shown *= 100.0
        if match["number"] and not number:
            number = match["number"]
            continue
        text = next((match[kind] for kind in _SHOWN if match[kind] is not None), "")
        before, behind = (before, behind + text) if number else (before + text, behind)
    if not number:
        return f"{value:.12g}"
    if number.endswith(","):  # each comma at the end shows a thousandth
        shown /= 1000.0 ** (len(number) - len(number.rstrip(",")))
        behind = f" thousand{behind}"
    if number.casefold() == "general":
        text = f"{shown:.12g}"
    else:
        decimals = number.rstrip(",").partition(".")[2]
        text = f"{shown:.{len(decimals)}f}" if decimals else f"{shown:.12g}"
        for sign in reversed(decimals):  # the last digits are shown only if they are not zero
            if sign == "0" or not text.endswith("0"):
                break
            text = text[:-1].rstrip(".")
    if "(" in before and ")" in behind:  # how accounts show what is below zero
        before, behind = before.replace("(", "-", 1), behind.replace(")", "", 1)
    return f"{before}{text}{behind}".strip()


_SHOWN = ("quoted", "escaped", "sign", "percent", "plain")
_CONDITION = re.compile(r"\[[<>=]")


def _section(form: str, value: float) -> tuple[str, float]:
    """Give the part of a format that is for this value, and the value that it writes.

    The second part is for what is below zero, and writes its sign itself.
    """
    parts = re.findall(r'(?:"[^"]*"|\\.|[^;"\\])+', form) or [""]
    if value < 0 and len(parts) > 1:
        return parts[1], -value
    if value == 0 and len(parts) > 2:
        return parts[2], value
    return parts[0], value
