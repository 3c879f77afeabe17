"""The sheet of a front panel, whose one cut-out is for a display that is read."""

SHEET = """schema = 1
title = "front"
template = "panel"
readings = "front.csv"
journal = "journal"
[printer]
generic = "PETG"
[values]
length = "90 mm"
width = "50 mm"
[[values.cutouts]]
shape = "rectangle"
width = "display_length"
across = "20 mm"
[fits]
"object in pocket" = { behaviour = "slides" }
"""
