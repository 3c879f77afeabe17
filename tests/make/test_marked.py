"""The picture of a print with its fits marked, for the trial form."""

from __future__ import annotations

import io
import itertools

import numpy as np
import pytest
from PIL import Image

from fitkit.flow import PartSheet, PrinterChoice, build, prepare
from fitkit.journal import PrintRecord
from fitkit.make.marked import SIZE_PX, marked_picture, own_kind
from fitkit.solids.mesh import Mesh
from fitkit.solids.picture import on_picture, picture


def record_of(template: str, **values: object) -> PrintRecord:
    printer = PrinterChoice(generic="PETG")
    plan = prepare(PartSheet(title="a part", template=template, printer=printer, values=values))
    return PrintRecord.new(
        title="a part",
        template=plan.template,
        profile=plan.inputs.profile,
        fits=plan.rows,
        part=build(plan),
    )


@pytest.fixture(scope="module")
def case():
    record = record_of("board case")
    return record, marked_picture(record)


def test_each_fit_of_the_print_has_a_mark_on_the_picture(case):
    record, marked = case
    assert [mark.name for mark in marked.marks] == [fit.name for fit in record.fits]
    image = Image.open(io.BytesIO(marked.png))
    assert image.size == marked.size == SIZE_PX
    for mark in marked.marks:
        for x, y in (mark.start, mark.end, mark.at):
            assert 0 <= x <= SIZE_PX[0]
            assert 0 <= y <= SIZE_PX[1]


def test_no_number_lies_on_another(case):
    spots = [mark.at for mark in case[1].marks]
    nearest = min(np.hypot(*np.subtract(a, b)) for a, b in itertools.combinations(spots, 2))
    assert nearest >= 24


def test_a_point_lies_where_the_picture_draws_it():
    """A small cube far from a large one: its middle on the picture is amid its own colour."""
    at = np.array([30.0, 12.0, 5.0])
    cube = np.array(list(itertools.product((0.0, 1.0), repeat=3)))
    corners = "013 032 467 475 045 051 237 276 026 064 157 173"
    faces = np.array([[int(corner) for corner in face] for face in corners.split()])
    meshes = [Mesh(20 * cube, faces), Mesh(4 * cube + at, faces)]
    for view in ("iso", "front", "right", "top", "bottom"):
        drawn = np.asarray(
            picture(meshes, size=(300, 200), view=view, colours=["#ffffff", "#ff0000"])
        ).astype(int)
        red = (drawn[..., 0] > 60) & (drawn[..., 1] < 40)
        rows, columns = np.nonzero(red)
        ((x, y),) = on_picture(meshes, at[None] + 2.0, size=(300, 200), view=view)
        assert abs(columns.mean() - x) < 4, view
        assert abs(rows.mean() - y) < 4, view


def test_only_a_notebooks_own_template_travels_with_the_record():
    assert own_kind("board case") is None
    assert own_kind("no such template") is None
