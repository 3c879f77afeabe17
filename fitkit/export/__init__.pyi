from .bodies import (
    file_name as file_name,
    place as place,
    write_files as write_files,
    write_page as write_page,
)
from .formats import (
    Format as Format,
    Job as Job,
    format_named as format_named,
    formats as formats,
    register_format as register_format,
    usual_formats as usual_formats,
)
from .sheet import (
    SheetPage as SheetPage,
    render_sheet as render_sheet,
)
from .stl import (
    stl_bytes as stl_bytes,
)
from .threemf import (
    Instance as Instance,
    PlacedMesh as PlacedMesh,
    read_3mf as read_3mf,
    write_3mf as write_3mf,
    write_plate as write_plate,
)
from .view import (
    view_page as view_page,
)
