"""The board case: tray and lid round a circuit board, with ports, vents, standoffs and lugs.

Each file imports only those above it:

- `practice`    sizes that rest on common practice
- `carried`     what another carrier puts into the same shell
- `parameters`  what a user types
- `levels`, `sizes`, `openings`  where things are, as numbers and flat outlines; what must fit
- `posts`       where the lid's posts hold a board down
- `rules`       what is refused in words, and what is doubtful
- `form`        all of these together: the case as numbers, no kernel
- `lugs`        where the ears stand
- `shell`, `walls`, `sliding`  pieces that tray and lid share
- `tray`, `lid`, `ghosts`  the solids
- `numbers`     what checks are told
- `build`       the part
- `template`    all of it under one name
"""

from __future__ import annotations

from fitkit.parts.designs.board_case.parameters import Cable, Hole, Port, Window
from fitkit.parts.designs.board_case.template import BoardCase

__all__ = ["BoardCase", "Cable", "Hole", "Port", "Window"]
