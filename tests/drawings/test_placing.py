"""Wherever dimensions are, none comes to lie on another, and what has no room is told."""

from __future__ import annotations

import itertools

from hypothesis import given, settings, strategies as st

from fitkit.drawings.elements import Box, Line, Words, words_corners
from fitkit.drawings.placing import place
from fitkit.drawings.views import Shown

VIEW = Box(-40.0, -25.0, 40.0, 25.0)
xs, ys = st.floats(-40, 40), st.floats(-25, 25)


def lying(x: float, y: float, length: float) -> Shown:
    return Shown("lying", length, (x, y), (x + length, y))


def standing(x: float, y: float, length: float) -> Shown:
    return Shown("standing", length, (x, y), (x, y + length))


def ring(x: float, y: float, length: float) -> Shown:
    half = length / 2
    return Shown("ring", length, (x - half, y), (x + half, y), ((x, y),))


def slanted(x: float, y: float, length: float) -> Shown:
    return Shown("slanted", length, (x, y), (x + 0.6 * length, y + 0.8 * length))


some = st.one_of(
    st.builds(kind, xs, ys, st.floats(0.5, 30)) for kind in (lying, standing, ring, slanted)
)


def box(words: Words) -> Box:
    (left, low), (right, high) = words_corners(words)
    return Box(left, low, right, high)


@settings(deadline=None, max_examples=60)
@given(st.lists(some, max_size=12), st.sampled_from([0.2, 0.5, 1.0, 2.0]))
def test_no_words_lie_on_words_lines_or_the_view(wanted, scale):
    view = Box(*(scale * side for side in VIEW))
    placed, left = place(wanted, view, scale)
    assert len(placed) + len(left) == len(wanted)
    boxes = [box(one.words) for one in placed]
    assert not any(a.meets(b) for a, b in itertools.combinations(boxes, 2))
    assert not any(one.meets(view) for one in boxes)
    for index, one in enumerate(placed):
        for element in one.elements:
            if isinstance(element, Line) and not element.filled:
                for a, b in itertools.pairwise(element.points):
                    others = (box for n, box in enumerate(boxes) if n != index)
                    assert not any(other.crossed_by(a, b) for other in others)


@settings(deadline=None, max_examples=60)
@given(xs, ys, st.floats(0.5, 30), st.sampled_from([0.2, 1.0, 5.0]))
def test_lines_of_a_straight_size_are_as_far_apart_as_its_ends(x, y, length, scale):
    (one,), left = place([lying(x, y, length)], Box(*(scale * s for s in VIEW)), scale)
    assert left == ()
    upright = [
        line.points[0][0]
        for line in one.elements
        if isinstance(line, Line) and not line.filled and line.points[0][0] == line.points[1][0]
    ]
    assert abs(abs(upright[0] - upright[1]) - scale * length) < 1e-9
    assert one.words.text == f"{length:.2f}"


def test_equal_sizes_side_by_side_all_find_a_place():
    placed, left = place([lying(-38 + 13 * n, 0.0, 4.0) for n in range(6)], VIEW, 1.0)
    assert (len(placed), left) == (6, ())


def test_sizes_too_close_for_their_words_are_left_and_named():
    """Numbers are 8 mm wide, and the lines of their neighbours come every 2 mm."""
    wanted = [lying(-36 + 6 * n, 0.0, 4.0) for n in range(12)]
    placed, left = place(wanted, VIEW, 1.0)
    assert len(left) > 0
    assert sorted([*(one.shown for one in placed), *left]) == sorted(wanted)
