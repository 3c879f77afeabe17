"""The parts room: templates that turn sizes into solids, and the few verbs they are built from.

Layers, each importing only those above it:

- `measuring`  what calipers read for a template, and the parameters that follow; no kernel
- `contract`   what a template is and what it builds; no kernel
- `given_file` parameters that name a file and hold its content; no kernel
- `profiles`   flat outlines as plain numbers, with exact areas; no kernel
- `inset`      outlines drawn in, and the volume of a chamfer along them; no kernel
- `solids`     extrude, revolve, loft, fuse, cut, chamfer, check; loads the kernel at the first call
- `kernel`     meshes, feature edges and print poses of finished solids; preloading
- `label`      text sunk into a face, in the shipped open font
- `outline`    DXF outlines and STEP bodies brought in
- `trust`      template files of one's own: their text, its hash, and whether it may run
- `own_file`   the template that such a file holds
- `registry`   templates by title, loaded when first asked for: shipped, of installed packages, and
  a notebook's own, which join by `register`
- `holder`     what a holder is: how one measured thing is held; `holders/` has them
- `layout`     where several things stand, as numbers
- `carrier`    what a carrier is: a template that gives places to things; `carriers/` has them
- one file a template; the board case and the calibration coupon have a folder each

Importing the room loads none of the heavy layers: its names arrive on first use.
"""

import lazy_loader

from fitkit.moved import with_moved_names

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__getattr__ = with_moved_names(__name__, __getattr__)
