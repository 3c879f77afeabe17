"""The lab notebook: what was printed, from which inputs, how it fitted, and the same part again.

- `codes`: trace codes; `entries`: what records are made of; `records`: what each kind of record
  holds; `versions`: of what shapes a part; `migrate`: old ones read as new;
- `store`: `Journal`, one JSON file a record, written once and whole; `index`: its cache;
- `names`, `plain`, `photos`, `geometry`: file names, plain data, pictures, what makes a part the
  same part;
- `lookup`: tables, filters, success at the first print; `part_history`: one part's prints and what
  changed between them;
- `kept_bodies`: the exact solids of each print, beside its record;
- `breakages`: what broke, how, and how often;
- `judged`: verdicts and measured sizes for the fits and calibration rooms; `spreadsheet` brings in
  trials that were kept elsewhere; `withdrawal` takes a verdict back;
- `remake`: the same files from the record alone, or compensated again;
- `binder`: the journal as one HTML page or PDF; `tag`: the label for the bin.
"""

import lazy_loader

from fitkit.moved import with_moved_names

# The public names are listed once, in the stub beside this file; each arrives on first use.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
__getattr__ = with_moved_names(__name__, __getattr__)
