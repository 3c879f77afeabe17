"""The columns of readings stand in the schema alone; whatever reads or writes a table asks it."""

import ast
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest

from fitkit.calibration.order import blank_readings
from fitkit.core.errors import ReadingError
from fitkit.readings import ReadingTable
from fitkit.readings.blank import blank_table
from fitkit.readings.schema import COLUMNS, OPTIONAL, SHARED
from fitkit.widgets.protocol import Head

ROOT = Path(__file__).parents[2] / "fitkit"
# A column that only the schema is told of: it is written, read, put in place and kept by a grid.
ADDED = """
import sys
from pathlib import Path
from typing import get_args
from fitkit.readings import schema
schema.OPTIONAL = (*schema.OPTIONAL, "humidity")
from fitkit.readings import ReadingTable
from fitkit.readings.blank import blank_table
from fitkit.widgets.grid_model import GridModel

text = blank_table([{"feature": "lid", "reading": "12.34 mm", "humidity": "45 %"}])
assert text.splitlines()[0].endswith(",note,humidity"), text
path = Path(sys.argv[1]) / "lid.csv"
path.write_text("my own,Humidity,feature,reading\\nx,45 %,lid,12.34 mm\\n")
table = ReadingTable.read(path)
columns = list(table.frame)
assert columns[: len(schema.COLUMNS) + 2] == [*schema.COLUMNS, "humidity", "my own"], columns
model = GridModel(path)
model.type_cell(0, 1, "12.35 mm")
assert list(ReadingTable.read(path).frame["humidity"])[0] == "45 %"
"""


def test_a_column_is_added_by_naming_it_in_the_schema(tmp_path):
    run = subprocess.run(
        [sys.executable, "-c", ADDED, str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stderr


def test_no_other_file_writes_the_header_again():
    """A file may name the few columns that it works with; six of them are a header."""
    known = {*COLUMNS, *OPTIONAL}
    found = []
    for path in sorted(ROOT.rglob("*.py")):
        if path == ROOT / "readings" / "schema.py":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Tuple | ast.List | ast.Set):
                words = [item.value for item in node.elts if isinstance(item, ast.Constant)]
                if len(words) > 5 and known.issuperset(words):
                    found.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert found == []


def test_an_empty_file_has_the_schemas_columns_in_its_order():
    text = blank_table([{"round": "no", "feature": "lid"}, {"between": "a", "feature": "span"}])
    assert text.splitlines() == [
        ",".join((*COLUMNS, "round", "between")),
        ",lid,,,,,,,no,",
        ",span,,,,,,,,a",
    ]
    assert blank_readings().startswith(",".join((*COLUMNS, "round")) + "\n")
    assert set(SHARED) < set(COLUMNS)
    # The columns that a grid lets people type; the item stands above its rows.
    assert {*get_args(Head), "item"} == set(SHARED)


def test_a_column_that_the_schema_has_not_is_refused():
    with pytest.raises(ReadingError) as caught:
        blank_table([{"feature": "lid", "colour": "red"}])
    assert caught.value.code == "readings.no-such-column"
    assert caught.value.remedy.startswith("There are: item, feature, mode,")


def test_an_empty_file_reads_back_with_every_row_waiting(tmp_path):
    path = tmp_path / "a.csv"
    path.write_text(blank_table([{"feature": "lid, inside", "mode": "inside", "unit": "mm"}] * 2))
    table = ReadingTable.read(path)
    assert list(table.frame["feature"]) == ["lid, inside"] * 2
    assert len(table.rejected) == 2
