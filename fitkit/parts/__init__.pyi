from .contract import (
    Angle as Angle,
    Area as Area,
    Body as Body,
    Boss as Boss,
    Bridge as Bridge,
    FitSize as FitSize,
    KeyDimension as KeyDimension,
    Length as Length,
    Lug as Lug,
    Part as Part,
    SizeSet as SizeSet,
    SnapArm as SnapArm,
    Template as Template,
    Vent as Vent,
    Wall as Wall,
    size as size,
)
from .forms import (
    Rules as Rules,
    choice as choice,
)
from .measuring import (
    FromReadings as FromReadings,
    Measuring as Measuring,
    Reading as Reading,
)
from .pose import (
    print_pose as print_pose,
)
from .registry import (
    register as register,
    template as template,
    templates as templates,
)
from .trust import (
    TrustError as TrustError,
    trust_template as trust_template,
)
