"""Pages on the files that people write: every key and column, from the models that check them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from generators.rst import entry, facts, found_by, heading, plain, toctree

if TYPE_CHECKING:
    from collections.abc import Iterator

# Kind of file -> its page's title, and what to know first.
_ABOUT = {
    "sheet": (
        "Part sheet keys",
        "A part sheet is a TOML file that says which readings become which part. ``[printer]``, "
        "``[use]`` and the like are tables; ``printer.profile`` is the key ``profile`` in the "
        "table ``[printer]``. Paths count from the sheet's folder.",
    ),
    "workshop": (
        "Workshop keys",
        "The file ``workshop.toml`` makes its folder a workshop. Every key may be left out. Paths "
        "count from its folder.",
    ),
    "instruments": (
        "Instruments file keys",
        "A workshop's ``instruments.toml`` says what your calipers are. Lengths are text with "
        "a unit.",
    ),
    "material": (
        "Material file keys",
        "A file in the workshop's folder of materials describes a spool of your own.",
    ),
    "exhibit": (
        "Exhibit's file keys",
        "An exhibit's file names the parts of one exhibit, an entry ``[[parts]]`` for each printed "
        "piece, with its state.",
    ),
}


def pages() -> Iterator[tuple[str, str]]:
    """Give each page's path below ``reference/`` and its text."""
    from fitkit.core.described import keys_of
    from fitkit.views.schemas import FILES, model_of, schema_of

    for kind, (title, lead) in _ABOUT.items():
        lines = [*heading(title), *found_by(title.lower(), f"{FILES[kind]}"), lead, ""]
        lines += [
            f"An editor that knows JSON schemas completes and checks such a file by "
            f":download:`this schema </reference/files/{kind}.schema.json>`, which "
            f"``fitkit schema {kind}`` prints too.",
            "",
        ]
        for key in keys_of(model_of(kind)):
            line = facts(
                Takes=plain(key.takes),
                Default=f"``{key.default}``" if key.default else "",
                Needed="It must be given where its table is." if key.must else "",
            )
            lines += entry("key", f"{kind}.{key.name}", plain(key.help), "", line)
        yield f"files/{kind}.rst", "\n".join(lines)
        yield f"files/{kind}.schema.json", json.dumps(schema_of(kind), indent=2, ensure_ascii=False)
    yield "files/readings.rst", _readings()
    index = [*heading("Files that you write"), *toctree("readings", *_ABOUT)]
    yield "files/index.rst", "\n".join(index)


def _readings() -> str:
    from fitkit.readings.schema import ABOUT, COLUMNS, MODES, OPTIONAL

    lines = [
        *heading("Readings columns"),
        *found_by("columns of readings", "mode", "readings file"),
        "A readings file is a CSV file or an .xlsx workbook. Its first row names the columns, in "
        "any order. A row holds one reading; repeats of a feature are further rows, or further "
        "columns ``reading 2``, ``reading 3`` and so on. ``feature`` and ``reading`` must "
        "be there.",
        "",
        f"A mode is one of {', '.join(f'``{mode}``' for mode in MODES)}.",
        "",
    ]
    for title, columns in (("Usual columns", COLUMNS), ("Columns for special cases", OPTIONAL)):
        lines += heading(title, "-")
        for column in columns:
            lines += entry("column", f"readings.{column}", plain(ABOUT[column]))
    return "\n".join(lines)
