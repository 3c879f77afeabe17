"""The checks on meshes of real solids: curved faces, single precision, the kernel's triangles."""

from __future__ import annotations

import pytest

from fitkit import solids
from fitkit.checks import CheckContext, Use
from fitkit.checks.assembly import check_assembly
from fitkit.checks.overhang import check_overhang
from fitkit.checks.slender import outlines
from fitkit.parts.contract import Body
from fitkit.solids import profiles, tessellate
from fitkit.solids.mesh import lay_flat
from tests.checks.gallery import part


@pytest.fixture(scope="module")
def case():
    """A tray of 60 x 40 x 20 mm with walls and floor of 2.4 mm and four round standoffs."""
    hollow = solids.moved(solids.extrude(profiles.rectangle(55.2, 35.2), 20), z=2.4)
    tray = solids.cut(solids.extrude(profiles.rectangle(60, 40), 20), hollow)
    posts = [
        solids.moved(solids.extrude(profiles.circle(6), 4.0), x=x, y=y, z=2.0)
        for x in (-20, 20)
        for y in (-12, 12)
    ]
    return solids.fuse(tray, *posts)


def board(lift: float):
    """A board whose underside is `lift` over the standoffs' tops, at 6 mm."""
    return solids.moved(solids.extrude(profiles.rectangle(54.6, 34.6), 1.6), z=6.0 + lift)


@pytest.mark.parametrize(("lift", "depth"), [(0.0, None), (-0.3, 0.3)])
def test_a_board_on_its_standoffs(case, lift: float, depth: float | None) -> None:
    made = part(
        bodies=(Body(name="case", solid=case),),
        ghosts=(Body(name="board", solid=board(lift)),),
        insertion=(0.0, 0.0, -1.0),
    )
    found = list(check_assembly(made, CheckContext(use=Use(watts=0))))
    assert [item.value for item in found] == ([] if depth is None else [pytest.approx(depth)])
    if depth:
        assert "4 places" in found[0].text


def overhang_findings(shape, turn=(0.0, 0.0, 0.0)):
    mesh, _, _ = lay_flat(tessellate(shape), turn)
    return {item.check for item in check_overhang(part(), CheckContext(meshes={"case": mesh}))}


def test_a_tray_upright_is_well_and_upside_down_hangs(case) -> None:
    assert overhang_findings(case) == set()
    # The floor is now a ceiling of 55 mm, and the standoffs hang from it.
    assert overhang_findings(case, (180.0, 0.0, 0.0)) == {"overhang", "islands"}


def test_a_ball_touches_the_bed_with_nothing(case) -> None:
    assert "first layer" in overhang_findings(solids.sphere(20.0))


def test_a_lying_round_hole_is_no_island() -> None:
    hole = solids.turned(solids.extrude(profiles.circle(8), 60), x=90)
    block = solids.cut(
        solids.extrude(profiles.rectangle(30, 30), 20), solids.moved(hole, y=30, z=10)
    )
    assert "islands" not in overhang_findings(block)


def test_a_cut_through_the_posts_has_their_sections(case) -> None:
    found = outlines(tessellate(case), 4.0)
    posts = sorted(found.area_mm2)[1:5]  # after the hollow's outline, which is negative
    assert posts == [pytest.approx(28.27, rel=0.02)] * 4
    assert sorted(found.width_mm)[:4] == [pytest.approx(6 * 0.866, rel=0.02)] * 4
