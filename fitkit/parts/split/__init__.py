"""A body split in two by a plane, with a joint: for parts that are larger than the bed.

The split is a step after a part is built, as a trial piece is. Planes and joints count in the pose
in which the body is printed, so that each half prints as the whole would have: standing joints
(dovetails, along the upright) need no support. Both halves keep their place in the assembly.

- ``dovetail``: tails seen from above, in an upright plane; put together by sliding along the
  upright. Tails and sockets stand beside the middle, so that no half goes in turned round.
- ``dowels``: two bought pins of two diameters, glued; the two diameters key the halves.
- ``tongue and groove``: a tongue all along a level plane, within its walls. A notch in it
  on the front side keys the halves.

The joint's sizes are fit sizes as any other: compensated, with a gap between tail and socket.
Two screws may go across an upright plane besides. Left out: slanted planes, more than two pieces.

- `plan`       where and how, and the joint's sizes
- `place`      the body as it lies, with the plane through it
- `proposing`  what is left open
- `dovetail`, `dowels`, `tongue`  a file a joint
- `screwed`    two screws across the plane, besides the joint
- `halves`     the halves, and the part with them
- `template`   all of it together
"""

from __future__ import annotations

from fitkit.parts.split.plan import BEFORE, Joint, Split, SplitSizes, split_sizes
from fitkit.parts.split.proposing import resolved
from fitkit.parts.split.template import SplitTemplate, split_part

__all__ = [
    "BEFORE",
    "Joint",
    "Split",
    "SplitSizes",
    "SplitTemplate",
    "resolved",
    "split_part",
    "split_sizes",
]
