"""The solids room: the kernel's verbs, flat outlines, labels, meshes and pictures; no template.

Layers, each importing only those above it:

- `profiles`   flat outlines as plain numbers, with exact areas; no kernel
- `inset`      outlines drawn in, and the volume of a chamfer along them; no kernel
- `mesh`       closed meshes as arrays; `picture` draws, `plate` lays them on the bed; no kernel
- `bodies`     extrude, revolve, loft, fuse, cut, chamfer, check; loads the kernel at the first call
- `faces`, `terraces`, `bevelled`, `pierced`, `sunk`, `wedges`, `rounded`
               bodies put together face by face where they are prismatic
- `bores`      sections of shafts
- `kernel`     meshes of finished solids; preloading
- `label`      text sunk into a face, in the shipped open font
- `outline`    DXF outlines and STEP bodies brought in

It takes numbers in mm and gives solids, each checked for validity and volume. Importing it loads
neither the kernel nor its heavy files: the names arrive on first use.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
