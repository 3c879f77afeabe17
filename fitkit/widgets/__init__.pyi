from .grid import (
    ReadingsGrid as ReadingsGrid,
    readings_grid as readings_grid,
)
from .panel import (
    PartPanel as PartPanel,
    Picked as Picked,
    Preview as Preview,
    part_panel as part_panel,
    preview as preview,
)
from .trial import (
    TrialEntry as TrialEntry,
    trial_entry as trial_entry,
)
