"""Every option of every template at the tolerance of files: refused by name, or a closed body."""

import pytest
import trimesh

from fitkit.core.errors import FitkitError
from fitkit.flow.built import print_meshes
from fitkit.parts.registry import template
from tests.parts.pairs import options, pairwise_rows

TITLES = (
    "ball seat",
    "board case",
    "box lid",
    "bracket",
    "clip tray",
    "cradle",
    "hanger plate",
    "knob",
    "panel",
    "sleeve",
    "spacer",
    "tray insert",
)


def _faults(title, row):
    """Build one row; a refusal by a rule is fine, a body that does not close is not."""
    try:
        part = template(title).of(label="K7M3PXA", **row).build()
    except FitkitError as error:
        # A rule names its parameter or size; what the kernel could not build names none.
        return ["refused"] if "valid solid" not in str(error) else [str(error)]
    try:
        meshes = print_meshes(part)
    except FitkitError as error:
        return [str(error)]
    return [
        f"{name} is open"
        for name, mesh in meshes.items()
        if not trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False).is_watertight
    ]


def _swept(title, *, sizes):
    built, bad = 0, []
    for row in pairwise_rows(options(template(title), sizes=sizes)):
        found = _faults(title, row)
        built += not found
        bad += [(row, text) for text in found if text != "refused"]
    return built, bad


def test_rows_cover_every_pair():
    values = {"a": (0, 1, 2), "b": (0, 1), "c": (0, 1, 2, 3)}
    rows = list(pairwise_rows(values))
    assert len(rows) < 24
    for one, other in (("a", "b"), ("a", "c"), ("b", "c")):
        met = {(row[one], row[other]) for row in rows}
        assert len(met) == len(values[one]) * len(values[other])


@pytest.mark.parametrize("title", TITLES)
def test_every_two_choices_of_a_template_close_at_the_files_tolerance(title):
    if not options(template(title), sizes=False):
        built, bad = int(not _faults(title, {})), _faults(title, {})
    else:
        built, bad = _swept(title, sizes=False)
    assert bad == []
    assert built > 0


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES)
def test_every_two_options_at_bounds_and_default_close_at_the_files_tolerance(title):
    _, bad = _swept(title, sizes=True)
    assert bad == []


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES)
def test_each_option_alone_at_bounds_closes_at_the_files_tolerance(title):
    """Rows of many bounds are often refused; one bound at a time hardly ever is."""
    bad = [
        (name, value, text)
        for name, values in options(template(title), sizes=True).items()
        for value in values
        for text in _faults(title, {name: value})
        if text != "refused"
    ]
    assert bad == []


@pytest.mark.parametrize("screw", ["M2", "M3", "M5"])
@pytest.mark.parametrize("count", [1, 4])
def test_a_strap_passes_between_the_screws_of_a_cradle(screw, count):
    """The mesh has the screws' room and the groove apart: no hole opens into the groove."""
    part = template("cradle").of(hold="strap", screw=screw, count=count, length="40 mm").build()
    assert (
        _faults("cradle", {"hold": "strap", "screw": screw, "count": count, "length": "40 mm"})
        == []
    )
    (left, right) = part.lugs
    assert left.at[0] < right.at[0]
    # The strap's groove is 8 mm wide with a flank of 2 mm, its middle 1 mm below the cradle's.
    head = 2.1 * float(screw.removeprefix("M"))
    for lug, side in ((left, -1), (right, 1)):
        groove_edge = {-1: 19.0 - 4.0, 1: 19.0 + 4.0 + 2.0}[side]
        assert side * (lug.at[0] - groove_edge) > head / 2 + 0.9
        assert head / 2 + 0.9 < lug.at[0] < 40 - head / 2 - 0.9
