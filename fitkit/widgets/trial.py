"""Trial entry: pick a printed code, say how it fitted, and see the chance curve move.

`TrialModel` works without a screen; `TrialEntry` is its thin view. What is learnt from trials is
the fits room's; the record is the journal's.
"""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import numpy as np
import traitlets

from fitkit.core.errors import FitkitError, JournalError
from fitkit.widgets import protocol as p
from fitkit.widgets.loop import later, running_loop

if TYPE_CHECKING:
    from collections.abc import Mapping

    from fitkit.journal import FitEntry, Journal, PrintRecord
    from fitkit.make.marked import Marked
    from fitkit.make.worker import Outcome, Worker

__all__ = ["TrialEntry", "TrialModel", "trial_entry"]

_POINTS = 121


def trial_entry(
    journal: Journal | str | Path | None = None, *, workshop: str | Path | None = None
) -> TrialEntry:
    """Show a form for how a print fitted.

    Parameters
    ----------
    journal : Journal, or path of its folder, optional
        The workshop's if not given.
    workshop : path, optional
        A workshop that wins over the one that the current folder belongs to.

    Returns
    -------
    TrialEntry

    Raises
    ------
    WorkshopError
        If neither a journal is given nor a workshop found; or if the workshop is read-only.
    """
    from fitkit.journal import Journal

    if journal is None:
        from fitkit.workshop import find_workshop

        found = find_workshop(named=workshop)
        found.refuse_if_read_only()
        journal = found.journal
    if isinstance(journal, str | Path):
        journal = Journal(journal)
    return TrialEntry(TrialModel(journal))


class TrialModel:
    """The state of a trial entry.

    Parameters
    ----------
    journal : Journal

    Attributes
    ----------
    made : PrintRecord or None
        The print picked.
    fit : str
        Name of the fit picked.
    """

    def __init__(self, journal: Journal) -> None:
        self.journal = journal
        self.made: PrintRecord | None = None
        self.fit = ""
        self._before: tuple[str, dict[str, Any]] | None = None
        self._files: tuple[str, ...] | None = None
        self._known: frozenset[str] = frozenset()
        self.refresh()

    def refresh(self) -> list[str] | None:
        """Look whether the journal has grown; pick its newest print if there was none before.

        Returns
        -------
        list of str, or None
            New prints by code and title, newest first. None if no record came or went: a look at
            the folder's names tells that.
        """
        files = tuple(path.name for path in self.journal.files())
        if files == self._files:
            return None
        prints = self.prints()
        new = [f"{p['code']} {p['title']}" for p in prints if p["code"] not in self._known]
        first_look, first_prints = self._files is None, not self._known
        self._files, self._known = files, frozenset(p["code"] for p in prints)
        if first_prints and prints and self.made is None:
            self.pick(prints[0]["code"])
        return [] if first_look else new

    def prints(self) -> list[dict[str, str]]:
        """Prints of the journal, newest first."""
        from fitkit.journal.lookup import summaries

        return [
            {"code": item.code, "title": item.part, "made_on": item.made_at[:10]}
            for item in reversed(summaries(self.journal))
            if item.kind == "print"
        ]

    def tried(self) -> list[dict[str, Any]]:
        """What was written down of the picked print, newest first; withdrawn verdicts too."""
        from fitkit.journal.withdrawal import trials_of

        if self.made is None:
            return []
        return [
            {
                "code": trial.code,
                "on": f"{trial.made_at:%Y-%m-%d}",
                "said": ", ".join(f"{e.name}: {e.verdict or 'measured'}" for e in trial.fits),
                "withdrawn": trial.withdrawn,
            }
            for trial in reversed(trials_of(self.journal, self.made))
        ]

    def pick(self, code: str) -> None:
        """Pick a print by the code that is on it.

        Raises
        ------
        JournalError
            If there is none of that code; no print is picked then, lest what is meant for one is
            written down for another.
        """
        self.made, self.fit, self._before = None, "", None
        self.made = self.journal.print_of(code)
        judged = [fit for fit in self.made.fits if fit.sense]
        self.fit = (judged or [*self.made.fits])[0].name if self.made.fits else ""

    def pick_fit(self, name: str) -> None:
        """Pick the fit whose curve is shown, by its name or its mark."""
        self.fit = self._entry(name).name
        self._before = None

    def withdraw(self, code: str, *, because: str = "") -> str:
        """Take the verdict of a record back; give the code of the record that says so.

        Raises
        ------
        JournalError
            If there is no such verdict, or it is withdrawn already.
        """
        from fitkit.journal import withdraw

        before = self.curve()
        record = withdraw(self.journal, code, because=because)
        self._before = (self.fit, before) if before else None
        return record.code

    def add(
        self,
        verdicts: Mapping[str, str],
        *,
        measured: Mapping[str, str] | None = None,
        finished: bool = False,
        notes: str = "",
    ) -> str:
        """Write down how the print fitted; give the record's code.

        Parameters
        ----------
        verdicts : mapping of fit name or mark to verdict
        measured : mapping of fit name or mark to text with unit
            A bare number is taken in mm.
        finished : bool
            Whether it was coated before.
        notes : str

        Raises
        ------
        JournalError, UnitError
            In plain words; nothing is written then.
        """
        from fitkit.journal import trial_of

        if self.made is None:
            raise JournalError(
                "no print is picked",
                code="widgets.no-print-picked",
                remedy="Pick the code that is on the part.",
            )
        sizes = {name: _with_mm(text) for name, text in (measured or {}).items() if text.strip()}
        before = self.curve()
        record = trial_of(
            self.made,
            {name: verdict for name, verdict in verdicts.items() if verdict},
            measured=sizes,
            finished=finished,
            notes=notes,
        )
        self.journal.add(record)
        self._before = (self.fit, before) if before else None
        return record.code

    def curve(self) -> dict[str, Any] | None:
        """Chance of ``as wanted`` against the gap, for the picked fit; None if it has no gap."""
        from fitkit.fits import learn
        from fitkit.journal import trials

        if self.made is None or not self.fit:
            return None
        fit = self._entry(self.fit)
        if not fit.sense or not fit.pair:
            return None
        found = trials(
            self.journal,
            printer=self.made.printer or None,
            material=self.made.material or None,
        )
        size = max(fit.thing_mm, 0.1)
        try:
            model = learn(fit.pair, fit.wanted, size_mm=size, trials=found)
        except FitkitError:  # a gap of the sheet's own has no behaviour to learn
            return None
        low, high = model.wanted_band_mm
        like = [t for t in found if (t.pair, t.behaviour) == (fit.pair, fit.wanted)]
        gaps = [fit.gap_mm, low, high, *(t.gap_mm for t in like)]
        reach = max(0.15, 0.6 * (high - low))
        x = np.linspace(min(gaps) - reach, max(gaps) + reach, _POINTS)
        best, chance = model.best_gap_mm()
        return {
            "gap": x.round(4).tolist(),
            "chance": model.p_wanted(x).round(4).tolist(),
            "best": best,
            "best_chance": chance,
            "band": [low, high],
            "as_made": fit.gap_mm,
            "trials": [{"gap": t.gap_mm, "verdict": t.verdict, "code": t.print_code} for t in like],
            "about": f"{fit.pair}, {fit.wanted}, {size:.1f} mm",
        }

    def state(self) -> dict[str, Any]:
        """Everything a view shows, as plain data."""
        from fitkit.fits import VERDICTS

        made = self.made
        before = self._before[1] if self._before and self._before[0] == self.fit else None
        return {
            "prints": self.prints(),
            "code": made.code if made else "",
            "title": made.title if made else "",
            "fit": self.fit,
            "fits": [
                {
                    "name": fit.name,
                    "mark": fit.mark,
                    "wanted": fit.wanted if fit.sense else "this size",
                    "expected": f"{fit.texts().expected} mm",
                    "judged": bool(fit.sense),
                }
                for fit in (made.fits if made else ())
            ],
            "verdicts": list(VERDICTS),
            "tried": self.tried(),
            "curve": self.curve(),
            "before": before,
        }

    def blamed(self, error: FitkitError) -> str:
        """Name the fit whose field an error is about; ``form`` if it is about none."""
        names = [fit.name for fit in self.made.fits] if self.made else []
        return next((str(key) for key in error.at[:1] if key in names), "form")

    def _entry(self, name: str) -> FitEntry:
        if self.made is None:
            raise JournalError(
                "no print is picked",
                code="widgets.no-print-picked",
                remedy="Pick the code that is on the part.",
            )
        for fit in self.made.fits:
            if name in (fit.name, fit.mark or fit.name):
                return fit
        raise JournalError(
            f"this print has no fit {name!r}", where=self.made.code, code="widgets.no-such-fit"
        )


def _with_mm(text: str) -> str:
    text = text.strip()
    return text if any(sign.isalpha() or sign in "\"'″′" for sign in text) else f"{text} mm"


class TrialEntry(anywidget.AnyWidget):  # type: ignore[misc]  # anywidget's types are not read
    """A form for how a print fitted. Made by `trial_entry`; `model` works without a screen."""

    _esm = Path(__file__).parent / "static" / "trial.js"
    _css = Path(__file__).parent / "static" / "fitkit.css"
    state = traitlets.Dict().tag(sync=True)

    def __init__(self, model: TrialModel) -> None:
        self.model = model
        self._worker: Worker | None = None
        self._loop = running_loop()
        said = {"said": "", "bad": False, "fault_at": "", "saved": 0}
        super().__init__(state=model.state() | said)
        self.on_msg(self._hear)

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        try:
            message = p.trial_message(content)
        except FitkitError as error:
            told = {"said": str(error), "bad": True, "fault_at": "form"}
            self.state = self.state | told
            return
        if isinstance(message, p.AskPicture):
            self._draw()
            return
        new = self.model.refresh()
        if isinstance(message, p.Refresh):
            if new is None:
                return  # nothing came: what is being typed is left alone
            told = {name: self.state[name] for name in ("said", "bad", "fault_at", "saved")}
            if new and not told["bad"]:
                told["said"] = f"New in the journal: {', '.join(new)}."
            self.state = self.model.state() | told
            return
        saved = self.state["saved"]
        at = ""
        try:
            said = self._act(message)
            saved += isinstance(message, p.WriteDown)
        except FitkitError as error:
            at = "code" if isinstance(message, p.PickPrint) else self.model.blamed(error)
            said = str(error) if at == "form" else error.advice
        told = {"said": said, "bad": bool(at), "fault_at": at, "saved": saved}
        self.state = self.model.state() | told

    def _act(self, message: p.TrialMessage) -> str:
        match message:
            case p.PickPrint(code=code):
                self.model.pick(code)
            case p.PickFit(name=name):
                self.model.pick_fit(name)
            case p.WriteDown():
                code = self.model.add(
                    message.verdicts,
                    measured=message.measured,
                    finished=message.finished,
                    notes=message.notes,
                )
                return f"Written down under {code}."
            case p.Withdraw(code=code):
                code = self.model.withdraw(code)
                return f"Withdrawn; {code} says so, and the verdict counts for nothing now."
        return ""

    def _draw(self) -> None:
        """Have the picked print drawn with its fits marked, in a process of its own."""
        from fitkit.make.marked import marked_picture, own_kind
        from fitkit.make.worker import Worker

        record = self.model.made
        if record is None or not record.fits:
            return
        self._worker = self._worker or Worker()
        self._worker.submit(
            marked_picture,
            record,
            own_kind(record.template),
            done=lambda outcome: later(self._loop, lambda: self._show(record.code, outcome)),
        )

    def _show(self, code: str, outcome: Outcome) -> None:
        marked: Marked | None = None if outcome.error else outcome.value
        message = {
            "kind": "picture",
            "code": code,
            "size": marked.size if marked else (0, 0),
            "marks": [asdict(mark) for mark in marked.marks] if marked else [],
            "trouble": "" if outcome.error is None else str(outcome.error),
        }
        self.send(message, [marked.png] if marked else [])

    def close(self) -> None:
        """End the process that draws with the view."""
        if self._worker:
            self._worker.close()
        super().close()

    def __repr__(self) -> str:
        """One cheap line."""
        return f"TrialEntry({self.model.journal!r})"
