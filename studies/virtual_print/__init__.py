"""A printer and calipers of known habits, to find out whether expected sizes and their ± are true.

`machine` prints shapes and `calipers` reads them, both written from the physics and sharing no code
with `fitkit.calibration`; `parts` are what is printed, `ways` are the ways of choosing what to
draw, and `table` sets them side by side. ``python -m studies.virtual_print`` prints the table.

Two classes of machines: *plain* ones, whose habits a simple model can hold, and *odd* ones with
habits that no simple model has: another law for holes, sizes that bend with length, a line width
that changes over the bed, thin walls that bow, closed pockets unlike gaps between ribs, seams, a
line width that drifts. The habits were chosen before the model was run on them and are not what
its prior was learned from; only the drift was made smaller after a first run, in which prints were
numbered wrongly.
"""
