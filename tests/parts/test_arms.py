"""Arms that are no even rectangles, against hand calculation and integrals by other means."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad, quad_vec

from fitkit.checks.assembly import check_assembly
from fitkit.checks.context import CheckContext
from fitkit.checks.snap import deflection_force_n, root_strain, tip_coefficient
from fitkit.parts.arms import arm_strain, bends_as, notch_factor, ring_segment
from fitkit.parts.designs.ball_seat import BallSeat


@pytest.mark.parametrize(
    ("inner", "outer", "half"), [(12.5, 14.9, 0.35), (12.5, 14.9, 0.74), (3.0, 8.0, 1.5)]
)
def test_a_ring_segments_section_is_that_of_its_strips(inner, outer, half):
    radius, angle = np.meshgrid(
        np.linspace(inner, outer, 801), np.linspace(-half, half, 801), indexing="ij"
    )
    x = radius * np.cos(angle)

    def integral(values):
        return np.trapezoid(np.trapezoid(values * radius, angle[0], axis=1), radius[:, 0])

    area = integral(np.ones_like(x))
    middle = integral(x) / area
    fibre, moment = ring_segment(inner, outer, half)
    assert moment == pytest.approx(integral((x - middle) ** 2), rel=1e-4)
    assert fibre == pytest.approx(np.abs(x - middle).max(), rel=1e-4)


def test_a_thin_segment_bends_as_its_curve_is_high_not_as_its_wall_is_thick():
    # By hand: a thin arc of radius R and half angle a has its centroid at R sin a / a, and its
    # ends lie R (sin a / a - cos a) inside that: 10 (0.9003 - 0.7071) = 1.932 mm.
    fibre, _ = ring_segment(9.999, 10.001, math.pi / 4)
    assert fibre == pytest.approx(1.932, abs=0.002)


def test_a_tapered_arm_bends_as_the_handbooks_coefficient_says():
    length, root, tip, width, push, modulus = 20.0, 2.0, 1.0, 5.0, 3.0, 2000.0

    def section(s):
        h = tip + (root - tip) * s / length
        return h / 2, width * h**3 / 12

    thickness, wide = bends_as(length, section)
    # y = C F L³ / (E I), I at the root: what the rectangle gives for the same push.
    y = tip_coefficient(tip / root) * push * length**3 / (modulus * width * root**3 / 12)
    strain = arm_strain(length, thickness, y)
    force = deflection_force_n(
        length_mm=length, thickness_mm=thickness, width_mm=wide, strain=strain, modulus_mpa=modulus
    )
    assert force == pytest.approx(push, rel=1e-5)
    # s / h² is greatest where h is twice the tip's thickness: at the root, for this taper.
    assert strain == pytest.approx(root_strain(length, root, y, tip / root), rel=1e-5)


@pytest.mark.parametrize("values", [{}, {"slits": 4, "strain": 3}, {"style": "arms"}], ids=str)
def test_a_seats_lip_is_strained_as_a_beam_of_ring_segments(values):
    seat = BallSeat.of(**values)
    arm = seat.build().arms[0]
    mouth = 12.5 - seat.retention / 2
    # Down to 15 degrees below the equator the lip follows the sphere, then it is straight.
    rise, fall = math.sqrt(12.5**2 - mouth**2), 12.5 * math.sin(math.radians(15))

    def curve(s):
        # Section at s below the lip, by integrals over its strips instead of closed forms.
        inner = math.sqrt(12.5**2 - min(abs(rise - s), fall) ** 2)
        outer = 12.5 + seat.wall
        across = (inner + outer) / 2
        half = (
            math.asin(seat.arm / 2 / across)
            if seat.style == "arms"
            else math.pi / arm.count - math.asin(seat.slit / 2 / across)
        )

        def strip(r):
            return np.array([2 * r * half, 2 * r**2 * math.sin(half), r**3 * _cos2(half)])

        (area, first, second), _ = quad_vec(strip, inner, outer)
        middle = first / area
        fibre = max(outer - middle, middle - inner * math.cos(half))
        return fibre, second - area * middle**2

    length = arm.length_mm
    give, _ = quad(lambda s: s * s / curve(s)[1], 0, length)
    worst = max(s * curve(s)[0] / curve(s)[1] for s in np.linspace(0, length, 401))
    strain = arm_strain(length, arm.bending_thickness_mm, arm.deflection_mm)
    assert strain == pytest.approx(arm.deflection_mm * worst / give, rel=1e-3)
    assert notch_factor(arm.root_radius_mm, arm.bending_thickness_mm) * strain <= seat.strain / 100
    assert strain > arm_strain(length, seat.wall, arm.deflection_mm)


def _cos2(half):
    return half + math.sin(half) * math.cos(half)


def _in_its_gap(**values):
    """Drawn as a seat is: with a gap round the ball, its mouth narrower than the ball."""
    seat = BallSeat.of(**values)
    return seat.build({"seat": seat.ball + 0.3, "mouth": seat.ball - seat.retention})


def _in_the_way(part):
    return [f for f in check_assembly(part, CheckContext(collisions=True)) if f.severity != "note"]


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"slits": 2, "strain": 6},
        {"style": "arms"},
        {"ball": "80 mm", "retention": "1.2 mm"},
        {"ball": "9 mm", "retention": "0.1 mm", "slits": 4, "strain": 4},
    ],
    ids=str,
)
def test_a_ball_goes_in_past_its_lip(values):
    part = _in_its_gap(**values)
    assert part.insertion == (0.0, 0.0, -1.0)
    assert len(part.arms) == part.arms[0].count
    assert not _in_the_way(part)


def test_a_ball_that_its_lip_cannot_let_in_is_a_stop():
    part = _in_its_gap(retention="1 mm", strain=3)
    stiff = replace(part, arms=tuple(replace(arm, deflection_mm=0.2) for arm in part.arms))
    (found,) = _in_the_way(stiff)
    assert found.severity == "stop"
    assert "at 12 places seat stands in its way" in found.text
