from .contract import (
    Angle as Angle,
    Body as Body,
    FitSize as FitSize,
    KeyDimension as KeyDimension,
    Length as Length,
    Part as Part,
    SizeSet as SizeSet,
    Template as Template,
    size as size,
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
    trust_template as trust_template,
)
