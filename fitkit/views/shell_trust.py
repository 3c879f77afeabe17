"""The shell's question before a template file runs: asked once, by name and hash; no by default.

A script cannot be asked, so it says yes beforehand by ``--trust-template``, or gets one message.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, TypeVar

import click

from fitkit.core.errors import PartError
from fitkit.parts.trust import TrustError
from fitkit.views.output import say

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["asking", "trust_option"]

_T = TypeVar("_T")

trust_option = click.option(
    "--trust-template",
    "trust",
    is_flag=True,
    help="Say yes to running the template file (its code) without being asked.",
)


def asking(act: Callable[[], _T], *, trust: bool) -> _T:
    """Do a thing that may need a yes to a template file; ask for it and do the thing again.

    Parameters
    ----------
    act : callable
        Raises `TrustError` before it has written anything.
    trust : bool
        Whether the user has said yes beforehand.

    Returns
    -------
    object
        What `act` gives.

    Raises
    ------
    TrustError
        If there is nobody to ask.
    PartError
        If the answer is no.
    """
    from fitkit.parts.trust import is_allowed, trust_template

    while True:
        try:
            return act()
        except TrustError as error:
            # A second question about one text would mean that the yes was not heard.
            if is_allowed(error.template.sha256) or not (trust or sys.stdin.isatty()):
                raise
            if not (trust or _says_yes(error)):
                raise PartError(
                    "the template file was not run, so nothing was made",
                    where=error.where,
                    code="views.template-refused",
                    remedy="Give the command again once you have read the file.",
                ) from None
            trust_template(error.template)


def _says_yes(error: TrustError) -> bool:
    from fitkit.parts.trust import SHOWN_DIGITS, printable

    say(f"{error.where}: {error.what}.", err=True)
    place = printable(error.read)
    say(f"Its code would run with all your rights. Read it first: {place}", err=True)
    name, digits = printable(error.template.name), error.template.sha256[:SHOWN_DIGITS]
    try:
        return click.confirm(
            f"Run {name} ({digits}…), now and later, as long as it stays as it is?",
            default=False,
            err=True,
        )
    except click.Abort:  # the end of what is typed is not a yes
        say(err=True)
        return False
