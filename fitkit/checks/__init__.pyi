from .context import (
    HANDLING as HANDLING,
    Broken as Broken,
    CheckContext as CheckContext,
    Coat as Coat,
    FitGap as FitGap,
    Prices as Prices,
    Use as Use,
)
from .material import (
    Material as Material,
    Span as Span,
    load_material as load_material,
    published_material as published_material,
)
from .run import (
    in_turn as in_turn,
    run_checks as run_checks,
)
