from .average import (
    Expansion as Expansion,
    estimate as estimate,
    estimates as estimates,
)
from .derived import (
    agreement as agreement,
    centre_distance as centre_distance,
    port_offset as port_offset,
    wall as wall,
)
from .figures import (
    study_figure as study_figure,
)
from .gauge import (
    GaugeStudy as GaugeStudy,
    crossed_study as crossed_study,
    one_way_study as one_way_study,
)
from .montecarlo import (
    MonteCarlo as MonteCarlo,
    disagreement as disagreement,
    propagate as propagate,
)
from .outliers import (
    OutlierTest as OutlierTest,
    grubbs as grubbs,
    outlier_flags as outlier_flags,
    robust as robust,
)
from .repeatability import (
    Repeatability as Repeatability,
    pooled_repeatability as pooled_repeatability,
)
from .repeats import (
    repeats_needed as repeats_needed,
)
from .summary import (
    Summary as Summary,
    summarise as summarise,
)
from .uncertainty import (
    BudgetRow as BudgetRow,
    Estimate as Estimate,
    Source as Source,
)
