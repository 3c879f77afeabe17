"""The readings grid: a thin view of a `GridModel`, for the keyboard and for calipers that type."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import anywidget
import traitlets

from fitkit.core.errors import FitkitError
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
) -> ReadingsGrid:
    """Show a readings file as a grid to type into; each reading is saved as it is committed.

    Parameters
    ----------
    path : path
        Long CSV; made at the first reading if it is not there.
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

    def _hear(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if content.get("kind") == "ready":
            self._send_all("")
            return
        try:
            self._act(content)
        except FitkitError as error:
            self._send_all(str(error), bad=True)

    def _act(self, content: dict[str, Any]) -> None:
        model = self.model
        row = int(content.get("row", -1))
        match content.get("kind"):
            case "cell":
                model.type_cell(row, int(content["repeat"]), str(content["text"]))
                self._send_rows(model.same_feature(row), typed=row)
            case "head":
                before = model.same_feature(row)
                model.type_head(row, str(content["column"]), str(content["text"]))
                self._send_rows(sorted({*before, *model.same_feature(row)}))
            case "leave":
                model.leave_out(row, int(content["repeat"]), str(content["reason"]))
                self._send_rows(model.same_feature(row))
            case "add":
                model.add(str(content["name"]))
                self._send_all("")
            case "remove":
                model.remove(row)
                self._send_all("Removed. Undo brings it back.")
            case "paste":
                self._send_all(model.paste(row, int(content["repeat"]), str(content["text"])))
            case "undo":
                self._send_all("Undone." if model.undo() else "Nothing to undo.")
            case "repeats":
                model.repeats = max(1, min(20, int(content["count"])))

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
