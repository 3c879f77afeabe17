"""Trace codes: short, no look-alikes, every misreading of one character or swap of two noticed."""

import pytest
from hypothesis import given, strategies as st

from fitkit.core.errors import JournalError
from fitkit.journal.codes import ALPHABET, LENGTH, normal_code, trace_code, valid_trace_code

codes = st.binary(max_size=8).map(lambda content: trace_code(of=content))


def test_alphabet_has_no_look_alikes_and_a_prime_size():
    # pairs that are mistaken for each other: common practice, no source
    for pair in ("0O", "0Q", "OQ", "1I", "1L", "IL", "2Z", "5S", "8B", "UV", "0D"):
        assert sum(letter in ALPHABET for letter in pair) <= 1, pair
    assert len(set(ALPHABET)) == len(ALPHABET) == 23
    assert all(len(ALPHABET) % divisor for divisor in range(2, 23))


def test_random_codes_differ_and_hold():
    drawn = {trace_code() for _ in range(500)}
    assert len(drawn) == 500
    assert all(valid_trace_code(code) and len(code) == LENGTH for code in drawn)


@given(codes)
def test_every_single_wrong_character_is_noticed(code):
    for place in range(LENGTH):
        for letter in ALPHABET.replace(code[place], ""):
            assert not valid_trace_code(code[:place] + letter + code[place + 1 :])


@given(codes)
def test_every_swap_of_two_characters_is_noticed(code):
    for a in range(LENGTH):
        for b in range(a):
            if code[a] != code[b]:
                letters = list(code)
                letters[a], letters[b] = letters[b], letters[a]
                assert not valid_trace_code("".join(letters))


@given(codes)
def test_typed_with_spaces_hyphens_and_small_letters(code):
    assert normal_code(f" {code[:3].lower()}-{code[3:]} ") == code


def test_same_content_same_code():
    assert trace_code(of=b"a row") == trace_code(of=b"a row") != trace_code(of=b"another")


def test_refusals_say_what_is_wrong():
    code = trace_code()
    with pytest.raises(JournalError, match="Codes have no 0 O"):
        normal_code("O0" + code[2:])
    with pytest.raises(JournalError, match="Codes have 7 characters"):
        normal_code(code[:5])
    wrong = code[:-1] + next(letter for letter in ALPHABET if letter != code[-1])
    with pytest.raises(JournalError, match="check character does not agree"):
        normal_code(wrong)
