from .binder import (
    write_html as write_html,
    write_pdf as write_pdf,
)
from .breakages import (
    Breakage as Breakage,
    breakages as breakages,
    broke as broke,
)
from .codes import (
    normal_code as normal_code,
    trace_code as trace_code,
    valid_trace_code as valid_trace_code,
)
from .entries import (
    FitEntry as FitEntry,
    TrialEntry as TrialEntry,
)
from .judged import (
    Fitted as Fitted,
    drift_check as drift_check,
    drift_points as drift_points,
    fitted_sizes as fitted_sizes,
    judged_entries as judged_entries,
    trial_of as trial_of,
    trials as trials,
)
from .lookup import (
    first_print_success as first_print_success,
    table as table,
)
from .part_history import (
    history as history,
)
from .records import (
    CouponRecord as CouponRecord,
    MachineRecord as MachineRecord,
    NoteRecord as NoteRecord,
    PrintRecord as PrintRecord,
    TrialRecord as TrialRecord,
)
from .spreadsheet import (
    bring_in as bring_in,
)
from .store import (
    Journal as Journal,
)
from .tag import (
    tag_svg as tag_svg,
)
from .withdrawal import (
    withdraw as withdraw,
)
