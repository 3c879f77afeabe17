from .drawing import (
    Drawing as Drawing,
    TitleBlock as TitleBlock,
    draw_body as draw_body,
    drawings_of as drawings_of,
)
from .dxf import (
    write_dxf as write_dxf,
)
from .jaws import (
    JawPictures as JawPictures,
)
from .maps import (
    map_from_above as map_from_above,
)
from .pdf import (
    write_pdf as write_pdf,
)
from .svg import (
    svg_of as svg_of,
    svg_text as svg_text,
)
