"""The words of a fit trial: kinds of pair, wanted behaviours, verdicts, and the trial itself.

Verdicts are ordered by gap: too small a gap will not go, too large a one rattles. A gap is the
clearance on the full size (on the diameter, over both sides of a slot) of the printed, finished
parts; a negative gap is interference.
"""

from __future__ import annotations

import difflib
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from fitkit.core.errors import FitError

if TYPE_CHECKING:
    from collections.abc import Sequence

__all__ = [
    "AS_WANTED",
    "BEHAVIOURS",
    "PAIRS",
    "VERDICTS",
    "VERDICT_KINDS",
    "Behaviour",
    "Pair",
    "Trial",
    "Verdict",
    "VerdictKind",
    "as_listed",
    "counts_as_fitted",
    "one_of",
]

Pair = Literal[
    "peg and hole",
    "tab and slot",
    "lid and rim",
    "snap pocket",
    "screw hole",
    "heat-set insert",
    "ball and seat",
    "object in pocket",
]
Behaviour = Literal[
    "rotates freely", "slides", "snug by hand", "press by tool", "permanent interference"
]
Verdict = Literal["will not go", "tight", "as wanted", "loose", "rattles"]

PAIRS: tuple[Pair, ...] = Pair.__args__  # type: ignore[attr-defined]
BEHAVIOURS: tuple[Behaviour, ...] = Behaviour.__args__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictKind:
    """A verdict, with all that is known of it; its place in `VERDICT_KINDS` is its order by gap.

    Attributes
    ----------
    word : str
        As people type it and records keep it.
    sign : str
        One letter that stands for it on a page, so that no meaning hangs on colour alone.
    look : (colour, line, marker)
        In figures, as matplotlib takes them; colours of Okabe and Ito (2008).
    fitted : bool
        Whether a size with this verdict counts as fitted: it is drawn so again.
    """

    word: Verdict
    sign: str
    look: tuple[str, str, str]
    fitted: bool = False


# From too small a gap to too large. The model of `verdicts` has a threshold between each two.
VERDICT_KINDS = (
    VerdictKind(word="will not go", sign="✕", look=("#D55E00", ":", "x")),
    VerdictKind(word="tight", sign="▽", look=("#E69F00", "--", "v")),
    VerdictKind(word="as wanted", sign="●", look=("#009E73", "-", "o"), fitted=True),
    VerdictKind(word="loose", sign="△", look=("#56B4E9", "--", "^")),
    VerdictKind(word="rattles", sign="◇", look=("#0072B2", ":", "s")),
)
VERDICTS: tuple[Verdict, ...] = tuple(kind.word for kind in VERDICT_KINDS)
AS_WANTED: Verdict = next(kind.word for kind in VERDICT_KINDS if kind.fitted)
_FITTED = frozenset(kind.word for kind in VERDICT_KINDS if kind.fitted)

# A through hole smaller than its screw does not let it through; a catch larger than its pocket
# never clicks. Other pairs may be pressed.
_NO_INTERFERENCE: dict[str, str] = {
    "screw hole": "If the screw shall form its own thread, use a pilot hole instead.",
    "snap pocket": "Check the sign: a pocket is larger than its catch.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """How one printed pair fitted.

    Attributes
    ----------
    pair : str
        One of `PAIRS`.
    behaviour : str
        What was wanted, one of `BEHAVIOURS`; the verdict is about this.
    size_mm : float, mm
        Nominal size: diameter, or width over the fitting faces.
    gap_mm : float, mm
        As printed and finished, positive is clearance; measured on the parts if they were, else as
        the printer's profile predicted.
    u_gap_mm : float, mm
        Standard uncertainty of that gap, 0 or more.
    u_lasting_mm : float, mm
        The part of it that the next print of the same sizes shares, because the gap was predicted
        and not measured; at most `u_gap_mm`.
    verdict : str
        One of `VERDICTS`.
    print_code : str
        Trace code of the print, if known.
    note : str

    Raises
    ------
    FitError
        If a word is not in its list, a number is not finite, or the pair forbids the gap.
    """

    pair: str
    behaviour: str
    size_mm: float
    gap_mm: float
    verdict: str
    u_gap_mm: float = 0.03
    print_code: str = ""
    note: str = ""
    u_lasting_mm: float = 0.0

    @property
    def u_fresh_mm(self) -> float:
        """The part of the gap's standard uncertainty that is this print's own, mm."""
        return math.sqrt(max(self.u_gap_mm**2 - self.u_lasting_mm**2, 0.0))

    def __post_init__(self) -> None:
        where = f"trial {self.print_code}".strip()
        one_of(self.pair, PAIRS, "kind of pair", where=where)
        one_of(self.behaviour, BEHAVIOURS, "behaviour", where=where)
        one_of(self.verdict, VERDICTS, "verdict", where=where)
        check_size(self.size_mm, where=where)
        check_gap(self.pair, self.gap_mm, where=where)
        if not (math.isfinite(self.u_gap_mm) and self.u_gap_mm >= 0):
            raise FitError(
                f"the gap's standard uncertainty is {self.u_gap_mm:g} mm",
                where=where,
                code="fits.u-gap",
                remedy="Give 0 mm or more.",
            )
        if not 0 <= self.u_lasting_mm <= self.u_gap_mm * (1 + 1e-9):
            raise FitError(
                f"{self.u_lasting_mm:g} mm of the gap's standard uncertainty of "
                f"{self.u_gap_mm:g} mm are said to last",
                where=where,
                code="fits.u-lasting",
                remedy="Give 0 mm or more, and no more than the whole.",
            )


def one_of(word: str, words: Sequence[str], what: str, *, where: str | None = None) -> None:
    """Refuse a word that is not in its list, and suggest the nearest.

    Raises
    ------
    FitError
        Names the word as typed and all that can be said.
    """
    if word in words:
        return
    near = difflib.get_close_matches(str(word), words, 1)
    meant = f"Did you mean {near[0]!r}? " if near else ""
    raise FitError(
        f"{word!r} is not a {what}",
        where=where,
        code="fits.word",
        remedy=f"{meant}There are: {', '.join(words)}.",
    )


def as_listed(word: str, words: Sequence[str]) -> str:
    """Give a typed word as its list writes it, whatever its case and blanks.

    A word that is not in the list comes back as it was typed, for `one_of` to refuse.

    Examples
    --------
    >>> as_listed(" As  WANTED ", VERDICTS)
    'as wanted'
    """
    plain = " ".join(str(word).split()).casefold()
    return next((item for item in words if item.casefold() == plain), word)


def counts_as_fitted(verdict: str) -> bool:
    """Tell whether a size with this verdict counts as fitted."""
    return verdict in _FITTED


def check_size(size_mm: float, *, where: str | None = None) -> None:
    """Refuse a size that cannot be.

    Raises
    ------
    FitError
        If it is not finite and above 0.
    """
    if not (math.isfinite(size_mm) and size_mm > 0):
        raise FitError(
            f"the size is {size_mm:g} mm",
            where=where,
            code="fits.size",
            remedy="Give the nominal size, a number above 0 mm.",
        )


def check_gap(pair: str, gap_mm: float, *, where: str | None = None) -> None:
    """Refuse a gap that is not a finite number, or that the pair forbids.

    Raises
    ------
    FitError
        If it is not finite, or negative for a pair without interference.
    """
    if not math.isfinite(gap_mm):
        raise FitError(
            f"the gap is {gap_mm:g} mm",
            where=where,
            code="fits.gap",
            remedy="Give a finite number of millimetres.",
        )
    if gap_mm < 0 and pair in _NO_INTERFERENCE:
        raise FitError(
            f"a gap of {gap_mm:g} mm is interference, which a {pair} cannot have",
            where=where,
            code="fits.interference",
            remedy=_NO_INTERFERENCE[pair],
        )


def allows_interference(pair: str) -> bool:
    """Tell whether a gap of this pair may be negative."""
    return pair not in _NO_INTERFERENCE
