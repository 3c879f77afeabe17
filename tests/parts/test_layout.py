"""Places of several things: apart, within the inside, against their walls, the same every time."""

from __future__ import annotations

from hypothesis import given, settings, strategies as st

from fitkit.parts.layout import Item, Place, arrange, at_place, meets, turned_wall

_sides = st.floats(8.0, 70.0)


@st.composite
def items(draw):
    """Two to six boxes, some against a wall, some with room before them, some on the lid."""
    found = []
    for _ in range(draw(st.integers(2, 6))):
        x, y = draw(_sides) / 2, draw(_sides) / 2
        kind = draw(st.sampled_from(["plain", "plain", "tied", "room", "lid"]))
        body = (-x, -y, x, y)
        ties = ()
        free = body
        if kind == "tied":
            ties = draw(
                st.sampled_from([("front",), ("left",), ("right",), ("back",), ("left", "front")])
            )
        elif kind == "room":
            free = (-x, -y - draw(st.floats(1.0, 12.0)), x, y)
        found.append(
            Item(
                body=body,
                free=free,
                height_mm=draw(st.floats(3.0, 30.0)),
                ties=ties,
                hangs=kind == "lid",
            )
        )
    return tuple(found)


@settings(max_examples=60, deadline=None)
@given(items())
def test_things_stand_apart_within_the_inside_and_against_their_walls(things):
    plan = arrange(things, lid_margin=2.0)
    if plan is None:  # two items may want one wall's whole length: never without such ties
        assert sum(len(item.ties) > 0 for item in things) > 1
        return
    placed = [at_place(item, place) for item, place in zip(things, plan.places, strict=True)]
    for i, (item, one) in enumerate(zip(things, placed, strict=True)):
        assert one.body[0] > -1e-6
        assert one.body[1] > -1e-6
        assert one.body[2] < plan.length + 1e-6
        assert one.body[3] < plan.width + 1e-6
        gaps = {
            "left": one.body[0],
            "right": plan.length - one.body[2],
            "front": one.body[1],
            "back": plan.width - one.body[3],
        }
        for tie in item.ties:  # boxes are rounded up to half a millimetre, half of it a side
            assert gaps[turned_wall(tie, plan.places[i].turn)] <= 0.25 + 1e-6
        for other, two in zip(things[:i], placed[:i], strict=True):
            if item.hangs == other.hangs:
                assert not meets(one.body, two.body)
                assert not meets(one.body, two.free) or item.hangs
            elif meets(one.body, two.body):  # one hangs over the other
                assert item.height_mm + other.height_mm < plan.height
    assert plan.height >= max(item.height_mm for item in things) - 1e-9


@settings(max_examples=15, deadline=None)
@given(items())
def test_the_same_things_get_the_same_places(things):
    arrange.cache_clear()
    first = arrange(things)
    arrange.cache_clear()
    assert arrange(things) == first


def test_a_size_that_changes_by_little_moves_nothing():
    """Readings are taken again; what is in the drawer already should still be where it was."""

    def plan(more: float):
        boxes = [(40.1, 30.2), (25.3, 18.2), (60.2, 12.1)]
        return arrange(
            tuple(
                Item(
                    body=(-(x + more) / 2, -y / 2, (x + more) / 2, y / 2),
                    free=(-(x + more) / 2, -y / 2, (x + more) / 2, y / 2),
                    height_mm=10.0,
                )
                for x, y in boxes
            )
        )

    assert plan(0.05) == plan(0.0)


def test_automatic_things_keep_clear_of_a_given_one():
    box = (-10.0, -10.0, 10.0, 10.0)
    fixed = Item(body=box, free=box, height_mm=5.0, given=Place(30.0, 10.0, 0.0))
    free = Item(body=box, free=box, height_mm=5.0)
    plan = arrange((fixed, free, free))
    assert plan is not None
    assert plan.places[0] == Place(30.0, 10.0, 0.0)
    placed = [at_place(free, place).body for place in plan.places]
    assert not any(meets(a, b) for i, a in enumerate(placed) for b in placed[:i])


def test_plugs_on_opposite_sides_make_the_inside_as_long_as_their_thing():
    box = (-20.0, -10.0, 20.0, 10.0)
    through = Item(body=box, free=box, height_mm=5.0, ties=("left", "right"))
    small = (-9.0, -6.0, 9.0, 6.0)
    plan = arrange((through, Item(body=small, free=small, height_mm=5.0)))
    assert plan is not None
    assert plan.length == 40.0


def test_two_things_at_the_back_wall_stand_side_by_side():
    """They were put behind one another first, and then both against the wall."""
    box = (-20.0, -10.0, 20.0, 10.0)
    tied = Item(body=box, free=box, height_mm=5.0, ties=("back",))
    plan = arrange((tied, tied))
    assert plan is not None
    first, second = (at_place(tied, place).body for place in plan.places)
    assert not meets(first, second)
    assert plan.length == 80.0


def test_no_room_in_a_given_inside_is_said():
    box = (-20.0, -10.0, 20.0, 10.0)
    things = tuple(Item(body=box, free=box, height_mm=5.0) for _ in range(3))
    assert arrange(things, length=45.0, width=45.0) is None


def test_a_deep_device_hangs_beside_what_is_tall():
    """Hanging over a tall block would add its depth to the case's height."""
    tall = (-20.0, -20.0, 20.0, 20.0)
    button = (-9.0, -9.0, 9.0, 9.0)
    plan = arrange(
        (
            Item(body=tall, free=tall, height_mm=30.0),
            Item(body=button, free=button, height_mm=28.0, hangs=True),
        )
    )
    assert plan is not None
    assert plan.height == 30.0
