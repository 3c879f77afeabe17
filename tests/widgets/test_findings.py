"""A finding's figures in the panel: told once, by the sentence or behind it."""

import re

import pytest

from fitkit.checks import Use, published_material, run_checks
from fitkit.core.finding import Finding
from fitkit.widgets.findings import shown_finding
from tests.checks import gallery
from tests.checks.gallery import box, context, part, prism
from tests.checks.test_run import EVERYTHING


@pytest.mark.parametrize(
    ("untold", "number"),
    [
        ((), ""),
        (("limit",), "(limit 1.2 mm)"),
        (("value",), "2.4 mm"),
        (("value", "limit"), "2.4 mm (limit 1.2 mm)"),
    ],
)
def test_a_figure_is_shown_only_where_the_finding_says_that_its_words_lack_it(untold, number):
    finding = Finding(
        check="walls", severity="note", text="it is thin.", value=2.4, limit=1.2, unit="mm",
        untold=untold,
    )  # fmt: skip
    assert shown_finding(finding)["number"] == number


def test_a_finding_without_figures_shows_none():
    finding = Finding(check="walls", severity="note", text="it lies well.", untold=("value",))
    assert shown_finding(finding)["number"] == ""


def _is_in(value: float, text: str) -> bool:
    """Tell whether a value stands in a text, rounded as one of the figures there is."""
    return any(
        abs(value - float(figure)) <= 0.5 * 10.0 ** -len(figure.partition(".")[2]) + 1e-9
        for figure in re.findall(r"-?\d+(?:\.\d+)?", text)
    )


def _found():
    for outline in (gallery.LONG_ARCH, gallery.LEDGE, gallery.HANGING, gallery.STEEP):
        yield from run_checks(part(), context(prism(outline, 20)))
    yield from run_checks(part(), context(box(2, 2, 200)))
    for use in (Use(handling="touched", watts=1), Use(handling="rough hands", watts=200)):
        for material in ("PETG", "PLA"):
            yield from run_checks(
                part(**EVERYTHING),
                context(box(300, 300, 20), use=use, material=published_material(material)),
            )


def test_what_a_check_says_about_its_own_words_is_true():
    """Each figure is in the words or is said not to be, and none of the latter is there too."""
    found = [item for item in _found() if item.value is not None and item.limit is not None]
    assert len({item.check for item in found}) >= 5
    for item in found:
        words = f"{item.text} {item.remedy}"
        for name in ("value", "limit"):
            figure = getattr(item, name)
            if name not in item.untold:
                assert _is_in(figure, words), (name, figure, words)
