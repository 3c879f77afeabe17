"""Versions that do not belong together are named, with what to type."""

import json
import shutil
import sys
from pathlib import Path

import pytest

from fitkit.solids import bodies
from fitkit.views import self_check
from fitkit.views.self_check import library_faults, page_faults
from fitkit.views.shell import main


@pytest.fixture
def pages(tmp_path) -> Path:
    """A copy of the page sides that the installed libraries bring."""
    from jupyter_core.paths import jupyter_path

    for extension in ("anywidget", "@jupyter-widgets/jupyterlab-manager"):
        folders = (Path(folder) / extension for folder in jupyter_path("labextensions"))
        ours = next(folder for folder in folders if folder.is_dir())
        (tmp_path / extension).mkdir(parents=True)
        shutil.copy(ours / "package.json", tmp_path / extension)
    return tmp_path


def test_this_environment_belongs_together(pages):
    assert library_faults() == ()
    assert page_faults([pages]) == ()


@pytest.mark.parametrize("extension", ["anywidget", "@jupyter-widgets/jupyterlab-manager"])
def test_an_old_page_side_in_a_folder_before_ours_is_named(pages, tmp_path_factory, extension):
    older = tmp_path_factory.mktemp("older")
    (older / extension).mkdir(parents=True)
    (older / extension / "package.json").write_text('{"version": "0.0.3"}', encoding="utf-8")
    (fault,) = page_faults([older, pages])
    assert "the page gets version 0.0.3 of it" in fault.what
    assert str(older / extension) in fault.what
    assert fault.remedy.startswith(f"Delete that folder, type '{sys.executable} -m pip install")
    assert page_faults([pages, older]) == ()  # the first one wins


def test_what_the_page_gets_is_compared_even_in_the_library_s_own_folder(pages):
    package = pages / "anywidget" / "package.json"
    package.write_text(json.dumps({"version": "0.9.3"}), encoding="utf-8")
    (fault,) = page_faults([pages])
    assert "0.9.3" in fault.what
    package.write_text("half a", encoding="utf-8")
    (fault,) = page_faults([pages])
    assert "version unknown" in fault.what


def test_a_missing_page_side_is_named(tmp_path):
    faults = page_faults([tmp_path])
    assert [fault.where for fault in faults] == ["anywidget", "jupyterlab-widgets"]
    assert all(fault.what == "its page side is missing" for fault in faults)
    assert '--force-reinstall --no-deps "anywidget==' in faults[0].remedy


def test_libraries_that_are_missing_or_too_old_are_named():
    faults = library_faults(
        ["numpy>=2", "numpy<1", "no-such-library>=2", 'none-here; extra == "x"']
    )
    assert [fault.where for fault in faults] == ["numpy", None]
    assert "and <1 is needed" in faults[0].what
    assert faults[1].what == "no-such-library is not installed"
    assert 'pip install "no-such-library>=2"' in faults[1].remedy


def test_the_command_tells_all_faults_and_ends_with_status_2(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(self_check, "page_faults", lambda: page_faults([tmp_path]))
    monkeypatch.setattr(bodies, "kernel_names", bodies.kernel_names.__wrapped__)  # not kept
    # Python takes None for a module that cannot be imported, as where a library of it is missing.
    monkeypatch.setitem(sys.modules, "fitkit.solids._kernel_names", None)
    monkeypatch.delattr("fitkit.solids._kernel_names", raising=False)
    with pytest.raises(SystemExit) as end:
        main(["self-check"])
    assert end.value.code == 2
    said = capsys.readouterr().err
    assert said.count("its page side is missing") == 2
    assert "the CAD kernel cannot be loaded" in said
