"""Templates of installed packages, found by their entry points (PyPA, Entry points specification).

Each package here is a folder on the search path with a ``dist-info``, as installers leave it
(PyPA, Recording installed projects).
"""

import os
import sys

import pytest

from fitkit.core.errors import PartError
from fitkit.parts import registry, template
from fitkit.parts.registry import package_of, titles
from tests.workbench import TEMPLATE, fitkit


@pytest.fixture
def install(tmp_path, monkeypatch):
    """Install a package of one module, and take it off again."""
    modules = set(sys.modules)

    def put(name, points, text=TEMPLATE, version="1.4.2"):
        folder = tmp_path / "site" / name
        (folder / name).mkdir(parents=True)
        (folder / name / "__init__.py").write_text(text, encoding="utf-8")
        info = folder / f"{name}-{version}.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(
            f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n", encoding="utf-8"
        )
        (info / "entry_points.txt").write_text(
            "[fitkit.templates]\n" + "".join(f"{key} = {value}\n" for key, value in points.items()),
            encoding="utf-8",
        )
        monkeypatch.syspath_prepend(str(folder))
        registry._installed.cache_clear()
        return folder

    yield put
    for name in set(sys.modules) - modules:
        if name.startswith("caps"):
            del sys.modules[name]
    registry._installed.cache_clear()


@pytest.mark.parametrize("key", ["post cap", "post-cap", "post_cap"])
def test_a_packages_template_is_found_by_its_title_and_loaded_when_asked_for(install, key):
    install("caps_one", {key: "caps_one:PostCap"})
    assert "post cap" in titles()
    assert "caps_one" not in sys.modules
    assert template("post cap").title == "post cap"
    assert package_of("post cap") == ("caps_one", "1.4.2")
    with pytest.raises(PartError, match="Did you mean 'post cap'"):
        template("post cup")


def test_a_shipped_template_cannot_be_replaced_by_a_package(install):
    install("caps_two", {"spacer": "caps_two:PostCap"})
    assert template("spacer").__module__ == "fitkit.parts.designs.spacer"
    assert titles().count("spacer") == 1
    assert "caps_two" not in sys.modules
    assert package_of("spacer") is None


@pytest.mark.parametrize(
    ("value", "text", "said"),
    [
        ("caps_bad:PostCap", "1 / 0", "ZeroDivisionError"),
        ("caps_bad:Gone", TEMPLATE, "Gone"),
        ("caps_bad:high", TEMPLATE, "is not a template"),
        ("caps_bad:PostCap", TEMPLATE.replace('"post cap"', '"lid"'), "'lid', not 'post cap'"),
    ],
    ids=["raises", "no such class", "function", "title"],
)
def test_a_package_that_cannot_serve_is_named(install, value, text, said):
    install("caps_bad", {"post cap": value}, text)
    with pytest.raises(PartError, match=said) as told:
        template("post cap")
    assert "caps_bad" in str(told.value)
    assert template("spacer").title == "spacer"


def test_two_packages_with_one_title_are_both_named(install):
    install("caps_a", {"post cap": "caps_a:PostCap"})
    install("caps_b", {"post-cap": "caps_b:PostCap"})
    with pytest.raises(PartError, match=r"caps_[ab], caps_[ab]"):
        template("post cap")


def test_a_part_by_a_packages_template_is_made_and_made_again_by_the_shell(
    install, tmp_path, monkeypatch
):
    from fitkit.journal import Journal

    folder = install("caps_shell", {"post-cap": "caps_shell:PostCap"})
    monkeypatch.setenv("PYTHONPATH", str(folder), prepend=os.pathsep)
    (tmp_path / "cap.toml").write_text(
        'schema = 1\ntitle = "cap"\ntemplate = "post cap"\njournal = "journal"\n'
        '[printer]\ngeneric = "PETG"\n[outputs]\nfiles = ["stl"]\n',
        encoding="utf-8",
    )
    made = fitkit(tmp_path, "make", "cap.toml", "--quiet")
    assert made.returncode == 0, made.stderr
    (record,) = Journal(tmp_path / "journal").records()
    assert record.versions["caps_shell"] == "1.4.2"
    assert record.template_source is None
    again = fitkit(tmp_path, "reprint", record.code, "--journal", "journal")
    assert "the same part" in again.stdout, again.stderr
