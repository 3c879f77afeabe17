"""Content as plain data: what JSON keeps unchanged, the same in every process."""

import json
from datetime import date

import numpy as np
import pytest

from fitkit.core.errors import JournalError
from fitkit.journal.plain import plain


def test_numbers_of_numpy_become_pythons_own():
    given = {
        "row": np.array([1.5, 2.5]),
        "count": np.int64(3),
        "wide": np.float32(0.5),
        "yes": np.bool_(True),
        "none": np.array(np.nan),
    }
    kept = plain(given)
    assert kept == {"row": [1.5, 2.5], "count": 3, "wide": 0.5, "yes": True, "none": "nan"}
    assert json.loads(json.dumps(kept, allow_nan=False)) == kept


def test_sets_are_in_an_order_of_their_content():
    names = {f"name {i}" for i in range(100)}
    assert plain(names) == sorted(names)


def test_what_is_no_data_is_refused():
    assert plain(date(2026, 11, 20)) == "2026-11-20"
    with pytest.raises(JournalError, match="kind object"):
        plain(object())
