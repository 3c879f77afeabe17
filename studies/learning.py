"""Prints until a fit is as wanted, judged only or measured too, on virtual printers.

Printers, calipers and wanted bands are those of `studies.told_chances`; each fit is a part of its
own, printed after the coupon until it is as wanted, then once more as it was drawn: a machine that
drifts has drifted over the prints of that part alone. What is drawn goes the way
of the flow: the gap by all verdicts so far, the size by the profile and, where they are measured,
by the sizes of earlier prints. Beside it stands what a printer would reach whose mean sizes are
known without error: print to print alone, the reading of the object, and that nobody knows the
band.

``python -m studies.learning [printers]`` prints the table.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from fitkit.calibration import MeasuredSize, generic_profile, learn_sizes
from fitkit.calibration.compensation import compensate
from fitkit.calibration.joint import joint, then_and_next
from fitkit.fits import Trial, choose_gap
from fitkit.flow.doubt import gap_doubt_then
from fitkit.stats import Estimate
from studies.told_chances import KINDS, PARTS, U_READING_MM, Fit, Habits, asked_of, axis_of, odd_mm
from studies.virtual_print.calipers import Calipers
from studies.virtual_print.machine import machines
from studies.virtual_print.ways import Fitkit, evidence_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from fitkit.calibration import PrinterProfile
    from fitkit.calibration.joint import PrintedSize
    from fitkit.calibration.learned import Learned
    from studies.virtual_print.machine import Machine

    Array = NDArray[np.float64]

__all__ = ["Learning", "run"]

LIMIT = 6  # prints; who needs more counts as one more
KNOWN_NIGHTS = 40  # whose mean is what a perfectly known printer prints
FITS = [fit for fits in PARTS.values() for fit in fits if not fit.mate]


class Learning(NamedTuple):
    """Mean prints until as wanted, share that needs over five, share that then fits again."""

    prints: float
    over_five: float
    again: float
    fits: int


def run(
    count: int,
    *,
    calibrated: bool = False,
    measuring: bool = False,
    known: bool = False,
    seed: int = 1,
) -> Learning:
    """Print every fit until it is as wanted, on as many plain as odd printers.

    Parameters
    ----------
    count : int
        Printers of each class.
    calibrated : bool
        By a short coupon; else by the generic profile.
    measuring : bool
        Whether the size of each print is read and written down.
    known : bool
        Whether the printer's mean sizes are known without error; nothing else then counts.
    seed : int

    Returns
    -------
    Learning
    """
    needed, again = [], []
    for odd in (False, True):
        for number, machine in enumerate(machines(count, odd=odd, seed=seed)):
            calipers = Calipers.drawn(9000 + 2 * number + odd, slips=0.0)
            profile = generic_profile("PETG")
            if calibrated:
                way = Fitkit()
                way.learn_coupon(machine, calipers, night=1)
                profile = replace(
                    profile, evidence=evidence_of(way.read), generic=False, name="read", prints=1
                )
            habits = Habits(np.random.default_rng([seed, number, odd, 37]))
            for at, fit in enumerate(FITS):
                night = 20 + 10 * at
                if known:
                    prints, fits = _until_known(machine, calipers, habits, fit, night)
                else:
                    prints, fits = _until(machine, calipers, profile, habits, fit, night, measuring)
                needed.append(prints)
                again.append(fits)
    prints = np.array(needed)
    return Learning(
        float(prints.mean()), float((prints > 5).mean()), float(np.mean(again)), len(prints)
    )


def _until(
    machine: Machine,
    calipers: Calipers,
    profile: PrinterProfile,
    habits: Habits,
    fit: Fit,
    night: int,
    measuring: bool,
) -> tuple[int, bool]:
    """Print until it fits; give the number of prints, and whether one more print fits too."""
    thing = fit.shape.mm + odd_mm(machine, fit)
    read = calipers.read(replace(fit.shape, sort="block"), thing)
    asked = asked_of("part", fit.shape, thing)
    trials: list[Trial] = []
    found: list[MeasuredSize] = []
    drawn_mm = 0.0
    for number in range(1, LIMIT + 1):
        learned = learn_sizes(profile, found) if found else None
        for at in range(len(found)):
            trials[at] = replace(
                trials[at],
                u_lasting_mm=_lasting_mm(asked, profile, learned, str(at + 1), trials[at]),
            )
        own = joint([asked], profile, learned=learned).sum([1.0])
        u_mm = float(np.hypot(own.u_mm, U_READING_MM))
        lasting = min(float(np.hypot(own.u_lasting_mm, U_READING_MM)), u_mm)
        gap = choose_gap(
            fit.pair, fit.behaviour, size_mm=fit.shape.mm, trials=trials, u_gap_mm=u_mm,
            df=own.df, u_lasting_mm=lasting,
        ).gap_mm  # fmt: skip
        size = compensate(
            Estimate.of("fit", read + fit.sense * gap, U_READING_MM),
            profile, kind=KINDS[fit.shape.sort], axis=axis_of(fit.shape), learned=learned,
            feature=asked.feature, wall_mm=asked.wall_mm,
        )  # fmt: skip
        drawn_mm = size.drawn_mm
        shape = fit.shape.drawn(drawn_mm)
        (made_mm,) = machine.printed([shape], night=night + number, since=1 + number)
        verdict = habits.verdict(fit, fit.sense * (made_mm - thing))
        gap_mm = fit.sense * (size.expected_mm - read)
        if measuring:
            seen_mm = calipers.read(shape, made_mm)
            found.append(
                MeasuredSize(
                    kind=KINDS[fit.shape.sort],  # type: ignore[arg-type]
                    axis=axis_of(fit.shape),  # type: ignore[arg-type]
                    drawn_mm=drawn_mm,
                    measured_mm=seen_mm,
                    u_measured_mm=U_READING_MM,
                    print_code=str(number),
                    feature=asked.feature,
                )
            )
            gap_mm, u_mm, lasting = fit.sense * (seen_mm - read), 1.4 * U_READING_MM, 0.0
        trials.append(
            Trial(
                pair=fit.pair,
                behaviour=fit.behaviour,
                size_mm=fit.shape.mm,
                gap_mm=max(gap_mm, 0.0) if fit.pair == "screw hole" else gap_mm,
                verdict=verdict,
                u_gap_mm=u_mm,
                u_lasting_mm=lasting,
            )
        )
        if verdict == "as wanted":
            break
    else:
        number = LIMIT + 1
    again = fit.shape.drawn(drawn_mm)
    (made_mm,) = machine.printed([again], night=night + 9, since=2 + min(number, LIMIT))
    return number, habits.verdict(fit, fit.sense * (made_mm - thing)) == "as wanted"


def _until_known(
    machine: Machine, calipers: Calipers, habits: Habits, fit: Fit, night: int
) -> tuple[int, bool]:
    """As `_until`, judged only, on a printer whose mean sizes somebody knows without error."""
    thing = fit.shape.mm + odd_mm(machine, fit)
    read = calipers.read(replace(fit.shape, sort="block"), thing)
    nights = range(1000, 1000 + KNOWN_NIGHTS)

    def printed(drawn_mm: float) -> Array:
        shape = fit.shape.drawn(drawn_mm)
        return np.array([machine.printed([shape], night=one, since=2)[0] for one in nights])

    u_fresh_mm = float(printed(fit.shape.mm).std(ddof=1))
    trials: list[Trial] = []
    drawn_mm = fit.shape.mm
    for number in range(1, LIMIT + 1):
        gap = choose_gap(
            fit.pair, fit.behaviour, size_mm=fit.shape.mm, trials=trials,
            u_gap_mm=float(np.hypot(u_fresh_mm, U_READING_MM)), u_lasting_mm=U_READING_MM,
        ).gap_mm  # fmt: skip
        target_mm = read + fit.sense * gap
        for _ in range(3):
            drawn_mm += target_mm - float(printed(drawn_mm).mean())
        shape = fit.shape.drawn(drawn_mm)
        (made_mm,) = machine.printed([shape], night=night + number, since=1 + number)
        verdict = habits.verdict(fit, fit.sense * (made_mm - thing))
        trials.append(
            Trial(
                pair=fit.pair,
                behaviour=fit.behaviour,
                size_mm=fit.shape.mm,
                gap_mm=gap,
                verdict=verdict,
                u_gap_mm=float(np.hypot(u_fresh_mm, U_READING_MM)),
                u_lasting_mm=U_READING_MM,
            )
        )
        if verdict == "as wanted":
            break
    else:
        number = LIMIT + 1
    again = fit.shape.drawn(drawn_mm)
    (made_mm,) = machine.printed([again], night=night + 9, since=2 + min(number, LIMIT))
    return number, habits.verdict(fit, fit.sense * (made_mm - thing)) == "as wanted"


def _lasting_mm(
    asked: PrintedSize,
    profile: PrinterProfile,
    learned: Learned | None,
    code: str,
    trial: Trial,
) -> float:
    """What of a measured gap's doubt the next print is off by, too."""
    known = then_and_next([asked], [1.0], profile, learned=learned, print_code=code)
    return min(gap_doubt_then(*known, U_READING_MM)[1], trial.u_gap_mm)


def main() -> None:
    """Print the table of both profiles, judged only and measured too, and of a known printer."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 12
    ways = [
        ("printer known without error", {"known": True}),
        *(
            (word, {"calibrated": calibrated, "measuring": measuring})
            for word, calibrated in (("short coupon", True), ("generic", False))
            for measuring in (False, True)
        ),
    ]
    print("| profile | measured | prints | over five | fits again | fits |")
    print("|---|---|---|---|---|---|")
    for word, way in ways:
        one = run(count, **way)
        print(
            f"| {word} | {'yes' if way.get('measuring') else 'no'} | {one.prints:.2f} "
            f"| {one.over_five:.2f} | {one.again:.2f} | {one.fits} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
