"""A template file runs only after a yes to just this text, which the user's own folder keeps."""

import pickle

import pytest

from fitkit.core.errors import FitkitError, PartError
from fitkit.parts import Template, template, trust, trust_template
from fitkit.parts.own_file import template_of_file
from fitkit.parts.trust import (
    TemplateFile,
    TrustError,
    is_allowed,
    read_template_file,
    refuse_untrusted,
)
from tests.workbench import TEMPLATE


@pytest.fixture(autouse=True)
def state(tmp_path, monkeypatch):
    folder = tmp_path / "state"
    monkeypatch.setattr(trust, "state_folder", lambda: folder)
    monkeypatch.setattr(trust, "_allowed", set())
    return folder


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "post_cap.py"
    path.write_text(TEMPLATE, encoding="utf-8")
    return path


def forget(monkeypatch):
    """Be a new process of the same user."""
    monkeypatch.setattr(trust, "_allowed", set())


def test_the_yes_holds_for_later_processes_and_for_this_text_alone(file, monkeypatch):
    digest = trust_template(file)
    forget(monkeypatch)
    refuse_untrusted(read_template_file(file))
    file.write_text(TEMPLATE + "\n", encoding="utf-8")
    assert is_allowed(digest)
    with pytest.raises(TrustError, match="has changed since you said yes"):
        refuse_untrusted(read_template_file(file))


def test_a_folder_that_is_sent_cannot_say_yes_to_itself(file, state, monkeypatch):
    """The list counts in the user's folder only, wherever else a file of its name lies."""
    trust_template(file)
    (file.parent / "trusted-templates.txt").write_bytes(
        (state / "trusted-templates.txt").read_bytes()
    )
    (state / "trusted-templates.txt").unlink()
    forget(monkeypatch)
    monkeypatch.chdir(file.parent)
    with pytest.raises(TrustError, match="not been run by you"):
        template_of_file(read_template_file(file), title="post cap")


def test_a_list_that_is_damaged_says_yes_to_nothing_more(file, state, monkeypatch):
    digest = trust_template(file)
    lines = (state / "trusted-templates.txt").read_bytes()
    (state / "trusted-templates.txt").write_bytes(b"\xff\x00 half\n" + lines[:40] + b"\n" + lines)
    forget(monkeypatch)
    assert is_allowed(digest)
    assert not is_allowed(digest[:40])


def test_a_yes_that_cannot_be_kept_holds_for_this_process(file, state, monkeypatch):
    state.write_text("a file in the folder's place", encoding="utf-8")
    trust_template(file)
    refuse_untrusted(read_template_file(file))
    forget(monkeypatch)
    with pytest.raises(TrustError):
        refuse_untrusted(read_template_file(file))


def test_a_records_copy_that_cannot_be_laid_out_in_the_users_folder_goes_elsewhere(state):
    state.write_text("a file in the folder's place", encoding="utf-8")
    with pytest.raises(TrustError) as told:
        refuse_untrusted(TemplateFile(name="cap.py", text="x = 'é'\n", of="record K7M3PXA"))
    assert told.value.read.read_bytes() == "x = 'é'\n".encode()
    assert str(told.value.read) in str(told.value)


def test_the_question_survives_the_way_between_processes(file):
    with pytest.raises(TrustError) as told:
        refuse_untrusted(read_template_file(file))
    error = told.value
    assert isinstance(error, FitkitError)
    back = pickle.loads(pickle.dumps(error))
    assert str(back) == str(error)
    assert (back.template, back.read) == (error.template, file)


def test_the_hash_is_that_of_the_file_whatever_its_line_ends(tmp_path):
    from fitkit.journal.entries import file_hash

    path = tmp_path / "dos.py"
    path.write_bytes(b"\xef\xbb\xbf" + TEMPLATE.replace("\n", "\r\n").encode())
    assert trust_template(path) == file_hash(path)
    kind = template_of_file(read_template_file(path), title="post cap")
    assert issubclass(kind, Template)
    assert kind.of(post="1 in").post == pytest.approx(25.4)


def test_what_runs_is_the_text_that_was_said_yes_to(file, tmp_path):
    witness = tmp_path / "ran"
    read = read_template_file(file)
    trust_template(file)
    file.write_text(f"{TEMPLATE}open({str(witness)!r}, 'w').close()\n", encoding="utf-8")
    assert template_of_file(read, title="post cap").title == "post cap"
    assert not witness.exists()


def test_one_text_is_run_once_and_two_texts_side_by_side(file):
    trust_template(file)
    first = template_of_file(read_template_file(file), title="post cap")
    assert template_of_file(read_template_file(file), title="post cap") is first
    file.write_text(TEMPLATE.replace('"2.4 mm"', '"3 mm"'), encoding="utf-8")
    trust_template(file)
    second = template_of_file(read_template_file(file), title="post cap")
    assert (first.of().wall, second.of().wall) == (2.4, 3.0)


def test_register_in_a_template_file_leaves_other_sheets_alone(file):
    """A class copied from a notebook may carry the decorator; a shipped title must stay shipped."""
    shipped = template("spacer")
    text = TEMPLATE.replace("class PostCap", "@register\nclass PostCap").replace(
        "import Body", "import register, Body"
    )
    file.write_text(text.replace('"post cap"', '"spacer"'), encoding="utf-8")
    trust_template(file)
    assert template_of_file(read_template_file(file), title="spacer") is not shipped
    assert template("spacer") is shipped


def test_a_device_is_not_a_template_file(tmp_path):
    with pytest.raises(PartError, match="cannot be read"):
        read_template_file("/dev/zero")
    with pytest.raises(PartError, match="cannot be read"):
        read_template_file(tmp_path)
