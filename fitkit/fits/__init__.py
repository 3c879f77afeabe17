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

from typing import TYPE_CHECKING

from fitkit.fits.trial import BEHAVIOURS, PAIRS, VERDICTS, Trial
from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.fits.chain import Chain, Contributor, Span, chain_between
    from fitkit.fits.chain_sample import ChainSample, sample_chain
    from fitkit.fits.choose import GapChoice, choose_gap, contradiction
    from fitkit.fits.fasteners import (
        Fastener,
        PlasticHold,
        clearance_hole_mm,
        fastener,
        hold_in_plastic,
    )
    from fitkit.fits.figures import chain_figure, iso_figure, sample_figure, verdict_figure
    from fitkit.fits.iso286 import (
        Limits,
        NearestFit,
        StandardFit,
        limits,
        nearest_standard_fit,
        standard_fit,
        tolerance_grade,
    )
    from fitkit.fits.ladder import Ladder, even_ladder, next_ladder
    from fitkit.fits.pattern import PatternFit, pattern_fit
    from fitkit.fits.prior import GapPrior, behaviours_of, gap_prior
    from fitkit.fits.verdicts import VerdictModel, learn

_LAZY = {
    "Chain": "chain",
    "Contributor": "chain",
    "Span": "chain",
    "chain_between": "chain",
    "ChainSample": "chain_sample",
    "sample_chain": "chain_sample",
    "GapChoice": "choose",
    "choose_gap": "choose",
    "contradiction": "choose",
    "Fastener": "fasteners",
    "PlasticHold": "fasteners",
    "clearance_hole_mm": "fasteners",
    "fastener": "fasteners",
    "hold_in_plastic": "fasteners",
    "chain_figure": "figures",
    "iso_figure": "figures",
    "sample_figure": "figures",
    "verdict_figure": "figures",
    "Limits": "iso286",
    "NearestFit": "iso286",
    "StandardFit": "iso286",
    "limits": "iso286",
    "nearest_standard_fit": "iso286",
    "standard_fit": "iso286",
    "tolerance_grade": "iso286",
    "Ladder": "ladder",
    "even_ladder": "ladder",
    "next_ladder": "ladder",
    "PatternFit": "pattern",
    "pattern_fit": "pattern",
    "GapPrior": "prior",
    "behaviours_of": "prior",
    "gap_prior": "prior",
    "VerdictModel": "verdicts",
    "learn": "verdicts",
}

__all__ = [
    "BEHAVIOURS",
    "PAIRS",
    "VERDICTS",
    "Chain",
    "ChainSample",
    "Contributor",
    "Fastener",
    "GapChoice",
    "GapPrior",
    "Ladder",
    "Limits",
    "NearestFit",
    "PatternFit",
    "PlasticHold",
    "Span",
    "StandardFit",
    "Trial",
    "VerdictModel",
    "behaviours_of",
    "chain_between",
    "chain_figure",
    "choose_gap",
    "clearance_hole_mm",
    "contradiction",
    "even_ladder",
    "fastener",
    "gap_prior",
    "hold_in_plastic",
    "iso_figure",
    "learn",
    "limits",
    "nearest_standard_fit",
    "next_ladder",
    "pattern_fit",
    "sample_chain",
    "sample_figure",
    "standard_fit",
    "tolerance_grade",
    "verdict_figure",
]

__getattr__ = names_from(__name__, _LAZY)
