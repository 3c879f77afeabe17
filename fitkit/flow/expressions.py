"""Expressions of a part sheet, such as ``board length + 2 * 0.5 mm``, worked out as estimates.

A text is first cut into tokens of our own: lengths with units, plain numbers, names of features,
operators and the functions listed in `FUNCTIONS`; anything else is refused there. Only stand-ins
for the tokens reach Python's own parser, and of its tree only names, signs and calls of those
functions are worked out. Work is bounded by the length of the text, the number of tokens and the
depth of brackets.

Feature names are written as they are; spaces and underscores may stand for each other and for a
hyphen of the name (``span x-outer``, ``span_x_outer``), capitals count only where two names differ
by nothing else, and a name that opens with a digit or holds odd signs goes between backticks.

Units are followed: a length plus a number, or an area as result, is an error. Correlation is kept,
since the arithmetic is that of the estimates. Left out: powers; write ``a * a``.
"""

from __future__ import annotations

import ast
import difflib
import math
import operator
import re
from dataclasses import dataclass
from functools import reduce
from typing import TYPE_CHECKING, Any, NamedTuple

from fitkit.core.errors import FitkitError, SheetError
from fitkit.core.units import to_mm
from fitkit.stats.uncertainty import Estimate, Source

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from GTC.lib import UncertainReal

__all__ = ["FUNCTIONS", "MAX_LENGTH", "MAX_TOKENS", "evaluate", "features_in"]

MAX_LENGTH = 500
MAX_TOKENS = 120
MAX_DEPTH = 20


def evaluate(text: str, names: Mapping[str, Estimate]) -> Estimate:
    """Work out a length.

    Parameters
    ----------
    text : str
        As a person typed it in a part sheet.
    names : mapping of feature name to Estimate
        What the expression may refer to.

    Returns
    -------
    Estimate, mm
        A feature alone is returned as it is; anything else is named by the text.

    Raises
    ------
    SheetError
        If it names an unknown feature or function, does not read as an expression, is not a length,
        or is too long.
    UnitError
        If a length in it has a unit that is unknown or no length.

    Examples
    --------
    >>> from fitkit.stats.uncertainty import Estimate
    >>> board = Estimate.of("board length", 68.5, 0.02)
    >>> evaluate("board length + 2 * 0.5 mm", {"board length": board}).value_mm
    69.5
    """
    tokens = _tokens(text, names)
    if len(tokens) == 1 and isinstance(tokens[0].meaning, Estimate):
        return tokens[0].meaning
    term = _run(text, tokens)
    if term.power != 1:
        raise _not_a_length(text, term)
    if not math.isfinite(_value(term.number)):
        raise SheetError(
            "gives no finite length",
            where=_where(text),
            code="expression.not-finite",
            remedy="Check its numbers.",
        )
    name = " ".join(text.split())
    if isinstance(term.number, float):
        return Estimate.of(name, term.number, 0.0)
    return Estimate(name=name, uncertain=term.number, sources=term.sources, notes=term.notes)


def features_in(text: str, names: Iterable[str]) -> tuple[str, ...]:
    """List the features that an expression names, in the order in which they first come.

    Parameters
    ----------
    text : str
        As a person typed it.
    names : iterable of str
        Features that it may name, whether they have readings or not.

    Returns
    -------
    tuple of str
        Some of `names`; none if the text does not read as an expression of them.

    Examples
    --------
    >>> features_in("lid_inside - board length", ["board length", "lid inside", "depth"])
    ('lid inside', 'board length')
    """
    stand_ins = {name: Estimate.of(name, 1.0, 0.0) for name in names}
    try:
        tokens = _tokens(text, stand_ins)
    except FitkitError:
        return ()
    found = (token.meaning.name for token in tokens if isinstance(token.meaning, Estimate))
    return tuple(dict.fromkeys(found))


# --- terms: numbers that know how many times a length they are -----------------------------------


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Term:
    """A number, exact or uncertain, and its power of length: 0 plain, 1 length, 2 area."""

    number: float | UncertainReal
    power: int = 0
    sources: Mapping[str, Source]
    notes: tuple[str, ...] = ()

    def __add__(self, other: _Term) -> _Term:
        return self._joined(other, operator.add, self._same(other))

    def __sub__(self, other: _Term) -> _Term:
        return self._joined(other, operator.sub, self._same(other))

    def __mul__(self, other: _Term) -> _Term:
        return self._joined(other, operator.mul, self.power + other.power)

    def __truediv__(self, other: _Term) -> _Term:
        if _value(other.number) == 0.0:
            raise SheetError(
                "divides by zero", code="expression.divides-by-zero", remedy="Check the divisor."
            )
        return self._joined(other, operator.truediv, self.power - other.power)

    def __neg__(self) -> _Term:
        return self.times(-1.0)

    def __pos__(self) -> _Term:
        return self

    def times(self, factor: float) -> _Term:
        """Scale by an exact number."""
        return _Term(
            number=self.number * factor, power=self.power, sources=self.sources, notes=self.notes
        )

    def _same(self, other: _Term) -> int:
        if self.power != other.power:
            raise SheetError(
                f"{_kind(self.power)} and {_kind(other.power)} cannot be added or compared",
                code="expression.mixed-kinds",
                remedy="Give the bare number a unit, such as '0.5 mm'."
                if 0 in (self.power, other.power)
                else "Add and compare lengths with lengths.",
            )
        return self.power

    def _joined(self, other: _Term, verb: Callable[[Any, Any], Any], power: int) -> _Term:
        return _Term(
            number=verb(self.number, other.number),
            power=power,
            sources={**self.sources, **other.sources},
            notes=tuple(dict.fromkeys((*self.notes, *other.notes))),
        )


def _value(number: float | UncertainReal) -> float:
    return number if isinstance(number, float) else float(number.x)


def _kind(power: int) -> str:
    return {0: "a bare number", 1: "a length", 2: "an area"}.get(power, f"a length to the {power}")


def _exact(number: float, power: int = 0) -> _Term:
    return _Term(number=number, power=power, sources={})


# --- the functions -------------------------------------------------------------------------------


def _absolute(term: _Term) -> _Term:
    return -term if _value(term.number) < 0 else term


def _pick(choose: Callable[..., _Term], terms: tuple[_Term, ...]) -> _Term:
    """Choose one by value, and take its uncertainty: right where they differ by far more."""
    _some(terms)
    for term in terms[1:]:
        terms[0]._same(term)
    return choose(terms, key=lambda term: _value(term.number))


def _largest(*terms: _Term) -> _Term:
    return _pick(max, terms)


def _smallest(*terms: _Term) -> _Term:
    return _pick(min, terms)


def _mean(*terms: _Term) -> _Term:
    return reduce(operator.add, _some(terms)).times(1.0 / len(terms))


def _root(term: _Term) -> _Term:
    if term.power % 2 or _value(term.number) < 0:
        raise SheetError(
            f"takes the root of {_kind(term.power)} of {_value(term.number):g}",
            code="expression.root",
            remedy="Take it of an area or number, 0 or more.",
        )
    import GTC

    root = math.sqrt(term.number) if isinstance(term.number, float) else GTC.sqrt(term.number)
    return _Term(number=root, power=term.power // 2, sources=term.sources, notes=term.notes)


def _to_step(term: _Term, step: _Term) -> _Term:
    """Shift to the nearest whole number of steps; the shift is exact, the uncertainty stays."""
    term._same(step)
    by, value = _value(step.number), _value(term.number)
    if not by > 0:
        raise SheetError(
            "the rounding step must be greater than 0",
            code="expression.round-step",
            remedy="Write for example 'round(size, 0.5 mm)'.",
        )
    return term + _exact(round(value / by) * by - value, term.power)


def _some(terms: tuple[_Term, ...]) -> tuple[_Term, ...]:
    if not terms:
        raise SheetError(
            "a function needs at least one argument",
            code="expression.no-arguments",
            remedy="Put sizes between its brackets.",
        )
    return terms


FUNCTIONS: Mapping[str, Callable[..., _Term]] = {
    "abs": _absolute,
    "max": _largest,
    "mean": _mean,
    "min": _smallest,
    "round": _to_step,
    "sqrt": _root,
}

_OPERATORS: Mapping[type[ast.AST], Callable[..., _Term]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.UAdd: operator.pos,
    ast.USub: operator.neg,
}


def _worked_out(node: ast.expr, names: Mapping[str, _Term]) -> _Term:
    """Work out a tree of stand-ins; whatever else Python can write is a syntax error here."""
    match node:
        case ast.Name(id=name) if name in names:
            return names[name]
        case ast.UnaryOp(op=op, operand=operand) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_worked_out(operand, names))
        case ast.BinOp(left=left, op=op, right=right) if type(op) in _OPERATORS:
            return _OPERATORS[type(op)](_worked_out(left, names), _worked_out(right, names))
        case ast.Call(func=ast.Name(id=name), args=args, keywords=[]) if name in FUNCTIONS:
            return FUNCTIONS[name](*(_worked_out(arg, names) for arg in args))
    raise SyntaxError(f"{type(node).__name__} has no meaning here")


def _run(text: str, tokens: list[_Token]) -> _Term:
    """Evaluate the stand-ins of the tokens by Python's own precedence."""
    names = {t.code: _term(t.meaning) for t in tokens if t.meaning is not None}
    try:
        tree = ast.parse(" ".join(token.code for token in tokens), mode="eval")
        return _worked_out(tree.body, names)
    except FitkitError as error:
        raise error.placed(SheetError, where=_where(text)) from error
    except (SyntaxError, TypeError, RecursionError, MemoryError) as error:
        raise SheetError(
            "does not read as an expression",
            where=_where(text),
            code="expression.not-read",
            remedy="Write sizes with + - * / and brackets between them, such as "
            "'board length + 2 * 0.5 mm'.",
        ) from error
    except (OverflowError, ZeroDivisionError, ValueError) as error:
        raise SheetError(
            "gives no finite length",
            where=_where(text),
            code="expression.not-finite",
            remedy="Check its numbers.",
        ) from error


def _term(meaning: Estimate | _Term) -> _Term:
    if isinstance(meaning, _Term):
        return meaning
    return _Term(number=meaning.uncertain, power=1, sources=meaning.sources, notes=meaning.notes)


def _not_a_length(text: str, term: _Term) -> SheetError:
    remedy = "Write it with a unit, such as '2.4 mm'." if not term.power else None
    return SheetError(
        f"gives {_kind(term.power)}, not a length",
        where=_where(text),
        code="expression.not-a-length",
        remedy=remedy,
    )


# --- cutting the text into tokens ----------------------------------------------------------------


class _Token(NamedTuple):
    """Code that stands in for a piece of the text, and what the piece means, if a value."""

    code: str
    meaning: Estimate | _Term | None = None


_UNIT = r"[A-Za-zµμ]+|[\"″'′]"
_NUMBER = r"\d+(?:\.\d+)?"
_LITERAL = re.compile(
    rf"(?:\d+\s+)?\d+\s*/\s*\d+\s*(?:{_UNIT})|\d+,\d+\s*(?:{_UNIT})(?=\s*$)|{_NUMBER}\s*(?:{_UNIT})"
)
_BARE = re.compile(_NUMBER)
_WORD = re.compile(r"[^\W\d]\w*")
_PHRASE = re.compile(r"[^\W\d][\w \t-]*")
_QUOTED = re.compile(r"`([^`]*)`")
_SIGNS = "+-*/(),"


def _tokens(text: str, names: Mapping[str, Estimate]) -> list[_Token]:
    if not isinstance(text, str) or not text.strip():
        raise SheetError(
            "is empty",
            where=_where(text),
            code="expression.empty",
            remedy="Write a size, such as '2.4 mm'.",
        )
    if len(text) > MAX_LENGTH:
        raise SheetError(
            f"is longer than {MAX_LENGTH} characters",
            where=_where(text),
            code="expression.too-long",
        )
    spellings = _Spellings(names)
    tokens: list[_Token] = []
    at = depth = 0
    while at < len(text):
        if text[at].isspace():
            at += 1
            continue
        token, at = _next(text, at, names, spellings, str(len(tokens)))
        depth += (token.code == "(") - (token.code == ")")
        if tokens and token.code == "*" == tokens[-1].code:
            raise SheetError(
                "has a power", where=_where(text), code="expression.power", remedy="Write 'a * a'."
            )
        tokens.append(token)
        if len(tokens) > MAX_TOKENS or depth > MAX_DEPTH:
            raise SheetError(
                f"is too involved (more than {MAX_TOKENS} pieces, or {MAX_DEPTH} brackets deep)",
                where=_where(text),
                code="expression.too-involved",
                remedy="Split it over several parameters.",
            )
    return tokens


def _next(
    text: str, at: int, names: Mapping[str, Estimate], spellings: _Spellings, number: str
) -> tuple[_Token, int]:
    """Read the token that starts at a place of the text, and where the next one may."""
    if text[at] in _SIGNS:
        return _Token(text[at]), at + 1
    if quoted := _QUOTED.match(text, at):
        name = spellings.named(quoted[1], text)
        return _Token(f"t{number}", names[name]), quoted.end()
    if literal := _LITERAL.match(text, at):
        return _Token(f"t{number}", _length(literal, text, spellings)), literal.end()
    if bare := _BARE.match(text, at):
        return _Token(f"t{number}", _exact(float(bare[0]))), bare.end()
    if word := _WORD.match(text, at):
        if word[0] in FUNCTIONS and text[word.end() :].lstrip().startswith("("):
            return _Token(word[0]), word.end()
        if found := spellings.at(text, at):
            return _Token(f"t{number}", names[found[0]]), found[1]
        raise _unknown(text, at, spellings)
    raise SheetError(
        f"{text[at]!r} is an unexpected character",
        where=_where(text),
        code="expression.odd-sign",
        remedy="Use sizes, + - * / and brackets; put names with odd signs between backticks.",
    )


def _length(literal: re.Match[str], text: str, spellings: _Spellings) -> _Term:
    try:
        length_mm = to_mm(literal[0])
    except OverflowError:
        raise SheetError(
            "gives no finite length", where=_where(text), code="expression.not-finite"
        ) from None
    except FitkitError as error:
        unit = re.search(rf"(?:{_UNIT})$", literal[0])
        if unit and spellings.at(text, literal.start() + unit.start()):
            raise SheetError(
                f"has a number straight before a name, {literal[0]!r}",
                where=_where(text),
                code="expression.number-before-name",
                remedy="Put a '*' between them.",
            ) from None
        raise error.placed(where=_where(text)) from error
    return _exact(length_mm, 1)


def _unknown(text: str, at: int, spellings: _Spellings) -> SheetError:
    word, phrase = _WORD.match(text, at), _PHRASE.match(text, at)
    assert word
    assert phrase
    if text[word.end() :].lstrip().startswith("("):
        return SheetError(
            f"calls {word[0]!r}, which is not a function here",
            where=_where(text),
            code="expression.no-such-function",
            remedy=f"There are: {', '.join(sorted(FUNCTIONS))}.",
        )
    return spellings.missing(phrase[0].strip(" \t-"), text)


class _Spellings:
    """The ways in which known names may be written."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names = tuple(names)
        self._by_key: dict[str, list[str]] = {}
        for name in self.names:
            self._by_key.setdefault(_key(name), []).append(name)
        plain = [name.strip() for name in self.names if _WORD.match(name.strip())]
        # Longest first, so that "board length" wins over "board".
        plain.sort(key=len, reverse=True)
        self._pattern = re.compile(
            "|".join(rf"(?:{_spelling(name)})(?!\w)" for name in plain) or r"(?!)", re.IGNORECASE
        )

    def at(self, text: str, at: int) -> tuple[str, int] | None:
        """Find the name that is written at a place of the text, and where it ends."""
        match = self._pattern.match(text, at)
        return (self.named(match[0], text), match.end()) if match else None

    def named(self, written: str, text: str) -> str:
        """Find which name was meant."""
        if written in self.names:
            return written
        meant = self._by_key.get(_key(written), [])
        if len(meant) > 1:
            raise SheetError(
                f"{written!r} may be any of {', '.join(map(repr, meant))}",
                where=_where(text),
                code="expression.ambiguous-feature",
                remedy="Write one of them just as it is.",
            )
        if not meant:
            raise self.missing(written, text)
        return meant[0]

    def missing(self, written: str, text: str) -> SheetError:
        """Say that a name is not known, with the nearest ones."""
        near = difflib.get_close_matches(_key(written), self._by_key, 3, 0.5)
        if near:
            meant = " or ".join(repr(self._by_key[key][0]) for key in near)
            remedy = f"Did you mean {meant}?"
        elif self.names:
            remedy = f"There are: {', '.join(self.names[:12])}."
        else:
            remedy = "No readings are named, so write sizes with units."
        return SheetError(
            f"there is no feature {written!r}",
            where=_where(text),
            code="expression.no-such-feature",
            remedy=remedy,
        )


def _key(name: str) -> str:
    return re.sub(r"[\s_-]+", "_", name.strip()).casefold()


def _spelling(name: str) -> str:
    """Write a pattern of the spellings of one name."""
    pieces = re.split(r"([\s_-]+)", name)
    joints = [r"(?:-|[\s_]+)" if "-" in piece else r"[\s_]+" for piece in pieces[1::2]]
    words = [re.escape(piece) for piece in pieces[::2]]
    return "".join(a + b for a, b in zip(words, [*joints, ""], strict=True))


def _where(text: object) -> str:
    shown = str(text)
    return f"expression {shown if len(shown) <= 60 else shown[:57] + '...'!r}"
