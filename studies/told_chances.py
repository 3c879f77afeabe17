"""Are the chances that are told of a fit true: virtual printers, with wanted bands of their own.

A machine of `studies.virtual_print` prints the fits of a few parts; calipers read what is bought.
fitkit chooses gaps and drawn sizes by a generic profile or by one fitted to a short coupon, and
says how likely each fit, and each whole part, is as wanted. Whether it is so is decided by the
machine's true sizes and by a band that is this file's own: its middle differs from common practice
from printer to printer, pair to pair, behaviour to behaviour and size to size by 0.06 mm in all (1
sd; common practice, no source), its width by a quarter, and the hand that judges by 0.015 mm.

``python -m studies.told_chances [printers [picture]]`` prints how often what was told came true, by
tenths, for plain and odd printers together, and draws it.
``python -m studies.told_chances pieces [printers]`` prints how often a whole part is as wanted once
a trial piece of its doubtful fits was judged.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field, fields, replace
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration import generic_profile
from fitkit.calibration.compensation import compensate
from fitkit.calibration.joint import PrintedSize, joint
from fitkit.fits import VERDICTS, Trial, choose_gap, gap_prior, learn
from fitkit.fits.whole import WantedFit, chance_of_all
from fitkit.stats import Estimate
from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import machines
from studies.virtual_print.shapes import Shape
from studies.virtual_print.ways import Fitkit, evidence_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from matplotlib.figure import Figure

    from fitkit.calibration import PrinterProfile
    from studies.virtual_print.machine import Machine

__all__ = [
    "KINDS",
    "PARTS",
    "U_READING_MM",
    "Fit",
    "Habits",
    "Told",
    "asked_of",
    "axis_of",
    "both",
    "by_tenths",
    "odd_mm",
    "picture",
    "run",
    "told",
]

# Parts of a printer's own wanted gap, mm: printer, pair, behaviour of the pair, size.
OWN_MM = (0.035, 0.03, 0.025, 0.027)
WIDTH_LOG_SD, HAND_MM = 0.25, 0.015
U_READING_MM = 0.02
# A fit as sure as this is on no trial piece.
SURE = 0.95


@dataclass(frozen=True)
class Fit:
    """A fit of a part: a printed shape drawn at the nominal size, and what it goes with.

    `sense` is +1 where the printed side is outside the other; `mate` is the other side's sort where
    it is printed too.
    """

    name: str
    pair: str
    behaviour: str
    shape: Shape
    sense: int = 1
    mate: str = ""


def _f(pair: str, behaviour: str, sort: str, mm: float, **more: object) -> Fit:
    sense, mate = more.pop("sense", 1), more.pop("mate", "")
    name = f"{pair} {mm:g}"
    shape = Shape(name=name, sort=sort, mm=mm, **more)  # type: ignore[arg-type]
    return Fit(name, pair, behaviour, shape, sense, mate)  # type: ignore[arg-type]


PARTS: dict[str, tuple[Fit, ...]] = {
    "case": (
        _f("object in pocket", "slides", "pocket", 70.4, wall_mm=2.4, wall_long_mm=50.0),
        _f("object in pocket", "slides", "pocket", 50.2, way="y", wall_mm=2.4, wall_long_mm=70.0),
        _f("lid and rim", "snug by hand", "block", 68.0, sense=-1, mate="pocket"),
        _f("lid and rim", "snug by hand", "block", 47.6, way="y", sense=-1, mate="pocket"),
        _f("screw hole", "slides", "bore", 3.0, at=(0.5, 0.4)),
    ),
    "knob": (
        _f("peg and hole", "snug by hand", "bore", 6.0),
        _f("object in pocket", "snug by hand", "pocket", 14.5, way="y"),
    ),
    "panel": (
        _f("object in pocket", "slides", "pocket", 36.0, at=(0.3, 0.0)),
        _f("object in pocket", "slides", "pocket", 24.0, way="y", at=(0.3, 0.0)),
        _f("screw hole", "rotates freely", "bore", 4.0, at=(0.8, 0.8)),
        _f("object in pocket", "rotates freely", "bore", 22.0, at=(-0.4, 0.2)),
    ),
    "hinge": (
        _f("peg and hole", "rotates freely", "bore", 8.0, mate="post"),
        _f("tab and slot", "slides", "gap", 12.0, mate="block"),
        _f("snap pocket", "snug by hand", "gap", 6.0, way="y", mate="block"),
    ),
    "seat": (
        _f("ball and seat", "slides", "bore", 25.0),
        _f("heat-set insert", "press by tool", "bore", 5.0, at=(0.5, 0.5)),
        _f("peg and hole", "press by tool", "post", 10.0, sense=-1),
    ),
}
KINDS = {"pocket": "pocket", "gap": "inside", "bore": "hole", "post": "peg", "block": "outside"}


@dataclass
class Told:
    """What was told, and whether it came true; one entry a fit, and one a part."""

    fits: list[tuple[float, bool]] = field(default_factory=list)
    parts: list[tuple[float, bool]] = field(default_factory=list)
    product: list[float] = field(default_factory=list)
    usable: list[tuple[float, bool]] = field(default_factory=list)
    then: list[tuple[float, bool]] = field(default_factory=list)
    again: list[tuple[float, bool]] = field(default_factory=list)
    kept: list[tuple[float, bool]] = field(default_factory=list)


@dataclass
class _Tried:
    """What verdicts on one printer have taught: trials, and what was drawn where it fitted."""

    trials: list[Trial] = field(default_factory=list)
    drawn: dict[str, tuple[float, float]] = field(default_factory=dict)

    def forget_sure(self, fits: Sequence[tuple[float, bool]]) -> None:
        """Keep the trials of doubtful fits alone: a trial piece has no others."""
        doubtful = [trial for trial, (p, _) in zip(self.trials, fits, strict=True) if p < SURE]
        sure = {_name(trial) for trial in self.trials} - {_name(trial) for trial in doubtful}
        self.trials = doubtful
        self.drawn = {name: one for name, one in self.drawn.items() if name not in sure}


def _name(trial: Trial) -> str:
    return f"{trial.pair} {trial.size_mm:g}"


def run(
    count: int,
    *,
    odd: bool,
    calibrated: bool,
    seed: int = 1,
    twice: bool = False,
    piece: bool = False,
) -> Told:
    """Print all parts on a number of machines of one class, once or twice.

    The second time all verdicts of the first are known, and what fitted is drawn as it was. With
    `piece`, the first print of each part is a trial piece of its doubtful fits, and the second is
    the whole part, of which nothing else is known.
    """
    found = Told()
    for number, machine in enumerate(machines(count, odd=odd, seed=seed)):
        calipers = Calipers.drawn(9000 + 2 * number + odd, slips=0.0)
        profile = generic_profile("PETG")
        if calibrated:
            way = Fitkit()
            way.learn_coupon(machine, calipers, night=1)
            profile = replace(
                profile, evidence=evidence_of(way.read), generic=False, name="read", prints=1
            )
        rng = np.random.default_rng([seed, number, odd, 31])
        habits = Habits(rng)
        tried, learned = _Tried(), _Tried()
        for night, (part, fits) in enumerate(PARTS.items(), 5):
            if piece:
                learned = _Tried()
            _print(machine, calipers, profile, habits, part, fits, night, found, tried, learned)
            if piece:
                learned.forget_sure(found.fits[-len(fits) :])
                args = machine, calipers, profile, habits, part, fits
                _print(*args, night + 10, found, learned, _Tried())
        for night, (part, fits) in enumerate(PARTS.items() if twice else (), 15):
            _print(machine, calipers, profile, habits, part, fits, night, found, learned, _Tried())
    return found


class Habits:
    """Where this printer's fits behave as wanted, beside common practice."""

    def __init__(self, rng: np.random.Generator) -> None:
        self.rng = rng
        # Bands do not hang on how often somebody judged.
        self.hand = np.random.default_rng(rng.integers(2**32))
        self.known: dict[tuple[object, ...], float] = {}

    def _part(self, sd: float, *key: object) -> float:
        if key not in self.known:
            self.known[key] = self.rng.normal(0.0, sd)
        return self.known[key]

    def verdict(self, fit: Fit, gap_mm: float) -> str:
        """Judge a gap."""
        prior = gap_prior(fit.pair, fit.behaviour, fit.shape.mm)
        printer, pair, behaviour, size = OWN_MM
        middle = prior.gap_mm + self._part(printer, "printer") + self._part(pair, fit.pair)
        middle += self._part(behaviour, fit.pair, fit.behaviour) + self._part(size, fit.name)
        half = prior.half_width_mm * np.exp(self._part(WIDTH_LOG_SD, "half", fit.name))
        felt = gap_mm + self.hand.normal(0.0, HAND_MM)
        edges = [middle - half - prior.zone_mm, middle - half, middle + half]
        edges.append(middle + half + prior.zone_mm)
        return VERDICTS[int(np.searchsorted(edges, felt))]


def _print(
    machine: Machine,
    calipers: Calipers,
    profile: PrinterProfile,
    habits: Habits,
    part: str,
    fits: tuple[Fit, ...],
    night: int,
    found: Told,
    known: _Tried,
    learned: _Tried,
) -> None:
    """Choose, draw, print and try one part."""
    asked: list[PrintedSize] = []
    weights: list[list[tuple[int, float]]] = []
    things, shapes = [], []
    wanted: list[WantedFit] = []
    u_things: list[float] = []
    about: list[tuple[float, float, float]] = []
    for fit in fits:
        thing = fit.shape.mm + odd_mm(machine, fit)
        if fit.mate:  # drawn as it is wanted, by the same profile
            mate = replace(fit.shape, name=f"{fit.name} mate", sort=fit.mate)
            sides = [asked_of(part, mate, thing), asked_of(part, fit.shape, thing)]
            at = [(len(asked) + 1, float(fit.sense)), (len(asked), -float(fit.sense))]
            u_thing, read = 0.0, thing
            drawn = compensate(
                f"{thing!r} mm", profile, kind=KINDS[fit.mate], axis=axis_of(mate),
                feature=sides[0].feature, wall_mm=sides[0].wall_mm,
            ).drawn_mm  # fmt: skip
            shapes.append(mate.drawn(drawn))
        else:
            sides, at = [asked_of(part, fit.shape, thing)], [(len(asked), float(fit.sense))]
            u_thing = U_READING_MM
            read = calipers.read(replace(fit.shape, sort="block"), thing)
        own = joint(sides, profile).sum([-1.0, 1.0] if fit.mate else [1.0])
        u_mm = float(np.hypot(own.u_mm, u_thing))
        lasting = float(np.hypot(own.u_lasting_mm, u_thing))
        choice = choose_gap(
            fit.pair, fit.behaviour, size_mm=fit.shape.mm, u_gap_mm=u_mm, df=own.df,
            u_lasting_mm=lasting, trials=known.trials,
        )  # fmt: skip
        gap_mm, p_wanted = choice.gap_mm, choice.p_wanted
        drawn_mm = compensate(
            Estimate.of("fit", read + fit.sense * gap_mm, u_thing),
            profile, kind=KINDS[fit.shape.sort], axis=axis_of(fit.shape),
            feature=sides[-1].feature, wall_mm=sides[-1].wall_mm,
        ).drawn_mm  # fmt: skip
        u_fresh = float(np.sqrt(max(u_mm**2 - lasting**2, 0.0)))
        if fit.name in known.drawn:
            drawn_mm, gap_mm = known.drawn[fit.name]
            model = learn(
                fit.pair, fit.behaviour, size_mm=fit.shape.mm, trials=known.trials,
                u_lasting_mm=lasting,
            )  # fmt: skip
            p_wanted = float(model.p_wanted(gap_mm, u_gap_mm=u_fresh, df=own.df)[0])
        shapes.append(fit.shape.drawn(drawn_mm))
        about.append((u_mm, lasting, drawn_mm))
        things.append(None if fit.mate else thing)
        asked += sides
        weights.append(at)
        u_things.append(u_thing)
        wanted.append(WantedFit(fit.pair, fit.behaviour, fit.shape.mm, gap_mm, p_wanted))
    matrix = np.zeros((len(fits), len(asked)))
    for row, at in zip(matrix, weights, strict=True):
        for place, weight in at:
            row[place] = weight
    together = joint(asked, profile)
    lasting_cov = sum(matrix @ c.cov @ matrix.T for c in together.causes if c.lasts)
    fresh_cov = sum(matrix @ c.cov @ matrix.T for c in together.causes if not c.lasts)
    whole = chance_of_all(
        wanted,
        fresh_mm2=fresh_cov,
        lasting_mm2=lasting_cov + np.diag(np.square(u_things)),
        df=float(min(together.sum(row).df for row in matrix)),
        trials=known.trials,
    )
    true = machine.printed(shapes, night=night)
    good, at_shape, useless = [], 0, False
    for fit, thing in zip(fits, things, strict=True):
        if thing is None:
            mate_mm, own_mm = true[at_shape], true[at_shape + 1]
            at_shape += 2
        else:
            mate_mm, own_mm = thing, true[at_shape]
            at_shape += 1
        verdict = habits.verdict(fit, fit.sense * (own_mm - mate_mm))
        good.append(verdict == "as wanted")
        useless |= verdict in (VERDICTS[0], VERDICTS[-1])
        gap_mm, (u_mm, lasting, drawn_mm) = wanted[len(good) - 1].gap_mm, about[len(good) - 1]
        learned.trials.append(
            Trial(
                pair=fit.pair,
                behaviour=fit.behaviour,
                size_mm=fit.shape.mm,
                gap_mm=gap_mm,
                verdict=verdict,
                u_gap_mm=u_mm,
                u_lasting_mm=lasting,
            )
        )
        if good[-1]:
            learned.drawn[fit.name] = drawn_mm, gap_mm
    if known.trials:
        found.then.append((whole.p_all, all(good)))
        for fit, one, ok in zip(fits, wanted, good, strict=True):
            (found.kept if fit.name in known.drawn else found.again).append((one.p_wanted, ok))
        return
    found.fits += [(one.p_wanted, ok) for one, ok in zip(wanted, good, strict=True)]
    found.parts.append((whole.p_all, all(good)))
    found.usable.append((whole.p_usable, not useless))
    found.product.append(float(np.prod([one.p_wanted for one in wanted])))


def odd_mm(machine: Machine, fit: Fit) -> float:
    """Bought things are not round numbers."""
    mark = sum(map(ord, fit.name))
    return float(np.random.default_rng([machine.seed, mark]).uniform(-0.4, 0.4))


def axis_of(shape: Shape) -> str:
    """Name the axis along which fitkit is told that a shape lies."""
    return "xy" if shape.sort in ("bore", "post") else shape.way


def asked_of(part: str, shape: Shape, mm: float) -> PrintedSize:
    """Put a shape of a part in fitkit's terms."""
    wall = shape.wall_long_mm if shape.wall_mm else None
    return PrintedSize(mm, KINDS[shape.sort], axis_of(shape), f"{part}: {shape.name}", wall)  # type: ignore[arg-type]


def by_tenths(pairs: Iterable[tuple[float, bool]]) -> list[tuple[float, float, int]]:
    """Give mean told, share come true, and how many, for each tenth of what was told."""
    told_, true = np.array(list(pairs), dtype=float).T
    tenth = np.minimum((told_ * 10).astype(int), 9)
    return [
        (float(told_[tenth == k].mean()), float(true[tenth == k].mean()), int((tenth == k).sum()))
        for k in range(10)
        if (tenth == k).any()
    ]


def told(found: Told, *, head: str) -> str:
    """Set out what was told and what came true as a Markdown table."""
    lines = [f"### {head}", "", "| of | told | came true | how many |", "|---|---|---|---|"]
    for word, pairs in (("fits", found.fits), ("whole parts", found.parts)):
        for mean, true, many in by_tenths(pairs):
            lines.append(f"| {word} | {mean:.2f} | {true:.2f} | {many} |")
        all_told, all_true = np.array(pairs, dtype=float).mean(axis=0)
        lines.append(f"| all {word} | {all_told:.2f} | {all_true:.2f} | {len(pairs)} |")
    for word, pairs in (
        ("whole parts that can be used", found.usable),
        ("whole parts after the trials", found.then),
        ("next print of fits judged otherwise", found.again),
        ("next print of fits that fitted", found.kept),
    ):
        if pairs:
            mean, true = np.array(pairs, dtype=float).mean(axis=0)
            lines.append(f"| {word} | {mean:.2f} | {true:.2f} | {len(pairs)} |")
    lines.append(f"| product of a part's chances | {np.mean(found.product):.2f} | | |")
    return "\n".join(lines)


def both(count: int, *, calibrated: bool, twice: bool = False, piece: bool = False) -> Told:
    """Run plain and odd machines, as many of each, and put together what came of it."""
    found = Told()
    for odd in (False, True):
        one = run(count, odd=odd, calibrated=calibrated, twice=twice, piece=piece)
        for kept in fields(found):
            getattr(found, kept.name).extend(getattr(one, kept.name))
    return found


def picture(found: Mapping[str, Told]) -> Figure:
    """Draw what came true against what was told, by tenths, with two standard errors."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(9.0, 4.4), layout="constrained")
    axes = figure.subplots(1, 2, sharey=True)
    for at, (word, one) in zip(axes, found.items(), strict=True):
        at.plot([0, 1], [0, 1], color="0.6", linewidth=0.8)
        for name, pairs, marker, colour in (
            ("a fit", one.fits, "o", "#009E73"),
            ("a whole part", one.parts, "s", "#0072B2"),
        ):
            mean, true, many = np.array(by_tenths(pairs)).T
            error = 2.0 * np.sqrt(np.maximum(true * (1 - true), 0.02) / many)
            at.errorbar(mean, true, error, marker=marker, color=colour, label=name, linewidth=1.2)
        at.set_title(word, fontsize=10)
        at.set_xlabel("chance that was told")
        at.set_xlim(0, 1)
        at.set_ylim(0, 1)
        at.spines[["top", "right"]].set_visible(False)
    axes[0].set_ylabel("share that came true")
    axes[0].legend(frameon=False, fontsize=9, loc="lower right")
    return figure


def _pieces(count: int) -> None:
    """Print how often the whole part is as wanted at once, and after one trial piece."""
    print("| profile | printers | first print | after a trial piece: told | came true | parts |")
    print("|---|---|---|---|---|---|")
    for word, calibrated in (("short coupon", True), ("generic", False)):
        for odd in (False, True):
            found = run(count, odd=odd, calibrated=calibrated, piece=True)
            _, first = np.array(found.parts, dtype=float).mean(axis=0)
            mean, true = np.array(found.then, dtype=float).mean(axis=0)
            print(
                f"| {word} | {'odd' if odd else 'plain'} | {first:.2f} | {mean:.2f} | {true:.2f} "
                f"| {len(found.then)} |",
                flush=True,
            )


def main() -> None:
    """Run both classes of machines, calibrated and generic; or trial pieces."""
    if sys.argv[1:2] == ["pieces"]:
        _pieces(int(sys.argv[2]) if len(sys.argv) > 2 else 40)
        return
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    found = {}
    for word, calibrated in (("calibrated by a short coupon", True), ("generic profile", False)):
        found[word] = both(count, calibrated=calibrated)
        print(told(found[word], head=f"{2 * count} printers, {word}"), end="\n\n", flush=True)
    if len(sys.argv) > 2:
        picture(found).savefig(sys.argv[2], dpi=110)


if __name__ == "__main__":
    main()
