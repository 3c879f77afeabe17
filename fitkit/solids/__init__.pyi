from .bodies import (
    box_of as box_of,
    bundle as bundle,
    chamfer as chamfer,
    checked as checked,
    common as common,
    cut as cut,
    edges as edges,
    extrude as extrude,
    fillet as fillet,
    fuse as fuse,
    is_valid as is_valid,
    loft as loft,
    mirrored as mirrored,
    moved as moved,
    revolve as revolve,
    solids_in as solids_in,
    sphere as sphere,
    turned as turned,
    volume_of as volume_of,
)
from .kernel import (
    kernel_ready as kernel_ready,
    tessellate as tessellate,
)
from .label import (
    fitted_text as fitted_text,
    sink_text as sink_text,
    text_width as text_width,
)
from .let_in import (
    Piece as Piece,
    let_in as let_in,
)
from .mesh import (
    Mesh as Mesh,
)
from .outline import (
    read_bodies as read_bodies,
    read_body as read_body,
    read_outline as read_outline,
)
from .picture import (
    VIEWS as VIEWS,
    picture as picture,
)
from .plate import (
    Plate as Plate,
    lay_out as lay_out,
)
from .profiles import (
    Loop as Loop,
    Profile as Profile,
    capsule as capsule,
    circle as circle,
    d_shape as d_shape,
    double_d as double_d,
    hexagon as hexagon,
    polygon as polygon,
    rectangle as rectangle,
    ring as ring,
    roof as roof,
    teardrop as teardrop,
)
from .terraces import (
    Terrace as Terrace,
    terraces as terraces,
)
