"""What a part's findings say of records that could not be read, or are in doubt."""

from types import SimpleNamespace

import pytest

from fitkit.flow.earlier import Earlier
from fitkit.journal.files import Damage
from fitkit.make.checking import _of_the_journal, unread

ROTTEN = Damage(name="2026-05-01-NX7GAU9.json", why="it is empty")
NEWER = Damage(name="2026-05-02-96KPEX9.json", why="a newer release wrote it", newer=True)


def findings(*damaged):
    plan = SimpleNamespace(inputs=SimpleNamespace(earlier=Earlier(damaged=damaged)))
    return list(_of_the_journal(plan))


def test_damaged_and_newer_records_are_told_apart_each_with_what_to_do():
    rotten, newer = findings(NEWER, ROTTEN, NEWER)
    assert ROTTEN.name in rotten.text
    assert NEWER.name not in rotten.text
    assert "restore the files from a copy" in rotten.remedy
    assert NEWER.name in newer.text
    assert "newer release of fitkit" in newer.text
    assert "restore" not in newer.remedy
    assert "Update fitkit" in newer.remedy
    assert (rotten.value, newer.value) == (1.0, 2.0)
    assert {rotten.severity, newer.severity} == {"warn"}


def test_a_sound_journal_is_not_spoken_of():
    assert findings() == []


@pytest.mark.parametrize(
    ("damaged", "said"),
    [
        ((ROTTEN,), "1 record of the journal could not be read: gaps"),
        ((ROTTEN, ROTTEN), "2 records of the journal could not be read: gaps"),
        ((NEWER,), "1 record of the journal comes from a newer release of fitkit"),
        ((ROTTEN, NEWER), "1 record of the journal could not be read and 1 record of the journal"),
    ],
)
def test_one_sentence_says_both(damaged, said):
    assert unread(damaged).startswith(said)
    assert "chosen without what they say" in unread(damaged)
