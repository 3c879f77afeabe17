"""What the files of a new part say that carries several things: readings of each, and its sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from fitkit.core.errors import SheetError
from fitkit.make.new_texts import WIDTH, offered_lines, toml_text
from fitkit.parts.holder import holder
from fitkit.readings.blank import blank_table

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fitkit.parts.contract import Template
    from fitkit.parts.holder import Holder
    from fitkit.parts.measuring import FromReadings

__all__ = ["chosen_things", "things_readings", "things_sheet"]

# Of a carrier, what most people look for next.
_OFTEN = (
    *("shape", "unit", "known_length", "lid_fixing", "lugs", "vent_area"),
    *("wall", "floor", "thickness", "fixing", "label"),
)


def chosen_things(kind: type[Template], holds: Mapping[str, str]) -> dict[str, Holder]:
    """Make a thing of each name, at its holder's usual values.

    Parameters
    ----------
    kind : Template class
        The carrier.
    holds : mapping of a thing's name to a holder's title

    Returns
    -------
    dict of name to Holder

    Raises
    ------
    SheetError
        If none is given, or a name is given that no thing can have.
    PartError, FaultList
        If there is no such holder.
    """
    from fitkit.parts.holder import known_features, known_holders

    if not holds:
        ways = {**known_holders(), **(known_features() if "shape" in kind.model_fields else {})}
        known = ", ".join(ways)
        raise SheetError(
            "nothing is said of what it is to hold",
            where=f"carrier {kind.title!r}",
            code="make.no-things",
            remedy="Give a name and a way to hold it for each thing, such as 'board=board on "
            f"standoffs'. Ways are: {known}.",
        )
    return {name: holder(title).of(name=name) for name, title in holds.items()}


def _sizes(thing: Holder) -> tuple[FromReadings, ...]:
    return type(thing).measuring.sizes_of(thing)


def things_readings(things: Mapping[str, Holder], *, repeats: int, instrument: str) -> str:
    """Write an empty readings file: for each thing the features of its holder.

    Parameters
    ----------
    things : mapping of name to Holder
    repeats : int
        How often each feature is to be read.
    instrument : str
        Name of the usual calipers.

    Returns
    -------
    str
    """
    return blank_table(
        {
            "item": name,
            "feature": one.feature,
            "mode": one.mode,
            "unit": "mm",
            "instrument": instrument,
            "note": "" if repeat else one.note,
            "round": "yes" if one.round else "no" if one.mode == "inside" else "",
            "between": one.between,
        }
        for name, thing in things.items()
        for one in type(thing).measuring.readings_of(*_sizes(thing))
        for repeat in range(repeats)
    )


def things_sheet(
    title: str,
    kind: type[Template],
    things: Mapping[str, Holder],
    *,
    values: Mapping[str, object],
    readings: str,
    generic: str,
    handling: str,
) -> str:
    """Write the sheet of a carrier with its things.

    Parameters
    ----------
    title : str
    kind : Template class
        The carrier.
    things : mapping of name to Holder
    values : mapping
        Parameters of the carrier that are chosen now.
    readings : str
        Path of the readings file.
    generic, handling : str
        Examples of what the sheet may say where it differs from the workshop's habits.

    Returns
    -------
    str
    """
    lines = [
        "# Make it with 'make' and the name of this file. A size is a feature of the readings",
        '# file, a number with its unit ("2.4 mm"), or both together. Printer, instruments,',
        "# journal and handling are the workshop's.",
        "schema = 1",
        f"title = {toml_text(title)}",
        f"carrier = {toml_text(kind.title)}",
        f"readings = {toml_text(readings)}",
        "",
        "[values]",
        *(f"{name} = {toml_text(value)}" for name, value in values.items()),
        "# People often change these: take the # away before the name.",
        *_offered(kind, [name for name in _OFTEN if name not in values]),
    ]
    for name, thing in things.items():
        lines += ["", *_thing(name, thing, on_shape="shape" in kind.model_fields)]
    lines += [
        "",
        "# Where this part differs from the workshop's habits:",
        "# [printer]",
        f"# generic = {toml_text(generic)}",
        "# [use]",
        f"# handling = {toml_text(handling)}",
    ]
    assert all(len(line) <= 2 * WIDTH for line in lines)
    return "\n".join(lines) + "\n"


def _offered(kind: type[Template], names: Sequence[str]) -> Iterator[str]:
    for name in names:
        if name in kind.model_fields:
            yield from offered_lines(name, kind.model_fields[name])


def _thing(name: str, thing: Holder, *, on_shape: bool) -> Iterator[str]:
    kind = type(thing)
    yield f"[[things]]  # {kind.summary}"
    yield f"name = {toml_text(name)}"
    yield f"held = {toml_text(kind.title)}"
    if _sizes(thing):
        yield f"item = {toml_text(name)}  # of the readings"
    if on_shape:
        yield 'place = { at = ["0 mm", "0 mm", "0 mm"] }  # on the surface'
    else:
        yield '# place = { x = "40 mm", y = "30 mm", turn = "0 deg" }  # found by itself without it'
    for one in _sizes(thing):
        yield f"{one.parameter} = {toml_text(one.text)}"
    measured = {one.parameter for one in _sizes(thing)}
    for key, field in kind.model_fields.items():
        if key in ("held", "name", "item", "on", "place", *measured):
            continue
        if field.default is None:  # usual is what follows from the rest
            continue
        lines = list(offered_lines(key, field))
        if not lines[-1].startswith(f"# {key} = []"):
            yield from lines
    if "ports" in kind.model_fields:
        yield "# For each plug that passes a wall, lines such as:"
        yield "# [[things.ports]]"
        yield '# wall = "front"'
        yield '# along = "20 mm"'
        yield '# above = "2 mm"'
        yield '# width = "9 mm"'
        yield '# height = "4 mm"'
