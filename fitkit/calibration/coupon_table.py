"""A table of coupon readings, taken apart print by print and made into estimates."""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

from fitkit.calibration.coupon import parse_feature
from fitkit.calibration.observe import reading_name
from fitkit.calibration.settings import PrintSettings, parse_item
from fitkit.core.errors import CalibrationError, FaultList, FitkitError
from fitkit.readings.instruments import Instruments

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from fitkit.readings import ReadingTable
    from fitkit.readings.instruments import Instrument
    from fitkit.stats.average import Expansion
    from fitkit.stats.uncertainty import Estimate

__all__ = ["read_prints"]

# Repeats of one feature farther apart than this are not chance alone: four times how well usual
# calipers repeat.
_DISAGREE_MM = 0.06


def read_prints(
    table: ReadingTable,
    instruments: Any = None,
    *,
    settings: PrintSettings | None = None,
    at_20_c: bool = True,
) -> tuple[
    list[Mapping[str, Estimate]],
    PrintSettings | None,
    tuple[str, ...],
    tuple[str, ...],
    int,
    tuple[str, ...],
]:
    """Make the estimates of each print of a table.

    All prints are estimated in one go, so that what they share, such as the zero of the calipers,
    stays one and the same doubt. Repeats that disagree are estimates of their own, so that a slip
    among them is told apart. How well readings repeat is pooled over all features.

    Parameters
    ----------
    table : ReadingTable
    instruments : optional
        As `fitkit.stats.estimates` takes them.
    settings : PrintSettings, optional
        Instead of what the ``item`` column says.
    at_20_c : bool
        Bring sizes to 20 °C by the readings' temperatures, allowing for a room of 18 to 22 °C
        where there are none; False if that is done elsewhere.

    Returns
    -------
    prints : list of mapping of name to Estimate
        Named by `fitkit.calibration.observe.reading_name`.
    settings : PrintSettings or None
        None if the ``item`` column is empty throughout; all is then one print.
    sources : tuple of str
        Name of the table and hash of its readings.
    notes : tuple of str
    count : int
        Readings used.
    instruments : tuple of str
        What the table was read with: which corrections were made, and where they stand.

    Raises
    ------
    FaultList
        Prints of different printers, materials or settings; features read with the wrong jaws;
        items or features that cannot be read.
    """
    from fitkit.stats.average import estimates

    described = Instruments(instruments).zeroed_by(table)
    table = _named(table)
    table = _round_by_name(described.spelt(table))
    frame = table.counted
    if frame.empty:
        raise _nothing_counts(table)
    found_settings, numbers, faults = _prints(frame, table.name)
    settings = settings or found_settings
    faults += _wrong_jaws(frame, table.name)
    if faults:
        raise FaultList(faults)
    keys = list(zip(frame["feature"], numbers, _apart(frame, numbers), strict=True))
    apart = frame.assign(feature=[_tag(*key) for key in keys])
    used = {name: described.find(name) for name in frame["instrument"].unique()}
    known, pooling = _repeating(table, used)
    found = estimates(
        replace(table, frame=apart),
        instruments=known,
        repeatability=pooling,
        expansion=_expansion(settings) if at_20_c else None,
    )
    order = sorted(set(numbers))
    prints: list[Mapping[str, Estimate]] = [
        {
            reading_name(name, nth): replace(found[_tag(name, n, nth)], name=name)
            for name, n, nth in dict.fromkeys(keys)
            if n == number
        }
        for number in order
    ]
    notes = tuple(table.notes)
    if at_20_c:
        notes = (*notes, *_temperature_notes(frame))
    missing = len(table.frame) - len(frame)
    if missing:
        notes = (*notes, f"{missing} rows are empty, rejected or left out")
    source = f"{table.name}, sha256 {_hash(frame)}"
    said = tuple(described.doubt(name) or str(one) for name, one in used.items())
    return prints, settings, (source,), notes, len(frame), said


def _named(table: ReadingTable) -> ReadingTable:
    """Call each feature by its one name, and read it with the jaws that the name says if none are.

    What cannot be read so stays as it is, and is told with all other faults of the table.
    """
    frame = table.frame
    known = {}
    pockets = _pockets(frame["feature"].unique())
    for name in frame["feature"].unique():
        with suppress(CalibrationError):
            known[name] = parse_feature(pockets.get(name, name))
    names = frame["feature"].map({name: one.name for name, one in known.items()})
    jaws = frame["feature"].map({name: one.mode for name, one in known.items()})
    unsaid = (frame["mode_as_typed"] == "") & jaws.notna()
    return replace(
        table,
        frame=frame.assign(
            feature=names.where(names.notna(), frame["feature"]),
            mode=frame["mode"].mask(unsaid, jaws),
        ),
    )


_POCKET = re.compile(r"k\s*(?P<axis>[xy])\s*(?P<size>\d+(?:\.\d+)?)(?:\s*mm)?")


def _pockets(names: Iterable[str]) -> dict[str, str]:
    """Name a pocket that is called by the labels on the coupon: each says the other's walls."""
    sizes: dict[str, str] = {}
    axes: dict[str, str] = {}
    for name in names:
        if match := _POCKET.fullmatch(str(name).strip().casefold().replace(",", ".")):
            axes[name] = match["axis"]
            if sizes.setdefault(match["axis"], match["size"]) != match["size"]:
                return {}
    if len(sizes) < 2:
        return {}
    walls = {"x": sizes["y"], "y": sizes["x"]}
    return {name: f"pocket {axis} {sizes[axis]} by {walls[axis]}" for name, axis in axes.items()}


def _round_by_name(table: ReadingTable) -> ReadingTable:
    """Take a coupon's holes for round where the table does not say: their name does."""
    frame = table.frame
    told = frame["round"] if "round" in frame else pd.Series("", index=frame.index)
    holes = frame["feature"].map(_is_hole) & (told == "")
    if not holes.any():
        return table
    return replace(table, frame=frame.assign(round=told.mask(holes, "yes")))


def _is_hole(feature: str) -> bool:
    try:
        return parse_feature(feature).kind.bore
    except CalibrationError:
        return False  # told with all other faults of the table


def _nothing_counts(table: ReadingTable) -> CalibrationError:
    """Tell an empty form from one whose readings were all rejected for some other reason."""
    typed = table.rejected[table.rejected["reading"] != ""]
    if typed.empty:
        return CalibrationError(
            "the table holds no reading that counts",
            code="calibration.no-readings",
            where=table.name,
            remedy="Fill in the readings first.",
        )
    first = typed.iloc[0]
    return CalibrationError(
        f"the table holds no reading that counts: {len(typed)} are rejected, the first of them "
        f"because {first['rejected'].rstrip('.')}",
        code="calibration.all-rejected",
        where=f"{table.name}, row {first['row']}, feature {first['feature']!r}",
        remedy="Mend that in every row.",
    )


def _temperature_notes(frame: pd.DataFrame) -> tuple[str, ...]:
    """Say at which temperatures the coupon was read, and what was taken where none is given."""
    told = list(frame["temperature"]) if "temperature" in frame else [""] * len(frame)
    given = tuple(dict.fromkeys(text for text in told if text))
    notes: tuple[str, ...] = ()
    if given:
        notes = (f"read at {', '.join(given)}: sizes brought to 20 °C",)
    if "" in told:
        which = "readings without a temperature" if given else "coupon"
        notes = (*notes, f"{which} taken to be at room temperature: let it cool before reading")
    return notes


def _repeating(
    table: ReadingTable, used: Mapping[str, Instrument]
) -> tuple[Mapping[str, Instrument], Literal["own", "pooled"]]:
    """Give every instrument a repeatability: its history's, or that of this table."""
    from fitkit.core.errors import StatsError
    from fitkit.stats.repeatability import pooled_repeatability

    known = dict(used)
    for name, one in used.items():
        if one.repeatability_mm is not None and one.repeatability_df and not one.assumed:
            continue
        try:
            repeats = pooled_repeatability(table, instrument=name)
        except StatsError:
            return used, "own"
        if one.assumed:  # what was typed may show a coarser step; its repeats are now known
            rows = table.counted[table.counted["instrument"] == name]
            step = max(one.resolution_mm, float(rows["step_mm"].median()))
            one = replace(one, resolution_mm=step, assumed=False)
        known[name] = replace(
            one,
            repeatability_mm=max(repeats.s_mm, 0.2 * one.resolution_mm),
            repeatability_df=float(repeats.df),
        )
    return known, "pooled"


def _expansion(settings: PrintSettings | None) -> Expansion:
    from fitkit.calibration.thermal import expansion_per_kelvin
    from fitkit.stats.average import Expansion

    material = settings.material if settings else "unknown"
    mean, u = expansion_per_kelvin(material)
    return Expansion(
        material=material, per_k=mean, u_per_k=u, basis=f"expansion of {material}, usual range"
    )


def _apart(frame: pd.DataFrame, numbers: Sequence[int]) -> list[int]:
    """Number repeats that disagree, each feature of each print from 0; 0 for those that agree."""
    groups = frame.assign(print=numbers).groupby(["feature", "print"])
    spread = groups["value_mm"].transform("max") - groups["value_mm"].transform("min")
    return groups.cumcount().where(spread > _DISAGREE_MM, 0).tolist()


def _tag(name: str, number: int, nth: int) -> str:
    return f"{reading_name(name, nth)} (print {number})"


def _prints(
    frame: pd.DataFrame, where: str
) -> tuple[PrintSettings | None, list[int], list[FitkitError]]:
    items = frame["item"].astype(str).str.strip()
    if not items.any():
        return None, [1] * len(frame), []
    faults: list[FitkitError] = []
    read: dict[str, tuple[PrintSettings, int]] = {}
    for item in dict.fromkeys(items):
        try:
            read[item] = parse_item(item)
        except CalibrationError as error:
            faults.append(error.placed(CalibrationError, where=where))
    if faults:
        return None, [], faults
    first = next(iter(read.values()))[0]
    for item, (settings, _) in read.items():
        for name, word in (
            ("material", "material"),
            ("printer", "printer"),
            ("layer_height_mm", "layer height"),
            ("first_layer_mm", "first layer"),
            ("nozzle_mm", "nozzle"),
        ):
            one, other = getattr(first, name), getattr(settings, name)
            if one != other:
                faults.append(
                    CalibrationError(
                        f"the {word} is {other!r} here and {one!r} in the first row",
                        code="calibration.mixed-prints",
                        where=f"{where}, item {item!r}",
                        remedy="Fit each on its own: a profile is for one printer, material and "
                        "setting.",
                    )
                )
    return first, [read[item][1] for item in items], faults


def _wrong_jaws(frame: pd.DataFrame, where: str) -> list[FitkitError]:
    faults: list[FitkitError] = []
    for name, mode in dict.fromkeys(zip(frame["feature"], frame["mode"], strict=True)):
        try:
            feature = parse_feature(name)
        except CalibrationError as error:
            faults.append(error.placed(CalibrationError, where=where))
            continue
        if mode != feature.mode and not (mode in ("depth", "step") and feature.axis == "z"):
            faults.append(
                CalibrationError(
                    f"it was read with {mode} jaws, but it is an {feature.mode} size",
                    code="calibration.wrong-jaws",
                    where=f"{where}, feature {name!r}",
                    remedy="Set its mode, or read it again with the other jaws.",
                )
            )
    return faults


def _hash(frame: pd.DataFrame) -> str:
    rows = frame[["item", "feature", "mode", "reading", "unit"]].astype(str)
    text = "\n".join("\x1f".join(row) for row in rows.itertuples(index=False, name=None))
    return hashlib.sha256(text.encode()).hexdigest()[:16]
