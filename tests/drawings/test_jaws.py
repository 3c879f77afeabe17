"""Jaws in the pictures touch the two faces of a size, from outside or from inside."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

from fitkit.core.sizes import CENTRES, HOLE, OUTSIDE
from fitkit.drawings import JawPictures, map_from_above
from fitkit.parts import template
from fitkit.parts.contract import Body, KeyDimension
from fitkit.parts.registry import shipped
from fitkit.solids import cut, extrude
from fitkit.solids.profiles import circle, rectangle


@pytest.fixture(scope="module")
def plate() -> Body:
    """60 x 40 x 8 mm with holes of 6 mm at x = ±20."""
    solid = extrude(rectangle(60, 40), 8.0)
    for x in (-20.0, 20.0):
        solid = cut(solid, extrude(circle(6.0, at=(x, 0.0)), 20.0, z=-5.0))
    return Body(name="plate", solid=solid)


def parts(svg: str) -> tuple[str, list[list[tuple[float, float]]], float]:
    """The title, the polygons of the jaws and beam, and the scale by the plate's own width."""
    root = ET.fromstring(svg)
    (jaws,) = [one for one in root.iter("path") if one.get("fill-opacity")]
    shapes = [
        [tuple(map(float, pair.split())) for pair in re.split("[ML]", shape) if pair]
        for shape in jaws.get("d").split("Z")
        if shape
    ]
    lines = next(one for one in root.iter("path") if one.get("stroke-width") == "0.18")
    xs = [float(x) for x in re.findall(r"[ML]([-\d.]+) ", lines.get("d"))]
    return root.findtext("title"), shapes, (max(xs) - min(xs)) / 60.0


def of(name, kind, start, end) -> KeyDimension:
    length = abs(end[0] - start[0])
    return KeyDimension(name=name, value_mm=length, body="plate", start=start, end=end, kind=kind)


@pytest.mark.parametrize(
    ("kind", "start", "end", "apart", "sort"),
    [
        (OUTSIDE, (-30.0, 0.0, 4.0), (30.0, 0.0, 4.0), 60.0, "outside"),
        (HOLE, (17.0, 0.0, 8.0), (23.0, 0.0, 8.0), 6.0, "inside"),
        # Over the far edges of both holes: the distance and twice the radius.
        (CENTRES, (-20.0, 0.0, 8.0), (20.0, 0.0, 8.0), 46.0, "inside"),
    ],
)
def test_the_faces_of_the_jaws_are_as_far_apart_as_what_they_span(
    plate, kind, start, end, apart, sort
):
    title, (left, right, _), scale = parts(JawPictures(plate).svg(of("size", kind, start, end)))
    assert f"size: {sort} jaws, plate, from above" == title
    assert (right[0][0] - left[0][0]) / scale == pytest.approx(apart, abs=0.01)
    # Outside jaws lie beyond the size, inside jaws within it.
    thick = left[2][0] - left[0][0]
    assert (thick < 0) == (sort == "outside")


@pytest.mark.parametrize("title", sorted(shipped()))
def test_every_size_that_must_fit_has_a_picture_within_its_frame(title):
    kind = template(title).of()
    part = kind.build()
    pictures = {body.name: JawPictures(body) for body in part.bodies}
    for one in part.dimensions:
        svg = pictures[one.body].svg(one)
        root = ET.fromstring(svg)
        *_, wide, high = map(float, root.get("viewBox").split())
        for path in root.iter("path"):
            for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", path.get("d")):
                assert -0.01 <= float(x) <= wide + 0.01, (one.name, x)
                assert -0.01 <= float(y) <= high + 0.01, (one.name, y)


def test_a_map_has_each_number_at_its_place_and_the_front_below(plate):
    root = ET.fromstring(map_from_above([plate], [("1", (-20.0, 0.0)), ("2", (20.0, 0.0))]))
    words = {one.text: (float(one.get("x")), float(one.get("y"))) for one in root.iter("text")}
    assert set(words) == {"1", "2", "FRONT"}
    *_, wide, high = map(float, root.get("viewBox").split())
    scale = (words["2"][0] - words["1"][0]) / 40.0
    # As large as its 40 mm fit between margins and the word below.
    assert scale == pytest.approx((110.0 - 2.0 - 8.0) / 40.0, rel=1e-3)
    assert words["1"][1] == words["2"][1] < words["FRONT"][1] <= high
    assert wide <= 170.0 + 1e-6
