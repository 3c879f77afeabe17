"""What can be decided about a doubted reading; apart from the tables, to cost no import."""

from __future__ import annotations

from typing import Literal

__all__ = ["DECISIONS", "Decision"]

# It counts and is not doubted any more; it does not count; it does not count, and the feature is to
# be read again.
Decision = Literal["keep", "leave-out", "again"]
DECISIONS: tuple[Decision, ...] = ("keep", "leave-out", "again")
