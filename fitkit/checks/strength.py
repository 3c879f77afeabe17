"""Whether lugs, screw bosses and walls bear the load of their handling class: estimates only.

A lug is a cantilever plate whose root carries the load at its hole, and whose rim can tear out. A
boss is pulled through its threads, whose shear also slides layer on layer, and between its layers.
A wall is a rectangular plate with its edges held as the part says, pressed by a fingertip; stress
along the layers and across them are each compared with their own strength. Each load is multiplied
by the class's safety factor, low ends throughout. What is carried all the time is compared with
what plastic bears for years, each ear and screw as if it carried all alone.

The use decides how bad a shortfall is. What hangs over people or bears a load stops the print if it
lacks any of its safety. A wall that a finger presses stops it if the bare load breaks it even at
the high end of its strength; so do ears and screws of what is taken up or pulled. Those of a part
that is only touched carry little more than the part itself: there, a shortfall is a warning. Leaves
out impact, fatigue, notches and sparse infill.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from fitkit.checks.bending import (
    beam_depth_mm,
    lug_bending_mpa,
    lug_tear_out_mpa,
    thread_pull_out_n,
)
from fitkit.checks.plates import FINGER_RADIUS_MM, pressed
from fitkit.checks.rounding import rounded_up
from fitkit.core.finding import Finding

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fitkit.checks.context import CheckContext, Handling, Use
    from fitkit.checks.material import Material
    from fitkit.checks.plates import Edge, Edges
    from fitkit.parts.contract import Boss, Flat, Held, Lug, Part, Wall

__all__ = ["check_strength", "handling_load"]

# Shear strength over tensile strength, as for ductile plastics: 1 / sqrt(3), von Mises.
_SHEAR = 1 / math.sqrt(3)
_MOST_RIBS = 12
# A mass that is carried: safety for what stays on a wall, and for what hangs over people. Common
# practice, no source.
_CARRIED, _OVERHEAD = 2.0, 5.0
_G = 9.80665
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
        use=context.use,
        hands=hands,
        material=material,
        along_mpa=strength.low,
        across_mpa=strength.low * layers.low,
        best=strength.high / strength.low,
    )
    found: list[Finding] = []
    for lug in part.lugs:
        found += judge.lug(lug)
    for boss in part.bosses:
        found += judge.boss(boss, context.nozzle_mm)
    for wall in part.walls:
        if wall.pressed is not None and not wall.pressed.backed:
            found += judge.wall(wall, wall.pressed)
    yield from _worth_saying(found)
    if context.use.overhead and context.use.carries_kg is None and (part.lugs or part.bosses):
        yield Finding(
            check="strength",
            severity="warn",
            text="it hangs over people, and how much hangs there is not declared: what it carries "
            "for years was not judged.",
            remedy="Declare carries_kg under use, its own mass with what hangs on it.",
        )
    blind = ", ".join(dict.fromkeys(wall.name for wall in part.walls if wall.pressed is None))
    if blind:
        yield Finding(
            check="strength",
            severity="note",
            text=(
                f"not run for {blind}, because the part says of none of these that a finger can "
                "press it."
            ),
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
    for wanted in dict.fromkeys(item.limit for item in holds):
        same = [item for item in holds if item.limit == wanted]
        yield min(same, key=lambda item: item.value or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judge:
    """One material and handling class, by which one feature after another is judged."""

    use: Use
    hands: HandlingLoad
    material: Material
    along_mpa: float
    across_mpa: float
    best: float  # the high end of the strength over its low one

    @property
    def _wanted_n(self) -> float:
        return self.hands.load_n * self.hands.safety

    @property
    def _wanted(self) -> str:
        return (
            f"'{self.use.handling}' asks for {self._wanted_n:.0f} N "
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
        *,
        fixing: bool = False,
        may_stop: bool = True,
    ) -> Iterator[Finding]:
        """Compare what a feature bears with what hands may give, and with what it carries.

        `fixing` says that it is a screw or an ear: hands reach it by way of the part alone.
        """
        if fixing:
            yield from self._carries(name, body, at, bears_n, how, basis, remedy)
        finding = partial(Finding, check="strength", body=body, at=(at,), unit="N", value=bears_n)
        if bears_n >= self._wanted_n:
            yield finding(
                severity="note",
                text=f"estimate: {name} bears about {bears_n:.0f} N ({how}); {self._wanted}.",
                limit=self._wanted_n,
                basis=f"{basis}; loads: {self.hands.source}",
            )
            return
        pulled = not fixing or self.use.handling in ("handled", "rough hands")
        broken = self.best * bears_n < self.hands.load_n
        stop = may_stop and (self._grave or (broken and pulled))
        yield finding(
            severity="stop" if stop else "warn",
            text=f"estimate: {name} bears about {bears_n:.0f} N ({how}); {self._wanted}.",
            limit=self.hands.load_n if stop and not self._grave else self._wanted_n,
            basis=f"{basis}; loads: {self.hands.source}",
            remedy=remedy,
        )

    @property
    def _grave(self) -> bool:
        """Whether somebody is hurt if it fails."""
        return self.use.overhead or self.use.load_bearing

    def _carries(
        self,
        name: str,
        body: str,
        at: tuple[float, float, float],
        bears_n: float,
        how: str,
        basis: str,
        remedy: str,
    ) -> Iterator[Finding]:
        """Compare what a fixing bears for years with the mass that it carries alone."""
        mass, factor = self.use.carries_kg, self.material.get("steady_factor")
        if mass is None or factor is None:
            return
        safety = _OVERHEAD if self.use.overhead else _CARRIED
        bears, wanted = factor.low * bears_n, safety * mass * _G
        holds = bears >= wanted
        more = f" For what it carries, make it bear {wanted / max(bears, 1e-9):.1f} times as much."
        yield Finding(
            check="strength",
            severity="note" if holds else "stop" if self._grave else "warn",
            text=f"estimate: {name} bears about {bears:.0f} N for years ({how}); {mass:g} kg ask "
            f"for {wanted:.0f} N ({mass * _G:.0f} N times {safety:g}), if it carries all alone.",
            value=bears,
            limit=wanted,
            unit="N",
            basis=f"{basis}; under a steady load: {factor.source}",
            body=body,
            at=(at,),
            remedy="" if holds else remedy + more,
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
            f"Make it {rounded_up(thicker):.1f} mm thick, shorter, or give it a rib.",
            fixing=True,
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
        wider = lug.hole_mm + self._wanted_n / (allowed * lug.thickness_mm)
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
            f"Make it {rounded_up(wider):.1f} mm wide, or thicker.",
            fixing=True,
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
        # Shear on an upright cylinder goes with as much shear between the layers, which are weaker.
        grip = boss.insert_mm or boss.screw_mm
        pull = thread_pull_out_n(
            screw_mm=grip, depth_mm=boss.depth_mm, shear_mpa=_SHEAR * self.across_mpa
        )
        deeper = boss.depth_mm * self._wanted_n / pull if pull else math.inf
        yield from self._held(
            boss.name,
            boss.body,
            boss.at,
            pull,
            f"its {'insert' if boss.insert_mm else 'thread'} pulled out",
            "shear between the layers, on the half of the cylinder that is taken to bear",
            f"Let it hold {rounded_up(deeper):.1f} mm deep"
            + (
                ", or take a larger insert or a through bolt and nut."
                if boss.insert_mm
                else ", or use a heat-set insert or a nut."
            ),
            fixing=True,
        )
        ring = math.pi / 4 * max(boss.outer_mm**2 - boss.hole_mm**2, 0.0)
        outer = math.sqrt(boss.hole_mm**2 + 4 * self._wanted_n / (math.pi * self.across_mpa))
        yield from self._held(
            boss.name,
            boss.body,
            boss.at,
            ring * self.across_mpa,
            "torn between its layers",
            "tension over the boss's ring, as for an upright boss",
            f"Make it {rounded_up(outer):.1f} mm across, or brace it with ribs.",
            fixing=True,
        )

    def wall(self, wall: Wall, flat: Flat) -> Iterator[Finding]:
        states = [(flat.held, "", True)]
        if flat.open_held is not None:
            # With the lid off it is in the hands of whoever opens it: never more than a warning.
            states.append((flat.open_held, " with its lid off", False))
        for held, when, may_stop in states:
            bears, layers = self._bears(wall.thickness_mm, flat, held)
            holds = bears >= self._wanted_n
            cut = f", {100 * flat.open_share:.0f} % of it cut out" if flat.open_share else ""
            yield from self._held(
                wall.name,
                wall.body,
                wall.at,
                bears,
                f"pressed by a finger{when}, {flat.along_mm:.0f} x {flat.across_mm:.0f} mm{cut}, "
                f"bending {layers} its layers",
                f"rectangular plate, {_told(held)}, fingertip of {2 * FINGER_RADIUS_MM:.0f} mm",
                "" if holds else self._wall_remedy(wall, flat, held),
                may_stop=may_stop,
            )

    def _bears(
        self, thickness_mm: float, flat: Flat, held: tuple[Held, Held, Held, Held]
    ) -> tuple[float, str]:
        """Load of a fingertip that a wall bears, N, and whether along or across its layers."""
        found = []
        for edges in _ways(held):
            moments = pressed(flat.along_mm, flat.across_mm, edges)
            along = moments.principal if flat.layers == "in its plane" else moments.x
            found.append((self.along_mpa / along, "along"))
            if flat.layers == "across it":
                found.append((self.across_mpa / moments.y, "across"))
        per, layers = min(found)
        return per * (1 - flat.open_share) * thickness_mm**2 / 6, layers

    def _wall_remedy(self, wall: Wall, flat: Flat, held: tuple[Held, Held, Held, Held]) -> str:
        """Say what makes it bear the wanted load: thicker, or ribbed where that takes less."""
        bears, _ = self._bears(wall.thickness_mm, flat, held)
        if bears <= 0:
            return "Leave more of it between its cut-outs."
        thick = rounded_up(wall.thickness_mm * math.sqrt(self._wanted_n / bears))
        text = f"Make it {thick:.1f} mm thick"
        more = (thick - wall.thickness_mm) * flat.along_mm * flat.across_mm
        brace = None if flat.open_share else self._brace(wall, flat, held)
        if brace is not None and brace[1] < more:
            return f"{text}, or, with less plastic, give it {brace[0]}."
        return f"{text}."

    def _brace(
        self, wall: Wall, flat: Flat, held: tuple[Held, Held, Held, Held]
    ) -> tuple[str, float] | None:
        """A ledge at a free top, or ribs over the shorter side: words, volume; None if no help."""
        if held[3] == "free":
            if self._bears(wall.thickness_mm, flat, (*held[:3], "simple"))[0] < self._wanted_n:
                return None
            stands, volume = self._rib(wall, flat.along_mm, self.along_mpa)
            return f"a ledge {stands} along its free edge", volume
        upright = flat.across_mm <= flat.along_mm
        pulls_apart = flat.layers == "across it" and upright
        one, volume = self._rib(
            wall,
            min(flat.along_mm, flat.across_mm),
            self.across_mpa if pulls_apart else self.along_mpa,
        )
        side = "along_mm" if upright else "across_mm"
        for count in range(1, _MOST_RIBS + 1):
            between = replace(flat, **{side: getattr(flat, side) / (count + 1)})
            # Between two ribs, and between a rib and each end.
            fields: list[tuple[Held, Held]] = [("simple", "simple")]
            fields += [(held[0], "simple"), (held[1], "simple")] if upright else []
            fields += [(held[2], "simple"), ("simple", held[3])] if not upright else []
            edges: list[tuple[Held, Held, Held, Held]] = [
                (a, b, held[2], held[3]) if upright else (held[0], held[1], a, b)
                for a, b in dict.fromkeys(fields)
            ]
            if all(
                self._bears(wall.thickness_mm, between, way)[0] >= self._wanted_n for way in edges
            ):
                ribs = f"{count} ribs, evenly spaced," if count > 1 else "a rib"
                return f"{ribs} {one} over its shorter side", count * volume
        return None

    def _rib(self, wall: Wall, span_mm: float, strength_mpa: float) -> tuple[str, float]:
        """Size in words, and volume, of a rib as wide as the wall that bears the load alone."""
        width = wall.thickness_mm
        depth = beam_depth_mm(
            self._wanted_n, span_mm=span_mm, width_mm=width, strength_mpa=strength_mpa
        )
        stands = rounded_up(max(depth - wall.thickness_mm, 0.1))
        return f"{width:.1f} mm wide and standing out {stands:.1f} mm", stands * width * span_mm


def _ways(held: tuple[Held, Held, Held, Held]) -> Iterator[Edges]:
    """Edges to try: a joined edge is between clamped and simple, so that both are looked at."""
    for joined in ("clamped", "simple") if "joined" in held else ("simple",):
        a, b, c, d = (joined if edge == "joined" else edge for edge in held)
        yield a, b, c, d


def _told(held: tuple[Held, Held, Held, Held]) -> str:
    """Say how many edges are held, and how."""
    kinds: list[Edge | Held] = [
        kind for kind in ("clamped", "joined", "simple", "free") if kind in held
    ]
    return ", ".join(
        f"{held.count(kind)} {'edge' if held.count(kind) == 1 else 'edges'} {kind}"
        for kind in kinds
    )
