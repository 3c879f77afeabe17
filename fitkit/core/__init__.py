"""The ground that every room stands on; it imports nothing else of fitkit.

- `errors`      the one family of errors: what is wrong, where, what to do
- `units`       lengths and angles as people type them, to floats in mm and degrees and back
- `expanded`    the one rule for ± at 95 %
- `format`      the one way to write a size with its doubt, and the row of a fit
- `tables`      tables of text cells from .csv, .tsv and .xlsx
- `sizes`       kinds of size, as printers err on them, and axes
- `finding`     what a check found
- `files`       files that are there whole or not at all; TOML files that others wrote
- `given_file`  parameters that name a file and hold its content
- `chances`, `notes`, `typed`  chances in words; notes said once; commands as this user types them
- `moved`       old names, for one release
"""
