"""What this printer does to drawn sizes: coupons, models, profiles.

`model` names the terms; `coupon` lays out what to print and measure, `choose` picks its sizes;
`fit` finds the terms from readings; `profile` predicts printed sizes from them, `profile_file`
keeps them as TOML, `generic` stands in where nothing was measured; `history` merges, compares and
ages profiles; `learned` adds what sizes measured on later prints teach; `figures` draws them.
Nothing here loads the CAD kernel; statistics and plotting libraries come with their first use.
"""

import lazy_loader

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
