"""Whether the place of an opening is known well enough for its gap."""

from __future__ import annotations

import pytest

from fitkit.checks.context import CheckContext, PlaceDoubt
from fitkit.checks.places import check_places
from fitkit.parts import Part


@pytest.mark.parametrize(
    ("off", "doubt", "said"),
    [(0.0, 0.11, []), (0.0, 0.19, ["warn"]), (0.08, 0.08, ["warn"]), (0.4, 0.1, ["stop"])],
)
def test_shift_and_doubt_of_a_place_are_held_against_half_of_the_gap(off, doubt, said):
    """Worked by hand: a gap of 0.24 mm leaves 0.12 mm on each side."""
    place = PlaceDoubt(of="port 1 width", name="port 1 along", off_mm=off, U_mm=doubt, gap_mm=0.24)
    part = Part(title="case", template="board case", bodies=())
    found = list(check_places(part, CheckContext(places=(place,))))
    assert [f.severity for f in found] == said
    for finding in found:
        assert (finding.value, finding.limit) == pytest.approx((off + doubt, 0.12))
        assert "port 1 along" in finding.text
