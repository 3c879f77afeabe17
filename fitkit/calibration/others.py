"""What a workshop's other printers, nozzles, spools and materials teach about one not yet read.

Their readings join what open records teach, as readings of printers that are like this one, only
not the same: the prior of a fit is what all of them tell of its printer. So a second printer, or a
new spool, needs a third of the readings that the first one needed.

Left out: how alike a workshop's printers are is a choice (`posterior`), not learned from them;
that would take three printers and more.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from fitkit.calibration.effects import Sizes, Source
from fitkit.calibration.posterior import Evidence, learn, tail_points
from fitkit.calibration.prior import Prior, learned_prior
from fitkit.core.errors import FitkitError

if TYPE_CHECKING:
    from collections.abc import Iterable

    from fitkit.calibration.profile import PrinterProfile

__all__ = ["made_with", "prior_beside", "profiles_in"]


def profiles_in(
    folder: str | Path, *, besides: str | Path | None = None
) -> tuple[list[PrinterProfile], list[str]]:
    """Read the profiles of a workshop's folder.

    Parameters
    ----------
    folder : path
        Need not be there.
    besides : path, optional
        A file to leave out: the one that is about to be written.

    Returns
    -------
    profiles : list of PrinterProfile
        In the order of their file names.
    unread : list of str
        A sentence for each file that could not be read.
    """
    from fitkit.calibration.profile_file import load_profile

    found, unread = [], []
    skip = None if besides is None else Path(besides).resolve()
    for file in sorted(Path(folder).glob("*.toml")):
        if file.resolve() == skip:
            continue
        try:
            found.append(load_profile(file))
        except FitkitError as error:
            unread.append(f"{file.name} could not be read, so it teaches nothing: {error.what}")
    return found, unread


def made_with(profile: PrinterProfile) -> Source:
    """Say which printer, material, nozzle and spool a profile's readings are of."""
    source = profile.provenance
    return Source(
        printer=profile.printer,
        material=profile.material,
        nozzle=source.nozzle or f"{profile.nozzle_mm:g} mm",
        spool=source.spool,
        day=profile.now.day,
    )


def prior_beside(
    others: Iterable[PrinterProfile], asked: PrinterProfile
) -> tuple[Prior, tuple[str, ...]]:
    """Give what is known of a printer from open records and from other profiles of a workshop.

    Parameters
    ----------
    others : iterable of PrinterProfile
        Those without readings, and those of the same printer, material, nozzle and spool, count for
        nothing: the latter are merged by `fitkit.calibration.update`. A nozzle or spool that one of
        the two does not name is taken for the same.
    asked : PrinterProfile
        Says what the printer is; its own readings must not be among the others'.

    Returns
    -------
    prior : Prior
        The learned one if nothing else counts.
    notes : tuple of str
        A sentence that names what joined; empty if nothing did.
    """
    start, mine = learned_prior(asked.material), made_with(asked)
    seen = set(asked.provenance.readings)
    parts, names = [], []
    for other in others:
        theirs = _beside(made_with(other), mine, other, asked)
        same = replace(theirs, day=mine.day) == mine
        if other.evidence is None or same or seen & set(other.provenance.readings):
            continue
        seen |= set(other.provenance.readings)
        parts.append(_as_read_there(other.evidence, theirs, start, learned_prior(other.material)))
        names.append(
            f"{other.name} ({len(other.evidence.sizes)} readings of {_words(theirs, mine)})"
        )
    if not parts:
        return start, ()
    mean, cov = learn(start, Evidence.joined(parts)).terms(mine)
    # A prior's covariance is multiplied by the factors of its tail; that of a mixture has them in.
    cov = cov / float(np.mean(tail_points(start.tail_df)[0]))
    note = f"also rests on the workshop's other profiles: {', '.join(names)}"
    return replace(start, mean=mean, cov=0.5 * (cov + cov.T), says=f"{start.says}; {note}"), (note,)


def _beside(theirs: Source, mine: Source, other: PrinterProfile, asked: PrinterProfile) -> Source:
    """Take nozzle and spool for the same where one of the two makers did not note which it was."""
    noted = other.provenance.nozzle and asked.provenance.nozzle
    if not noted and other.nozzle_mm == asked.nozzle_mm:
        theirs = replace(theirs, nozzle=mine.nozzle)
    if not (theirs.spool and mine.spool):
        theirs = replace(theirs, spool=mine.spool)
    return theirs


def _as_read_there(evidence: Evidence, source: Source, mine: Prior, theirs: Prior) -> Evidence:
    """Give readings as those of another printer, moved by what its material does otherwise."""
    sizes = Sizes.of(
        replace(
            size,
            source=replace(
                size.source,
                printer=source.printer,
                material=source.material,
                nozzle="; ".join(filter(None, (source.nozzle, size.source.nozzle))),
                spool=size.source.spool or source.spool,
            ),
            # A feature's peculiarity is its printer's own, and each print of it another one.
            feature=f"{source}: {size.feature}",
            print_code=f"{source}: {size.print_code}",
        )
        for size in evidence.sizes.asked
    )
    moved = evidence.sizes.loads @ (theirs.mean - mine.mean)
    return replace(evidence, sizes=sizes, read_mm=evidence.read_mm - moved)


def _words(theirs: Source, mine: Source) -> str:
    """Name what differs."""
    differ = [
        f"{key} {getattr(theirs, key)!r}"
        for key in ("printer", "material", "nozzle", "spool")
        if getattr(theirs, key).casefold() != getattr(mine, key).casefold()
    ]
    return " with ".join(filter(None, (differ[0] if differ else "", ", ".join(differ[1:]))))
