"""Every rule of every template puts its message at the field of the panel that it is about."""

from __future__ import annotations

import ast
import copy
import sys
from pathlib import Path

import pytest

import fitkit.parts.contract
from fitkit.core.errors import FitkitError
from fitkit.parts.registry import template, titles
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.sources import TemplateSource
from tests.parts.provocations import PROVOKED

HOME = Path(fitkit.parts.contract.__file__).parent / "designs"
# Refusals that no panel can bring about, each with its reason.
BEYOND_A_PANEL = {
    "part.coupon-cannot-draw": "features are chosen by a program, not typed in a panel",
}
# Templates that have no rules, only bounds.
BOUNDS_ALONE = {"test strips"}
_hit: set[tuple[str, int]] = set()


def sites() -> dict[tuple[str, int], str]:
    """Where templates refuse: file and first line of the call, and the code, if it says one."""
    found = {}
    for path in sorted(HOME.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = getattr(node.func, "id", "") or getattr(node.func, "attr", "")
            if name in ("at_least", "at_most", "PartError"):
                code = next((k.value for k in node.keywords if k.arg == "code"), None)
                place = (str(path.relative_to(HOME)), node.lineno)
                found[place] = str(code.value) if isinstance(code, ast.Constant) else ""
                _spans[place] = node.end_lineno or node.lineno
    return found


_spans: dict[tuple[str, int], int] = {}


def _note_where_it_was_raised() -> None:
    frame = sys._getframe(1)
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if path.is_relative_to(HOME):
            file = str(path.relative_to(HOME))
            for (other, first), last in _spans.items():
                if other == file and first <= frame.f_lineno <= last:
                    _hit.add((other, first))
        frame = frame.f_back


@pytest.fixture
def noted(monkeypatch):
    """Note which line of a template each error comes from."""
    sites()
    init = FitkitError.__init__

    def noting(self, *args, **kwargs):
        init(self, *args, **kwargs)
        _note_where_it_was_raised()

    monkeypatch.setattr(FitkitError, "__init__", noting)


@pytest.mark.parametrize("provoked", PROVOKED, ids=lambda p: f"{p.title}-{p.path}")
def test_a_refusal_is_shown_at_the_field_that_it_is_about(provoked, noted):
    path = provoked.path
    model = PanelModel(TemplateSource(template(provoked.title), drawn=provoked.drawn))
    model.values = copy.deepcopy(provoked.values)
    model.last_path = "label"  # where a message with no place of its own would fall
    if model.solve():
        with pytest.raises(FitkitError) as caught:
            model.solved.template.build(model.solved.drawn)
        model.blame(caught.value)
    if not path:
        assert model.trouble
        return
    assert path in model.messages
    assert "label" not in model.messages
    assert model.trouble == ""


def test_a_port_in_the_floor_is_shown_at_the_port_even_after_another_field_was_changed():
    model = PanelModel(TemplateSource(template("board case")))
    model.add("ports")
    model.set("ports.0.above", "-6 mm")
    model.set("wall", "2.6 mm")
    with pytest.raises(FitkitError) as caught:
        model.solved.template.build(model.solved.drawn)
    model.blame(caught.value)
    assert list(model.messages) == ["ports.0.above"]
    assert caught.value.code == "part.port-in-floor"


def test_every_template_has_provocations():
    rooms = ("fitkit.parts.designs.", "fitkit.parts.carriers.")
    shipped = {t for t in titles() if template(t).__module__.startswith(rooms)}
    assert {provoked.title for provoked in PROVOKED} == shipped - BOUNDS_ALONE


def test_every_rule_of_every_template_was_provoked():
    """Runs after those above, in the order of this file."""
    if not _hit:
        pytest.skip("the provocations did not run")
    left = {
        place: code
        for place, code in sites().items()
        if place not in _hit and code not in BEYOND_A_PANEL
    }
    assert left == {}
