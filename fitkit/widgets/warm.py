"""What the panel's build process finds loaded, beside all that makes parts."""

from __future__ import annotations

import fitkit.make.warm
import fitkit.widgets.draft
import fitkit.widgets.tasks  # noqa: F401

__all__: list[str] = []
