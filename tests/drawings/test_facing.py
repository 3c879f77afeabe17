"""Dimension lines of live views are placed by the same code as those of drawings on paper."""

from __future__ import annotations

import itertools
import json

import numpy as np
import pytest

from fitkit.drawings.elements import Box, Words, words_corners
from fitkit.drawings.facing import AXIS_VIEWS, every_facing, facing
from fitkit.drawings.placing import TEXT_MM, place
from fitkit.drawings.views import Shown, frames
from fitkit.export.scene import scene_of
from fitkit.parts import template
from fitkit.parts.registry import SPECIMENS, shipped
from fitkit.solids.picture import VIEWS


@pytest.fixture(scope="module")
def head():
    return scene_of(template("board case").of().build()).head


def drawn_box(size) -> Box:
    words = Words(size["text"], tuple(size["at"]), TEXT_MM, size["turn"])
    (left, low), (right, high) = words_corners(words)
    return Box(left, low, right, high)


@pytest.mark.parametrize("scale", [0.4, 1.0, 2.5])
def test_a_live_view_and_a_drawing_have_the_same_places_for_the_same_sizes(head, scale):
    """Front and top as the drawings' own frames see them, and `place` as the drawings call it."""
    for frame in frames("first-angle"):
        flat = [frame.flat(corner) for corner in head["bounds"]]
        (x0, x1), (y0, y1) = (sorted(scale * at for at in ends) for ends in zip(*flat, strict=True))
        wanted = [
            Shown(one["name"], float(np.linalg.norm(np.subtract(one["end"], one["start"]))),
                  frame.flat(one["start"]), frame.flat(one["end"]), across=one["round"])
            for one in head["dimensions"]
            if abs(np.dot(np.subtract(one["end"], one["start"]), frame.eye)) < 1e-9
        ]  # fmt: skip
        placed, _ = place(wanted, Box(x0, y0, x1, y1), scale)
        found = facing(head, frame.name, scale)["sizes"]
        assert [one["name"] for one in found] == [one.shown.name for one in placed]
        assert [one["text"] for one in found] == [one.words.text for one in placed]
        for one, other in zip(found, placed, strict=True):
            assert one["at"] == pytest.approx(other.words.at, abs=1e-3)


@pytest.mark.parametrize("title", sorted(set(shipped()) - SPECIMENS))
def test_no_number_lies_on_another_or_on_the_part_in_any_view_of_any_template(title):
    head = scene_of(template(title).of().build()).head
    shown = set()
    for found in every_facing(head):
        eye, up = VIEWS[found["view"]]
        right = np.cross(up, eye)
        ends = [
            [found["scale"] * float(np.dot(corner, way)) for way in (right, up)]
            for corner in head["bounds"]
        ]
        (x0, x1), (y0, y1) = (sorted(side) for side in zip(*ends, strict=True))
        part = Box(x0, y0, x1, y1)
        boxes = [drawn_box(one) for one in found["sizes"]]
        assert not any(a.meets(b) for a, b in itertools.combinations(boxes, 2))
        assert not any(part.meets(box) for box in boxes)
        shown |= {one["name"] for one in found["sizes"]}
        sizes = len(found["sizes"]) + len(found["left"]) + found["turned"]
        assert sizes == len(head["dimensions"])
    straight = {
        one["name"]
        for one in head["dimensions"]
        if np.count_nonzero(np.abs(np.subtract(one["end"], one["start"])) > 1e-6) < 3
    }
    assert len(shown) >= 0.9 * len(straight)


def test_what_lies_along_the_sight_is_told_as_turned_away(head):
    one = {"name": "deep", "body": "tray", "text": "", "start": (0, 0, 0), "end": (0, 5, 0),
           "round": False}  # fmt: skip
    bare = {**head, "dimensions": [one]}
    assert (facing(bare, "front", 1.0)["turned"], facing(bare, "top", 1.0)["turned"]) == (1, 0)


def test_a_view_is_not_mirrored(head):
    """What lies at larger x is right in front and above, left from behind."""
    one = {"name": "far", "body": "tray", "text": "", "start": (30, 0, 0), "end": (50, 0, 0),
           "round": False}  # fmt: skip
    bare = {**head, "dimensions": [one], "bounds": [[0, -10, -10], [60, 10, 10]]}

    def middle(view):
        (found,) = facing(bare, view, 1.0)["sizes"]
        return np.mean(found["lines"][2][0::2])

    assert [round(middle(view)) for view in ("front", "top", "bottom", "back")] == [40, 40, 40, -40]


def test_all_of_it_is_plain_data(head):
    assert AXIS_VIEWS == ("front", "back", "left", "right", "top", "bottom")
    every = every_facing(head)
    assert {one["view"] for one in every} == set(AXIS_VIEWS)
    assert json.loads(json.dumps(every)) == every
    assert every_facing({**head, "dimensions": []}) == []
