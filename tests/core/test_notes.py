"""Like notes are one line; what differs in more than a figure or two stays apart."""

from fitkit.core.notes import gathered

MOVED = "by sizes measured on earlier prints, {} mm beside the profile (RJYMK9H {} mm)"


def moved(figure):
    return MOVED.format(figure, figure)


def test_many_notes_of_one_kind_become_a_line_with_their_things_and_the_range():
    notes = [("lug hole", moved("-0.024"))]
    notes += [(f"board: port {n}", moved(f"-0.0{n}0")) for n in (1, 2, 3)]
    assert gathered(notes) == (
        "lug hole, board (3 sizes): by sizes measured on earlier prints, -0.030 to -0.010 mm "
        "beside the profile",
    )


def test_two_of_a_kind_stay_with_all_that_they_say():
    notes = [("a", moved("-0.1")), ("b", moved("-0.2"))]
    assert gathered(notes) == (f"a: {moved('-0.1')}", f"b: {moved('-0.2')}")


def test_notes_with_many_figures_and_other_words_stay_apart():
    layers = "whole layers reach {} mm or {} mm; {} mm drawn"
    notes = [(n, layers.format(*f)) for n, f in zip("abc", ("123", "456", "789"), strict=True)]
    assert len(gathered(notes)) == 3
    assert gathered([("a", "is 1 mm over"), ("b", "is 2 mm under"), ("c", "is 3 mm over")]) == (
        "a: is 1 mm over", "b: is 2 mm under", "c: is 3 mm over",
    )  # fmt: skip


def test_trace_codes_and_names_are_no_figures():
    notes = [(n, f"kept: fitted as wanted in {code}") for n, code in
             zip("abc", ("96KPEX9", "37KPEX3", "74ACDEF"), strict=True)]  # fmt: skip
    assert len(gathered(notes)) == 3
