"""A solved sheet's rows by name."""

from __future__ import annotations

from pathlib import Path

import pytest

from fitkit.core.errors import SheetError
from fitkit.flow import load_sheet, prepare
from fitkit.flow.sheet import sheet_of

DEMO = Path(__file__).parents[2] / "measurements" / "sound_board.toml"


def test_a_row_is_found_by_the_name_of_its_size_and_others_are_named():
    plan = prepare(load_sheet(DEMO))
    assert plan.row("pocket width").fit.name == "pocket width"
    with pytest.raises(SheetError, match="pocket length"):
        plan.row("pocket")


def test_a_part_without_fit_sizes_says_so_instead_of_an_empty_list(tmp_path):
    content = {
        "title": "coupon",
        "template": "calibration coupon",
        "printer": {"generic": "PETG"},
        "schema": 1,
    }
    plan = prepare(sheet_of(content, path=tmp_path / "order.toml"))
    with pytest.raises(SheetError, match=r"coupon: there is no size 'peg'\. It has: none\.$"):
        plan.row("peg")
    wished = content | {"fits": {"peg and hole": {"behaviour": "slides"}}}
    with pytest.raises(SheetError, match=r"no such fit\. It has none: leave the key out\.$"):
        prepare(sheet_of(wished, path=tmp_path / "order.toml"))


@pytest.mark.parametrize(
    ("own", "carried"),
    [
        (None, "K7M3PXA"),
        ("", ""),
        ("REAR LEFT", "REAR LEFT\nK7M3PXA"),
        ("spare of K7M3PXA", "spare of K7M3PXA"),
    ],
)
def test_a_label_of_ones_own_stands_beside_the_trace_code(own, carried, tmp_path):
    path = tmp_path / "ball.toml"
    label = "" if own is None else f'label = "{own}"\n'
    path.write_text(
        f'schema = 1\ntitle = "t"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
        f"[values]\n{label}",
        encoding="utf-8",
    )
    assert prepare(load_sheet(path), label="K7M3PXA").template.label == carried
