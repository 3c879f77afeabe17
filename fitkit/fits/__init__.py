"""Fits: which gap makes it slide, what the trials teach, what stacks up.

- `trial`: the words (pairs, behaviours, verdicts) and `Trial`; `prior`: the bands before any trial;
- `verdicts`: the model of verdicts against gap; `choose`: the gap to aim for; `ladder`: the gaps to
  print next; `simulate`: printers of known habits, to test both;
- `iso286`: standard limits and fits; `fasteners`: clearance holes, heads, nuts, pilots, inserts;
- `chain`: one-dimensional tolerance chains; `pattern`: will all the screws go in;
- `figures`: the pictures, drawn without any plotting state.

A gap is always that of the printed, finished parts, on the full size, positive for clearance.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from fitkit.fits.trial import BEHAVIOURS, PAIRS, VERDICTS, Trial

if TYPE_CHECKING:
    from fitkit.fits.choose import GapChoice, choose_gap
    from fitkit.fits.prior import GapPrior, behaviours_of, gap_prior

_LAZY = {
    "GapChoice": "choose",
    "GapPrior": "prior",
    "behaviours_of": "prior",
    "choose_gap": "choose",
    "gap_prior": "prior",
}

__all__ = [
    "BEHAVIOURS",
    "PAIRS",
    "VERDICTS",
    "GapChoice",
    "GapPrior",
    "Trial",
    "behaviours_of",
    "choose_gap",
    "gap_prior",
]


def __getattr__(name: str) -> Any:
    """Load the file that a name lives in on first use."""
    if name in _LAZY:
        return getattr(import_module(f"fitkit.fits.{_LAZY[name]}"), name)
    raise AttributeError(f"module 'fitkit.fits' has no attribute {name!r}")
