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
- one file a template; the board case and the calibration coupon have a folder each

Importing the room loads none of the heavy layers: its names arrive on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.parts.contract import (
        Angle,
        Body,
        FitSize,
        KeyDimension,
        Length,
        Part,
        Template,
        size,
    )
    from fitkit.parts.given_file import GivenFile, file_parameter
    from fitkit.parts.kernel import kernel_ready, print_pose, tessellate
    from fitkit.parts.registry import register, template, templates
    from fitkit.parts.trust import trust_template

_HOMES = {
    "Angle": "contract",
    "Body": "contract",
    "FitSize": "contract",
    "KeyDimension": "contract",
    "Length": "contract",
    "Part": "contract",
    "Template": "contract",
    "size": "contract",
    "GivenFile": "given_file",
    "file_parameter": "given_file",
    "kernel_ready": "kernel",
    "print_pose": "kernel",
    "tessellate": "kernel",
    "register": "registry",
    "template": "registry",
    "templates": "registry",
    "trust_template": "trust",
}

__all__ = [
    "Angle",
    "Body",
    "FitSize",
    "GivenFile",
    "KeyDimension",
    "Length",
    "Part",
    "Template",
    "file_parameter",
    "kernel_ready",
    "print_pose",
    "register",
    "size",
    "template",
    "templates",
    "tessellate",
    "trust_template",
]

__getattr__ = names_from(__name__, _HOMES)
