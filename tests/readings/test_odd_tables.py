"""Tables that people really have: each is taken as it is meant, or refused in words that help.

Every case is data of our own in the exhibits bench's scenario. A case says what counts, how many
rows are rejected, and words of what is said about it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import pytest

from fitkit.core.errors import FitkitError
from fitkit.readings import ReadingTable
from fitkit.stats.doubts import doubts

if TYPE_CHECKING:
    from pathlib import Path


class Case(NamedTuple):
    """A file's content, what counts of it in mm, and what is said."""

    text: str | bytes
    counts: dict[str, list[float]]
    rejected: int = 0
    said: str = ""
    unit: str | None = None
    decimal: str | None = None


HEAD = "feature,reading,unit\n"
CASES = {
    "lines above the header": Case(
        "# typed at the bench\nby hand\nfeature,reading,unit\nlid,12.34,mm\n",
        {"lid": [12.34]}, said="the header is in row 3",
    ),
    "sep line": Case("sep=;\nfeature;reading;unit\nlid;12,34;mm\n", {"lid": [12.34]}),
    "unit in brackets": Case("feature,reading (mm)\nlid,12.34\n", {"lid": [12.34]}),
    "unit in words": Case("feature,reading in mm\nlid,12.34\n", {"lid": [12.34]}),
    "unit at repeats": Case("feature,M1 (mm),M2 (mm)\nlid,12.34,12.36\n", {"lid": [12.34, 12.36]}),
    "two repeats with two units": Case(
        "feature,reading 1 (mm),reading 2 (in)\nlid,25.4,1.0\n", {"lid": [25.4, 25.4]}
    ),
    "value and units": Case("feature,value,units\nlid,12.34,mm\n", {"lid": [12.34]}),
    "name and size": Case("name,reading,unit\nlid,12.34,mm\n", {"lid": [12.34]}),
    "dimension and value": Case("Dimension,Value (mm)\nlid,12.34\n", {"lid": [12.34]}),
    "capitals": Case("FEATURE,MODE,READING,UNIT\nlid,OUTSIDE,12.34,MM\n", {"lid": [12.34]}),
    "unit with a stop": Case(HEAD + "lid,1.0,in.\n", {"lid": [25.4]}),
    "unit spelt out": Case(HEAD + "lid,12.34,millimetres\n", {"lid": [12.34]}),
    "unit that is none": Case(HEAD + "lid,12.34,parsec\n", {}, 1, "'parsec' is not a unit"),
    "features side by side": Case(
        "nr,lid,rim\n1,12.34,5.0\n2,12.36,5.1\n", {"lid": [12.34, 12.36], "rim": [5.0, 5.1]},
        said="stand side by side", unit="mm",
    ),
    "repeats of unequal number": Case(
        "feature,1,2,3\nlid,12.34,12.36,\nrim,5.0,,\n", {"lid": [12.34, 12.36], "rim": [5.0]},
        unit="mm",
    ),
    "average that is right": Case(
        "feature,1,2,mean\nlid,12.34,12.36,12.35\n", {"lid": [12.34, 12.36]},
        said="compared, not counted", unit="mm",
    ),
    "average that is wrong": Case(
        "feature,1,2,mean\nlid,12.34,12.36,12.85\n", {"lid": [12.34, 12.36]},
        said="is not that of its readings", unit="mm",
    ),
    "header repeated": Case(
        HEAD + "lid,12.34,mm\n" + HEAD + "lid,12.36,mm\n", {"lid": [12.34, 12.36]},
        said="the header is repeated",
    ),
    "decimal commas": Case("feature;reading;unit\nlid;12,34;mm\n", {"lid": [12.34]}),
    "commas with three digits": Case(
        "feature;reading;unit\nlid;12,345;mm\n", {}, 1, "declare the decimal comma"
    ),
    "commas with three digits, declared": Case(
        "feature;reading;unit\nlid;12,345;mm\n", {"lid": [12.345]}, decimal=","
    ),
    "commas with three digits, declared in the header": Case(
        "feature;reading [mm, decimal comma]\nlid;12,345\n", {"lid": [12.345]}
    ),
    "points between thousands": Case("feature;reading\nlid;1.234,5 mm\n", {"lid": [1234.5]}),
    "blanks between thousands": Case(
        "feature;reading;unit\nlid;1\u202f234,5;mm\n", {"lid": [1234.5]}
    ),
    "apostrophes between thousands": Case(HEAD + "lid,1’234.5,mm\n", {"lid": [1234.5]}),
    "an apostrophe between no thousands": Case(HEAD + "lid,12’34,mm\n", {}, 1, "not one number"),
    "both signs in one table": Case(
        "feature;reading;unit\nlid;12,34;mm\nlid;12.36;mm\n", {"lid": [12.34, 12.36]}
    ),
    "no unit": Case("feature,reading\nlid,12.34\n", {}, 1, "has no unit"),
    "two units": Case(
        "feature,reading [inch],unit\nlid,12.34,mm\n", {"lid": [12.34]},
        said="the header says in, but some rows say mm",
    ),
    "a percent sign": Case(HEAD + "lid,12.34 %,mm\n", {}, 1, "is not one length"),
    "a torn row": Case(
        "feature,mode,reading,unit\nlid,outside,12.34,mm\nlid,outside,1\n", {"lid": [12.34]}, 1,
        "is it torn",
    ),
    "a spreadsheet's date": Case(
        "feature,reading,unit,date\nlid,12.34,mm,04.03.2026 05:06\n", {"lid": [12.34]}
    ),
    "a date that is none": Case(
        "feature,reading,unit,date\nlid,12.34,mm,2026-13-45\n", {"lid": [12.34]},
        said="is not a date that fitkit can read",
    ),
    "a reading that became a date": Case(HEAD + "lid,16. Mrz,in\n", {}, 1, "did you type 3/16"),
    "a day's number": Case(HEAD + "lid,46150,in\n", {}, 1, "number of a day"),
    "beyond the calipers": Case(
        HEAD + "lid,480.00,mm\n", {"lid": [480.0]}, said="beyond the 150 mm"
    ),
    "a display in inch": Case(
        HEAD + "lid,1.2505,mm\n", {"lid": [1.2505]}, said="more decimals than the display shows"
    ),
    "a step below zero": Case(
        "feature,mode,reading,unit\nlid,step,-1.20,mm\n", {"lid": [-1.2]}, said="below zero"
    ),
    "two of four in inch": Case(
        HEAD + "lid,12.70,mm\nlid,0.500,mm\nlid,12.72,mm\nlid,0.501,mm\n",
        {"lid": [12.7, 0.5, 12.72, 0.501]}, said="was one half shown in inch",
    ),
    "three repeats, one far off": Case(
        HEAD + "lid,17.44,mm\nlid,17.93,mm\nlid,17.42,mm\n", {"lid": [17.44, 17.93, 17.42]},
        said="stands out",
    ),
    "two places under one name": Case(
        HEAD + "".join(f"bar,{n},mm\n" for n in (96.1, 96.11, 96.1, 95.8, 95.81, 95.8)),
        {"bar": [96.10, 96.11, 96.10, 95.80, 95.81, 95.80]}, said="two groups of readings",
    ),
    "a block pasted twice": Case(
        "feature,reading,unit,taken_at\n"
        + 2 * "".join(f"lid,12.3{n},mm,2026-03-16T09:3{n}\n" for n in (4, 5, 6)),
        {"lid": [12.34, 12.35, 12.36]}, said="entered twice",
    ),
    "two spellings": Case(
        HEAD + "board length,68.00,mm\nBoard_length,68.02,mm\n",
        {"board length": [68.0], "Board_length": [68.02]}, said="look like one feature",
    ),
    "closed jaws": Case(HEAD + "closed jaws,-0.02,mm\nlid,12.34,mm\n", {"lid": [12.34]}),
    "a formula as text": Case(HEAD + "=1+1,12.34,mm\n", {"=1+1": [12.34]}),
    "columns without names": Case(
        "feature,reading,unit,,\nlid,12.34,mm,,x\n", {"lid": [12.34]}
    ),
    "a stated plus or minus": Case(HEAD + "lid,12.34 ± 0.02,mm\n", {"lid": [12.34]}),
    "fractions": Case(HEAD + "lid,1 3/16,in\n", {"lid": [30.1625]}),
    "Windows-1252": Case(
        "feature;reading;unit\nHöhe;12,34;mm\n".encode("cp1252"), {"Höhe": [12.34]},
        said="Windows-1252",
    ),
    "UTF-16 without its mark": Case(
        "feature;reading;unit\nHöhe;12,34;mm\n".encode("utf-16-le"), {"Höhe": [12.34]},
        said="UTF-16",
    ),
    "UTF-16 without its mark, big end first": Case(
        "feature,reading,unit\nlid,12.34,mm\n".encode("utf-16-be"), {"lid": [12.34]}, said="UTF-16"
    ),
    "a name that says the row's unit": Case(HEAD + "lid [mm],12.34,mm\n", {"lid [mm]": [12.34]}),
    "a name that says another unit": Case(
        HEAD + "lid (in),2.690,mm\n", {}, 1, "the name 'lid (in)' says in"
    ),
    "a name that says another unit than the table": Case(
        "feature,reading\nlid (inch),2.690\nrim,5.0\n", {"rim": [5.0]}, 1,
        "the name 'lid (inch)' says in", unit="mm",
    ),
    "a name that alone says the unit": Case(
        "feature,reading\nlid (mm),12.34\n", {"lid (mm)": [12.34]}
    ),
    "a reading that says another unit": Case(
        HEAD + "lid,1.25 in,mm\n", {"lid": [31.75]}, said="the reading itself says in"
    ),
    "a unit in capitals behind the number": Case(
        HEAD + "lid,12.34 MM,\nrim,1.5 Inches,\n", {"lid": [12.34], "rim": [38.1]}
    ),
    "a sign for the diameter": Case(HEAD + "peg,Ø 12.34,mm\n", {"peg": [12.34]}),
    "a unit for a header": Case("feature,mm,note\nlid,12.34,x\n", {"lid": [12.34]}),
    "a size with its unit for a header": Case("name,length_mm\nlid,12.34\n", {"lid": [12.34]}),
    "two columns of readings": Case(
        "feature,reading,value,unit\nlid,12.34,99,mm\n", {"lid": [12.34]},
        said="column 'value' is kept, but not read",
    ),
    "an average in a row": Case(
        HEAD + "lid,12.34,mm\nlid,12.36,mm\nAverage,12.35,mm\n", {"lid": [12.34, 12.36]}, 1,
        "the row is an average",
    ),
    "repeats parted by their commas": Case(
        "feature,1,2\nlid,12,34\nrim,5,02\n", {"lid": [12.0, 34.0], "rim": [5.0, 2.0]},
        said="the commas have parted them", unit="mm",
    ),
    "a hole without jaws": Case(
        HEAD + "hole 3,2.84,mm\n", {"hole 3": [2.84]}, said="a hole by its name"
    ),
    "what goes into a hole": Case(HEAD + "hole plug,2.84,mm\n", {"hole plug": [2.84]}),
    "closed jaws that are far off": Case(
        HEAD + "closed jaws,0.90,mm\nlid,12.34,mm\n", {"lid": [12.34]}, said="is it so much"
    ),
    "closed jaws that differ": Case(
        HEAD + "closed jaws,0.00,mm\nclosed jaws,0.30,mm\nlid,12.34,mm\n", {"lid": [12.34]},
        said="which of them is right",
    ),
    "closed jaws that are wide open": Case(
        HEAD + "closed jaws,1.50,mm\nlid,12.34,mm\n", {"closed jaws": [1.5], "lid": [12.34]},
        said="It is taken for a size",
    ),
    "a difference for a size": Case(
        "feature,reading,unit,zeroed\nlid,0.02,mm,50.00 mm\n", {}, 1, "is a difference"
    ),
    "a distance that was zeroed on": Case(
        "feature,reading,unit,zeroed\nholes,48.80,mm,3.20 mm\n", {"holes": [48.8]}
    ),
    "a temperature without its sign": Case(
        "feature,reading,unit,temperature\nlid,50.02,mm,45 C\n", {"lid": [50.02]}
    ),
    "a temperature that burns": Case(
        "feature,reading,unit,temperature\nlid,50.02,mm,500 °C\n", {}, 1, "temperature '500 °C'"
    ),
    "control signs": Case(HEAD + "li\x1b]0;x\x07d,12.34,mm\n", {"li\x1b]0;x\x07d": [12.34]}),
}  # fmt: skip
REFUSED = {
    "a PDF": (b"%PDF-1.7 \x00\x01", "is a PDF"),
    "an old workbook": (b"\xd0\xcf\x11\xe0" + b"\0" * 600, "old .xls format"),
    "an open document": (
        b"PK\x03\x04" + b"\0" * 26 + b"mimetypeapplication/vnd.oasis.opendocument.spreadsheet",
        r"OpenDocument format \(.ods\)",
    ),
    "a quote that is not closed": (b'feature,reading\n"lid,12.34 mm\n', "the quote is not closed"),
    "no feature": (b"reading,unit\n12.34,mm\n", "has no column 'feature'"),
    "nothing": (b"", "has no rows"),
    "a decimal comma that parted a reading": (
        b"feature,reading,note,unit\nlid,12,34,mm\nrim,5,02,mm\n",
        "was the comma its decimal sign",
    ),
    "too many fields": (b"feature,reading,unit\nlid,12,34,mm\n", "row 2 has 4 fields"),
}
PASTED = {
    "length: 12.34 mm": [12.34],
    "length: 12.34 12.36": [12.34, 12.36],
    "length 12.34 12.36": [12.34, 12.36],
    "length, 12.34, 12.36": [12.34, 12.36],
    "length = 12.34 mm": [12.34],
    "length: 12.34; 12.36": [12.34, 12.36],
    "length 12,34 mm": [12.34],
    "length 12.34 mm 12.36 mm": [12.34, 12.36],
    "length\t12,34\t12,36": [12.34, 12.36],
    "length;12,34;12,36": [12.34, 12.36],
}


@pytest.mark.parametrize("name", CASES)
def test_an_odd_table_is_taken_as_it_is_meant(name: str, tmp_path: Path) -> None:
    case = CASES[name]
    path = tmp_path / "bench.csv"
    path.write_bytes(case.text if isinstance(case.text, bytes) else case.text.encode())
    table = ReadingTable.read(path, case.unit, decimal=case.decimal)  # type: ignore[arg-type]
    counted = table.counted
    found = {
        feature: rows["value_mm"].round(6).tolist()
        for feature, rows in counted.groupby("feature", sort=False)
    }
    assert found == case.counts
    assert len(table.rejected) == case.rejected
    said = [*table.notes, *table.rejected["rejected"], *(flag.text for flag in doubts(table))]
    assert not case.said or case.said in "\n".join(said)


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_not_a_table_of_readings_is_refused_in_plain_words(name, tmp_path) -> None:
    content, says = REFUSED[name]
    path = tmp_path / "bench.csv"
    path.write_bytes(content)
    with pytest.raises(FitkitError, match=says):
        ReadingTable.read(path)


@pytest.mark.parametrize("text", PASTED)
def test_a_line_of_a_name_and_its_readings_is_pasted(text: str) -> None:
    table = ReadingTable.paste(text, unit="mm")
    assert table.features() == ("length",)
    assert table.counted["value_mm"].tolist() == PASTED[text]


@pytest.mark.parametrize("name", CASES)
def test_an_odd_table_reads_back_as_it_was(name: str, tmp_path: Path) -> None:
    case = CASES[name]
    path = tmp_path / "bench.csv"
    path.write_bytes(case.text if isinstance(case.text, bytes) else case.text.encode())
    table = ReadingTable.read(path, case.unit, decimal=case.decimal)  # type: ignore[arg-type]
    for ending in ("csv", "tsv", "xlsx"):
        again = ReadingTable.read(table.write(tmp_path / f"again.{ending}"))
        assert again.frame["reading"].tolist() == table.frame["reading"].tolist(), ending
        assert again.frame["value_mm"].equals(table.frame["value_mm"]), ending
        assert (again.frame["rejected"] == "").equals(table.frame["rejected"] == ""), ending
