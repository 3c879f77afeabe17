"""Where an arm leaves its wall: a round corner, or a sharp one that the strain check is told of."""

from __future__ import annotations

import math

import pytest

from fitkit.core.errors import FitkitError
from fitkit.parts.arms import SHARP_MM, arm_strain, notch_factor
from fitkit.parts.holders.cups import arm_bends_as, arm_reach_mm, cradle_root_mm
from fitkit.parts.registry import SPECIMENS, shipped, template
from fitkit.solids.bodies import common, sphere, volume_of
from tests.parts.pairs import options, pairwise_rows

CARRIERS = ("case", "plate")
TITLES = [title for title in shipped() if title not in SPECIMENS]
HELD = ("block between arms", "round cell in saddles", "ball in a cup")


def _rows(title):
    if title in CARRIERS:
        return [{"things": [{"name": "thing", "held": held}]} for held in HELD]
    return list(pairwise_rows(options(template(title), sizes=False))) or [{}]


def _arms(title):
    """Arms of every row of choices that is made, two by two."""
    for row in _rows(title):
        try:
            part = template(title).of(**row).build()
        except FitkitError:
            assert title not in CARRIERS
            continue
        yield from part.arms


def test_every_arm_that_bends_has_a_round_root_or_a_notch_factor():
    bending = set()
    for title in (*TITLES, *CARRIERS):
        for arm in _arms(title):
            bending.add(title)
            assert arm.root_radius_mm is not None, (title, arm.name)
            thick = arm.root_thickness_mm or arm.bending_thickness_mm or arm.thickness_mm
            factor = notch_factor(arm.root_radius_mm, thick)
            assert arm.root_radius_mm > SHARP_MM or factor > 1.2, (title, arm.name)
    assert bending == {"ball seat", "board case", "clip tray", "cradle", *CARRIERS}


def _filled(solid, at, radius):
    """Share of a small ball that lies in a solid."""
    ball = sphere(2 * radius, at=at)
    return volume_of(common(solid, ball)) / volume_of(ball)


@pytest.mark.parametrize("hold", ["arms", "strap"])
def test_the_corner_between_a_cup_and_its_base_is_round(hold):
    cradle = template("cradle").of(hold=hold)
    part = cradle.build()
    base = next(wall.thickness_mm for wall in part.walls if wall.name == "base")
    inner, wall = cradle.diameter / 2, cradle.grasp.wall
    y = -(inner + wall) - cradle.gap / 2  # the left cup's middle
    root = cradle_root_mm(inner, wall)
    aside = math.sqrt((wall + 2 * root) * (2 * inner + wall))
    # Where the round meets the base there is plastic below and air above.
    solid = part.bodies[0].solid
    at = (6.0, y - aside, base)
    assert _filled(solid, at, 0.1) == pytest.approx(0.5, abs=0.1)
    # Half-way round, the plastic ends on the round, not in the old sharp corner.
    foot = math.asin((inner - root) / (inner + wall + root))
    middle = (y - aside, base + root)
    half = -(math.pi / 2 - (math.pi / 2 + foot) / 2)
    at = (6.0, middle[0] + root * math.cos(half), middle[1] + root * math.sin(half))
    assert _filled(solid, at, 0.1) == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize(("inner", "wall"), [(9.25, 2.0), (5.0, 1.2), (20.0, 6.0), (45.0, 1.2)])
def test_a_cups_round_root_spares_the_arm(inner, wall):
    """With its notch, a sharp corner strains the same arm more than the round one does."""
    half_open = math.asin(0.96)
    reach = arm_reach_mm(inner, wall, half_open)
    thick, _ = arm_bends_as(inner, wall, 10.0, half_open)
    root = cradle_root_mm(inner, wall)
    assert root > SHARP_MM
    with_round = notch_factor(root, wall) * arm_strain(reach, thick, 0.4)
    assert thick > wall  # it is stiffer than an even arm
    assert with_round < notch_factor(SHARP_MM, wall) * arm_strain(reach, wall, 0.4)


def test_a_snap_post_stands_in_its_well_on_a_round_root():
    case = template("board case").of(standoff="snap-post")
    part = case.build()
    arm = next(arm for arm in part.arms if arm.name == "snap post 1")
    assert arm.root_radius_mm > SHARP_MM
    x, y, z = arm.at
    post = case.hole_diameter / 2
    well = z - (arm.length_mm - case.board_thickness - 0.3) - max(0.4, 0.4 * post)
    # Outside the post by 0.1 mm, the corner is filled at the well's floor, and not 0.6 mm higher.
    # The slit runs along y, so that x leads to the middle of a half.
    solid = part.body("tray").solid
    assert _filled(solid, (x + post + 0.1, y, well + 0.06), 0.05) == pytest.approx(1.0)
    assert _filled(solid, (x + post + 0.1, y, well + 0.7), 0.05) == pytest.approx(0.0)


def test_standoffs_stand_on_round_roots():
    case = template("board case").of(board_length="70 mm", board_width="50 mm")
    part = case.build()
    boss = part.bosses[0]
    x, y, _ = boss.at
    out = boss.outer_mm / 2
    solid = part.body("tray").solid
    turn = math.atan2(-y, -x)  # towards the middle, away from walls

    def at(away, up):
        return (x + away * math.cos(turn), y + away * math.sin(turn), case.floor + up)

    assert _filled(solid, at(out + 0.1, 0.1), 0.05) == pytest.approx(1.0)
    assert _filled(solid, at(out + 0.4, 0.4), 0.05) == pytest.approx(0.0)
    assert _filled(solid, at(out + 0.1, 0.9), 0.05) == pytest.approx(0.0)
