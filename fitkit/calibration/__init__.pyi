from .choose import (
    CouponChoice as CouponChoice,
    choose_features as choose_features,
)
from .compensation import (
    CompensatedSize as CompensatedSize,
    compensate as compensate,
)
from .coupon import (
    CouponFeature as CouponFeature,
    CouponSizes as CouponSizes,
    coupon_features as coupon_features,
    parse_feature as parse_feature,
)
from .figures import (
    deviation_figure as deviation_figure,
    errors_figure as errors_figure,
    residual_figure as residual_figure,
)
from .fit import (
    CouponFit as CouponFit,
    fit_coupon as fit_coupon,
    fit_profile as fit_profile,
)
from .generic import (
    generic_profile as generic_profile,
)
from .history import (
    Drift as Drift,
    aged as aged,
    aged_by as aged_by,
    compare as compare,
    noted as noted,
    source_at as source_at,
    update as update,
)
from .learned import (
    Learned as Learned,
    MeasuredSize as MeasuredSize,
    learn_sizes as learn_sizes,
)
from .order import (
    blank_readings as blank_readings,
    order_sheet as order_sheet,
    write_order as write_order,
)
from .others import (
    profiles_in as profiles_in,
)
from .profile import (
    PrinterProfile as PrinterProfile,
    Provenance as Provenance,
    Spread as Spread,
)
from .profile_file import (
    load_profile as load_profile,
    save_profile as save_profile,
)
from .settings import (
    PrintSettings as PrintSettings,
)
