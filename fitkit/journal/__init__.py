"""The lab notebook: what was printed, from which inputs, how it fitted, and the same part again.

- `codes`: trace codes; `entries`: what records are made of; `records`: what each kind of record
  holds; `versions`: of what shapes a part; `migrate`: old ones read as new;
- `store`: `Journal`, one JSON file a record, written once and whole; `index`: its cache;
- `names`, `plain`, `photos`, `geometry`: file names, plain data, pictures, what makes a part the
  same part;
- `lookup`: tables, filters, success at the first print; `part_history`: one part's prints and what
  changed between them;
- `judged`: verdicts and measured sizes for the fits and calibration rooms; `spreadsheet` brings in
  trials that were kept elsewhere; `withdrawal` takes a verdict back;
- `remake`: the same files from the record alone, or compensated anew;
- `binder`: the journal as one HTML page or PDF; `tag`: the label for the bin.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.journal.codes import normal_code, trace_code, valid_trace_code
from fitkit.lazy import names_from

if TYPE_CHECKING:
    from fitkit.journal.binder import write_html, write_pdf
    from fitkit.journal.entries import FitEntry, TrialEntry
    from fitkit.journal.judged import drift_check, drift_points, trial_of, trials
    from fitkit.journal.lookup import first_print_success, table
    from fitkit.journal.part_history import history
    from fitkit.journal.records import (
        CouponRecord,
        MachineRecord,
        NoteRecord,
        PrintRecord,
        TrialRecord,
    )
    from fitkit.journal.remake import compensated_anew, rebuild, reprint
    from fitkit.journal.spreadsheet import bring_in
    from fitkit.journal.store import Journal
    from fitkit.journal.tag import tag_svg
    from fitkit.journal.withdrawal import withdraw

# Public names by the file they live in. No file is called as a function is, since importing it
# would then hide the function.
_HOMES = {
    "CouponRecord": "records",
    "FitEntry": "entries",
    "Journal": "store",
    "MachineRecord": "records",
    "NoteRecord": "records",
    "PrintRecord": "records",
    "TrialEntry": "entries",
    "TrialRecord": "records",
    "bring_in": "spreadsheet",
    "compensated_anew": "remake",
    "drift_check": "judged",
    "drift_points": "judged",
    "first_print_success": "lookup",
    "history": "part_history",
    "rebuild": "remake",
    "reprint": "remake",
    "table": "lookup",
    "tag_svg": "tag",
    "trial_of": "judged",
    "trials": "judged",
    "withdraw": "withdrawal",
    "write_html": "binder",
    "write_pdf": "binder",
}

__all__ = [
    "CouponRecord",
    "FitEntry",
    "Journal",
    "MachineRecord",
    "NoteRecord",
    "PrintRecord",
    "TrialEntry",
    "TrialRecord",
    "bring_in",
    "compensated_anew",
    "drift_check",
    "drift_points",
    "first_print_success",
    "history",
    "normal_code",
    "rebuild",
    "reprint",
    "table",
    "tag_svg",
    "trace_code",
    "trial_of",
    "trials",
    "valid_trace_code",
    "withdraw",
    "write_html",
    "write_pdf",
]

__getattr__ = names_from(__name__, _HOMES)
