"""All checks together: order, silence, and what they must not load."""

from __future__ import annotations

import subprocess
import sys

import pytest

from fitkit.checks import Use, in_turn, published_material, run_checks
from fitkit.checks.run import CHECKS
from fitkit.core.finding import SEVERITIES, Finding
from fitkit.parts.contract import Body, Boss, Lug, SnapArm, Wall
from tests.checks import gallery
from tests.checks.gallery import box, context, finely, part, prism

HERE = (0.0, 0.0, 0.0)
EVERYTHING = {
    "walls": (Wall(name="side", body="case", thickness_mm=2.4, at=HERE),),
    "arms": (
        SnapArm(
            name="arm",
            body="case",
            length_mm=6,
            thickness_mm=2,
            width_mm=5,
            deflection_mm=1,
            at=HERE,
        ),
    ),
    "lugs": (
        Lug(name="ear", body="case", reach_mm=8, width_mm=12, thickness_mm=4, hole_mm=4, at=HERE),
    ),
    "bosses": (
        Boss(name="post", body="case", outer_mm=8, hole_mm=2.5, depth_mm=8, screw_mm=3, at=HERE),
    ),
    "ghosts": (Body(name="board", solid=None),),
    "insertion": (0.0, 0.0, -1.0),
}


def test_stops_come_first_and_the_builds_own_findings_are_kept() -> None:
    own = Finding(check="build", severity="note", text="a chamfer was left off.")
    found = run_checks(part(**EVERYTHING, findings=(own,)), context(box(200, 200, 20)))
    ranks = [SEVERITIES.index(item.severity) for item in found]
    assert ranks == sorted(ranks)
    assert ranks[0] == 0
    assert own in found


def test_a_part_of_which_nothing_is_known_says_so_for_every_check() -> None:
    """No bed, mesh, material, prices, watts: each check with work to do must say so."""
    found = run_checks(part(**EVERYTHING), context(bed_mm=None))
    silent = {"bed", "overhang", "snap arms", "strength", "heat", "assembly", "cost"}
    assert silent == {item.check for item in found if "not run" in item.text}


SHAPES = ["ARCH", "LONG_ARCH", "LEDGE", "HANGING", "CHAMFERED", "STEEP"]


@pytest.mark.parametrize("name", SHAPES)
def test_every_check_takes_every_shape_of_the_gallery(name: str) -> None:
    mesh = prism(getattr(gallery, name), 20)
    found = run_checks(
        part(**EVERYTHING), context(mesh, material=published_material("PLA"), use=Use(watts=1))
    )
    for item in found:
        assert item.text
        assert item.basis or "not run" in item.text
        assert (item.value is None) or item.unit
        assert "nan" not in str(item)


def test_finer_triangles_change_nothing() -> None:
    mesh = prism(gallery.STEEP, 20)
    first, second = (
        {(item.check, item.text) for item in run_checks(part(), context(shape))}
        for shape in (mesh, finely(mesh, 2))
    )
    assert first == second


def test_numeric_checks_load_no_kernel_and_no_widgets() -> None:
    code = (
        "import sys\n"
        "from fitkit.checks import CheckContext, run_checks, published_material, Use\n"
        "from tests.checks.test_run import EVERYTHING\n"
        "from tests.checks.gallery import box, context, part\n"
        "run_checks(part(**EVERYTHING), context(box(20, 20, 20), use=Use(watts=1),"
        " material=published_material('PETG')))\n"
        "print([m for m in ('OCP', 'build123d', 'ipywidgets', 'anywidget', 'matplotlib')"
        " if m in sys.modules])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_findings_of_quick_checks_come_before_a_slow_one_has_run(monkeypatch) -> None:
    ran = []

    def check(name: str):
        def run(part, context):
            ran.append(name)
            return [Finding(check=name, severity="note", text=f"{name}.")]

        return run

    monkeypatch.setattr("fitkit.checks.run.QUICK", (check("cheap"), check("easy")))
    monkeypatch.setattr("fitkit.checks.run.SLOW", (check("dear"), check("dearer")))
    turns = in_turn(part(), context())
    assert [f.check for f in next(turns)] == ["cheap", "easy"]
    assert ran == ["cheap", "easy"]
    assert [f.check for f in next(turns)] == ["dear"]
    assert ran == ["cheap", "easy", "dear"]
    assert [f.check for rest in turns for f in rest] == ["dearer"]


def test_each_check_has_its_own_file() -> None:
    modules = [check.__module__ for check in CHECKS]
    assert len(set(modules)) == len(modules)
