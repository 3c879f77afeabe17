from .corrections import (
    chord_error as chord_error,
    cooled as cooled,
)
from .flags import (
    Flag as Flag,
)
from .instruments import (
    Instrument as Instrument,
    load_instruments as load_instruments,
)
from .table import (
    ReadingTable as ReadingTable,
)
