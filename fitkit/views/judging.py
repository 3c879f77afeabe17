"""What to type once a print is tried."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.typed import command, quoted

if TYPE_CHECKING:
    from fitkit.journal.records import PrintRecord

__all__ = ["judging"]


def judging(record: PrintRecord, *options: str) -> str:
    """Say what to type once a print is tried; empty if nothing about it can be judged.

    Parameters
    ----------
    record : PrintRecord
    *options
        Further words of the command, such as where the journal is.

    Returns
    -------
    str
        Lines of text.
    """
    from fitkit.fits import AS_WANTED, VERDICTS

    fits = [fit for fit in record.fits if fit.sense and fit.pair] or list(record.fits)
    if not fits:
        return ""
    first = fits[0]
    # A size that nothing goes into or round cannot be tight; it can be right.
    word = VERDICTS[VERDICTS.index(AS_WANTED) - 1] if first.sense else AS_WANTED
    lines = [
        "when it is printed and tried, write down how it fits, such as",
        f"  {command('fitted', record.code, f'{first.name}={word}', *options)}",
        f"  the verdicts are: {', '.join(VERDICTS)}",
    ]
    if first.mark:
        marked = quoted(f"{first.mark}={word}")
        lines.append(f"  the mark on the print does for a name: {marked}")
    return "\n".join(lines)
