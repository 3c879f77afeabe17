"""Tables of the shell hold in a narrow terminal, whatever the names in them are like."""

from __future__ import annotations

import ast
from pathlib import Path
from types import SimpleNamespace

import pytest

import fitkit.views
from fitkit.views import tables
from fitkit.views.shell import main

LONG = "cover of the loudspeaker behind the listening post at the upper pond"
ONE_WORD = "Donaudampfschifffahrtselektrizitätenhauptbetriebswerkbauunterbeamter"
HOSTILE = "[red]left[/red] \x1b[2J"
NAMES = {"long": LONG, "one word": ONE_WORD, "hostile": HOSTILE}
VIEWS = Path(fitkit.views.__file__).parent


@pytest.fixture
def wide(request, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(request.param))
    return request.param


def of_size(name):
    from fitkit.core.format import fit_texts

    return fit_texts(name, measured=(123.456, 0.123), gap_mm=-0.25, target_mm=123.456,
                     drawn_mm=123.456, expected=(123.456, 0.123), wanted=name)  # fmt: skip


def made_table(name):
    from fitkit.views.terminal import print_made

    part = SimpleNamespace(title=name)
    page = SimpleNamespace(rows=(of_size(name), of_size("lid")), notes=())
    print_made(
        SimpleNamespace(code="K7M3PXA", part=part, page=page, findings=(), folder=Path("made"),
                        files=(), told=(), record=Path("r.json"))
    )  # fmt: skip


def chance_table(name):
    from fitkit.views.terminal import print_chance

    chance = SimpleNamespace(each={name: 0.5, "lid": 0.9}, usable={name: 0.6, "lid": 0.95},
                             left_out=(), p_all=0.45, p_usable=0.57)  # fmt: skip
    print_chance(SimpleNamespace(title="a part", chance=chance, minutes=10.0, grams=5.0, acts=(),
                                 advice=""))  # fmt: skip


def estimates_table(name):
    from fitkit.readings import ReadingTable
    from fitkit.stats import estimates
    from fitkit.views.terminal import print_estimates

    table = ReadingTable.paste(f"feature\treading\n{name}\t123.45 mm\n{name}\t123.46 mm\n")
    print_estimates(table, estimates(table))


def plates_table(name):
    from fitkit.views.terminal_jobs import print_plated

    part = SimpleNamespace(code="K7M3PXA", title=name, plates={"case": 1, "lid": 12})
    print_plated(
        SimpleNamespace(parts=(part, part), folder=Path("made"), plates=(), files=(), told=()),
        quiet=True,
    )


def exhibit_table(name):
    from fitkit.views.terminal_jobs import print_exhibit

    part = SimpleNamespace(name=name, code="K7M3PXA")
    print_exhibit(name, [SimpleNamespace(part=part, state="to print", why=name)])


@pytest.fixture
def journal(tmp_path):
    from fitkit.journal import Journal

    return Journal(tmp_path / "journal")


def journal_tables(name, journal):
    from fitkit.journal import PrintRecord

    title = name.replace("\x1b", "")
    journal.add(PrintRecord.new(title=title, template="spacer", printer=title))
    for words in (["log"], ["success"]):
        with pytest.raises(SystemExit) as end:
            main([*words, "--journal", str(journal.folder)])
        assert end.value.code == 0


def holds(text, wide):
    """Look over what was printed; give its words."""
    lines = text.splitlines()
    ruled = [n for n, line in enumerate(lines) if "──" in line]
    assert ruled
    for start in ruled:
        end = next((n for n in range(start, len(lines)) if not lines[n].strip()), len(lines))
        # From the title down to the blank line below.
        begin = next((n for n in range(start, -1, -1) if not lines[n].strip()), 0)
        for line in lines[begin:end]:
            assert len(line.rstrip()) <= wide, line
            assert "…" not in line
    return text.split()


DRAWN_BY = {
    "print_made": made_table,
    "print_chance": chance_table,
    "print_estimates": estimates_table,
    "print_plated": plates_table,
    "print_exhibit": exhibit_table,
    "log": journal_tables,
    "success": journal_tables,
}


def test_every_function_that_prints_a_table_is_tried_here():
    users = {
        function.name
        for path in VIEWS.rglob("*.py")
        for function in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(function, ast.FunctionDef)
        for call in ast.walk(function)
        if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "print_table"
    }
    assert users == set(DRAWN_BY)
    others = [p.name for p in VIEWS.rglob("*.py") if "rich.table" in p.read_text("utf-8")]
    assert others == ["tables.py"]


@pytest.mark.parametrize("wide", [60, 80, 200], indirect=True)
@pytest.mark.parametrize("kind", NAMES)
@pytest.mark.parametrize("drawn", sorted(set(DRAWN_BY) - {"success"}))
def test_a_table_holds_whatever_the_names_are(drawn, kind, wide, capsys, journal):
    name, draw = NAMES[kind], DRAWN_BY[drawn]
    draw(name, journal) if draw is journal_tables else draw(name)
    words = holds(capsys.readouterr().out, wide)
    assert "\x1b" not in "".join(words)
    if kind == "long" and wide >= 80:
        assert set(LONG.split()) <= set(words)  # no word is broken where there is room


@pytest.mark.parametrize("wide", [60, 80], indirect=True)
def test_figures_are_whole_in_a_narrow_table(wide, capsys):
    made_table(LONG)
    words = capsys.readouterr().out.split()
    assert {"-0.25", "123.456", "0.12"} <= set(words)


def test_the_longest_words_give_way_first():
    assert tables._shares({"a": 10, "b": 60}, 40) == {"a": 10, "b": 30}
    assert tables._shares({"a": 10, "b": 60}, 100) == {"a": 10, "b": 60}


@pytest.mark.parametrize("wide", [80], indirect=True)
def test_the_list_of_templates_holds_too(wide, capsys):
    with pytest.raises(SystemExit):
        main(["new", "--list"])
    said = [line for line in capsys.readouterr().out.splitlines() if "/" not in line]
    assert len(said) > 20
    assert max(map(len, said)) <= wide
