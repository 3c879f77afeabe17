"""The widgets room: thin views in JupyterLab of objects that work without them.

- `panel`, `panel_model`, `fields`  a template's parameters, what follows from them, their controls
- `scene`, `gaps`, `tasks`          what a preview draws, made where the solids are
- `still`                           the picture that stays when nothing is live
- `grid`, `grid_model`              readings typed, pasted, undone and saved
- `trial`                           how a print fitted, and the curve that this moves
- `static`                          the views themselves, built from ``web/`` and shipped

Importing the room loads neither the CAD kernel nor ipywidgets: its names arrive on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.widgets.grid import ReadingsGrid, readings_grid
    from fitkit.widgets.panel import PartPanel, Preview, part_panel, preview
    from fitkit.widgets.trial import TrialEntry, trial_entry

_HOMES = {
    "PartPanel": "panel",
    "Preview": "panel",
    "ReadingsGrid": "grid",
    "TrialEntry": "trial",
    "part_panel": "panel",
    "preview": "panel",
    "readings_grid": "grid",
    "trial_entry": "trial",
}

__all__ = [
    "PartPanel",
    "Preview",
    "ReadingsGrid",
    "TrialEntry",
    "part_panel",
    "preview",
    "readings_grid",
    "trial_entry",
]

__getattr__ = names_from(__name__, _HOMES)
