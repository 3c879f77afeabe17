"""The fit ladder: one marked hole for each gap, as drawn, and a piece that goes with it."""

from __future__ import annotations

import math

import pytest

from fitkit.core.errors import FaultList, PartError
from fitkit.fits import PAIRS, behaviours_of, next_ladder
from fitkit.parts.designs.fit_ladder import GRIP_MM, RELIEF_HIGH_MM, RELIEF_MM, FitLadder


def test_a_hole_for_each_gap_and_a_peg() -> None:
    ladder = FitLadder.of(gaps=["0.1 mm", "0.25 mm", "-0.05 mm"], nominal="8 mm")
    sizes = {fit.name: (fit.plain_mm, fit.kind) for fit in ladder.fit_sizes()}
    assert sizes == {
        "hole 1": (pytest.approx(8.1), "hole"),
        "hole 2": (pytest.approx(8.25), "hole"),
        "hole 3": (pytest.approx(7.95), "hole"),
        "peg": (8.0, "peg"),
    }
    assert ladder.marks() == ("10", "25", "-5")


def test_a_hole_tells_what_it_tries() -> None:
    printed = FitLadder.of(gaps=["0.1 mm", "-0.05 mm"], nominal="8 mm", behaviour="press by tool")
    hole = printed.fit_sizes()[1]
    assert (hole.nominal_mm, hole.sense, hole.gap_mm, hole.mark) == (8.0, 1, -0.05, "-5")
    assert (hole.pair, hole.behaviour, hole.mate) == ("peg and hole", "press by tool", "peg")
    # Slots are tried with a tab; a piece of one's own is no size of the print, but is measured.
    assert FitLadder.of(form="flat").pair == "tab and slot"
    own = FitLadder.of(own_piece=True, pair="screw hole", behaviour="slides").fit_sizes()
    assert {(fit.mate, fit.of) for fit in own} == {(None, "nominal")}


def test_drawn_sizes_reach_the_solids() -> None:
    bare = FitLadder.of(gaps=["0.2 mm"], nominal="10 mm", depth="8 mm", own_piece=True)
    thin = bare.build({"hole 1": 10.3}).body("ladder").solid
    wide = bare.build({"hole 1": 10.5}).body("ladder").solid
    box_thin, box_wide = thin.bounding_box().size, wide.bounding_box().size

    def solid_without_hole(box: object, hole: float) -> float:
        area = box.X * box.Y - (4 - math.pi) * 4.0  # type: ignore[attr-defined]
        relief = math.pi / 4 * (hole + 2 * RELIEF_MM) ** 2 * RELIEF_HIGH_MM
        return area * 8.0 - relief - math.pi / 4 * hole**2 * (8.0 - RELIEF_HIGH_MM)

    # The same mark is sunk in both, so what is missing from each is equal.
    missing = solid_without_hole(box_thin, 10.3) - thin.volume
    assert missing == pytest.approx(solid_without_hole(box_wide, 10.5) - wide.volume, abs=0.01)
    assert 0.5 < missing < 20.0  # the mark: two digits of 4 mm, 0.4 mm deep


@pytest.mark.parametrize("form", ["round", "flat"])
def test_bodies_are_valid_apart_and_stand_on_the_bed(form: str) -> None:
    part = FitLadder.of(form=form, label="K7Q2").build()
    plate, piece = (body.solid for body in part.bodies)
    for solid in (plate, piece):
        assert solid.is_valid
        assert abs(solid.bounding_box().min.Z) < 1e-6
    assert piece.bounding_box().min.Y > plate.bounding_box().max.Y + 3.0
    assert abs(piece.bounding_box().size.Z - (GRIP_MM + 8.0)) < 1e-6
    assert not part.findings
    for dimension in part.dimensions:
        assert math.dist(dimension.start, dimension.end) == pytest.approx(dimension.value_mm)
    assert {d.name for d in part.dimensions} == {
        f.name for f in FitLadder.of(form=form).fit_sizes()
    }


def test_a_long_ladder_goes_on_in_a_second_row() -> None:
    part = FitLadder.of(nominal="20 mm", gaps=[f"{0.05 * i:.2f} mm" for i in range(12)]).build()
    rows = {round(d.start[1], 3) for d in part.dimensions if d.body == "ladder"}
    assert len(rows) == 2
    assert part.body("ladder").solid.bounding_box().size.X < 200


@pytest.mark.parametrize("pair", PAIRS)
def test_every_pair_has_a_ladder(pair: str) -> None:
    behaviour = behaviours_of(pair)[0]
    ladder = next_ladder(pair, behaviour, size_mm=12.0, specimens=3)
    template = FitLadder.of_ladder(ladder)
    assert template.gaps == pytest.approx(ladder.gaps_mm)
    part = template.build()
    assert len(part.bodies) == (1 if template.own_piece else 2)


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ({"gaps": []}, "fit ladder, gaps"),
        ({"gaps": ["0.2"]}, "Write '0.2 mm'"),
        ({"nominal": "1 mm", "gaps": ["-0.8 mm"]}, "leaves no hole at a size of 1 mm"),
        ({"gaps": ["30 mm"]}, "larger than the size itself"),
        ({"depth": "1 mm"}, "below 3"),
        ({"pair": "screw hole", "behaviour": "press by tool"}, "It can be: rotates freely, slides"),
    ],
)
def test_bad_ladders_are_refused(values: dict[str, object], text: str) -> None:
    with pytest.raises(FaultList) as error:
        FitLadder.of(**values)
    assert text in str(error.value)


def test_unknown_drawn_size_is_refused() -> None:
    with pytest.raises(PartError, match="there is no size 'hole 9'"):
        FitLadder.of().build({"hole 9": 10.0})
