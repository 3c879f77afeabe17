"""A table of coupon readings, taken apart print by print and made into estimates."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from fitkit.calibration.coupon import parse_feature
from fitkit.calibration.settings import PrintSettings, parse_item
from fitkit.errors import CalibrationError, FaultList, FitkitError

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from fitkit.readings import ReadingTable
    from fitkit.stats.estimate import Estimate

__all__ = ["read_prints"]


def read_prints(
    table: ReadingTable, instruments: Any = None
) -> tuple[
    list[Mapping[str, Estimate]], PrintSettings | None, tuple[str, ...], tuple[str, ...], int
]:
    """Make the estimates of each print of a table.

    All prints are estimated in one go, so that what they share, such as the zero of the calipers,
    stays one and the same doubt.

    Returns
    -------
    prints : list of mapping of feature name to Estimate
    settings : PrintSettings or None
        None if the ``item`` column is empty throughout; all is then one print.
    sources : tuple of str
        Name of the table and hash of its readings.
    notes : tuple of str
    count : int
        Readings used.

    Raises
    ------
    FaultList
        Prints of different printers, materials or settings; features read with the wrong jaws;
        items or features that cannot be read.
    """
    from fitkit.stats import estimates

    frame = table.counted
    if frame.empty:
        raise CalibrationError(
            "no reading that counts", where=table.name, remedy="Fill in the readings first."
        )
    settings, numbers, faults = _prints(frame, table.name)
    faults += _wrong_jaws(frame, table.name)
    if faults:
        raise FaultList(faults)
    apart = frame.assign(
        feature=[
            _tag(name, number) for name, number in zip(frame["feature"], numbers, strict=True)
        ]
    )
    found = estimates(replace(table, frame=apart), instruments=instruments)
    order = sorted(set(numbers))
    prints: list[Mapping[str, Estimate]] = []
    for number in order:
        names = dict.fromkeys(
            name for name, n in zip(frame["feature"], numbers, strict=True) if n == number
        )
        prints.append({name: replace(found[_tag(name, number)], name=name) for name in names})
    notes = tuple(table.notes)
    missing = len(table.frame) - len(frame)
    if missing:
        notes = (*notes, f"{missing} rows are empty, rejected or left out")
    return prints, settings, (f"{table.name}, sha256 {_hash(frame)}",), notes, len(frame)


def _tag(name: str, number: int) -> str:
    return f"{name} (print {number})"


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
            faults.append(CalibrationError(error.what, where=where, remedy=error.remedy))
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
                        f"{word} {other!r} beside {one!r} in one fit",
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
            faults.append(CalibrationError(error.what, where=where, remedy=error.remedy))
            continue
        if mode in ("outside", "inside") and mode != feature.mode:
            faults.append(
                CalibrationError(
                    f"read with {mode} jaws; it is an {feature.mode} size",
                    where=f"{where}, feature {name!r}",
                    remedy="Set its mode, or read it again with the other jaws.",
                )
            )
    return faults


def _hash(frame: pd.DataFrame) -> str:
    rows = frame[["item", "feature", "mode", "reading", "unit"]].astype(str)
    text = "\n".join("\x1f".join(row) for row in rows.itertuples(index=False))
    return hashlib.sha256(text.encode()).hexdigest()[:16]
