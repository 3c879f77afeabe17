"""What a circle loses as a polygon, against plane geometry and an independent geometry library.

Sources: exact values of regular polygons (hexagon over flats to corners is root 3 over 2, square is
root 2 over 2: Euclid, Elements IV); inscribed circles by shapely 2.
"""

import numpy as np
import pytest
import shapely

from fitkit.calibration.facets import across_flats_factor, sagitta_mm, sides_for


@pytest.mark.parametrize(
    ("sides", "exact"),
    [(3, 0.5), (4, np.sqrt(2) / 2), (6, np.sqrt(3) / 2), (12, 0.9659258262890683)],
)
def test_flats_to_corners_of_regular_polygons(sides, exact):
    assert across_flats_factor(sides) == pytest.approx(exact, rel=1e-14)
    assert 1 - 2 * sagitta_mm(1.0, sides) == pytest.approx(exact, rel=1e-14)


@pytest.mark.parametrize(("diameter", "sides"), [(3.0, 16), (8.0, 40), (20.0, 72)])
def test_the_circle_that_enters_a_polygon_hole(diameter, sides):
    angle = 2 * np.pi * np.arange(sides) / sides
    hole = shapely.Polygon(0.5 * diameter * np.column_stack([np.cos(angle), np.sin(angle)]))
    radius = shapely.maximum_inscribed_circle(hole, tolerance=1e-7).length
    assert diameter * across_flats_factor(sides) == pytest.approx(2 * radius, abs=1e-5)


def test_three_millimetres_in_sixteen_sides():
    assert 3.0 * across_flats_factor(16) == pytest.approx(2.942, abs=5e-4)


@pytest.mark.parametrize("diameter", [0.8, 3.0, 25.0, 300.0])
@pytest.mark.parametrize("tolerance", [0.005, 0.01, 0.05])
def test_sides_are_the_fewest_that_keep_the_tolerance(diameter, tolerance):
    sides = int(sides_for(diameter, tolerance_mm=tolerance))
    depth = 0.5 * diameter * (1 - np.cos(np.pi / np.array([sides - 1, sides])))
    assert depth[1] <= tolerance * (1 + 1e-9) < depth[0] * (1 + 2e-9)
