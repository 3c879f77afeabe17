"""Bodies are kept by value, and a body that a change concerns is made again."""

from fitkit.parts.carriers.case import Case, kept_bodies
from fitkit.parts.designs.board_case.tray import kept_trays
from fitkit.solids import volume_of
from fitkit.solids.kept import Kept, Same


def test_the_last_few_are_kept_and_the_oldest_goes():
    kept, made = Kept[int](most=2), []

    for number in (1, 2, 1, 3, 1, 2):
        if kept.get((number,)) is None:
            made.append(kept.put((number,), number))
        assert kept.get((number,)) == number
    assert made == [1, 2, 3, 2]


def test_a_stand_in_is_equal_only_for_the_very_same_thing():
    one, other = [1], [1]
    assert Same(one) == Same(one)
    assert Same(one) != Same(other)
    assert len({Same(one), Same(one), Same(other)}) == 2


def case(y="30 mm", lid="20 mm", **values):
    cells = {
        "name": "cells", "held": "round cell in saddles", "place": {"x": "45 mm", "y": y},
        "diameter": "18 mm", "body_length": "60 mm", "hold": "rest",
    }  # fmt: skip
    button = {
        "name": "button", "held": "device in a cut-out", "on": "lid", "behind": "3 mm",
        "place": {"x": lid, "y": "45 mm"},
    }  # fmt: skip
    sizes = {"inside_length": "90 mm", "inside_width": "62 mm"}
    return Case.of(things=[cells, button], **sizes | values)


def test_what_is_taken_again_is_what_would_be_made():
    def volumes(made):
        part = made.build()
        middle = [body.solid.center() for body in part.bodies]
        return [volume_of(body.solid) for body in part.bodies], [tuple(m) for m in middle]

    changed = [case(), case(lid="30 mm"), case(y="26 mm"), case(wall="3 mm"), case(label="ABC1234")]
    warm = [volumes(made) for made in changed]
    for made, (was, middle) in zip(changed, warm, strict=True):
        kept_trays.cache_clear()
        kept_bodies.cache_clear()
        now, where = volumes(made)
        for a, b in zip(was, now, strict=True):
            assert abs(a / b - 1) < 1e-9
        for a, b in zip(middle, where, strict=True):
            assert max(abs(u - v) for u, v in zip(a, b, strict=True)) < 1e-6


def test_a_thing_of_the_lid_leaves_the_tray_as_it_is():
    one, other = case().build(), case(lid="30 mm").build()
    assert one.body("tray").solid.wrapped.IsSame(other.body("tray").solid.wrapped)
    assert not one.body("lid").solid.wrapped.IsSame(other.body("lid").solid.wrapped)
