"""A message says what, where and what to do; its parts are data, and survive a trip."""

import pickle

import pytest

from fitkit.core import errors
from fitkit.core.errors import (
    ExportError,
    FaultList,
    FitkitError,
    InputError,
    JournalError,
    NoRecordError,
    NotFoundError,
    ReadingError,
    StateError,
    UnitError,
)

EVERY = [
    kind
    for kind in vars(errors).values()
    if isinstance(kind, type) and issubclass(kind, FitkitError) and kind is not FaultList
]
WHOLE = {
    "at": ("ports", 0, "above"),
    "file": "a.toml",
    "row": 3,
    "column": "reading",
    "code": "part.port-in-floor",
    "remedy": "Raise it.",
    "where": "board case",
}


def test_message_has_where_what_and_remedy_in_that_order():
    error = ReadingError("'3/16' has no unit", where="a.csv, row 14", remedy="Write '3/16 in'.")
    assert str(error) == "a.csv, row 14: '3/16' has no unit. Write '3/16 in'."


def test_message_without_where_or_remedy_is_the_plain_fact():
    assert str(FitkitError("the lid is missing")) == "the lid is missing"


@pytest.mark.parametrize(
    ("parts", "where"),
    [
        ({"file": "a.csv", "row": 14, "column": "reading"}, "a.csv, row 14, column reading"),
        ({"file": "a.toml", "at": ("printer", "profile")}, "a.toml, key printer.profile"),
        ({"where": "board case", "at": ("ports", 0, "above")}, "board case, ports 1.above"),
        ({"at": ("values", "wall")}, "key values.wall"),
        ({"row": 0}, "row 0"),
        ({}, None),
    ],
)
def test_the_place_is_put_into_words_when_shown(parts, where):
    error = FitkitError("it is wrong", **parts)
    assert error.where == where
    assert str(error) == (f"{where}: it is wrong" if where else "it is wrong")


@pytest.mark.parametrize("builtin", [ValueError, FitkitError, ReadingError, InputError])
def test_a_unit_error_is_caught_as(builtin):
    with pytest.raises(builtin):
        raise UnitError("no unit")


@pytest.mark.parametrize("kind", EVERY)
def test_nothing_that_is_raised_on_purpose_is_an_error_of_the_disk(kind):
    assert not issubclass(kind, OSError)


def test_an_error_is_caught_by_what_the_caller_can_do():
    assert issubclass(NoRecordError, NotFoundError)
    assert issubclass(NoRecordError, JournalError)
    assert issubclass(NoRecordError, LookupError)
    assert issubclass(ExportError, StateError)
    assert not issubclass(ExportError, ValueError)


@pytest.mark.parametrize("kind", EVERY)
def test_errors_survive_pickling_with_all_their_parts(kind):
    error = kind("it is in the floor", **WHOLE)
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is kind
    assert (back.what, back.parts()) == ("it is in the floor", WHOLE)
    assert str(back) == str(error)


def test_an_error_told_at_another_place_keeps_its_code_and_remedy():
    inner = UnitError("'5' has no unit", code="unit.missing", remedy="Write '5 mm'.")
    outer = inner.placed(ReadingError, file="a.csv", row=2)
    assert type(outer) is ReadingError
    assert (outer.code, outer.remedy, outer.where) == (inner.code, inner.remedy, "a.csv, row 2")
    assert inner.where is None


def test_a_list_of_faults_gives_a_line_each_and_survives_pickling():
    faults = FaultList([ReadingError("one", where="row 1"), UnitError("two", where="row 2")])
    assert str(faults).splitlines() == ["row 1: one", "row 2: two"]
    assert str(pickle.loads(pickle.dumps(faults))) == str(faults)


def test_a_long_list_of_faults_shows_twenty_and_counts_the_rest():
    faults = FaultList(ReadingError("wrong", row=n, code="a.b") for n in range(1, 38))
    lines = str(faults).splitlines()
    assert lines[19:] == ["row 20: wrong", "There are 17 more."]
    assert len(faults) == 37
    assert [fault.row for fault in faults] == list(range(1, 38))
    assert faults.codes == ("a.b",) * 37


def test_faults_told_at_another_place_are_all_told_there():
    faults = FaultList([ReadingError("one", row=1), UnitError("two", row=2)]).placed(file="b.csv")
    assert [fault.where for fault in faults] == ["b.csv, row 1", "b.csv, row 2"]
