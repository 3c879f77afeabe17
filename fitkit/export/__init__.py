"""The export room: from a built part to files that read back as they should.

`threemf` writes the file to print from, `step` the exact solids, `stl` meshes for old tools,
`sheet` the dimensioned page; `formats` is the table of them all, to which `register_format` adds.
Others need `write_files`, and `place`, which gives the meshes as they will lie on the bed.
"""

import lazy_loader

from fitkit.moved import with_moved_names

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__getattr__ = with_moved_names(__name__, __getattr__)
