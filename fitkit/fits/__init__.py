"""Fits: which gap makes it slide, what the trials teach, what stacks up.

- `trial`: the words (pairs, behaviours, verdicts) and `Trial`; `prior`: the bands before any trial;
- `verdicts`: the model of verdicts against gap; `choose`: the gap to aim for; `ladder`: the gaps to
  print next; `simulate`: printers of known habits, to test both;
- `iso286`: standard limits and fits; `fasteners`: clearance holes, heads, nuts, pilots, inserts;
- `chain`: one-dimensional tolerance chains; `pattern`: will all the screws go in;
- `figures`: the pictures, drawn without any plotting state.

A gap is always that of the printed, finished parts, on the full size, positive for clearance.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
