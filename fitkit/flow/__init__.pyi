from .built import (
    Built as Built,
    mesh_part as mesh_part,
)
from .plan import (
    FitRow as FitRow,
    Inputs as Inputs,
    Plan as Plan,
    build as build,
    prepare as prepare,
    read_inputs as read_inputs,
    solve as solve,
    tried as tried,
)
from .sheet import (
    FitWish as FitWish,
    PartSheet as PartSheet,
    PrinterChoice as PrinterChoice,
    load_sheet as load_sheet,
    save_sheet as save_sheet,
)
