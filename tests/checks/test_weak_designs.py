"""Twenty designs that are weak on purpose: each is found, and its sound neighbour is left alone.

Loads, plates and materials as elsewhere; what makes each weak is said beside it. Sizes are those of
printed cases and brackets for a hand.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from fitkit.checks import Use, published_material, run_checks
from fitkit.parts.contract import Boss, Flat, Lug, SnapArm, Vent, Wall
from tests.checks.gallery import box, context, part

HERE = (0.0, 0.0, 0.0)
SIMPLE = ("simple", "simple", "simple", "simple")
SHUT = ("joined", "joined", "joined", "simple")
OPEN = ("joined", "joined", "joined", "free")


TOUCHED, HANDLED = Use(handling="touched"), Use(handling="handled")


@dataclass(frozen=True)
class Seed:
    """A weak part, what heals it, and the words by which it is found."""

    weak: dict
    sound: dict
    check: str
    words: str
    material: str = "PETG"
    use: Use = TOUCHED


def wall(thickness: float, along: float, across: float, **rest: object) -> dict:
    flat = Flat(along_mm=along, across_mm=across, **({"held": SIMPLE} | rest))
    return {"walls": (Wall(name="wall", body="case", thickness_mm=thickness, at=HERE, flat=flat),)}


def arm(**values: object) -> dict:
    sizes = {"length_mm": 20.0, "thickness_mm": 2.0, "width_mm": 6.0, "deflection_mm": 1.0}
    return {"arms": (SnapArm(name="arm", body="case", at=HERE, **(sizes | values)),)}


def lug(**values: object) -> dict:
    sizes = {"reach_mm": 8.0, "width_mm": 14.0, "thickness_mm": 4.0, "hole_mm": 4.0}
    return {"lugs": (Lug(name="ear", body="case", at=HERE, **(sizes | values)),)}


def boss(**values: object) -> dict:
    sizes = {"outer_mm": 9.0, "hole_mm": 2.6, "depth_mm": 9.0, "screw_mm": 3.0}
    return {"bosses": (Boss(name="post", body="case", at=HERE, **(sizes | values)),)}


def warm(**values: object) -> dict:
    return {
        "walls": (Wall(name="wall", body="case", thickness_mm=2.4, at=HERE),),
        **values,
    }


def vents(area: float) -> tuple[Vent, ...]:
    return tuple(
        Vent(name="vent", body="case", free_area_mm2=area / 2, height_mm=z, at=(0, 0, z))
        for z in (4.0, 36.0)
    )


STANDS = {"layers": "across it", "held": SHUT}

SEEDS = {
    # Plates: by elements 35 N, 31 N ... against 60 N; the old round plate passed the first.
    "side wall while its lid is off": Seed(
        wall(2.4, 68.8, 17.2, **STANDS, open_held=OPEN),
        wall(3.4, 68.8, 17.2, **STANDS, open_held=OPEN),
        "strength",
        "lid off",
    ),
    "long low wall, lid off": Seed(
        wall(2.4, 100, 25, **STANDS, open_held=OPEN),
        wall(3.4, 100, 25, **STANDS, open_held=OPEN),
        "strength",
        "lid off",
    ),
    "tall wall, its layers pulled apart": Seed(
        wall(2.0, 90, 70, **STANDS), wall(3.0, 90, 70, **STANDS), "strength", "across its layers"
    ),
    "thin wide lid": Seed(wall(1.4, 160, 100), wall(2.4, 160, 100), "strength", "finger"),
    "lid with a window across its middle": Seed(
        wall(2.0, 70, 50, open_share=0.6), wall(2.0, 70, 50), "strength", "60 % of it cut out"
    ),
    "cover held on two sides only": Seed(
        wall(2.0, 60, 40, held=("simple", "simple", "free", "free")),
        wall(3.0, 60, 40, held=("simple", "simple", "free", "free")),
        "strength",
        "finger",
    ),
    # Arms: 1.5 h y / L² against 1.68 % (PETG, used daily), 0.9 % (PLA).
    "short arm": Seed(arm(length_mm=11), arm(length_mm=15), "snap arms", "2.48 % strain"),
    "PLA arm that would do in PETG": Seed(
        arm(length_mm=14.5), arm(length_mm=19), "snap arms", "PLA bears", material="PLA"
    ),
    "arm across its layers": Seed(
        arm(length_mm=15, layers_across=True), arm(length_mm=15), "snap arms", "layers across"
    ),
    # Root strain 1.4 % is below the limit of 1.68 %, its greatest 1.56 times that is not.
    "arm tapered to a fifth": Seed(
        arm(length_mm=8.8, taper=0.2), arm(length_mm=11.5, taper=0.2), "snap arms", "from its tip"
    ),
    "arm with a sharp root": Seed(
        arm(length_mm=15, root_radius_mm=0.0), arm(length_mm=15), "snap arms", "in the corner"
    ),
    "lid that no thumb closes": Seed(
        arm(count=8, width_mm=25, lead_angle_deg=60), arm(), "snap arms", "to close"
    ),
    # Lugs: 6 F L / (b t²).
    "thin ear": Seed(lug(thickness_mm=2.4), lug(), "strength", "at its root"),
    "ear across its layers": Seed(
        lug(layers_across=True, thickness_mm=3.5),
        lug(thickness_mm=3.5),
        "strength",
        "layers across it",
    ),
    "ear with a wide hole": Seed(
        lug(width_mm=5.5, hole_mm=4.5, reach_mm=0.5, thickness_mm=3),
        lug(width_mm=11, hole_mm=4.5, reach_mm=0.5, thickness_mm=3),
        "strength",
        "beside its hole",
        use=HANDLED,
    ),
    # Bosses: along the layers this thread would bear 343 N of the 250 N; across them it does not.
    "thread pulled out between its layers": Seed(
        boss(depth_mm=3.6, outer_mm=12),
        boss(depth_mm=9, outer_mm=12),
        "strength",
        "thread pulled out",
        use=HANDLED,
    ),
    "shallow insert": Seed(
        boss(insert_mm=4.0, hole_mm=4.0, depth_mm=3.0, outer_mm=12),
        boss(insert_mm=4.0, hole_mm=4.0, depth_mm=8.0, outer_mm=12),
        "strength",
        "insert pulled out",
        use=HANDLED,
    ),
    "slim post torn between its layers": Seed(
        boss(outer_mm=5.2), boss(outer_mm=9.0), "strength", "between its layers", use=HANDLED
    ),
    # Heat: 90 x 60 x 40 mm. With the floor reckoned in, 2.6 W stayed under PETG's 55 °C.
    "closed case on a table": Seed(
        warm(), warm(vents=vents(800)), "heat", "softening", use=Use(watts=2.6, device_limit_c=80)
    ),
    "PLA case about a warm device": Seed(
        warm(),
        warm(vents=vents(2400)),
        "heat",
        "softening",
        material="PLA",
        use=Use(watts=1.6, device_limit_c=80),
    ),
}


def said(features: dict, seed: Seed) -> list[str]:
    setting = context(box(90, 60, 40), material=published_material(seed.material), use=seed.use)
    found = run_checks(part(**features), setting)
    return [f.text for f in found if f.severity != "note" and f.check == seed.check]


def test_there_are_twenty() -> None:
    assert len(SEEDS) == 20


@pytest.mark.parametrize("seed", SEEDS.values(), ids=SEEDS)
def test_the_weak_design_is_found(seed: Seed) -> None:
    assert any(seed.words in text for text in said(seed.weak, seed))


@pytest.mark.parametrize("seed", SEEDS.values(), ids=SEEDS)
def test_its_sound_neighbour_is_left_alone(seed: Seed) -> None:
    assert said(seed.sound, seed) == []
