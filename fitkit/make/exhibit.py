"""An exhibit's file: which parts it is made of, which print of each is in place, and its state.

One TOML file, kept by hand and by commands alike: comments and order stay. A part is ``to print``
until it names the trace code of its print; from then on its state follows from the journal:
``printed``, ``fitted`` once every verdict on it is as wanted, ``broken`` once something of it is
written down as broken. ``spare`` is said by hand, of a print that waits in a drawer.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field, field_validator, model_validator

from fitkit.core.errors import FitkitError, SheetError
from fitkit.core.models import StrictModel, load_model, load_toml
from fitkit.flow.sheet import load_sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.journal import Journal
    from fitkit.make.plates import Plated

__all__ = [
    "STATES",
    "Exhibit",
    "ExhibitPart",
    "Standing",
    "add_parts",
    "is_exhibit",
    "load_exhibit",
    "make_exhibit",
    "print_again",
    "standing",
    "update_states",
]

State = Literal["to print", "printed", "fitted", "broken", "spare"]
STATES: tuple[State, ...] = ("to print", "printed", "fitted", "broken", "spare")
_KIND = "exhibit's file"


class ExhibitPart(StrictModel):
    """One part of an exhibit: one printed piece.

    Attributes
    ----------
    name : str
        What it is called; no other part of the exhibit has this name.
    sheet : str
        Its part sheet; the path counts from this file.
    state : str
        Whether it is printed, and how it stands.
    code : str
        Trace code of the print that is in place; empty for one that is to print.
    note : str
        Words of your own.
    """

    name: Annotated[str, Field(min_length=1, max_length=200)]
    sheet: Annotated[str, Field(min_length=1, max_length=1000)]
    state: State = "to print"
    code: str = ""
    note: str = ""

    @field_validator("code")
    @classmethod
    def _is_a_code(cls, code: str) -> str:
        from fitkit.journal import normal_code

        return normal_code(code) if code.strip() else ""


class Exhibit(StrictModel):
    """An exhibit and its parts.

    Attributes
    ----------
    schema_version : int
        Version of this form: 1.
    title : str
        Of the exhibit.
    parts : list
        One entry for each printed piece.
    """

    schema_version: Literal[1] = Field(default=1, alias="schema")
    title: Annotated[str, Field(min_length=1, max_length=200)]
    parts: tuple[ExhibitPart, ...] = ()

    @model_validator(mode="after")
    def _names_and_codes_once(self) -> Exhibit:
        seen: dict[str, int] = {}
        for what, number, word in (
            (what, number, getattr(part, what).casefold())
            for what in ("name", "code")
            for number, part in enumerate(self.parts)
        ):
            if word and (first := seen.setdefault(f"{what} {word}", number)) != number:
                raise SheetError(
                    f"part {first + 1} has this {what}, too",
                    at=("parts", number, what),
                    code=f"exhibit.same-{what}",
                    remedy="Give each part a name of its own, and each print to one part.",
                )
        return self


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How one part of an exhibit stands.

    Attributes
    ----------
    part : ExhibitPart
        As the file has it.
    state : str
        As it should be, by the journal.
    why : str
        What that rests on, in a few words.
    """

    part: ExhibitPart
    state: State
    why: str


def is_exhibit(path: str | Path) -> bool:
    """Tell an exhibit's file from a part sheet: it lists parts.

    Parameters
    ----------
    path : path

    Returns
    -------
    bool
        False for what cannot be read.
    """
    try:
        return "parts" in load_toml(path, kind_of_file=_KIND)
    except FitkitError:
        return False


def load_exhibit(path: str | Path) -> Exhibit:
    """Read an exhibit's file.

    Parameters
    ----------
    path : path

    Returns
    -------
    Exhibit

    Raises
    ------
    FitkitError
        If it cannot be read.
    FaultList
        All keys at fault.
    """
    return load_model(path, Exhibit, kind_of_file=_KIND, error=SheetError)


def standing(exhibit: Exhibit, journal: Journal) -> tuple[Standing, ...]:
    """Tell how each part of an exhibit stands, by the journal where that can be.

    Parameters
    ----------
    exhibit : Exhibit
    journal : Journal

    Returns
    -------
    tuple of Standing
        In the file's order.
    """
    from fitkit.journal.breakages import breakages
    from fitkit.journal.lookup import summaries

    verdicts = {item.code: item for item in summaries(journal) if item.kind == "print"}
    broken: dict[str, list[str]] = {}
    for one in breakages(journal):
        broken.setdefault(one.of, []).append(one.feature)
    found = []
    for part in exhibit.parts:
        state, why = _state(part, journal, verdicts, broken)
        found.append(Standing(part=part, state=state, why=why))
    return tuple(found)


def _state(
    part: ExhibitPart,
    journal: Journal,
    verdicts: Mapping[str, Any],
    broken: Mapping[str, Sequence[str]],
) -> tuple[State, str]:
    from fitkit.fits.trial import AS_WANTED

    if not part.code:
        if part.state in ("to print", "spare"):
            return part.state, "" if part.state == "to print" else "without a trace code"
        return part.state, "said by hand: no trace code tells which print it is"
    try:
        record = journal.print_of(part.code)
    except FitkitError:
        return part.state, f"the journal has no print {part.code}"
    features = [f for code in {record.code, part.code} for f in broken.get(code, ())]
    if features:
        return "broken", ", ".join(dict.fromkeys(features))
    said = verdicts[record.code].verdict if record.code in verdicts else ""
    if part.state == "spare":
        return "spare", said
    return ("fitted" if said == AS_WANTED else "printed"), said


def update_states(path: str | Path, found: Sequence[Standing]) -> tuple[str, ...]:
    """Write the states into an exhibit's file where they differ; comments and order stay.

    Parameters
    ----------
    path : path
    found : sequence of Standing

    Returns
    -------
    tuple of str
        One line for each state that changed.
    """
    news = {one.part.name: {"state": one.state} for one in found if one.state != one.part.state}
    _write(path, news)
    return tuple(
        f"{one.part.name}: {one.part.state} -> {one.state}" + (f" ({one.why})" if one.why else "")
        for one in found
        if one.part.name in news
    )


def add_parts(path: str | Path, sheets: Sequence[str | Path], *, title: str = "") -> Exhibit:
    """Add a part to print for each sheet; the file is begun if it is not there.

    Parameters
    ----------
    path : path
        Of the exhibit's file.
    sheets : sequence of path
        One that is named twice gives two parts.
    title : str
        Of an exhibit that is begun; the file's name without its ending if empty.

    Returns
    -------
    Exhibit
        As it is now.

    Raises
    ------
    FitkitError
        If a sheet cannot be read; the file is then as it was.
    """
    import os

    import tomlkit

    from fitkit.core.files import create_atomic, read_plain, write_atomic
    from fitkit.core.locks import sole_writer

    path = Path(path)
    loaded = [(Path(sheet), load_sheet(sheet).title) for sheet in sheets]
    begun = path.exists()
    with sole_writer(path):
        if begun:
            names = {part.name.casefold() for part in load_exhibit(path).parts}
            document = tomlkit.parse(read_plain(path).decode("utf-8"))
        else:
            names = set()
            document = tomlkit.document()
            document["schema"] = 1
            document["title"] = title or path.stem.replace("_", " ").replace("-", " ")
        parts = document.setdefault("parts", tomlkit.aot())
        for sheet, name in loaded:
            entry = tomlkit.table()
            own, number = name, 1
            while own.casefold() in names:
                number += 1
                own = f"{name} {number}"
            names.add(own.casefold())
            entry["name"] = own
            entry["sheet"] = Path(
                os.path.relpath(sheet.resolve(), path.parent.resolve())
            ).as_posix()
            entry["state"] = "to print"
            parts.append(entry)
        text = tomlkit.dumps(document)
        exhibit = load_model(
            tomllib.loads(text), Exhibit, kind_of_file=_KIND, error=SheetError, file=path
        )
        (write_atomic if begun else create_atomic)(path, text)
    return exhibit


def print_again(path: str | Path, names: Sequence[str]) -> tuple[str, ...]:
    """Set parts back to print; which print was in place stays in the journal.

    Parameters
    ----------
    path : path
    names : sequence of str
        Of parts of the exhibit.

    Returns
    -------
    tuple of str
        One line for each part.

    Raises
    ------
    SheetError
        If the exhibit has no part of a name.
    """
    exhibit = load_exhibit(path)
    known = {part.name.casefold(): part for part in exhibit.parts}
    found = []
    for name in names:
        part = known.get(name.strip().casefold())
        if part is None:
            raise SheetError(
                f"this exhibit has no part {name!r}",
                file=path,
                code="exhibit.no-such-part",
                remedy=f"It has: {', '.join(part.name for part in exhibit.parts)}.",
            )
        found.append(part)
    _write(path, {part.name: {"state": "to print", "code": None} for part in found})
    return tuple(
        f"{part.name}: to print again" + (f", after print {part.code}" if part.code else "")
        for part in found
    )


def make_exhibit(
    path: str | Path,
    *,
    into: str | Path | None = None,
    despite: Mapping[str, str] | None = None,
    workshop: str | Path | None = None,
    step: Callable[[str], None] = lambda text: None,
) -> Plated:
    """Make all parts of an exhibit that are to print, and write their codes into its file.

    Parameters
    ----------
    path : path
    into, despite, workshop, step
        As `make_plates` takes them.

    Returns
    -------
    Plated

    Raises
    ------
    SheetError
        If nothing is to print, or if parts were printed by a run that was stopped before it could
        write their codes down: they are written now.
    FaultList
        What `make_plates` raises.
    """
    from fitkit.make.plates import make_plates

    path = Path(path)
    exhibit = load_exhibit(path)
    todo = [part for part in exhibit.parts if part.state == "to print" and not part.code]
    if not todo:
        raise SheetError(
            "no part of this exhibit is to print",
            file=path,
            code="exhibit.nothing-to-print",
            remedy='Take the code of a part out and write state = "to print", or add one.',
        )
    _take_over(path, todo, workshop)
    job = make_plates(
        [path.parent / part.sheet for part in todo],
        marks=[{_MADE_FOR: _made_for(path, part.name)} for part in todo],
        title=exhibit.title,
        into=into,
        despite=despite,
        workshop=workshop,
        step=step,
    )
    step("writing the codes into the exhibit's file")
    pairs = zip(todo, job.parts, strict=True)
    _write(path, {one.name: {"code": made.code, "state": "printed"} for one, made in pairs})
    return job


# Key of a record's `extra`: the exhibit's file and part that a print was made for.
_MADE_FOR = "made_for"


def _made_for(path: Path, name: str) -> str:
    return f"{path.name}: {name}"


def _take_over(path: Path, todo: Sequence[ExhibitPart], workshop: str | Path | None) -> None:
    """Write down the codes of parts that a run made which was stopped before it could write them.

    Such prints are younger than the file: whoever takes a code out to print once more writes the
    file after them.
    """
    from fitkit.journal import Journal
    from fitkit.journal.lookup import summaries

    written = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    names = {_made_for(path, part.name): part.name for part in todo}
    try:
        folder = load_sheet(path.parent / todo[0].sheet, workshop=workshop).journal_folder
    except FitkitError:
        return  # told with all other faults when the parts are prepared
    journal = Journal(folder)
    journal.settle()
    found: dict[str, str] = {}
    for one in summaries(journal):
        if one.kind == "print" and datetime.fromisoformat(one.made_at) > written:
            made_for = journal.print_of(one.code).extra.get(_MADE_FOR, "")
            if made_for in names:
                found[names[made_for]] = one.code
    if found:
        _write(path, {name: {"code": code, "state": "printed"} for name, code in found.items()})
        said = ", ".join(f"{name} ({code})" for name, code in found.items())
        raise SheetError(
            f"made already by a run that was stopped: {said}; their codes are written here now",
            file=path,
            code="exhibit.made-already",
            remedy="Print the plates that it wrote, or give the command again for what is left.",
        )


def _write(path: str | Path, news: Mapping[str, Mapping[str, str | None]]) -> None:
    """Change keys of parts by their names, in the file as it is now; None takes a key out."""
    import tomlkit

    from fitkit.core.files import read_plain, write_atomic
    from fitkit.core.locks import sole_writer

    if not news:
        return
    with sole_writer(path):
        document: Any = tomlkit.parse(read_plain(Path(path)).decode("utf-8"))
        for entry in document.get("parts", ()):
            for key, value in news.get(str(entry["name"]), {}).items():
                if value is None:
                    entry.pop(key, None)
                elif str(entry.get(key, "")) != value:
                    entry[key] = value
        write_atomic(Path(path), tomlkit.dumps(document))
