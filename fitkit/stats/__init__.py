"""Best values with their uncertainty: from readings to an `Estimate`, and the doubts about it.

`estimate` is the number that the rest of fitkit carries; `average` makes it from readings;
`derived` puts estimates together (centre distances, walls, offsets); `outliers`, `places` and
`repeatability` judge the readings; `montecarlo` is a second way to propagate; `gauge` splits the
spread of a study into its parts; `repeats` plans how many readings to take; `summary` averages
large tables at once.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
