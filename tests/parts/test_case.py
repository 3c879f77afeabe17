"""A case for several things: built, closed, apart; holders from outside; what is refused and where.

What was built is looked at by trimesh and shapely (`jobs`), not by our own checks.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import ClassVar

import numpy as np
import pytest

from fitkit.core.errors import FaultList, PartError
from fitkit.journal.plain import plain, typed_values
from fitkit.parts import Length, Template, register, size, template
from fitkit.parts.carriers.case import Case
from fitkit.parts.carriers.plate import MountingPlate
from fitkit.parts.designs.ball_seat import BallSeat
from fitkit.parts.designs.board_case import BoardCase
from fitkit.parts.designs.clip_tray import ClipTray
from fitkit.parts.fit_size import FitSize, SizeSet
from fitkit.parts.holder import Base, Fixture, Holder, Space, holder, register_holder
from fitkit.solids import box_of, is_valid, volume_of

_spec = importlib.util.spec_from_file_location("parts_jobs", Path(__file__).parent / "jobs.py")
assert _spec
assert _spec.loader
jobs = importlib.util.module_from_spec(_spec)
sys.modules["parts_jobs"] = jobs
_spec.loader.exec_module(jobs)

BOARD = {
    "name": "board",
    "held": "board on standoffs",
    "board_length": "58 mm",
    "board_width": "38 mm",
    "ports": [
        {"wall": "front", "along": "20 mm", "above": "2 mm", "width": "9 mm", "height": "4 mm"}
    ],
}
BLOCK = {
    "name": "block",
    "held": "block between arms",
    "body_length": "26 mm",
    "columns": 1,
    "strain": 1.5,
}
CELL = {"name": "cell", "held": "round cell in saddles"}
BALL = {
    "name": "ball",
    "held": "ball in a cup",
}
BUTTON = {
    "name": "button",
    "held": "device in a cut-out",
    "fixing": "nut",
    "grip": "1.6 mm",
    "behind": "20 mm",
}
ALL = (BOARD, BLOCK, CELL, BALL, BUTTON)


def case(*things, **values) -> Case:
    return Case.of(things=things or ALL, **values)


# --- what is built -------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", [3, 8, 17])
def test_a_random_job_is_closed_and_all_things_go_in(seed):
    made = jobs.job(seed)
    assert jobs.faults(made, made.build()) == []


@pytest.mark.slow
@pytest.mark.parametrize("hundred", range(12))
def test_three_hundred_random_jobs_are_closed_and_all_things_go_in(hundred):
    wrong = {}
    for seed in range(1000 + 25 * hundred, 1000 + 25 * (hundred + 1)):
        made = jobs.job(seed)
        if found := jobs.faults(made, made.build()):
            wrong[seed] = found
    assert wrong == {}


def test_the_look_from_outside_sees_a_thing_in_a_wall_and_one_in_another():
    """The judge itself: slices enclose the meshes' volume, and a shifted thing is seen."""
    from dataclasses import replace

    from build123d import Solid

    from fitkit.solids import moved

    made = case(BOARD, CELL)
    part = made.build()
    body = jobs.mesh(part.bodies[0].solid)
    levels = np.arange(0.05, body.bounds[1][2], 0.1)
    slices = jobs.slices(body, levels)
    assert sum(one.area for one in slices) * 0.1 == pytest.approx(body.volume, rel=0.02)
    names = [ghost.name for ghost in part.ghosts]
    cell = part.ghosts[names.index("cell: body 1")]
    low, _ = box_of(cell.solid)
    shifted = replace(cell, solid=Solid(moved(cell.solid, -low[0] - 40.0)))
    wrong = replace(part, ghosts=tuple(shifted if g is cell else g for g in part.ghosts))
    assert any("stands in" in fault for fault in jobs.faults(made, wrong))


def test_solids_are_valid_by_the_kernels_own_analysis():
    part = case(lid_fixing="screws", lugs=2, vent_area="200 mm²", label="ABC1234").build()
    assert [body.name for body in part.bodies] == ["tray", "lid"]
    assert all(is_valid(body.solid) for body in part.bodies)


def test_what_is_to_be_bought_is_counted_by_what_it_is():
    from fitkit.checks import CheckContext
    from fitkit.checks.buys import check_buys

    second = BOARD | {"name": "second", "ports": []}
    part = case(BOARD, second, CELL, lid_fixing="screws", lugs=2).build()
    counts = {(buy.why, buy.what.split()[1]): buy.count for buy in part.buys}
    assert counts == {("lid", "M3"): 4, ("ears", "of"): 2, ("board", "M3"): 4, ("second", "M3"): 4}
    (note,) = check_buys(part, CheckContext())
    # Screws of one length for boards and lid: like things are counted together.
    assert "12 x screw M3 that forms its thread" in note.text
    assert "(lid, board, second)" in note.text
    heat_set = case(BOARD | {"standoff": "heat-set"}).build()
    assert {buy.what.split()[0]: buy.count for buy in heat_set.buys} == {"heat-set": 4, "screw": 4}


def test_a_plate_carries_the_same_things():
    things = (BOARD, BLOCK, CELL, BALL)
    plate = MountingPlate.of(things=things, label="ABC1234")
    part = plate.build()
    (body,) = part.bodies
    assert is_valid(body.solid)
    assert {lug.name for lug in part.lugs} >= {"lug 1", "lug 2"}
    names = {fit.name for fit in plate.fit_sizes()}
    assert {"board: underside", "block: pocket length", "ball: seat", "screw hole"} <= names


def test_places_are_stretched_about_the_middle_by_one_factor_an_axis():
    made = case(BOARD, CELL, BUTTON)
    plain_part, nominal = made.build(), made.layout
    wide = made.build({"inside length": nominal.length * 1.01})
    for before, after in zip(plain_part.ghosts, wide.ghosts, strict=True):
        if ": plug" in before.name:
            continue
        (a, b), (c, d) = box_of(before.solid), box_of(after.solid)
        middle = (a[0] + b[0]) / 2
        # The tallest part lies at its board's corner, and moves with it.
        if "tallest" not in before.name:
            assert (c[0] + d[0]) / 2 == pytest.approx(middle * 1.01, abs=1e-6)
        assert (c[1] + d[1]) / 2 == pytest.approx((a[1] + b[1]) / 2, abs=1e-6)


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_a_ports_middle_meets_its_boards_wherever_the_board_stands(turn):
    """The plug's ghost is drawn by the wall's opening, the place on the board by hand."""
    turned = {0: "front", 90: "right", 180: "back", 270: "left"}[turn]
    half_x, half_y = 29.0, 19.0
    sides = (half_x, half_y) if turn % 180 == 0 else (half_y, half_x)
    x, y = 60.0, 60.0
    inside = {"inside_length": "120 mm", "inside_width": "120 mm"}
    if turned == "front":
        y = sides[1] + 0.6
    elif turned == "back":
        y = 120 - sides[1] - 0.6
    elif turned == "left":
        x = sides[0] + 0.6
    else:
        x = 120 - sides[0] - 0.6
    place = {"x": f"{x} mm", "y": f"{y} mm", "turn": f"{turn} deg"}
    part = case(BOARD | {"place": place}, **inside).build()
    plug = next(g for g in part.ghosts if g.name == "board: plug 1")
    low, high = box_of(plug.solid)
    middle = [(a + b) / 2 for a, b in zip(low, high, strict=True)]
    a = np.radians(turn)
    along = 20.0 - half_x  # of the board's front edge, from its middle
    at = np.array([np.cos(a), np.sin(a)]) * along + [x - 60.0, y - 60.0]
    axis = 0 if turned in ("front", "back") else 1
    assert middle[axis] == pytest.approx(at[axis], abs=1e-6)


# --- against what one thing alone is drawn as ----------------------------------------------------


def test_a_ball_seat_let_in_holds_the_ball_as_the_template_does():
    """Above the plate, both are the same solid."""
    from fitkit.solids import common, extrude, rectangle

    values = {"ball": "25 mm", "retention": "0.3 mm"}
    seat = BallSeat.of(**values, plate="3 mm", screws=0).build().bodies[0].solid
    plate = MountingPlate.of(things=[BALL | values], thickness="3 mm", fixing="none")
    body = plate.build().bodies[0].solid
    above = extrude(rectangle(200, 200), 60.0, z=3.0)
    ours, theirs = common(body, above), common(seat, above)
    assert volume_of(ours) == pytest.approx(volume_of(theirs), rel=1e-6)
    assert box_of(ours)[1][2] == pytest.approx(box_of(theirs)[1][2], abs=1e-6)


def test_a_pocket_let_in_is_the_clip_trays():
    from fitkit.solids import common, extrude, rectangle

    values = {"body_length": "26 mm", "columns": 2, "strain": 1.5}
    # With lugs the template's walls have square corners, as here.
    tray = ClipTray.of(**values, fixing="lugs", floor="3 mm").build().bodies[0].solid
    plate = MountingPlate.of(things=[BLOCK | values], thickness="3 mm", fixing="none")
    body = plate.build().bodies[0].solid
    above = extrude(rectangle(400, 400), 60.0, z=3.0)
    ours, theirs = common(body, above), common(tray, above)
    assert volume_of(ours) == pytest.approx(volume_of(theirs), rel=1e-6)


def test_a_boards_sizes_are_those_of_the_board_case():
    alone = {fit.name: fit for fit in BoardCase.of(**_board_values()).fit_sizes()}
    held = {fit.name: fit for fit in case(BOARD).fit_sizes()}
    for name in (
        "standoff spacing x",
        "standoff spacing y",
        "screw pilot",
        "port 1 width",
        "port 1 height",
        "port 1 along",
    ):
        ours = held[f"board: {name}"]
        assert ours.nominal_mm == pytest.approx(alone[name].nominal_mm)
        assert (ours.kind, ours.axis, ours.sense) == (
            alone[name].kind,
            alone[name].axis,
            alone[name].sense,
        )


def _board_values():
    return {name: value for name, value in BOARD.items() if name not in ("name", "held")}


def test_the_heat_check_knows_where_the_boards_of_a_case_are():
    """Against the boards' own ghosts, turned as they lie."""
    turned_board = BOARD | {"name": "second", "ports": [], "place": {"turn": "90 deg"}}
    turned_board["place"] |= {"x": "90 mm", "y": "40 mm"}
    first = BOARD | {"place": {"x": "30 mm", "y": "19.5 mm"}}
    inside = {"inside_length": "140 mm", "inside_width": "90 mm"}
    part = case(first, turned_board, **inside).build()
    boards = [box_of(g.solid) for g in part.ghosts if g.name in ("board: board", "second: board")]
    assert len(boards) == 2
    low, high = np.min([b[0] for b in boards], axis=0), np.max([b[1] for b in boards], axis=0)
    warm = part.warm
    assert warm.at == pytest.approx((*(low + high)[:2] / 2, high[2]), abs=0.05)
    assert (warm.half_x_mm, warm.half_y_mm) == pytest.approx((high - low)[:2] / 2, abs=0.05)
    assert case(CELL).build().warm is None


# --- records -------------------------------------------------------------------------------------


def test_a_record_builds_the_same_again():
    made = case(lid_fixing="screws")
    again = template("case").of(**plain(typed_values(made)))
    first, second = made.build(), again.build()
    for one, two in zip(first.bodies, second.bodies, strict=True):
        assert volume_of(one.solid) == pytest.approx(volume_of(two.solid), rel=1e-12)
    assert [fit.name for fit in made.fit_sizes()] == [fit.name for fit in again.fit_sizes()]


# --- from outside --------------------------------------------------------------------------------


@pytest.fixture
def peg_holder():
    """A holder in thirty lines: a ring that stands on a peg."""

    from dataclasses import dataclass

    @dataclass(frozen=True, kw_only=True)
    class RingSizes(SizeSet):
        peg: FitSize

    class RingOnPeg(Holder):
        """A ring on a round peg."""

        title: ClassVar[str] = "ring on a peg"
        bore: Length = size("10 mm", low="4 mm", high="60 mm", measured=True, help="Its bore.")
        outer: Length = size("16 mm", low="5 mm", high="90 mm", measured=True, help="Its outside.")
        high: Length = size("6 mm", low="2 mm", high="40 mm", measured=True, help="Its height.")

        def must_fit(self, base: Base) -> RingSizes:
            return RingSizes(
                peg=FitSize(
                    nominal_mm=self.bore,
                    of="bore",
                    kind="peg",
                    sense=-1,
                    pair="peg and hole",
                    behaviour="slides",
                )
            )

        def space(self, base: Base) -> Space:
            half = self.outer / 2 + 0.5
            return Space(body=(-half, -half, half, half), height_mm=self.high)

        def fixture(self, sizes: RingSizes, base: Base) -> Fixture:
            from fitkit.solids import Terrace, circle

            return Fixture(levels=(Terrace(circle(sizes.peg.drawn_mm).outer, self.high),))

    return register_holder(RingOnPeg)


def test_a_holder_from_outside_joins_cases_and_plates(peg_holder):
    ring = {"name": "ring", "held": "ring on a peg", "bore": "12 mm"}
    assert holder("ring on a peg") is peg_holder
    for carrier in (Case, MountingPlate):
        made = carrier.of(things=[ring, CELL])
        fit = next(f for f in made.fit_sizes() if f.name == "ring: peg")
        assert (fit.nominal_mm, fit.of) == (12.0, "things.0.bore")
        part = made.build({"ring: peg": 11.8})
        assert is_valid(part.bodies[0].solid)


def test_a_carrier_from_outside_is_a_template_like_any_other():
    """A round disc of its own size that carries one thing in its middle."""
    from fitkit.parts import Body, Part
    from fitkit.parts.carrier import Carrier, Pose, placed_levels
    from fitkit.parts.layout import Place
    from fitkit.solids import Terrace, checked, circle, terraces

    @register
    class Disc(Carrier):
        """A disc with one thing on it."""

        title: ClassVar[str] = "disc"
        diameter: Length = size("90 mm", low="20 mm", high="200 mm", help="Of the disc.")

        def base(self, face):
            return Base(face=face, thickness_mm=3.0)

        def own_sizes(self):
            return SizeSet()

        def places(self):
            return [Place(0.0, 0.0, 0.0) for _ in self.things]

        def build(self, drawn=None, *, title=""):
            sizes = self.must_fit().drawn(drawn)
            poses = [Pose(0.0, 0.0, 3.0, 0.0)]
            fixtures = self.fixtures(sizes, poses)
            levels = placed_levels(fixtures[0].levels, poses[0], 3.0)
            root = Terrace(circle(self.diameter).outer, 3.0, levels)
            solid = checked(terraces(root), "disc", volume=root.volume())
            return Part(
                title=title or self.title,
                template=self.title,
                bodies=(Body(name="disc", solid=solid),),
                ghosts=fixtures[0].ghosts,
            )

    made = template("disc").of(things=[BOARD])
    part = made.build({"board: underside": 6.2})
    assert box_of(part.bodies[0].solid)[1][2] == pytest.approx(6.2)
    assert issubclass(Disc, Template)


# --- what is refused -----------------------------------------------------------------------------


def refused(*things, **values) -> PartError:
    """The first fault of a case that cannot be made."""
    with pytest.raises((PartError, FaultList)) as caught:
        case(*things, **values).build()
    error = caught.value
    return next(iter(error)) if isinstance(error, FaultList) else error


@pytest.mark.parametrize(
    ("things", "values", "code", "at"),
    [
        ([BOARD, BLOCK | {"name": "board"}], {}, "carrier.same-name", ("things", 1, "name")),
        ([BOARD | {"held": "by magic"}], {}, "holder.unknown", ("things", 0, "held")),
        ([{"name": "board"}], {}, "holder.unknown", ("things", 0, "held")),
        (
            [BOARD | {"board_lenght": "60 mm"}],
            {},
            "parameter.unknown",
            ("things", 0, "board_lenght"),
        ),
        (
            [BOARD | {"board_length": "900 mm"}],
            {},
            "parameter.too-high",
            ("things", 0, "board_length"),
        ),
        (
            [
                CELL | {"place": {"x": "60 mm", "y": "40 mm"}},
                BALL | {"place": {"x": "70 mm", "y": "42 mm"}},
            ],
            {},
            "carrier.two-in-one-place",
            ("things", 1, "place"),
        ),
        (
            [CELL | {"place": {"x": "10 mm", "y": "40 mm"}}],
            {},
            "carrier.place-over-edge",
            ("things", 0, "place", "x"),
        ),
        (
            [BOARD | {"place": {"x": "40 mm", "y": "60 mm"}}],
            {},
            "carrier.port-off-wall",
            ("things", 0, "ports", 0),
        ),
        (
            [BOARD | {"place": {"x": "60 mm", "y": "60 mm", "turn": "30 deg"}}],
            {},
            "carrier.turn",
            ("things", 0, "place", "turn"),
        ),
        (ALL, {"inside_length": "70 mm", "inside_width": "50 mm"}, "carrier.no-room", None),
        ([BALL | {"on": "lid"}], {}, "carrier.wrong-face", ("things", 0, "on")),
        ([BUTTON, CELL], {"lid_fixing": "slide"}, "carrier.sliding-lid", ("things", 0, "on")),
        ([BLOCK | {"catch": "2 mm", "strain": 0.5}], {}, "part.too-large", ("things", 0, "arm")),
    ],
)
def test_a_fault_is_told_with_its_code_and_place(things, values, code, at):
    error = refused(*things, **values)
    assert error.code == code
    if at is not None:
        assert error.at == at


def test_nothing_to_carry_is_said():
    with pytest.raises(PartError) as caught:
        Case.of().build()
    assert caught.value.code == "carrier.no-things"


def test_a_thing_with_plugs_left_and_right_decides_the_inside():
    ports = [
        {"wall": wall, "along": "15 mm", "above": "2 mm", "width": "6 mm", "height": "4 mm"}
        for wall in ("left", "right")
    ]
    made = case(BOARD | {"ports": ports}, BALL)
    assert made.layout.length == pytest.approx(58.0 + 1.0, abs=0.5)
    assert jobs.faults(made, made.build()) == []


def test_messages_name_the_thing_and_its_port():
    error = refused(
        BOARD
        | {
            "ports": [
                {"along": "20 mm", "width": "9 mm", "height": "4 mm"},
                {"along": "24 mm", "width": "9 mm", "height": "4 mm"},
            ]
        }
    )
    assert error.at == ("things", 0, "ports", 1)
    assert "board: port 1" in error.what
