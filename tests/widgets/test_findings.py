"""A finding's figure in the panel: told once."""

import pytest

from fitkit.core.finding import Finding
from fitkit.widgets.findings import shown_finding


@pytest.mark.parametrize(
    ("text", "value", "limit", "unit", "number"),
    [
        # Both in the text, as rounded there.
        ("the arm bends to 6.25 % strain; it bears 5 %.", 6.253, 5.0, "%", ""),
        ("the floor bears about 41 N; hands ask for 60 N.", 40.93, 60.0, "N", ""),
        # The limit is not.
        ("the lip is 0.87 mm, between 2 and 3 lines.", 0.8747, 1.2, "mm", "(limit 1.2 mm)"),
        ("to close 15 to 36 N, to open 15 to 36 N.", 15.43, 50.0, "N", "(limit 50 N)"),
        # Neither is: another figure, another unit, the count of something.
        ("the thinnest wall is that of the pocket.", 2.4, 1.2, "mm", "2.4 mm (limit 1.2 mm)"),
        ("the lip touches 3 mm² only.", 3.0, 5.0, "mm", "3 mm (limit 5 mm)"),
        ("port 12 is narrow.", 12.0, 15.0, "mm", "12 mm (limit 15 mm)"),
        # Held against nothing.
        ("the tray lies well: 5 mm² over air.", 4.53, None, "mm²", ""),
        ("from 45 min to 2 h 15 min.", 1.49, None, "h", ""),
        ("the tray lies well.", 4.53, None, "mm²", "4.53 mm²"),
        ("the tray lies well.", None, None, "", ""),
    ],
)
def test_a_figure_is_shown_only_where_the_text_does_not_carry_it(text, value, limit, unit, number):
    finding = Finding(
        check="walls", severity="note", text=text, value=value, limit=limit, unit=unit
    )
    assert shown_finding(finding)["number"] == number


def test_a_limit_that_the_remedy_names_is_not_told_again():
    finding = Finding(
        check="walls",
        severity="note",
        text="the lip is 0.87 mm.",
        value=0.87,
        limit=1.2,
        unit="mm",
        remedy="Make it 0.80 or 1.20 mm.",
    )
    assert shown_finding(finding)["number"] == ""
