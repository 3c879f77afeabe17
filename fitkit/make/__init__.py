"""The making room: finished parts with their files, findings and records.

- `one`       one part, from its sheet to a folder and a record, or to one message and nothing
- `checking`  what a part is checked against, gathered from its sheet
- `page`      what the dimensioned sheet says
- `child`     a warm child process; `worker` has the newest task win in one
- `plates`    several parts in so many copies on few plates, and what to buy for all
- `exhibit`   an exhibit's file: its parts, which print of each is in place, its state
- `many`      a row a variant, in parallel, taken up again where it stopped
- `cluster`   the same rows over several machines
- `orders`    the calibration coupon and the fit ladder
- `new`       a new part from nothing

Its names arrive on first use.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
