"""Before printing: will it print, hold, stay cool, and what does it cost.

`run_checks(part, context)` gives findings, the worst first. One file a check; each has its formulas
as pure functions over numbers or a `Mesh`, and a ``check_...`` that turns them into findings. A
check that lacks what it needs says ``not run, because ...``; it never passes silently. Strengths,
temperatures, times and costs are estimates for choosing a design, never a proof of safety.

`context` what the checks are given; `material` ranges with sources; `finding` what they say. Only
`assembly` may load the CAD kernel, and only when the context lets it.
"""

from fitkit.checks.context import HANDLING, CheckContext, Coat, FitGap, Prices, Use
from fitkit.checks.finding import SEVERITIES, Finding
from fitkit.checks.material import Material, Span, load_material, published_material
from fitkit.checks.run import run_checks

__all__ = [
    "HANDLING",
    "SEVERITIES",
    "CheckContext",
    "Coat",
    "Finding",
    "FitGap",
    "Material",
    "Prices",
    "Span",
    "Use",
    "load_material",
    "published_material",
    "run_checks",
]
