"""Drawings of all templates, as shipped and at each bound of each parameter, looked over."""

from __future__ import annotations

import pytest

from fitkit.core.errors import FitkitError
from fitkit.drawings import TitleBlock, drawings_of
from fitkit.parts import template
from fitkit.parts.registry import SPECIMENS, shipped
from tests.drawings.lint import faults, said, untrue
from tests.parts.pairs import options

BLOCK = TitleBlock(title="a part", code="K7M3PXA", material="PETG", date="2026-11-28")
TITLES = sorted(shipped())


def look_over(part, *, least: float = 0.9) -> None:
    drawings = drawings_of(part, BLOCK)
    wrong = [fault for drawing in drawings for fault in faults(drawing)]
    for drawing, body in zip(drawings, part.bodies, strict=True):
        wrong += untrue(drawing, body, part.dimensions)
    assert wrong == []
    assert said(drawings) >= least * len(part.dimensions)


def at_bounds(title: str):
    """Parts with one parameter at a bound or another choice, those that the template allows."""
    kind = template(title)
    for name, values in options(kind, sizes=True).items():
        for value in values:
            try:
                yield f"{name} = {value}", kind.of(**{name: value}).build()
            except FitkitError:
                continue  # refused by the template's own rules


@pytest.mark.parametrize("title", TITLES)
def test_a_shipped_template_is_drawn_whole_apart_and_true(title):
    look_over(template(title).of().build())


@pytest.mark.parametrize("title", sorted(set(TITLES) - SPECIMENS))
def test_letters_change_no_size_of_a_drawing(title):
    """With a label or without: the same sizes are drawn, and all lines but the letters' agree."""
    plain, labelled = (template(title).of(label=text).build() for text in ("", "K7M3PXA"))
    for a, b in zip(drawings_of(plain, BLOCK), drawings_of(labelled, BLOCK), strict=True):
        assert [p.words.text for p in a.placed["front"]] == [
            p.words.text for p in b.placed["front"]
        ]
        assert [p.words.text for p in a.placed["top"]] == [p.words.text for p in b.placed["top"]]


@pytest.mark.slow
@pytest.mark.parametrize("title", TITLES)
def test_a_template_at_its_bounds_is_drawn_whole_apart_and_true(title):
    built = 0
    for what, part in at_bounds(title):
        built += 1
        try:
            look_over(part)
        except AssertionError as error:
            raise AssertionError(f"{title}, {what}: {error}") from error
    assert built > 0


@pytest.mark.parametrize("title", ["board case", "panel", "cradle"])
def test_a_size_that_the_solid_has_not_is_found(title):
    """The looking over itself: each straight size drawn 0.01 mm too long is told."""
    from dataclasses import replace

    part = template(title).of().build()

    def longer(one):
        way = [(b - a) / one.value_mm for a, b in zip(one.start, one.end, strict=True)]
        end = tuple(b + 0.01 * w for b, w in zip(one.end, way, strict=True))
        return replace(one, value_mm=one.value_mm + 0.01, end=end)

    wrong = replace(part, dimensions=tuple(longer(one) for one in part.dimensions))
    drawings = drawings_of(wrong, BLOCK)
    told = [
        fault
        for drawing, body in zip(drawings, wrong.bodies, strict=True)
        for fault in untrue(drawing, body, wrong.dimensions)
    ]
    assert len(told) >= 0.5 * len(part.dimensions)
