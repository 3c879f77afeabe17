"""Loaded once by the server that build processes are forked from, so that each begins warm.

Importing this file takes seconds and loads the CAD kernel; nothing but that server does it.
"""

from __future__ import annotations

import GTC  # noqa: F401
import pandas as pd  # noqa: F401
import scipy.special  # noqa: F401

import fitkit.make.one
import fitkit.stats.average  # noqa: F401
from fitkit.parts.registry import shipped, template
from fitkit.solids import kernel_ready
from fitkit.solids.bodies import cut, extrude
from fitkit.solids.profiles import circle, rectangle

__all__: list[str] = []

kernel_ready(wait=True)
for title in shipped():  # an installed package that fails must not leave all of them cold
    template(title)
# The kernel sets much up at its first use. No meshing here: it starts the kernel's threads, which a
# fork leaves behind, and the first mesh of a build process would wait for them for ever.
cut(extrude(rectangle(10, 10), 5), extrude(circle(3), 5))
