"""The verdicts stand in one place: what they mean, their signs and their order are asked of it."""

import ast
import re
from pathlib import Path
from typing import get_args

import numpy as np

from fitkit.fits import AS_WANTED, VERDICT_KINDS, VERDICTS, counts_as_fitted, learn
from fitkit.fits.trial import Verdict

ROOT = Path(__file__).parents[2]
HOME = ROOT / "fitkit" / "fits" / "trial.py"


def texts(tree: ast.AST) -> list[tuple[str, int]]:
    """Every string but docstrings, with its line."""
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        (node.value, node.lineno)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs
    ]


def lists(text: str) -> bool:
    """Whether a text is a verdict, or lists some of them, rather than speaks of one."""
    return text in VERDICTS or sum(word in text for word in VERDICTS) > 1


def test_no_other_file_lists_the_verdicts():
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "fitkit").rglob("*.py"))
        if path != HOME
        for text, line in texts(ast.parse(path.read_text(encoding="utf-8")))
        if lists(text)
    ]
    # protocol.ts is written from the same place, and a test of the widgets holds it to that.
    found += [
        path.name
        for path in sorted((ROOT / "web" / "src").glob("*.ts"))
        if path.name != "protocol.ts"
        for _, text in re.findall(r"([\"'`])(.*?)\1", path.read_text(encoding="utf-8"))
        if lists(text)
    ]
    assert found == []
    assert any(lists(text) for text, _ in texts(ast.parse(HOME.read_text(encoding="utf-8"))))


def test_the_type_and_the_table_name_the_same_words():
    assert get_args(Verdict) == VERDICTS == tuple(kind.word for kind in VERDICT_KINDS)
    assert [kind.word for kind in VERDICT_KINDS if kind.fitted] == [AS_WANTED]
    assert [word for word in VERDICTS if counts_as_fitted(word)] == [AS_WANTED]
    assert not counts_as_fitted("not tried")


def test_each_verdict_has_a_sign_and_a_look_of_its_own():
    for part in ("word", "sign", "look"):
        assert len({getattr(kind, part) for kind in VERDICT_KINDS}) == len(VERDICT_KINDS)


def test_the_model_has_a_threshold_between_each_two_verdicts_and_keeps_their_order():
    model = learn("peg and hole", "slides", size_mm=10)
    assert model.thresholds_mm.shape[1] == len(VERDICTS) - 1
    likeliest = model.p_verdict(np.linspace(-2, 3, 401)).argmax(axis=1)
    assert (np.diff(likeliest) >= 0).all()
    assert set(likeliest) >= {0, VERDICTS.index(AS_WANTED), len(VERDICTS) - 1}
