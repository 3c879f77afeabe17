"""Kinds of size are objects: code asks them and compares no names, and new ones can be added."""

from __future__ import annotations

import ast
import pickle
from pathlib import Path

import pytest

from fitkit.core import sizes
from fitkit.core.errors import CalibrationError
from fitkit.core.sizes import HOLE, SizeKind, kind_of, kinds, known_kind, register_kind

ROOT = Path(__file__).parents[2]
NAMES = {"outside", "inside", "hole", "hole_lying", "peg", "centres", "height"}
# The other names are words of the readings, too: which jaws read, and which parameter.
ONLY_KINDS = {"hole", "hole_lying", "peg", "centres"}


def _is_kind(node: ast.expr) -> bool:
    name = node.id if isinstance(node, ast.Name) else getattr(node, "attr", "")
    return name.endswith("kind")


def _texts(node: ast.AST) -> set[str]:
    return {n.value for n in ast.walk(node) if isinstance(n, ast.Constant) and n.value in NAMES}


def comparisons(tree: ast.AST) -> list[int]:
    """Lines on which a kind's name is compared, matched, or made the key of a table."""
    lines = []
    for node in ast.walk(tree):
        match node:
            case ast.Compare(left=left, comparators=right):
                sides = [left, *right]
                names = set().union(*map(_texts, sides))
                if names & ONLY_KINDS or (names and any(map(_is_kind, sides))):
                    lines.append(node.lineno)
            case ast.Match(subject=subject, cases=cases):
                if _is_kind(subject) and any(_texts(case.pattern) for case in cases):
                    lines.append(node.lineno)
            case ast.Dict(keys=keys) if len(set().union(*(_texts(k) for k in keys if k))) > 2:
                lines.append(node.lineno)
            case ast.Call(func=ast.Attribute(value=value, attr="startswith" | "endswith")):
                if _is_kind(value):
                    lines.append(node.lineno)
    return lines


def test_no_module_compares_the_name_of_a_kind() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "fitkit").rglob("*.py"))
        if path != ROOT / "fitkit" / "core" / "sizes.py"
        for line in comparisons(ast.parse(path.read_text(encoding="utf-8")))
    ]
    assert not found


@pytest.mark.parametrize(
    "text",
    [
        "kind in ('hole', 'peg')",
        "feature.kind == 'inside'",
        "'outside' == size.kind",
        "{'outside': 1, 'inside': -1, 'height': 1}",
        "match f.kind:\n    case 'height':\n        pass",
        "kind.startswith('hole')",
    ],
)
def test_a_comparison_would_be_found(text: str) -> None:
    assert comparisons(ast.parse(text))


def test_jaws_and_parameters_of_the_same_name_are_no_kinds() -> None:
    assert not comparisons(ast.parse("mode in ('inside', 'outside')\nwhat == 'height'"))


@pytest.mark.parametrize("kind", kinds(), ids=str)
def test_a_kind_is_its_name_in_records_and_comes_back_whole(kind: SizeKind) -> None:
    again = pickle.loads(pickle.dumps(kind))
    assert kind == again == kind.name == str(kind)
    assert vars(again) == vars(kind)
    assert kind_of(kind.name) is kind


def test_senses_are_those_of_the_trade() -> None:
    # More material makes what is outside larger and what is inside smaller (handbooks on limits and
    # fits: shafts and holes); a distance of centres knows neither.
    senses = {kind.name: kind.sense for kind in kinds()}
    assert {senses[n] for n in ("outside", "peg", "height")} == {1}
    assert {senses[n] for n in ("inside", "hole", "hole_lying")} == {-1}
    assert senses["centres"] == 0
    assert {kind.name for kind in kinds() if kind.jaws == "inside"} == {
        kind.name for kind in kinds() if kind.sense < 0
    }


def test_an_unknown_kind_is_refused_by_name() -> None:
    with pytest.raises(CalibrationError, match="'bore' is not a kind of size"):
        kind_of("bore")
    assert known_kind("bore") is None


@pytest.fixture
def seat(monkeypatch: pytest.MonkeyPatch) -> SizeKind:
    """A kind that fitkit does not ship, for the length of one test."""
    monkeypatch.setattr(sizes, "_KINDS", dict(sizes._KINDS))
    return register_kind(
        SizeKind(
            "conical seat",
            says="mouth of a conical seat, axis upright",
            plural="conical seats",
            sense=-1,
            jaws="inside",
            round=True,
            # It closes as an upright hole does, twice as strongly on its slope.
            loads={"hole_closing": -2.0},
            usual_mm=(4.0, 12.0),
        )
    )


def test_a_name_is_registered_once(seat: SizeKind) -> None:
    assert register_kind(seat) is seat
    with pytest.raises(CalibrationError, match="already"):
        register_kind(SizeKind("hole", says="", plural="", sense=0))


def test_a_new_kind_is_compensated_by_the_terms_that_it_names(seat: SizeKind) -> None:
    from fitkit.calibration import compensate, generic_profile

    profile = generic_profile("PETG")
    closing, scale = profile.value("hole_closing")[0], profile.value("scale_x")[0]
    size = compensate("8 mm", profile, kind="conical seat", sides=6)
    # By hand: printed = (1 + scale) n - 2 closing, and six sides lose cos(30°) of the circle.
    flats = 3**0.5 / 2
    assert size.drawn_mm * flats == pytest.approx((8 + 2 * closing) / (1 + scale), abs=1e-9)
    assert size.expected_mm == pytest.approx(8.0, abs=1e-9)
    assert not size.extrapolated
    _, u_mm = profile.predict(8.0, kind=seat)
    assert float(u_mm) > 2 * profile.value("hole_closing")[1]


def test_coupons_are_chosen_for_a_new_kind_and_drawn_in_figures(seat: SizeKind) -> None:
    from fitkit.calibration import choose_features, generic_profile
    from fitkit.calibration.figures import deviation_figure

    choice = choose_features(6)
    assert choice.expected_U95_mm[seat] < choice.before_U95_mm[seat]
    figure = deviation_figure(generic_profile("PETG"), kinds=("conical seat",))
    assert figure.axes[0].get_legend_handles_labels()[1] == ["conical seat"]


def test_a_profile_file_keeps_a_new_kind(seat: SizeKind, tmp_path: Path) -> None:
    from dataclasses import replace

    from fitkit.calibration import generic_profile, load_profile, save_profile

    profile = replace(generic_profile("PETG"), valid_mm={seat: (4.0, 12.0)})
    kept = load_profile(save_profile(profile, tmp_path / "own.toml"))
    assert kept.valid_mm == {"conical seat": (4.0, 12.0)}


def test_a_new_kind_is_declared_found_too_small_and_shown_round(seat: SizeKind) -> None:
    from fitkit.checks.walls import _openings
    from fitkit.parts.contract import FitSize, KeyDimension, Part

    fit = FitSize(name="mouth", nominal_mm=0.3, kind=kind_of("conical seat"), sense=1)
    shown = KeyDimension.of(fit, body="jet", start=(0, 0, 0), end=(0.3, 0, 0))
    part = Part(title="jet", template="jet", bodies=(), dimensions=(shown,))
    (found,) = _openings(part, 0.42)
    # Narrower than one line, a round opening closes up: a stop.
    assert (found.check, found.severity) == ("holes", "stop")


def test_a_new_kind_counts_in_the_drift_of_a_journal(seat: SizeKind) -> None:
    from types import SimpleNamespace

    from fitkit.journal.judged import _more_plastic_mm

    def more(kind: str) -> float:
        point = SimpleNamespace(kind=kind, measured_mm=7.9, expected_mm=8.0)
        return _more_plastic_mm(point)  # type: ignore[arg-type]

    # Smaller than expected is more plastic on an inside size, and less on an outside one.
    assert more("conical seat") == pytest.approx(0.1)
    assert more("peg") == pytest.approx(-0.1)
    assert more("a kind of another release") == pytest.approx(-0.1)


def test_the_preview_marks_a_new_round_kind_as_a_diameter(seat: SizeKind) -> None:
    from fitkit import solids
    from fitkit.export.scene import scene_of
    from fitkit.parts.contract import Body, KeyDimension, Part
    from fitkit.solids import profiles as flat

    solid = solids.checked(solids.extrude(flat.ring(20, 10), 3), "jet")
    shown = KeyDimension(
        name="mouth", value_mm=10.0, body="jet", start=(-5, 0, 3), end=(5, 0, 3), kind=seat
    )
    part = Part(
        title="jet", template="jet", bodies=(Body(name="jet", solid=solid),), dimensions=(shown,)
    )
    assert [item["round"] for item in scene_of(part).head["dimensions"]] == [True]


def test_fit_sizes_take_a_kind_by_its_name() -> None:
    from fitkit.parts.contract import FitSize

    assert FitSize(name="bore", nominal_mm=5.0, kind="hole").kind is HOLE  # type: ignore[arg-type]
