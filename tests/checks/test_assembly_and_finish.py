"""Laying the object in, and coats on fit faces."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings, strategies as st
from scipy import stats

from fitkit.checks import CheckContext, Coat, FitGap, Use
from fitkit.checks.assembly import blocked, check_assembly, p_collision
from fitkit.checks.finish import check_finish, gap_left_mm
from fitkit.parts.contract import Body, SnapArm
from fitkit.solids.mesh import Mesh
from tests.checks.gallery import box, context, finely, joined, part, prism

TRAY = prism([(0, 0), (40, 0), (40, 20), (37, 20), (37, 3), (3, 3), (3, 20), (0, 20)], 40)
DOWN, UP = (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)
BOARD = box(33.4, 30, 1.6, (3.3, 5, 5))


def inverted(mesh: Mesh) -> Mesh:
    """A cavity in the shape of a mesh."""
    return Mesh(mesh.vertices, mesh.triangles[:, ::-1].copy())


@pytest.mark.parametrize("times", [0, 3])
def test_a_board_with_room_goes_in(times: int) -> None:
    assert blocked(finely(BOARD, times), finely(TRAY, times), DOWN) == ()


def test_a_lid_comes_from_the_other_side() -> None:
    lid = box(40, 40, 3, (0, 0, 20))
    assert blocked(BOARD, lid, DOWN) == ()


def test_resting_on_the_floor_is_no_collision() -> None:
    assert blocked(box(33.4, 30, 1.6, (3.3, 5, 3.0)), TRAY, DOWN) == ()


@settings(max_examples=15, deadline=None)
@given(st.floats(0.1, 1.5))
def test_depth_of_an_overlap_is_exact(depth: float) -> None:
    (place,) = blocked(box(33.4, 30, 1.6, (3.3, 5, 3 - depth)), TRAY, DOWN)
    assert place.depth_mm == pytest.approx(depth)
    # All of the plate's area lies in the floor by that depth, to within the grid at its rim.
    assert place.volume_mm3 == pytest.approx(33.4 * 30 * depth, rel=0.02)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.5, 2.5))
def test_width_of_what_is_in_the_way_is_within_the_grid(width: float) -> None:
    (place,) = blocked(box(33.7 + width, 30, 1.6, (3.3, 5, 5)), TRAY, DOWN)
    assert place.width_mm == pytest.approx(width, abs=0.25)
    assert place.depth_mm == pytest.approx(15)
    assert place.at[0] == pytest.approx(37 + width / 2, abs=0.3)


def test_a_closed_box_lets_nothing_in_though_nothing_touches() -> None:
    shut = joined(box(40, 40, 20), inverted(box(34, 34, 14, (3, 3, 3))))
    assert blocked(box(20, 20, 5, (10, 10, 8)), shut, DOWN)


@pytest.mark.parametrize("degrees", [0, 35, 90, 200])
def test_the_answer_turns_with_the_part(degrees: float) -> None:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    way = tuple(turn @ np.array(DOWN))
    shift = np.array([7.0, -3.0, 11.0])
    tray = TRAY.moved(turn, shift)
    assert blocked(BOARD.moved(turn, shift), tray, way) == ()
    deep = box(33.4, 30, 1.6, (3.3, 5, 2.6)).moved(turn, shift)
    (place,) = blocked(deep, tray, way)
    assert place.depth_mm == pytest.approx(0.4)


def collisions(assembled: dict[str, Mesh], **features: object):
    features = {"ghosts": (Body(name="board", solid=None),), "insertion": DOWN} | features
    setting = context(assembled=assembled, use=Use(watts=0))
    return list(check_assembly(part(**features), setting))


HOOK = joined(TRAY, box(0.9, 5, 1, (36.1, 17, 6.7)))  # a nose over the board's edge, 0.6 mm of it


def arm(deflection: float) -> SnapArm:
    return SnapArm(
        name="hook",
        body="case",
        length_mm=15,
        thickness_mm=1.5,
        width_mm=5,
        deflection_mm=deflection,
        at=(36.5, 19.5, 7.0),
    )


def test_a_hooks_own_nose_is_wanted() -> None:
    both = {"case": HOOK, "board": BOARD}
    assert collisions(both, arms=(arm(0.6),)) == []
    (found,) = collisions(both)
    assert found.severity == "stop"
    assert found.at[0] == pytest.approx((36.4, 19.5, 5.0), abs=0.2)


def test_a_nose_longer_than_the_arm_gives_way_is_not() -> None:
    (found,) = collisions({"case": HOOK, "board": BOARD}, arms=(arm(0.2),))
    assert found.severity == "stop"


def test_what_is_missing_is_said() -> None:
    (found,) = collisions({"case": TRAY, "board": BOARD}, insertion=None)
    assert "does not say in which direction" in found.text
    (found,) = collisions({"case": TRAY})
    assert found.text.startswith("not run, because there are no meshes in assembly position")


@given(st.floats(-1, 1), st.floats(0.001, 1))
def test_chance_is_the_normal_distributions(gap: float, u: float) -> None:
    assert p_collision(gap, u) == pytest.approx(stats.norm.cdf(0, loc=gap, scale=u), abs=1e-12)


def test_an_exact_gap_collides_or_does_not() -> None:
    assert (p_collision(0.1, 0.0), p_collision(-0.1, 0.0)) == (0.0, 1.0)


@pytest.mark.parametrize(("u", "said"), [(0.2, True), (0.05, False)])
def test_a_gap_that_is_badly_known_is_a_warning(u: float, said: bool) -> None:
    setting = context(fits=(FitGap(name="lid", gap_mm=0.2, u_mm=u),))
    found = list(check_assembly(part(), setting))
    assert [item.severity for item in found] == ["warn"] * said
    if said:
        assert "lid: a chance of 16 % that it will not go together" in found[0].text


def test_a_wanted_interference_is_no_collision() -> None:
    setting = context(fits=(FitGap(name="press", gap_mm=-0.1, u_mm=0.05),))
    assert list(check_assembly(part(), setting)) == []


def test_field_case_f5_in_numbers() -> None:
    """Gap 0.20 on diameter, coat 0.08 ± 0.03 a surface: 0.16 gone, 0.04 left."""
    left, u = gap_left_mm(0.20, 0.0, coat_mm=0.08, u_coat_mm=0.03, faces=2)
    assert left == pytest.approx(0.04)
    assert u == pytest.approx(0.06)
    fit = FitGap(name="peg", gap_mm=0.20, u_mm=0.0, coated_faces=2)
    coat = Coat(thickness_mm=0.08, u_mm=0.03, kind="resin")
    (found,) = check_finish(part(), context(coat=coat, fits=(fit,)))
    assert "takes 0.16 of the 0.20 mm gap of peg: 0.04 ± 0.12 mm" in found.text
    assert "mask the fit faces" in found.remedy
    (risk,) = check_assembly(part(), context(coat=coat, fits=(fit,)))
    assert risk.value == pytest.approx(100 * stats.norm.cdf(-0.04 / 0.06))


def test_a_part_drawn_for_its_coat_is_well() -> None:
    fit = FitGap(name="peg", gap_mm=0.20, u_mm=0.02, coated_faces=2, drawn_for_coat=True)
    setting = context(coat=Coat(thickness_mm=0.08, u_mm=0.03), fits=(fit,))
    assert list(check_finish(part(), setting)) == []
    assert list(check_assembly(part(), setting)) == []


def test_a_coat_without_fits_is_said() -> None:
    (found,) = check_finish(part(), context(coat=Coat(thickness_mm=0.08, u_mm=0.03)))
    assert found.text.startswith("not run, because")


def test_things_that_stand_in_one_another_are_stopped_and_such_that_lie_over_one_another_pass():
    """Two cells of one case: apart, one over the other, and one in the other."""
    from fitkit.parts import Body, Part
    from fitkit.solids import box_of, checked, extrude, moved, rectangle

    tray = checked(extrude(rectangle(80, 60), 2.0, z=-2.0), "tray")

    def block(x: float, z: float):
        return checked(moved(extrude(rectangle(20, 20), 10.0), x, 0.0, z), "block")

    def stops(x: float, z: float) -> list[str]:
        part = Part(
            title="two",
            template="case",
            bodies=(Body(name="tray", solid=tray),),
            ghosts=(
                Body(name="one: block", solid=block(0.0, 0.1)),
                Body(name="one: pin", solid=block(0.0, 5.0)),  # of the same thing
                Body(name="other: block", solid=block(x, z)),
            ),
            insertion=(0.0, 0.0, -1.0),
        )
        found = check_assembly(part, CheckContext())
        return [f.text for f in found if f.severity == "stop"]

    assert stops(30.0, 0.1) == []
    assert stops(12.0, 20.0) == []
    assert any("one: block and other: block" in text for text in stops(12.0, 0.1))
    assert box_of(block(0.0, 0.1))[0][2] == pytest.approx(0.1)
