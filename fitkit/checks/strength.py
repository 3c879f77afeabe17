"""Whether lugs, screw bosses and walls bear the load of their handling class: estimates only.

A lug is a cantilever plate whose root carries the load at its hole, and whose rim can tear out. A
boss is pulled through its threads, and between its layers. A wall is a round plate as wide as its
span, pressed by a fingertip in its middle. Each load is multiplied by the class's
safety factor; stress across layers is held against the strength along them times the layer factor,
low ends throughout. Leaves out impact, creep, fatigue, notches and sparse infill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from fitkit.checks.bending import (
    FINGER_RADIUS_MM,
    lug_bending_mpa,
    lug_tear_out_mpa,
    plate_bending_mpa,
    thread_pull_out_n,
)
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext, Handling
    from fitkit.checks.material import Material
    from fitkit.parts.contract import Boss, Lug, Part, Wall

__all__ = ["check_strength", "handling_load"]

# Shear strength over tensile strength, as for ductile plastics: 1 / sqrt(3), von Mises.
_SHEAR = 1 / math.sqrt(3)
# Wall round a screw, as a share of the screw's diameter. Common practice, no source.
_BOSS_WALL = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class HandlingLoad:
    """What hands of one class may do: load in N, safety factor, and what the class means."""

    load_n: float
    safety: float
    meaning: str
    source: str


def handling_load(handling: Handling) -> HandlingLoad:
    """Look up a handling class."""
    from fitkit.data import load_table

    table = load_table("handling_loads")
    (row,) = table.frame[table.frame["handling"] == handling].to_dict("records")
    return HandlingLoad(
        load_n=float(row["load_N"]),
        safety=float(row["safety"]),
        meaning=row["meaning"],
        source=table.source,
    )


def check_strength(part: Part, context: CheckContext) -> Iterator[Finding]:
    """Find lugs, bosses and walls that the declared hands would break."""
    if not (part.lugs or part.bosses or part.walls):
        return
    material = context.material
    strength = material.get("strength") if material else None
    layers = material.get("layer_factor") if material else None
    if material is None or strength is None or layers is None:
        missing = (
            "no material is named"
            if material is None
            else f"{material.name} has no {'strength' if strength is None else 'layer_factor'}"
        )
        yield Finding(
            check="strength",
            severity="note",
            text=f"not run, because {missing}.",
            remedy="Name the material, or add the figure to its file with a source.",
        )
        return
    hands = handling_load(context.use.handling)
    judge = _Judge(
        handling=context.use.handling,
        hands=hands,
        material=material,
        along_mpa=strength.low,
        across_mpa=strength.low * layers.low,
    )
    found: list[Finding] = []
    for lug in part.lugs:
        found += judge.lug(lug)
    for boss in part.bosses:
        found += judge.boss(boss, context.nozzle_mm)
    for wall in part.walls:
        if wall.span_mm is not None:
            found += judge.wall(wall, wall.span_mm)
    yield from _worth_saying(found)
    blind = ", ".join(dict.fromkeys(wall.name for wall in part.walls if wall.span_mm is None))
    if blind:
        yield Finding(
            check="strength",
            severity="note",
            text=f"not run for {blind}, because no span is given: no panel that a finger presses.",
        )
    if context.use.handling != "decor only":
        yield Finding(
            check="strength",
            severity="warn" if context.use.handling == "rough hands" else "note",
            text=(
                "printed plastic breaks without warning: it should not be the part that the "
                "public pulls or leans on."
            ),
            remedy="Let metal or wood take the pull, and the print only hold what is inside.",
        )


def _worth_saying(found: list[Finding]) -> Iterator[Finding]:
    """Give all that is wrong or did not run; of what holds, only the weakest."""
    holds = [item for item in found if item.severity == "note" and item.value is not None]
    yield from (item for item in found if item not in holds)
    if holds:
        yield min(holds, key=lambda item: item.value or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judge:
    """One material and handling class, held against one feature after another."""

    handling: Handling
    hands: HandlingLoad
    material: Material
    along_mpa: float
    across_mpa: float

    @property
    def _wanted_n(self) -> float:
        return self.hands.load_n * self.hands.safety

    @property
    def _wanted(self) -> str:
        return (
            f"'{self.handling}' asks for {self._wanted_n:.0f} N "
            f"({self.hands.load_n:.0f} N times {self.hands.safety:g})"
        )

    def _held(
        self,
        name: str,
        body: str,
        at: tuple[float, float, float],
        bears_n: float,
        how: str,
        basis: str,
        remedy: str,
    ) -> Iterator[Finding]:
        """Compare what a feature bears with what hands may give; below the bare load is a stop."""
        finding = partial(Finding, check="strength", body=body, at=(at,), unit="N", value=bears_n)
        if bears_n >= self._wanted_n:
            yield finding(
                severity="note",
                text=f"estimate: {name} bears about {bears_n:.0f} N ({how}); {self._wanted}.",
                limit=self._wanted_n,
                basis=f"{basis}; loads: {self.hands.source}",
            )
            return
        stop = bears_n < self.hands.load_n
        yield finding(
            severity="stop" if stop else "warn",
            text=f"estimate: {name} bears about {bears_n:.0f} N ({how}); {self._wanted}.",
            limit=self.hands.load_n if stop else self._wanted_n,
            basis=f"{basis}; loads: {self.hands.source}",
            remedy=remedy,
        )

    def lug(self, lug: Lug) -> Iterator[Finding]:
        allowed = self.across_mpa if lug.layers_across else self.along_mpa
        layers = ", layers across it" if lug.layers_across else ""
        root = lug_bending_mpa(
            1.0, reach_mm=lug.reach_mm, width_mm=lug.width_mm, thickness_mm=lug.thickness_mm
        )
        thicker = math.sqrt(self._wanted_n * root * lug.thickness_mm**2 / allowed)
        yield from self._held(
            lug.name,
            lug.body,
            lug.at,
            allowed / root,
            f"bending at its root{layers}",
            "cantilever plate",
            f"Make it {thicker:.1f} mm thick, shorter, or give it a rib.",
        )
        if lug.width_mm <= lug.hole_mm:
            yield Finding(
                check="strength",
                severity="stop",
                text=f"{lug.name} is {lug.width_mm:.1f} mm wide, no wider than its hole.",
                value=lug.width_mm,
                untold=("limit",),
                limit=lug.hole_mm,
                unit="mm",
                basis="geometry",
                body=lug.body,
                at=(lug.at,),
                remedy=f"Make it {2 * lug.hole_mm:.1f} mm wide or more.",
            )
            return
        strips = lug_tear_out_mpa(
            1.0, width_mm=lug.width_mm, hole_mm=lug.hole_mm, thickness_mm=lug.thickness_mm
        )
        yield from self._held(
            lug.name,
            lug.body,
            lug.at,
            allowed / strips,
            f"tearing beside its hole{layers}",
            "tension in the net section",
            "Make it wider or thicker.",
        )

    def boss(self, boss: Boss, nozzle_mm: float) -> Iterator[Finding]:
        wall = (boss.outer_mm - boss.hole_mm) / 2
        least = max(2 * nozzle_mm, _BOSS_WALL * boss.screw_mm)
        if wall < least - 1e-9:
            stop = wall < 2 * nozzle_mm - 1e-9
            yield Finding(
                check="strength",
                severity="stop" if stop else "warn",
                text=f"{boss.name} has {wall:.2f} mm of wall round its screw: it may split.",
                value=wall,
                untold=("limit",),
                limit=2 * nozzle_mm if stop else least,
                unit="mm",
                body=boss.body,
                at=(boss.at,),
                remedy=f"Make it {boss.hole_mm + 2 * least:.1f} mm across or more.",
            )
        pull = thread_pull_out_n(
            screw_mm=boss.screw_mm, depth_mm=boss.depth_mm, shear_mpa=_SHEAR * self.along_mpa
        )
        yield from self._held(
            boss.name,
            boss.body,
            boss.at,
            pull,
            "its thread pulled out",
            "shear on the thread's cylinder, half of it bearing",
            "Let the screw go deeper, or use a heat-set insert or a nut.",
        )
        ring = math.pi / 4 * max(boss.outer_mm**2 - boss.hole_mm**2, 0.0)
        yield from self._held(
            boss.name,
            boss.body,
            boss.at,
            ring * self.across_mpa,
            "torn between its layers",
            "tension over the boss's ring, as for an upright boss",
            "Make it wider, or brace it with ribs.",
        )

    def wall(self, wall: Wall, span_mm: float) -> Iterator[Finding]:
        span = max(span_mm, 2 * FINGER_RADIUS_MM)
        stress = plate_bending_mpa(1.0, span_mm=span, thickness_mm=wall.thickness_mm)
        thicker = wall.thickness_mm * math.sqrt(self._wanted_n * stress / self.across_mpa)
        yield from self._held(
            wall.name,
            wall.body,
            wall.at,
            self.across_mpa / stress,
            f"pressed in the middle of a {span:.0f} mm span, as if layers lay across it",
            "round plate, simply held, fingertip of 12 mm",
            f"Make it {thicker:.1f} mm thick, or rib it.",
        )
