"""The contract: a template of one's own in a few lines, the registry, a room without a kernel."""

import subprocess
import sys

import pytest
from pydantic import Field

from fitkit import solids
from fitkit.core.errors import FaultList, PartError
from fitkit.parts import Body, FitSize, Length, Part, Template, register, size, template
from fitkit.parts.registry import titles
from fitkit.solids import profiles as flat


@register
class Peg(Template):
    """What a notebook would write."""

    title = "test peg"
    diameter: Length = size("8 mm", low="2 mm", high="40 mm", help="Of the hole it goes into.")
    height: Length = size("20 mm", low="2 mm", high="90 mm", help="Over all.")
    count: int = Field(default=1, ge=1, le=9)

    def fit_sizes(self):
        return (
            FitSize(
                name="peg",
                nominal_mm=self.diameter,
                kind="peg",
                of="diameter",
                sense=-1,
                pair="peg and hole",
                behaviour="slides",
            ),
        )

    def build(self, drawn=None, *, title=""):
        drawn = self.drawn_sizes(drawn)
        shape = solids.extrude(flat.circle(drawn["peg"]), self.height)
        solid = solids.checked(shape, "peg")
        return Part(
            title=title or self.title, template=self.title, bodies=(Body(name="peg", solid=solid),)
        )


def test_an_own_template_builds_with_drawn_sizes():
    part = template("test peg").of(diameter="0.5 in").build({"peg": 12.4}, title="my peg")
    low, high = solids.box_of(part.body("peg").solid)
    assert high[0] - low[0] == pytest.approx(12.4, abs=1e-6)
    assert part.title == "my peg"
    with pytest.raises(PartError, match="no body 'lid'"):
        part.body("lid")


def test_all_faults_are_told_at_once_with_parameter_value_and_bound():
    with pytest.raises(FaultList) as caught:
        Peg.of(diameter="1 mm", heigth="3 mm", count=12)
    text = str(caught.value)
    assert "test peg, diameter: 1 mm is below 2 mm. Give a larger value." in text
    assert "test peg, count: 12 is above 9" in text
    found = {fault.path: fault for fault in caught.value}
    assert {path: fault.code for path, fault in found.items()} == {
        "diameter": "parameter.too-low",
        "heigth": "parameter.unknown",
        "count": "parameter.too-high",
    }
    assert found["heigth"].remedy.startswith("Did you mean 'height'?")


def test_parameters_that_do_not_go_together_are_told_at_one_of_them():
    with pytest.raises(FaultList) as caught:
        template("calibration coupon").of(bars_x=["10 mm"])
    (fault,) = caught.value
    assert (fault.where, fault.code) == ("calibration coupon, bars_x", "part.coupon-plate")


def test_a_size_drawn_on_a_template_without_fit_sizes_is_told_to_be_left_out():
    with pytest.raises(PartError) as caught:
        template("calibration coupon").of().build({"peg": 8.0})
    assert str(caught.value) == (
        "calibration coupon: there is no size 'peg' that must fit. Leave it out."
    )


def test_a_misspelt_parameter_is_told_its_nearest_name_at_any_depth():
    with pytest.raises(FaultList) as caught:
        template("board case").of(wal="2 mm", colour="red", ports=[{"widht": "9 mm"}])
    remedies = {fault.path: fault.remedy for fault in caught.value}
    assert remedies["wal"].startswith("Did you mean 'wall'?")
    assert remedies["ports.0.widht"].startswith("Did you mean 'width'?")
    assert remedies["colour"].startswith("The parameters are: ")


def test_an_unknown_title_suggests_the_nearest():
    with pytest.raises(PartError, match="Did you mean 'board case'"):
        template("bord case")
    with pytest.raises(PartError, match="no title"):
        register(type("Untitled", (Template,), {}))
    assert "board case" in titles()


def test_parameters_and_fit_sizes_need_no_kernel():
    code = (
        "import sys, fitkit.parts as p; c = p.template('board case').of(); c.fit_sizes();"
        "assert not any(m.split('.')[0] in ('OCP', 'build123d') for m in sys.modules), 'kernel'"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


SIZED = [
    ("ball seat", {"style": "arms"}),
    (
        "board case",
        {
            "lugs": 2,
            "lid_fixing": "screws",
            "cable": {"wall": "left"},
            "ports": [
                {"wall": "front", "along": "20 mm"},
                {"wall": "back", "shape": "round", "width": "7 mm", "above": "4 mm"},
            ],
            "windows": [{"x": "10 mm", "y": "30 mm"}],
        },
    ),
    ("board case", {"standoff": "heat-set", "lid_fixing": "slide"}),
    ("board case", {"standoff": "snap-post"}),
    ("box lid", {}),
    ("bracket", {}),
    ("clip tray", {}),
    ("cradle", {}),
    ("hanger plate", {"count": 2}),
    ("knob", {"set_screw": "M3"}),
    ("knob", {"bore": "splined"}),
    ("panel", {"cutouts": [{"shape": "double D"}, {"x": "-30 mm", "shape": "rectangle"}]}),
    ("sleeve", {"clamp": True}),
    ("spacer", {"bore": "insert"}),
    ("tray insert", {}),
]


@pytest.mark.parametrize(("title", "values"), SIZED, ids=str)
def test_every_size_that_must_fit_is_shown_on_the_part_as_long_as_it_is_drawn(title, values):
    import numpy as np

    from fitkit.parts.registry import template

    made = template(title).of(**values)
    shown = {one.name: one for one in made.build().dimensions}
    for fit in made.fit_sizes():
        assert fit.name in shown
        one = shown[fit.name]
        assert np.linalg.norm(np.subtract(one.end, one.start)) == pytest.approx(one.value_mm)


def test_a_port_up_to_the_rim_shows_its_tongue_and_no_height():
    """What an open port has no upper edge for cannot be read by calipers."""
    from fitkit.parts.registry import template

    case = template("board case").of(ports=[{"depth": "2 mm"}]).build()
    names = {one.name for one in case.dimensions}
    assert {"port 1 width", "port 1 tongue", "port 1 floor"} <= names
    assert "port 1 height" not in names
