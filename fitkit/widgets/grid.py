"""The readings grid: a thin view of a `GridModel`, for the keyboard and for calipers that type."""

from __future__ import annotations

import asyncio
import threading
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import anywidget
import traitlets

from fitkit.core.errors import FitkitError, ReadingError
from fitkit.widgets import protocol as p
from fitkit.widgets.grid_model import GridModel
from fitkit.widgets.linked import point_at, when_pointed

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.readings import Instrument, ReadingTable
    from fitkit.readings.cable import Sent

__all__ = ["ReadingsGrid", "readings_grid"]

_MANY = 150


def readings_grid(
    path: str | Path,
    *,
    unit: str = "mm",
    instruments: str | Path | Mapping[str, Instrument] | None = None,
    features: Sequence[str] = (),
    repeats: int | None = None,
    good_enough: str = "0.1 mm",
    bare_unit: str | None = None,
    decimal: Literal[".", ","] | None = None,
) -> ReadingsGrid:
    """Show a readings file as a grid to type into; each reading is saved as it is committed.

    Parameters
    ----------
    path : path
        Long CSV; made at the first reading if it is not there. A workbook is read and left as it
        is: what is typed goes into a CSV file beside it.
    unit : str
        Of features added here.
    instruments : path or mapping, optional
        The instruments, whose zero error and limits then count in ± U; those of the workshop that
        the file belongs to if not given. One that nobody described counts as usual calipers.
    features : sequence of str
        To be read, added where the file has none of that name.
    repeats : int, optional
        Readings wanted of each feature; the workshop's habit if not given.
    good_enough : str
        Largest expanded uncertainty that the wanted fit bears, with its unit.
    bare_unit : str, optional
        Unit of the file's bare numbers, if neither its cells nor its header say it; the workshop's
        habit if not given. Without both, bare numbers do not count.
    decimal : {".", ","}, optional
        Decimal sign of the file; the workshop's habit if not given, else found from the file.

    Returns
    -------
    ReadingsGrid
    """
    from fitkit.core.units import to_mm
    from fitkit.workshop import workshop_of

    workshop = workshop_of(Path(path).parent)
    if instruments is None and workshop.instruments.is_file():
        instruments = workshop.instruments
    if isinstance(instruments, str | Path):
        from fitkit.readings import load_instruments

        instruments = load_instruments(instruments)
    model = GridModel(
        path,
        unit=unit,
        instruments=instruments,
        repeats=workshop.repeats if repeats is None else repeats,
        good_enough_mm=to_mm(good_enough),
        bare_unit=bare_unit or workshop.unit,
        decimal=decimal or workshop.decimal,
    )
    known = {row.feature for row in model.rows}
    for name in features:
        if name not in known:
            model.add(name)
    return ReadingsGrid(model)


def _doubt(row: dict[str, Any]) -> str:
    """Say what is wrong with a row: in full what could not be read, else the worst in a word.

    Empty if nothing is; what is only to be known stands beside the row.
    """
    stops = [flag["text"] for flag in row["flags"] if flag["severity"] == "stop"]
    if stops:
        return f"{row['feature']}, not read: {stops[-1]}"
    words = dict.fromkeys(flag["short"] for flag in row["flags"] if flag["severity"] != "note")
    return f"{row['feature']}: {', '.join(words)}; go back to its row to see why." if words else ""


class ReadingsGrid(anywidget.AnyWidget):  # type: ignore[misc]  # anywidget's types are not read
    """Readings as they are typed. Made by `readings_grid`; `model` works without a screen."""

    _esm = Path(__file__).parent / "static" / "grid.js"
    _css = Path(__file__).parent / "static" / "fitkit.css"
    setup = traitlets.Dict().tag(sync=True)

    def __init__(self, model: GridModel) -> None:
        from fitkit.readings.schema import MODES

        self.model = model
        self._ended = threading.Event()  # of the listening at a port
        self._forget = when_pointed(model.path, "panel", self._mark)
        self._unit = ""  # in which the calipers sent last
        super().__init__(
            setup={
                "file": model.path.name,
                "modes": list(MODES),
                "units": ["mm", "in", "cm", "µm"],
                "instruments": sorted(model.instruments or ()),
                "repeats": model.repeats,
                "good_enough": model.good_enough_mm,
            }
        )
        self.on_msg(self._hear)

    @property
    def table(self) -> ReadingTable:
        """The readings as saved."""
        from fitkit.readings import ReadingTable

        return ReadingTable.read(self.model.path)

    def listen(self, port: str, *, baud: int = 9600, stream: bool = False) -> None:
        """Take readings from calipers on a serial port, each into the next cell that wants one.

        Parameters
        ----------
        port : str
            Its name, such as ``COM3`` or ``/dev/ttyUSB0``.
        baud : int
        stream : bool
            The calipers send text all the time: a value is read when it rests.
        """
        from fitkit.readings.cable import sent_by

        self.stop_listening()
        ended = self._ended = threading.Event()
        loop = _running_loop()

        def later(act: Callable[[], None]) -> None:
            if loop is None or loop.is_closed():
                act()
            else:
                loop.call_soon_threadsafe(act)

        def follow() -> None:
            try:
                for sent in sent_by(port, baud=baud, stream=stream, ended=ended):
                    later(partial(self._take_sent, sent))
            except FitkitError as error:
                later(partial(self._send_all, str(error), bad=True))

        threading.Thread(target=follow, name="fitkit calipers", daemon=True).start()

    def stop_listening(self) -> None:
        """Take no more readings from a serial port."""
        self._ended.set()

    def close(self) -> None:
        """Stop listening with the view."""
        self.stop_listening()
        self._forget()
        super().close()

    def _mark(self, features: Sequence[str]) -> None:
        """Mark the rows that a size rests on which was picked in a panel."""
        self.send({"kind": "mark", "features": list(features)})

    def _take_sent(self, sent: Sent) -> None:
        """Put a reading that came over a cable where the next one is wanted, as if typed."""
        model = self.model
        wanted = model.next_wanted()
        if wanted is None:
            self._send_all(f"{sent.text} came from the calipers: no row wants a reading.", bad=True)
            return
        changed = bool(self._unit and sent.unit and sent.unit != self._unit)
        before, self._unit = self._unit, sent.unit or self._unit
        row, repeat = wanted
        same = sent.unit in ("", model.rows[row].unit)
        try:
            model.type_cell(row, repeat, sent.number if same else sent.text)
        except FitkitError as error:
            self._send_all(str(error), bad=True)
            return
        self._send_rows(model.same_feature(row), typed=row)
        if changed:
            self._send_all(
                f"The calipers changed from {before} to {sent.unit} in mid-series: "
                "look at the display.",
                bad=True,
            )

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        try:
            self._act(p.grid_message(content))
        except FitkitError as error:
            self._send_all(str(error), bad=True)

    def _act(self, message: p.GridMessage) -> None:
        model = self.model
        self._refuse_if_gone(message)
        match message:
            case p.Ready():
                self._send_all(model.said)
            case p.TypeCell(row=row, repeat=repeat, text=text):
                model.type_cell(row, repeat, text)
                self._send_rows(model.same_feature(row), typed=row)
            case p.TypeHead(row=row, column=column, text=text):
                before = model.same_feature(row)
                model.type_head(row, column, text)
                self._send_rows(sorted({*before, *model.same_feature(row)}))
            case p.LeaveOut(row=row, repeat=repeat, reason=reason):
                model.leave_out(row, repeat, reason)
                self._send_rows(model.same_feature(row))
            case p.Decide(row=row, repeat=repeat, decision=decision, reason=reason):
                model.decide(row, repeat, decision, reason)
                self._send_rows(model.same_feature(row))
            case p.AddFeature(name=name):
                model.add(name)
                self._send_all("")
            case p.RemoveFeature(row=row):
                model.remove(row)
                self._send_all("Removed. Undo brings it back.")
            case p.Paste(row=row, repeat=repeat, text=text):
                self._send_all(model.paste(row, repeat, text))
            case p.Undo():
                self._send_all("Undone." if model.undo() else "Nothing to undo.")
            case p.StandAt(row=row):
                if row < len(model.rows):
                    point_at(model.path, "grid", [model.rows[row].feature])
            case p.OrderRows():
                moved = model.order_by_jaws()
                self._send_all(
                    "Ordered: what the same jaws read stands together. Undo brings it back."
                    if moved
                    else "The jaws change least as the rows stand."
                )
            case p.Repeats(count=count):
                model.repeats = count

    def _refuse_if_gone(self, message: p.GridMessage) -> None:
        """Refuse what is about a row that an undo, or another grid on the file, took away."""
        match message:
            case (
                p.TypeCell(row=row)
                | p.TypeHead(row=row)
                | p.LeaveOut(row=row)
                | p.Decide(row=row)
                | p.RemoveFeature(row=row)
            ) if row >= len(self.model.rows):
                raise ReadingError(
                    f"row {row + 1} is not in this grid any more; your change was not made",
                    where=self.model.path.name,
                    code="widgets.no-such-row",
                    remedy="The rows are now those of the file: make the change again.",
                )

    def _send_rows(self, rows: list[int], *, typed: int | None = None) -> None:
        shown = self.model.shown(rows)
        # Enter has gone on to the next row by now: what is wrong with the last one is said here.
        said = [_doubt(row) for row in shown if row["at"] == typed]
        self.send(
            {"kind": "rows", "rows": shown, "said": " ".join(filter(None, ["Saved.", *said]))}
        )

    def _send_all(self, said: str, *, bad: bool = False) -> None:
        # A long table can be typed into before its thousand features are worked out.
        many = len(self.model.rows) > _MANY
        rows = self.model.shown(judged=not many)
        self.send({"kind": "all", "rows": rows, "said": said, "bad": bad})
        if many:
            self.send({"kind": "rows", "rows": self.model.shown(), "said": said, "bad": bad})

    def __repr__(self) -> str:
        """One cheap line."""
        return f"ReadingsGrid({self.model.path.name!r}, {len(self.model.rows)} features)"


def _running_loop() -> asyncio.AbstractEventLoop | None:
    try:
        return asyncio.get_running_loop()
    except RuntimeError:
        return None
