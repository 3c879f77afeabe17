"""The drawings room: dimensioned drawings of a part's bodies, as lines and words on paper.

It takes a built part and what goes into the title block, and gives `Drawing`s: plain lines, circles
and words in mm of paper, which writers turn into SVG, PDF and DXF. It asks the kernel for what is
seen, hidden and cut, and places dimensions so that no words lie on others.

- `elements`    lines, circles and words, and how each kind of line looks
- `views`       the directions to look from, where each view goes, and which dimension it shows
- `placing`     dimensions round a view, none on another
- `drawing`     one body: views, section, dimensions, title block, scale and paper
- `jaws`        where calipers go for a size, as a small picture
- `maps`        numbered places of a part, seen from above
- `svg`, `pdf`, `dxf`   writers

It promises that every dimension shown is a key dimension of the part, or an outside size of the
body, at the length that the solid has. Left out are tolerances, surface marks and screw threads.
"""

from __future__ import annotations

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
