"""What can be decided about a doubted reading; apart from the tables, to cost no import."""

from __future__ import annotations

import re
from typing import Literal

__all__ = ["AGAIN", "DECISIONS", "Decision", "again_text"]

# It counts and is not doubted any more; it does not count; it does not count, and the feature is to
# be read again.
Decision = Literal["keep", "leave-out", "again"]
DECISIONS: tuple[Decision, ...] = ("keep", "leave-out", "again")
# How the reason of a reading begins that is to be taken again, with the number of the feature's
# readings when that was decided: once there are more, nobody has to be reminded.
AGAIN = re.compile(r"read again \((\d+) readings? then\)")


def again_text(readings: int, reason: str) -> str:
    """Write why a reading does not count until it has been taken again.

    Parameters
    ----------
    readings : int
        How many the feature has now.
    reason : str

    Returns
    -------
    str
        What stands under ``left_out``.

    Examples
    --------
    >>> again_text(3, "the jaws were tilted")
    'read again (3 readings then): the jaws were tilted'
    """
    return f"read again ({readings} reading{'' if readings == 1 else 's'} then): {reason}"
