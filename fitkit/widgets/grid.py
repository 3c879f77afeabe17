"""The readings grid: a thin view of a `GridModel`, for the keyboard and for calipers that type."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import anywidget
import traitlets

from fitkit.core.errors import FitkitError, ReadingError
from fitkit.widgets import protocol as p
from fitkit.widgets.grid_model import GridModel

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from fitkit.readings import Instrument, ReadingTable

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
        super().__init__(
            setup={
                "file": model.path.name,
                "modes": list(MODES),
                "units": ["mm", "in", "cm", "µm"],
                "instruments": sorted(model.instruments or ()),
                "repeats": model.repeats,
            }
        )
        self.on_msg(self._hear)

    @property
    def table(self) -> ReadingTable:
        """The readings as saved."""
        from fitkit.readings import ReadingTable

        return ReadingTable.read(self.model.path)

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
