"""The sizes that a template declares: one place, looked up by attribute."""

from __future__ import annotations

import ast
from dataclasses import dataclass
from pathlib import Path

import pytest

from fitkit.core.errors import PartError
from fitkit.core.sizes import HOLE, OUTSIDE
from fitkit.parts import Template, template
from fitkit.parts.fit_size import FitSize, SizeSet, drawn_mm
from fitkit.parts.registry import shipped

ROOT = Path(__file__).parents[2]
TEMPLATES = sorted((ROOT / "fitkit" / "parts" / "designs").rglob("*.py"))


@dataclass(frozen=True, kw_only=True)
class Port(SizeSet):
    """Sizes of one port."""

    width: FitSize


@dataclass(frozen=True, kw_only=True)
class Sizes(SizeSet):
    """Sizes of a part with everything that a set can hold."""

    screw_hole: FitSize
    lid: FitSize | None = None
    slots: tuple[FitSize, ...] = ()
    ports: tuple[Port, ...] = ()


def some() -> Sizes:
    return Sizes(
        screw_hole=FitSize(nominal_mm=3.0, kind=HOLE, sense=1, gap_mm=0.2),
        slots=(FitSize(name="slot 1", nominal_mm=4.0, kind=OUTSIDE),),
        ports=(Port(width=FitSize(name="port 1 width", nominal_mm=9.0, kind=OUTSIDE)),),
    )


def test_sizes_come_in_the_order_of_declaration_named_after_their_attributes() -> None:
    assert [size.name for size in some()] == ["screw hole", "slot 1", "port 1 width"]


def test_sizes_are_drawn_as_given_and_plain_where_nothing_is_given() -> None:
    sizes = some().drawn({"port 1 width": 9.31, "slot 1": 4.1})
    assert sizes.ports[0].width.drawn_mm == 9.31
    assert sizes.slots[0].drawn_mm == 4.1
    assert sizes.screw_hole.drawn_mm == pytest.approx(3.2)  # nominal with the gap of its own
    assert some().ports[0].width.drawn_mm == 9.0


def test_a_size_that_was_not_declared_is_refused_with_those_that_were() -> None:
    with pytest.raises(PartError, match="there is no size 'prot 1 width'") as caught:
        some().drawn({"prot 1 width": 9.0}, where="box")
    assert (caught.value.where, "port 1 width" in str(caught.value.remedy)) == ("box", True)


def test_a_size_that_is_left_out_needs_something_instead() -> None:
    assert drawn_mm(some().lid, 0.0) == 0.0
    assert drawn_mm(some().screw_hole, 0.0) == pytest.approx(3.2)
    with pytest.raises(LookupError):
        drawn_mm(some().lid)


@pytest.mark.parametrize("title", sorted(shipped()))
def test_every_shipped_template_declares_its_sizes_as_a_set(title: str) -> None:
    made = template(title).of()
    assert tuple(made.must_fit()) == made.fit_sizes()
    assert "fit_sizes" not in vars(type(made))


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.stem)
def test_no_template_looks_a_size_up_by_its_name(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    found = [
        node.lineno
        for node in ast.walk(tree)
        if isinstance(node, ast.Subscript)
        and isinstance(node.slice, ast.Constant | ast.JoinedStr)
        and not isinstance(getattr(node.slice, "value", ""), int)
        and any(word in ast.unparse(node.value) for word in ("drawn", "sizes"))
    ]
    assert not found
    assert "drawn_sizes" not in path.read_text(encoding="utf-8")


@pytest.mark.slow
def test_a_type_checker_finds_a_misspelt_size(tmp_path: Path) -> None:
    api = pytest.importorskip("mypy.api")
    file = tmp_path / "misspelt.py"
    file.write_text(
        "from fitkit.parts.designs.spacer import Spacer\n"
        "right = Spacer().must_fit().height.drawn_mm\n"
        "wrong = Spacer().must_fit().heigth.drawn_mm\n",
        encoding="utf-8",
    )
    out, _, _ = api.run(["--config-file", str(ROOT / "pyproject.toml"), str(file)])
    lines = [line for line in out.splitlines() if "misspelt.py" in line]
    assert len(lines) == 1
    assert 'misspelt.py:3: error: "SpacerSizes" has no attribute "heigth"' in lines[0]


OWN = """
from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fitkit.core.sizes import HOLE
from fitkit.parts import FitSize, SizeSet, Template


@dataclass(frozen=True, kw_only=True)
class CapSizes(SizeSet):
    post_bore: FitSize


class Cap(Template):
    title: ClassVar[str] = "post cap"

    def must_fit(self) -> CapSizes:
        return CapSizes(post_bore=FitSize(nominal_mm=20.0, kind=HOLE, sense=1))

    def build(self, drawn=None, *, title=""):
        return self.must_fit().drawn(drawn, where=self.title).post_bore.drawn_mm
"""


def test_a_template_file_of_ones_own_can_declare_a_set(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from fitkit.parts import trust
    from fitkit.parts.own_file import template_of_file
    from fitkit.parts.trust import read_template_file, trust_template

    monkeypatch.setattr(trust, "state_folder", lambda: tmp_path / "state")
    monkeypatch.setattr(trust, "_allowed", set())
    path = tmp_path / "post_cap.py"
    path.write_text(OWN, encoding="utf-8")
    trust_template(path)
    cap = template_of_file(read_template_file(path), title="post cap").of()
    assert [fit.name for fit in cap.fit_sizes()] == ["post bore"]
    assert cap.build({"post bore": 20.3}) == 20.3


def test_a_template_that_names_its_sizes_without_a_set_works_as_before() -> None:
    class Plain(Template):
        title = "plain"

        def fit_sizes(self):
            return (FitSize(name="bore", nominal_mm=5.0, kind="hole", sense=1),)

    assert Plain().drawn_sizes({"bore": 5.2}) == {"bore": 5.2}
    assert Plain().drawn_sizes(None) == {"bore": 5.0}
