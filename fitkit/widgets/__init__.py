"""The widgets room: thin views in JupyterLab of objects that work without them.

- `panel`, `panel_model`, `fields`  a template's parameters, what follows from them, their controls
- `scene`, `gaps`, `tasks`          what a preview draws, made where the solids are
- `still`                           the picture that stays when nothing is live
- `grid`, `grid_model`              readings typed, pasted, undone and saved
- `trial`                           how a print fitted, and the curve that this moves
- `static`                          the views themselves, built from ``web/`` and shipped

Importing the room loads neither the CAD kernel nor ipywidgets: its names arrive on first use.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
