from .carrier import (
    Carrier as Carrier,
    Pose as Pose,
    placed_levels as placed_levels,
    placed_piece as placed_piece,
)
from .contract import (
    Angle as Angle,
    Area as Area,
    Body as Body,
    Boss as Boss,
    Bridge as Bridge,
    Buy as Buy,
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
from .holder import (
    Base as Base,
    Fixture as Fixture,
    Holder as Holder,
    Space as Space,
    WallOpening as WallOpening,
    holder as holder,
    known_holders as known_holders,
    register_holder as register_holder,
)
from .layout import (
    Place as Place,
    arrange as arrange,
)
from .measuring import (
    FromReadings as FromReadings,
    Measuring as Measuring,
    Reading as Reading,
)
from .pose import (
    print_pose as print_pose,
)
from .preset import (
    Preset as Preset,
)
from .registry import (
    known_carriers as known_carriers,
    register as register,
    template as template,
    templates as templates,
)
from .screws import (
    ScrewHoles as ScrewHoles,
)
from .trust import (
    TrustError as TrustError,
    trust_template as trust_template,
)
