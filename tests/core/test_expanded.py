"""The one rule for ± at 95 %, beside the table of the GUM, and that nothing else has a rule."""

from __future__ import annotations

import ast
import math
import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from fitkit.core.expanded import effective_df, expanded

ROOT = Path(__file__).parents[2]
# JCGM 100:2008, table G.2, as printed: two decimals.
TABLE = pd.read_csv(ROOT / "tests" / "data" / "gum_g2_t_table.csv", comment="#")
LEVELS = {"p68.27": 0.6827, "p90": 0.90, "p95": 0.95, "p95.45": 0.9545, "p99": 0.99}


@pytest.mark.parametrize("column", LEVELS)
def test_coverage_factors_are_those_of_table_g2_one_by_one_and_all_at_once(column: str) -> None:
    df, printed = TABLE["nu"].to_numpy(float), TABLE[column].to_numpy(float)
    U, k = expanded(np.full(len(df), 0.1), df, LEVELS[column])
    assert len(df) > 15
    assert k == pytest.approx(printed, abs=0.0051)
    assert pytest.approx(0.1 * k) == U
    assert [expanded(0.1, one, LEVELS[column])[1] for one in df] == pytest.approx(list(k))


def test_between_whole_degrees_of_freedom_the_factor_falls_without_a_jump() -> None:
    """Note 1 of G.4.1 allows interpolation; at 3.9 the line through the table's rows gives 2.82."""
    _, k = expanded(1.0, 3.9)
    assert 2.78 < k < 0.1 * 3.18 + 0.9 * 2.78 + 0.005
    steps = [expanded(1.0, df)[1] for df in np.arange(1.0, 30.0, 0.01)]
    assert all(more > less for more, less in pairwise(steps))
    assert max(more - less for more, less in pairwise(steps[200:])) < 0.02


def test_nothing_that_is_exact_gets_an_interval() -> None:
    assert expanded(0.0, math.nan)[0] == 0.0
    U, _ = expanded(np.array([0.0, 1.0]), np.array([math.nan, math.inf]))
    assert list(U) == pytest.approx([0.0, 1.959964])


def test_degrees_of_freedom_add_up_as_in_the_gums_gauge_block() -> None:
    """JCGM 100:2008, H.1.6: 25, 9.7, 2.9 and 16.6 nm, with 18, 25.6, 50 and 2: 16.7."""
    df = effective_df((25.0, 18), (9.7, 25.6), (2.9, 50), (16.6, 2))
    assert float(df) == pytest.approx(16.7, abs=0.1)  # of inputs rounded as printed
    assert math.isinf(effective_df((0.1, math.inf), (0.0, 3)))


# What has another use of Student's t or of the normal distribution than an interval at 95 %.
OTHER_USE = {
    "fitkit/stats/outliers.py": "critical values of Grubbs' test",
    "fitkit/stats/doubts.py": "limits beyond which a reading is doubted, at a rate of false alarms",
    "fitkit/fits/chain_sample.py": "draws that are tied together",
    "fitkit/fits/sampling.py": "draws of a normal distribution between bounds",
}
_U = re.compile(r"u(_\w+)?|sigma")
_FACTORS = (1.645, 1.96, 1.95996, 2.0, 4.0, 200.0, 196.0, 3.92)


def _rules_of_its_own(path: Path) -> list[str]:
    """Find coverage factors: a quantile function, or u times a number that such a factor has."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.alias) and node.name in ("stdtrit", "ndtri"):
            found.append(node.name)
        if isinstance(node, ast.Attribute) and node.attr in ("stdtrit", "ndtri", "ppf", "isf"):
            found.append(node.attr)
        if isinstance(node, ast.Constant) and isinstance(node.value, float):
            found += [str(node.value)] * (abs(node.value - 1.96) < 0.005)
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
            for number, named in ((node.left, node.right), (node.right, node.left)):
                factor = number.operand if isinstance(number, ast.UnaryOp) else number
                name = getattr(named, "attr", getattr(named, "id", ""))
                if isinstance(named, ast.Subscript):
                    name = getattr(named.slice, "value", "")
                if (
                    isinstance(factor, ast.Constant)
                    and factor.value in _FACTORS
                    and _U.fullmatch(str(name))
                ):
                    found.append(ast.unparse(node))
    return found


def test_no_other_file_has_a_rule_of_its_own_for_an_interval(tmp_path: Path) -> None:
    sketch = tmp_path / "sketch.py"
    sketch.write_text("from scipy.special import stdtrit\na = -2 * u_mm + row['u_mm'] * 2.0\n")
    assert len(_rules_of_its_own(sketch)) == 3
    kept = {*OTHER_USE, "fitkit/core/expanded.py"}
    for path in sorted((ROOT / "fitkit").rglob("*.py")):
        name = path.relative_to(ROOT).as_posix()
        assert not _rules_of_its_own(path) or name in kept, name
    for name in OTHER_USE:  # an entry that is out of date goes
        assert _rules_of_its_own(ROOT / name), name
