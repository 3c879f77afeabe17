"""Before printing: will it print, hold, stay cool, and what does it cost.

`run_checks(part, context)` gives findings, the worst first. One file a check; each has its formulas
as pure functions over numbers or a `Mesh`, and a ``check_...`` that turns them into findings. A
check that lacks what it needs says ``not run, because ...``; it never passes silently. Strengths,
temperatures, times and costs are estimates for choosing a design, never a proof of safety.

`context` what the checks are given; `material` ranges with sources; `finding` what they say. Only
`assembly` may load the CAD kernel, and only when the context lets it.
"""

import lazy_loader

from fitkit.moved import with_moved_names

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__getattr__ = with_moved_names(__name__, __getattr__)
