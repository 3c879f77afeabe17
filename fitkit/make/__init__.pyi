from .checking import (
    check as check,
)
from .cluster import (
    make_on as make_on,
)
from .exhibit import (
    Exhibit as Exhibit,
    load_exhibit as load_exhibit,
    make_exhibit as make_exhibit,
    standing as standing,
)
from .many import (
    Outcome as Outcome,
    make_many as make_many,
)
from .new import (
    new_part as new_part,
)
from .one import (
    Made as Made,
    make as make,
)
from .orders import (
    CouponOrder as CouponOrder,
    order_coupon as order_coupon,
    order_ladder as order_ladder,
)
from .page import (
    draw_apart as draw_apart,
)
from .plates import (
    Plated as Plated,
    PlatedPart as PlatedPart,
    make_plates as make_plates,
)
from .remake import (
    compensated_again as compensated_again,
    rebuild as rebuild,
    reprint as reprint,
)
