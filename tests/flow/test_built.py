"""Meshes of a built part: coarse for views, fine for files."""

import numpy as np
import pytest

from fitkit import solids
from fitkit.flow.built import FILE_TOLERANCE_MM, mesh_part, print_meshes
from fitkit.parts.contract import Body, Part
from fitkit.solids import profiles as flat


def lost_over_flats(mesh, diameter_mm: float) -> float:
    """Diameter less the size over the flats of the polygon that stands for an upright hole, mm."""
    low, high = mesh.bounds
    x, y, z = (mesh.vertices - (low + high) / 2).T
    on_rim = (abs(np.hypot(x, y) - diameter_mm / 2) < 1e-4) & (z > 0)
    angles = np.sort(np.arctan2(y, x)[on_rim])
    widest = np.diff(np.r_[angles, angles[0] + 2 * np.pi]).max()
    return float(diameter_mm * (1 - np.cos(widest / 2)))


@pytest.mark.parametrize("bore", [3.0, 10.0, 20.0])
def test_a_hole_in_a_file_lacks_next_to_nothing_over_its_flats(bore):
    plate = solids.cut(
        solids.extrude(flat.rectangle(60, 60), 4), solids.extrude(flat.circle(bore), 6, z=-1)
    )
    body = Body(name="plate", solid=solids.checked(plate, "plate"))
    part = Part(title="plate", template="plate", bodies=(body,))
    coarse, fine = mesh_part(part).laid["plate"], print_meshes(part)["plate"]
    assert 0 < lost_over_flats(fine, bore) <= 2 * FILE_TOLERANCE_MM
    if bore == 20.0:  # what views do with would not do
        assert lost_over_flats(coarse, bore) > 2 * FILE_TOLERANCE_MM
    assert fine.bounds[0, 2] == pytest.approx(0.0, abs=1e-9)
