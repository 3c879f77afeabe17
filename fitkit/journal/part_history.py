"""The life of one part: its prints in order, and everything that changed between two of them.

When a print fits that did not fit before, usually several things had changed. All of them are
listed, and none is credited alone. Inputs (what somebody changed) and what followed from them
(targets, drawn sizes) are told apart.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from fitkit.core.errors import NoRecordError
from fitkit.core.format import with_doubt
from fitkit.journal.breakages import as_breakage
from fitkit.journal.lookup import summaries
from fitkit.journal.records import MachineRecord, NoteRecord, PrintRecord, TrialRecord

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from fitkit.journal.breakages import Breakage
    from fitkit.journal.store import Journal

__all__ = ["Change", "Version", "changes", "history", "said_of_withdrawn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that differs between two prints.

    `role` is ``input`` for what was changed, ``result`` for what followed from it.
    """

    what: str
    was: str
    now: str
    role: Literal["input", "result"] = "input"

    def __str__(self) -> str:
        """Give one line."""
        return f"{self.what}: {self.was or 'none'} -> {self.now or 'none'}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Version:
    """One print of a part, how it fitted, and what had changed since the print before.

    `trials` are those that count; `withdrawn` ones had been written down and were taken back.
    `broken` is what broke of it.
    """

    record: PrintRecord
    verdict: str
    trials: tuple[TrialRecord, ...]
    withdrawn: tuple[TrialRecord, ...]
    notes: tuple[str, ...]
    changes: tuple[Change, ...]
    broken: tuple[Breakage, ...] = ()

    @property
    def lesson(self) -> str:
        """What may, and what may not, be concluded from the verdict."""
        inputs = [change.what for change in self.changes if change.role == "input"]
        if len(inputs) > 1:
            return (
                f"{len(inputs)} inputs changed at once ({', '.join(inputs)}): "
                "the verdict cannot be put down to one of them alone"
            )
        if inputs:
            return f"only one input changed: {inputs[0]}"
        return "no input changed" if self.changes else ""


def history(journal: Journal, part: str) -> tuple[Version, ...]:
    """Tell the life of a part, oldest print first.

    Parameters
    ----------
    journal : Journal
    part : str
        The part's title in any case, or the trace code of one of its prints.

    Returns
    -------
    tuple of Version
        One for each print.

    Raises
    ------
    JournalError
        If no print of it is known; the nearest titles are named.
    """
    found = summaries(journal)
    title = _title(journal, part, [item.part for item in found if item.kind == "print"])
    verdicts = {item.code: item.verdict for item in found}
    records = journal.records()
    prints = [r for r in records if isinstance(r, PrintRecord) and r.title.casefold() == title]
    versions: list[Version] = []
    tried = [record for record in records if isinstance(record, TrialRecord)]
    for number, record in enumerate(prints):
        before = prints[number - 1] if number else None
        versions.append(
            Version(
                record=record,
                verdict=verdicts[record.code],
                trials=tuple(r for r in tried if not r.withdrawn and _of(r, record)),
                withdrawn=tuple(r for r in tried if r.withdrawn and _of(r, record)),
                notes=tuple(
                    note
                    for r in records
                    if isinstance(r, NoteRecord) and _of(r, record) and not as_breakage(r)
                    for note in r.notes
                ),
                broken=tuple(
                    one
                    for r in records
                    if isinstance(r, NoteRecord) and _of(r, record) and (one := as_breakage(r))
                ),
                changes=() if before is None else changes(before, record, _machine(records)),
            )
        )
    return tuple(versions)


def said_of_withdrawn(trial: TrialRecord | NoteRecord) -> str:
    """Give one line: when a verdict or a breakage was taken back, what it had said, and why."""
    if isinstance(trial, NoteRecord):
        why = f", because: {trial.reason}" if trial.reason else ""
        return f"{'; '.join(trial.notes)}{why}"
    said = [f"{entry.name} {entry.verdict or 'measured'}" for entry in trial.fits]
    if trial.took_h is not None:
        said.append(f"took {trial.took_h:.1f} h")
    because = f", because: {trial.reason}" if trial.reason else ""
    return f"withdrawn on {trial.made_at:%Y-%m-%d}: {', '.join(said)}{because}"


def _of(entry: TrialRecord | NoteRecord, record: PrintRecord) -> bool:
    return entry.of is not None and entry.of in (record.code, record.supersedes)


def _machine(records: Sequence[Any]) -> list[MachineRecord]:
    return [record for record in records if isinstance(record, MachineRecord)]


def _title(journal: Journal, part: str, titles: Sequence[str]) -> str:
    import difflib

    from fitkit.journal.codes import valid_trace_code

    known = {title.casefold(): title for title in titles}
    if part.casefold() in known:
        return part.casefold()
    code = part.strip().upper()
    if valid_trace_code(code):
        return journal.print_of(code).title.casefold()
    near = difflib.get_close_matches(part.casefold(), known, 3)
    meant = " or ".join(repr(known[key]) for key in near)
    raise NoRecordError(
        f"there is no print of {part!r}",
        where=str(journal.folder),
        code="journal.no-print-of-part",
        remedy=f"Did you mean {meant}?" if near else "List the journal to see its parts.",
    )


def changes(
    before: PrintRecord, now: PrintRecord, machine: Sequence[MachineRecord] = ()
) -> tuple[Change, ...]:
    """List all that differs between two prints.

    Parameters
    ----------
    before, now : PrintRecord
    machine : sequence of MachineRecord
        Changes to printers; those of the later print's printer that lie between the two count.
    """
    found = [*_differing(_inputs(before), _inputs(now), "input")]
    found += [
        Change(what=f"{item.printer}: {item.what}", was=item.was, now=item.now or "changed")
        for item in machine
        if item.printer == now.printer and before.made_at < item.made_at <= now.made_at
    ]
    found += _differing(_results(before), _results(now), "result")
    return tuple(found)


def _differing(
    before: Mapping[str, str], now: Mapping[str, str], role: Literal["input", "result"]
) -> Iterator[Change]:
    for what in dict.fromkeys((*before, *now)):
        was, is_now = before.get(what, ""), now.get(what, "")
        if was != is_now:
            yield Change(what=what, was=was, now=is_now, role=role)


def _inputs(record: PrintRecord) -> dict[str, str]:
    """What somebody chose, measured or installed, by name."""
    found = {
        "template": record.template,
        "printer": record.printer,
        "material": record.material,
        "spool": record.spool,
        "nozzle": record.nozzle,
        "profile": _profile_name(record.profile),
    }
    # As typed, where the sheet is known: a size that follows from a reading is no choice.
    found |= dict(_flat("value", record.sheet.get("values", record.values)))
    found |= dict(_flat("lying of", record.orientation))
    if own := record.template_source:
        found[f"template file {own.name}"] = own.sha256[:12]
    found |= {f"readings {file.name}": file.sha256[:12] for file in record.readings}
    for fit in record.fits:
        found[f"{fit.name}: wanted"] = fit.wanted
        if fit.sense:
            found[f"{fit.name}: gap"] = f"{fit.gap_mm:.3f} mm"
    found["coat"] = f"{record.coat_mm:.3f} mm" if record.coat_mm else ""
    found |= {f"version of {name}": version for name, version in record.versions.items()}
    # Each print's label carries its own code.
    found.pop("value label", None)
    return found


def _profile_name(profile: dict[str, Any]) -> str:
    if not profile:
        return ""
    digest = hashlib.sha256(json.dumps(profile, sort_keys=True).encode()).hexdigest()
    made_on = profile.get("provenance", {}).get("made_on", "")
    return f"{profile.get('name', 'unnamed')}, {made_on or 'undated'}, content {digest[:8]}"


def _results(record: PrintRecord) -> dict[str, str]:
    found = {
        f"measured {name}": f"{with_doubt(item.value_mm, item.u_mm, 'mm')} (standard)"
        for name, item in record.measured.items()
    }
    found |= dict(_flat("profile", record.profile.get("terms", {})))
    found |= {f"{fit.name}: target": f"{fit.target_mm:.3f} mm" for fit in record.fits}
    found |= {f"{name}: drawn": f"{size:.3f} mm" for name, size in record.drawn.items()}
    return found


def _flat(name: str, content: Any) -> Iterator[tuple[str, str]]:
    if isinstance(content, dict):
        for key, value in content.items():
            yield from _flat(f"{name} {key}" if " " not in name else f"{name}.{key}", value)
    elif isinstance(content, list) and any(isinstance(item, dict) for item in content):
        for number, item in enumerate(content):
            yield from _flat(f"{name}.{number}", item)
    elif isinstance(content, float):
        yield name, f"{content:.6g}"
    else:
        yield name, str(content)
