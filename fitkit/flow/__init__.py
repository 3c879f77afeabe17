"""The flow room: a part sheet read, worked out and built; nothing here writes a part's files.

- `sheet`        the part sheet: which readings become which part, and how
- `expressions`  a sheet's expressions of features, with units and correlation
- `earlier`      what earlier prints teach: verdicts, sizes measured, sizes that fitted
- `plan`         sheet -> inputs -> plan (targets, drawn sizes) -> part
- `opened`       a record opened again as the sheet that it was printed from
- `built`        a part with its meshes, assembled for views and laid for printing

It strings the rooms above it together and computes nothing itself. Its names arrive on first use.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
