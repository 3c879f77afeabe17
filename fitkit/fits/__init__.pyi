from .chain import (
    Chain as Chain,
    Contributor as Contributor,
    Span as Span,
    chain_between as chain_between,
)
from .chain_sample import (
    ChainSample as ChainSample,
    sample_chain as sample_chain,
)
from .choose import (
    GapChoice as GapChoice,
    choose_gap as choose_gap,
    contradiction as contradiction,
)
from .fasteners import (
    Fastener as Fastener,
    PlasticHold as PlasticHold,
    clearance_hole_mm as clearance_hole_mm,
    fastener as fastener,
    hold_in_plastic as hold_in_plastic,
)
from .figures import (
    chain_figure as chain_figure,
    iso_figure as iso_figure,
    sample_figure as sample_figure,
    verdict_figure as verdict_figure,
)
from .iso286 import (
    Limits as Limits,
    NearestFit as NearestFit,
    StandardFit as StandardFit,
    limits as limits,
    nearest_standard_fit as nearest_standard_fit,
    standard_fit as standard_fit,
    tolerance_grade as tolerance_grade,
)
from .ladder import (
    Ladder as Ladder,
    even_ladder as even_ladder,
    next_ladder as next_ladder,
)
from .pattern import (
    PatternFit as PatternFit,
    pattern_fit as pattern_fit,
    printed_pattern_fit as printed_pattern_fit,
)
from .prior import (
    GapPrior as GapPrior,
    behaviours_of as behaviours_of,
    gap_prior as gap_prior,
)
from .trial import (
    AS_WANTED as AS_WANTED,
    BEHAVIOURS as BEHAVIOURS,
    PAIRS as PAIRS,
    VERDICT_KINDS as VERDICT_KINDS,
    VERDICTS as VERDICTS,
    Trial as Trial,
    VerdictKind as VerdictKind,
    counts_as_fitted as counts_as_fitted,
)
from .verdicts import (
    VerdictModel as VerdictModel,
    learn as learn,
)
