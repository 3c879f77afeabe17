"""The export room: from a built part to files that read back as they should.

`threemf` writes the file to print from, `step` the exact solids, `stl` meshes for old tools,
`sheet` the dimensioned page, `plate` says where bodies lie on the bed. Others need `write_bodies`
and `render_sheet`; `place` gives the meshes as they will lie on the bed, which checks look at too.
"""

from __future__ import annotations

from fitkit.export.bodies import file_name, place, write_bodies
from fitkit.export.sheet import SheetPage, SheetRow, render_sheet
from fitkit.export.stl import stl_bytes
from fitkit.export.threemf import PlacedMesh, read_3mf, write_3mf
from fitkit.plate import Plate, lay_out

__all__ = [
    "PlacedMesh",
    "Plate",
    "SheetPage",
    "SheetRow",
    "file_name",
    "lay_out",
    "place",
    "read_3mf",
    "render_sheet",
    "stl_bytes",
    "write_3mf",
    "write_bodies",
]
