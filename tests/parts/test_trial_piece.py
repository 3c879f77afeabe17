"""A trial piece has the drawn sizes of the part, and is printed in a fraction of its time."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitkit.checks.moves import moves_of
from fitkit.checks.print_time import print_time
from fitkit.core.errors import PartError
from fitkit.parts import templates
from fitkit.parts.trial_piece import holds, size_as_built, sizes_tried, trial_piece
from fitkit.solids import tessellate
from fitkit.solids.bodies import box_of, is_valid, solids_in
from fitkit.solids.mesh import lay_flat

SHIPPED = {
    title: kind
    for title, kind in templates().items()
    if not kind.ordered_by and kind.__module__.startswith("fitkit.parts.designs.")
}
# A part of a few minutes is its own trial piece, h.
SHORT_H = 0.2
# Heating up, which every print has, h; and pieces that are most of their part.
START_H = 5.0 / 60.0
THE_PART_ITSELF = {("ball seat", "seat")}


def _hours(part):
    meshes = [lay_flat(tessellate(body.solid), body.print_turn)[0] for body in part.bodies]
    return print_time(moves_of(meshes, line_mm=0.4, layer_mm=0.2, perimeters=3, infill=0.15)).hours


@pytest.mark.parametrize("title", SHIPPED)
def test_every_fit_of_a_template_has_a_piece_with_its_drawn_size(title):
    design = SHIPPED[title].of()
    fits = design.fit_sizes()
    # Every size is drawn a little off its nominal, as for a printer.
    drawn = {fit.name: fit.plain_mm + 0.037 for fit in fits}
    part = design.build(drawn)
    whole_h = _hours(part)
    for fit in (one for one in fits if one.pair):
        piece = trial_piece(part, fits, fit.name)
        lines = {one.name: one for one in piece.dimensions}
        for name in sizes_tried(part, fits, fit.name):
            solid = piece.body(lines[name].body).solid
            assert is_valid(solid)
            assert len(solids_in(solid)) == 1
            assert size_as_built(solid, lines[name]) == pytest.approx(drawn[name], abs=1e-4)
        if (title, fit.name) not in THE_PART_ITSELF and whole_h > SHORT_H:
            assert _hours(piece) - START_H <= 0.25 * (whole_h - START_H), fit.name


def test_a_piece_has_both_halves_and_only_the_sizes_that_are_whole_on_it():
    design = SHIPPED["board case"].of()
    part = design.build()
    piece = trial_piece(part, design.fit_sizes(), "Lid lip  outside length")
    assert [body.name for body in piece.bodies] == ["tray", "lid"]
    names = {one.name for one in piece.dimensions}
    assert {"rim inside length", "lid lip outside length"} <= names
    assert "pocket length" not in names
    assert (piece.title, piece.template) == (part.title, part.template)
    assert (piece.walls, piece.ghosts, piece.findings) == ((), (), ())


def test_a_piece_is_cut_on_whole_layers_so_that_windows_keep_theirs():
    design = SHIPPED["board case"].of(
        ports=[
            {"wall": "left", "along": "20 mm", "width": "9 mm", "height": "4 mm", "above": "3 mm"}
        ]
    )
    part = design.build()
    fits = design.fit_sizes()
    name = next(one.name for one in fits if "height" in one.name and one.pair)
    piece = trial_piece(part, fits, name, layer_mm=0.2, first_layer_mm=0.3)
    bed = box_of(part.body("tray").solid)[0][2]
    cut = box_of(piece.body("tray").solid)[0][2] - bed
    layers = (cut - 0.3) / 0.2
    assert cut == pytest.approx(0.0, abs=1e-6) or layers == pytest.approx(round(layers), abs=1e-5)


def test_a_face_that_is_not_there_is_not_held_and_not_measured():
    part = SHIPPED["box lid"].of().build()
    (line,) = (one for one in part.dimensions if one.name == "length")
    solid = part.bodies[0].solid
    assert holds(solid, line)
    far = replace(line, end=(line.end[0] + 1.0, *line.end[1:]), value_mm=line.value_mm + 1.0)
    assert not holds(solid, far)
    assert size_as_built(solid, far) != size_as_built(solid, far)


def test_a_size_that_decides_nothing_has_no_piece_and_the_message_names_those_that_do():
    design = SHIPPED["board case"].of()
    part = design.build()
    with pytest.raises(PartError, match=r"no trial piece can be made of 'lid length'") as error:
        trial_piece(part, design.fit_sizes(), "lid length")
    assert error.value.code == "part.no-such-piece"
    assert "pocket length" in str(error.value)
