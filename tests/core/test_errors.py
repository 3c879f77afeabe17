"""A message says what, where and what to do, and survives a trip between processes."""

import pickle

import pytest

from fitkit.core.errors import FaultList, FitkitError, ReadingError, UnitError


def test_message_has_where_what_and_remedy_in_that_order():
    error = ReadingError("'3/16' has no unit", where="a.csv, row 14", remedy="Write '3/16 in'.")
    assert str(error) == "a.csv, row 14: '3/16' has no unit. Write '3/16 in'."


def test_message_without_where_or_remedy_is_the_plain_fact():
    assert str(FitkitError("the lid is missing")) == "the lid is missing"


@pytest.mark.parametrize("builtin", [ValueError, FitkitError, ReadingError])
def test_a_unit_error_is_caught_as(builtin):
    with pytest.raises(builtin):
        raise UnitError("no unit")


def test_errors_survive_pickling():
    error = UnitError("no unit", where="row 2", remedy="Write mm.")
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is UnitError
    assert (back.what, back.where, back.remedy) == (error.what, error.where, error.remedy)


def test_a_list_of_faults_gives_a_line_each_and_survives_pickling():
    faults = FaultList([ReadingError("one", where="row 1"), UnitError("two", where="row 2")])
    assert str(faults).splitlines() == ["row 1: one", "row 2: two"]
    assert str(pickle.loads(pickle.dumps(faults))) == str(faults)
