"""An exhibit's file: states follow the journal, comments stay, and what is to print is made."""

import pytest
from click.testing import CliRunner

from fitkit.core.errors import FaultList, FitkitError, SheetError
from fitkit.journal import Journal, broke, trial_of
from fitkit.make import load_exhibit, make_exhibit, standing
from fitkit.make.exhibit import add_parts, is_exhibit, print_again, update_states
from fitkit.views.shell import commands
from fitkit.workshop import begin_workshop

FILE = """# What stands in the hall.
schema = 1
title = "hall"

[[parts]]
name = "left post"   # under the bench
sheet = "post.toml"
state = "to print"

[[parts]]
name = "right post"
sheet = "post.toml"
state = "to print"
note = "the short one"
"""


@pytest.fixture
def shop(tmp_path):
    begin_workshop(tmp_path)
    (tmp_path / "post.toml").write_text(
        'schema = 1\ntitle = "post"\ntemplate = "spacer"\n[printer]\ngeneric = "PETG"\n'
        '[outputs]\nfiles = ["3mf"]\n'
    )
    (tmp_path / "hall.toml").write_text(FILE)
    return tmp_path


def states(shop):
    found = standing(load_exhibit(shop / "hall.toml"), Journal(shop / "journal"))
    update_states(shop / "hall.toml", found)
    return [part.state for part in load_exhibit(shop / "hall.toml").parts]


def typed(*words):
    return CliRunner().invoke(commands, list(map(str, words)))


def test_what_is_to_print_is_made_and_its_states_follow_the_journal(shop):
    path, journal = shop / "hall.toml", Journal(shop / "journal")
    job = make_exhibit(path)
    assert [part.title for part in job.parts] == ["post", "post"]
    left, right = (part.code for part in load_exhibit(path).parts)
    assert [part.code for part in job.parts] == [left, right]
    assert states(shop) == ["printed", "printed"]
    journal.add(trial_of(journal.print_of(left), {"bore": "as wanted"}))
    journal.add(trial_of(journal.print_of(right), {"bore": "tight"}))
    assert states(shop) == ["fitted", "printed"]
    journal.add(broke(journal.print_of(left), "round the bore"))
    assert states(shop) == ["broken", "printed"]
    text = path.read_text()
    assert text.startswith("# What stands in the hall.\n")
    assert "# under the bench" in text
    assert 'note = "the short one"' in text
    with pytest.raises(SheetError, match="no part of this exhibit is to print"):
        make_exhibit(path)
    (line,) = print_again(path, ["LEFT post"])
    assert line == f"left post: to print again, after print {left}"
    again = make_exhibit(path)
    assert [part.code for part in again.parts] == [load_exhibit(path).parts[0].code]
    assert states(shop) == ["printed", "printed"]


def test_a_spare_stays_a_spare_until_it_breaks(shop):
    path, journal = shop / "hall.toml", Journal(shop / "journal")
    make_exhibit(path)
    path.write_text(path.read_text().replace('state = "printed"', 'state = "spare"', 1))
    assert states(shop) == ["spare", "printed"]
    code = load_exhibit(path).parts[0].code
    journal.add(broke(journal.print_of(code), "bore"))
    assert states(shop) == ["broken", "printed"]


def test_a_file_is_begun_and_added_to_with_names_of_their_own(shop):
    path = shop / "new_hall.toml"
    exhibit = add_parts(path, [shop / "post.toml", shop / "post.toml"])
    assert exhibit.title == "new hall"
    assert [part.name for part in exhibit.parts] == ["post", "post 2"]
    add_parts(path, [shop / "post.toml"])
    assert [part.name for part in load_exhibit(path).parts] == ["post", "post 2", "post 3"]
    assert is_exhibit(path)
    assert not is_exhibit(shop / "post.toml")
    before = path.read_text()
    with pytest.raises(FitkitError, match="absent"):
        add_parts(path, [shop / "post.toml", shop / "absent.toml"])
    assert path.read_text() == before


def test_all_faults_of_a_file_are_told_at_once(shop):
    (shop / "hall.toml").write_text(
        'schema = 1\ntitle = "hall"\n[[parts]]\nname = "a"\nsheet = "x.toml"\nstate = "lost"\n'
        '[[parts]]\nname = "b"\nsheet = "x.toml"\ncode = "12"\n'
    )
    with pytest.raises(FaultList) as caught:
        load_exhibit(shop / "hall.toml")
    assert "lost" in str(caught.value)
    assert "trace code" in str(caught.value)
    (shop / "hall.toml").write_text(FILE.replace("right post", "Left Post"))
    with pytest.raises(FaultList, match="has this name, too"):
        load_exhibit(shop / "hall.toml")


def test_the_commands_do_all_of_it(shop, monkeypatch):
    monkeypatch.chdir(shop)
    assert "to print" in typed("exhibit", "hall.toml").output
    made = typed("plate", "hall.toml")
    assert made.exit_code == 0, made.output
    assert "plate-1.3mf" in made.output
    code = load_exhibit("hall.toml").parts[0].code
    assert typed("broke", code, "bore").exit_code == 0
    said = typed("exhibit", "hall.toml").output
    assert "state changed: left post: printed -> broken (bore)" in said
    assert "to print again" in typed("exhibit", "hall.toml", "--again", "left post").output
    several = typed("plate", "hall.toml", "post.toml")
    assert several.exit_code == 2
    assert "name it alone" in several.output
    job = typed("plate", "post.toml", "post.toml", "--copies", "2", "--into", "job")
    assert job.exit_code == 0, job.output
    assert len(Journal(shop / "journal").records("print")) == 2 + 4
    assert "the whole job:" in job.output


def test_a_file_that_names_a_sheet_that_is_not_there_writes_nothing(shop):
    (shop / "hall.toml").write_text(FILE.replace("post.toml", "gone.toml", 1))
    with pytest.raises(FaultList, match=r"gone\.toml"):
        make_exhibit(shop / "hall.toml")
    assert not list((shop / "journal").glob("*.json"))
    assert '"to print"' in (shop / "hall.toml").read_text()
