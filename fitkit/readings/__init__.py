"""What was read, with what, and which doubts there are: nothing is averaged here.

`table` holds `ReadingTable`, checked by `schema`; `cells` brings files and pasted blocks to rows of
text; `flags` finds readings to doubt; `instruments` loads the workshop's calipers; `corrections`
are the plain formulas for zero error, jaws in round holes, and warm parts. Averages, uncertainty
and derived features are the business of `fitkit.stats`.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
