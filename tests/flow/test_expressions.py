"""Expressions of part sheets: what they mean, and what they must never be able to do."""

import contextlib
import math

import pytest
from hypothesis import given, strategies as st

from fitkit.core.errors import FitkitError, SheetError, UnitError
from fitkit.flow.expressions import FUNCTIONS, MAX_TOKENS, evaluate
from fitkit.stats.uncertainty import Estimate


def names(**values):
    return {
        name.replace("_", " "): Estimate.of(name.replace("_", " "), value, 0.02)
        for name, value in values.items()
    }


BOARD = names(board_length=68.5, board_width=53.3, board=1.6)
SPANS = {
    "span-x outer": Estimate.of("span-x outer", 56.0, 0.02),
    "span-x inner": Estimate.of("span-x inner", 48.0, 0.02),
}


@pytest.mark.parametrize(
    ("text", "value_mm"),
    [
        ("2.4 mm", 2.4),
        ("2.4mm", 2.4),
        ("1 in", 25.4),
        ("-0.2 mm", -0.2),
        ("board length", 68.5),
        ("board_length", 68.5),
        ("Board  Length", 68.5),
        ("`board length`", 68.5),
        ("board length + 2 * 0.5 mm", 69.5),
        ("board length - board", 66.9),
        ("(board_length + board_width) / 2", 60.9),
        ("mean(board length, board width)", 60.9),
        ("max(board length, 70 mm)", 70.0),
        ("min(board length, 70 mm, board)", 1.6),
        ("abs(board - board length)", 66.9),
        ("sqrt(3 mm * 3 mm + 4 mm * 4 mm)", 5.0),
        ("round(board length, 1 mm) + 0.0 mm", 68.0),
        ("2 * board length / board width * 1 mm", 2 * 68.5 / 53.3),
        ("-board + +2 mm", 0.4),
        ("3/16 in * 2", 9.525),
    ],
)
def test_values(text, value_mm):
    assert evaluate(text, BOARD).value_mm == pytest.approx(value_mm, abs=1e-12)


def test_hyphenated_names_are_not_differences():
    for text in ("(span-x outer + span-x inner)/2", "(span_x_outer + span x inner) / 2"):
        assert evaluate(text, SPANS).value_mm == pytest.approx(52.0)


def test_longest_name_wins_and_spaced_minus_is_a_difference():
    known = names(board=10.0, length=4.0) | {"board-length": Estimate.of("board-length", 68.0, 0.1)}
    assert evaluate("board-length", known).value_mm == 68.0
    assert evaluate("board - length", known).value_mm == 6.0
    del known["board-length"]
    assert evaluate("board-length", known).value_mm == 6.0


def test_names_that_open_with_digits_or_hold_odd_signs_go_in_backticks():
    odd = {
        "3/4 peg": Estimate.of("3/4 peg", 19.0, 0.1),
        "rim (left)": Estimate.of("rim (left)", 3.0, 0.1),
    }
    assert evaluate("`3/4 peg` + `rim (left)`", odd).value_mm == 22.0


def test_a_feature_alone_comes_back_itself():
    assert evaluate("board length", BOARD) is BOARD["board length"]


def test_correlation_is_kept():
    same = evaluate("board length - board length", BOARD)
    assert same.value_mm == 0.0
    assert same.u_mm == 0.0
    # u of a mean of two independent sizes: u / sqrt(2), GUM 5.1.2
    assert evaluate("mean(board length, board width)", BOARD).u_mm == pytest.approx(
        0.02 / math.sqrt(2)
    )
    # u of the hypotenuse by hand: sqrt((a u)^2 + (b u)^2) / c = u for equal u
    diagonal = "sqrt(board length * board length + board width * board width)"
    assert evaluate(diagonal, BOARD).u_mm == pytest.approx(0.02)


def test_sources_and_notes_come_along():
    noted = {"a": BOARD["board"].named("a", "jaws were worn"), "b": BOARD["board width"]}
    result = evaluate("a + b", noted)
    assert result.notes == ("jaws were worn",)
    assert set(result.sources) == {"board", "board width"}
    assert result.name == "a + b"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("bord length", r"no feature 'bord length'\. Did you mean 'board length'"),
        ("bord_length + 1 mm", r"no feature 'bord_length'\. Did you mean 'board length'"),
        ("2.4", r"gives a bare number, not a length\. Write it with a unit"),
        ("board length + 2", "a length and a bare number cannot be added"),
        ("board length * board width", "gives an area, not a length"),
        ("board length / board width", "gives a bare number, not a length"),
        ("max(board length, 2)", "cannot be added or compared"),
        ("2 mm / 0", "divides by zero"),
        ("2 mm / (board - board)", "divides by zero"),
        ("2 board length", r"straight before a name, '2 board'\. Put a '\*'"),
        ("foo(2 mm)", r"calls 'foo', which is not a function here\. There are: abs, max"),
        ("max()", "needs at least one argument"),
        ("round(board, 0 mm)", "rounding step must be greater than 0"),
        ("sqrt(board)", "takes the root of a length"),
        ("2 mm +", "does not read"),
        ("", "is empty"),
        ("max(2 mm", "does not read"),
        ("max", "no feature 'max'"),
        ("2 mm ** 2", "has a power"),
        ("`thing`", "no feature 'thing'"),
        ("9" * 29 + " mm * " + "9" * 290, "no finite length"),
    ],
)
def test_errors_say_what_and_what_to_do(text, message):
    with pytest.raises(SheetError, match=message):
        evaluate(text, BOARD)


def test_a_wrong_unit_is_told():
    with pytest.raises(UnitError, match="expression '2 kg'"):
        evaluate("2 kg", BOARD)


def test_two_names_that_read_alike_are_not_guessed():
    alike = {"rim x": BOARD["board"], "rim_x": BOARD["board length"]}
    assert evaluate("rim_x", alike).value_mm == 68.5
    with pytest.raises(SheetError, match="may be any of 'rim x', 'rim_x'"):
        evaluate("Rim x", alike)


# Ways out of restricted Python that are common knowledge in its security literature: dunder
# walks, format strings, generator and frame attributes, comprehension names, lambdas, imports.
ESCAPES = [
    "().__class__.__bases__[0].__subclasses__()",
    "board.__class__",
    "board .uncertain",
    "max.__self__",
    "max.__globals__['os'].system('true')",
    "'{0.__class__}'.format(board)",
    "f'{board}'",
    "[x for x in (1,)]",
    "(lambda: 1)()",
    "__import__('os').system('true')",
    "import os",
    "eval('1')",
    "open('/etc/passwd')",
    "exec('x=1')",
    "getattr(board, 'uncertain')",
    "board := 3 mm",
    "x = 3 mm",
    "max(key=board)",
    "max(*board)",
    "max(**board)",
    "board[0]",
    "{1: 2}",
    "board if board else board",
    "board; board",
    "board\nimport os",
    "board @ board",
    "board << 9",
    "9 mm // 2",
    "board % 2",
    "~board",
    "board < 3 mm",
    "not board",
    "board and board",
    "...",
    "1j * 1 mm",
    "t0",
    "_x",
    "`__class__`",
    "max(max)(1 mm)",
    "(max)(1 mm)",
    "2 mm # comment",
    "2 mm \\\n + 3 mm",
    "\u212f\u1d65al(1 mm)",  # letters that Python folds to "eval"
    "True",
    "None",
]


@pytest.mark.parametrize("text", ESCAPES)
def test_escapes_are_refused(text):
    with pytest.raises(FitkitError):
        evaluate(text, BOARD)


@pytest.mark.parametrize(
    "text",
    [
        "9**9**9**9 mm",
        "(" * 5000 + "1 mm" + ")" * 5000,
        "(" * 100 + "1 mm" + ")" * 100,
        "-" * 499 + "1",
        "1 mm" + "+1 mm" * 200,
        "max(" + "1," * 200 + "1)",
        "9" * 400 + " mm",
        "a" * 499,
        "a " * 249,
        "1 " * 249,
    ],
)
def test_work_is_bounded(text):
    # Unbounded work would never come to the refusal.
    with pytest.raises(FitkitError):
        evaluate(text, BOARD)


def test_the_longest_chains_still_fit_the_stack():
    assert evaluate("-" * (MAX_TOKENS - 1) + "1 mm", {}).value_mm == -1.0
    terms = (MAX_TOKENS - 1) // 2
    assert evaluate("1 mm" + "+1 mm" * terms, {}).value_mm == terms + 1


def assert_estimate_or_refusal(text):
    # Any error of another kind fails the test.
    with contextlib.suppress(FitkitError):
        assert math.isfinite(evaluate(text, BOARD).value_mm)


@given(st.text(max_size=60))
def test_any_text_gives_an_estimate_or_a_plain_refusal(text):
    assert_estimate_or_refusal(text)


PIECES = ["board", "length", "2 mm", "3", "(", ")", "+", "-", "*", "/", ",", *FUNCTIONS, ".", "_"]


@given(st.lists(st.sampled_from(PIECES), max_size=30).map(" ".join))
def test_any_heap_of_pieces_gives_an_estimate_or_a_plain_refusal(text):
    assert_estimate_or_refusal(text)


@given(
    st.floats(0.1, 500), st.floats(0.1, 500), st.floats(0.1, 9), st.sampled_from(["mm", "cm", "in"])
)
def test_agrees_with_plain_arithmetic_in_any_unit(a, b, c, unit):
    known = names(a=a, b=b)
    factor = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
    result = evaluate(f"(a + b) / 2 - {c:.4f} {unit} * 3", known)
    assert result.value_mm == pytest.approx((a + b) / 2 - float(f"{c:.4f}") * factor * 3)
