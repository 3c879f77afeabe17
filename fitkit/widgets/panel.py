"""The part panel and the bare preview: thin views of a `PanelModel`, a scene and a `Worker`."""

from __future__ import annotations

import copy
import secrets
import threading
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import anywidget
import traitlets

from fitkit.core.errors import FitkitError, ReadingError, SheetError
from fitkit.export.scene import Gaps, Scene, gaps_of, scene_of
from fitkit.make.worker import Outcome, Worker
from fitkit.widgets import protocol as p
from fitkit.widgets.findings import shown_finding
from fitkit.widgets.linked import point_at, when_pointed
from fitkit.widgets.loop import later, running_loop
from fitkit.widgets.panel_model import PanelModel
from fitkit.widgets.saved import when_saved
from fitkit.widgets.sources import SheetSource, TemplateSource, spelled
from fitkit.widgets.still import still_bundle, still_png
from fitkit.widgets.tasks import (
    SheetChecks,
    Slider,
    build_scene,
    draw_ahead,
    edges_of_prints,
    make_files,
    make_trial_piece,
    write_plain,
)

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from fitkit.core.finding import Finding
    from fitkit.flow.sheet import PartSheet
    from fitkit.journal import Journal, PrintRecord
    from fitkit.parts.contract import Part, Template
    from fitkit.readings.decisions import Decision
    from fitkit.widgets.draft import Piece
    from fitkit.widgets.sources import Solved
    from fitkit.widgets.tasks import Written

__all__ = ["PartPanel", "Picked", "Preview", "part_panel", "preview"]

# What the build process of a panel finds loaded.
_PRELOAD = ("fitkit.make.child", "fitkit.widgets.warm")
_STATIC = Path(__file__).parent / "static"
# How long a cell waits for its first shape, so that a still picture can stay in the notebook.
_FIRST_WAIT_S = 15.0
# Said of what a template made without a sheet.
_NO_RECORD = "Written, without a record"


def part_panel(
    sheet_or_template: PartSheet | str | Path | type[Template] | Template | None = None,
    *,
    code: str | None = None,
    journal: str | Path | None = None,
    drawn: Mapping[str, float] | None = None,
    title: str = "",
    generic: str | None = None,
    bed_mm: Sequence[float] | None = None,
    workshop: str | Path | None = None,
    trust_template: bool = False,
) -> PartPanel:
    """Show a part's parameters beside its live picture.

    Parameters
    ----------
    sheet_or_template : PartSheet, path of one, Template class or instance
        With a sheet, values go through readings, fits and the printer's profile; with a template
        alone, sizes are drawn at nominal.
    code : str, optional
        Trace code of a print, instead of a sheet: its record is opened with the sheet and values
        as printed. Where readings or profile have changed or gone since, what the record holds
        stands in, and the panel says so.
    journal : path, optional
        Where the record is; the workshop's journal if not given.
    drawn : mapping of fit-size name to mm, optional
        What to draw, for a template alone.
    title : str, optional
        The maker's name for the part, for a template alone.
    generic : str, optional
        Material whose generic profile a template alone is drawn for; fits are then chosen too.
    bed_mm : (x, y), mm, optional
        The printer's bed, where no profile says it.
    workshop : path, optional
        A workshop that wins over the one that the sheet belongs to; for a sheet given by its path,
        or a code.
    trust_template : bool
        Say yes to running the template file that the sheet names, now and later, as long as it
        stays as it is. Read the file first: its code runs with all your rights.

    Returns
    -------
    PartPanel

    Raises
    ------
    SheetError
        If neither a sheet, a template nor a code is given, or more than one.
    JournalError
        If there is no print of that code.
    TrustError
        If the sheet names a template file that nobody has said yes to.
    """
    if (sheet_or_template is None) == (code is None):
        raise SheetError(
            "a panel shows one thing",
            code="widgets.several-sources",
            remedy="Give a sheet or a template, or the code of a print: code='K7M3PXA'.",
        )
    worker = Worker(preload=_PRELOAD)
    worker.warm()  # the kernel loads while the readings are worked out
    try:
        opened = None if code is None else _opened(code, journal, workshop)
        source, path = _source(
            opened.sheet if opened else sheet_or_template,
            drawn=drawn,
            title=title,
            generic=generic,
            workshop=workshop,
            trust_template=trust_template,
        )
    except BaseException:
        worker.close()  # a refused sheet leaves no process behind
        raise
    if not opened:
        return PartPanel(source, path=path, bed_mm=bed_mm, worker=worker)
    # The sheet of that name is written when somebody saves it.
    panel = PartPanel(source, path=opened.path, own=False, bed_mm=bed_mm, worker=worker)
    panel.say(opened.said)
    return panel


def _source(
    sheet_or_template: PartSheet | str | Path | type[Template] | Template | None,
    *,
    drawn: Mapping[str, float] | None,
    title: str,
    generic: str | None,
    workshop: str | Path | None,
    trust_template: bool,
) -> tuple[SheetSource | TemplateSource, str]:
    """Find what a panel's values start from, and the path of its sheet if it has one."""
    from fitkit.flow.sheet import PartSheet, PrinterChoice, load_sheet
    from fitkit.parts import Template

    source: SheetSource | TemplateSource
    if isinstance(sheet_or_template, str | Path):
        sheet = load_sheet(sheet_or_template, workshop=workshop)
        source = SheetSource(sheet, trust_template=trust_template)
        path = str(sheet_or_template)
    elif isinstance(sheet_or_template, PartSheet):
        source, path = SheetSource(sheet_or_template, trust_template=trust_template), ""
    else:
        assert sheet_or_template is not None  # refused above
        path = ""
        source = TemplateSource(sheet_or_template, drawn=drawn, title=title)
        if generic:
            from fitkit.parts import register

            kind = source.kind
            if kind.__module__.split(".")[0] != "fitkit":
                register(kind)
            sheet = PartSheet(
                title=source.title,
                template=kind.title,
                printer=PrinterChoice(generic=generic),
                values=dict(source.start),
            )
            source = SheetSource(sheet)
        elif not isinstance(sheet_or_template, Template | type):
            raise SheetError(
                f"{sheet_or_template!r} is neither a part sheet nor a template",
                code="widgets.not-a-source",
                remedy="Give the path of a sheet, or a template.",
            )
    return source, path


class _Opened(NamedTuple):
    """A record as a panel shows it: its sheet, the path to save it under, what to say."""

    sheet: PartSheet
    path: str
    said: str


def _opened(code: str, journal: str | Path | None, workshop: str | Path | None) -> _Opened:
    from fitkit.export.bodies import file_name
    from fitkit.flow.opened import opened_sheet
    from fitkit.journal import Journal
    from fitkit.workshop import find_workshop

    held = Journal(find_workshop(named=workshop).journal if journal is None else journal)
    record = held.print_of(code)
    sheet, notes = opened_sheet(record, held, workshop=workshop)
    # A name of its own: the sheet of that part may say something else by now.
    path = sheet.folder / f"{file_name(record.title)}-{record.code.lower()}.toml"
    day = record.made_at.date().isoformat()
    said = " ".join((f"Opened {record.code}, printed on {day}.", *notes))
    return _Opened(sheet, str(path), said)


def preview(part: Part, *, bed_mm: Sequence[float] | None = None) -> Preview:
    """Show a built part as a live picture.

    Parameters
    ----------
    part : Part
    bed_mm : (x, y), mm, optional

    Returns
    -------
    Preview
    """
    return Preview(part, bed_mm=bed_mm)


class Picked(NamedTuple):
    """A spot of a part that was pressed in its picture.

    Attributes
    ----------
    body : str
    point_mm : (x, y, z), mm
        In the coordinates of the assembled part, as its bodies have them.
    normal : (x, y, z)
        Unit vector, out of the body; on a round face that of the facet.
    """

    body: str
    point_mm: tuple[float, float, float]
    normal: tuple[float, float, float]


class _Pictured(anywidget.AnyWidget):  # type: ignore[misc]  # anywidget's types are not read
    """What panel and preview share: the scene as last built, sent to each view that asks."""

    _esm = _STATIC / "part.js"
    _css = _STATIC / "fitkit.css"
    doc = traitlets.Dict().tag(sync=True)
    still_id = traitlets.Unicode().tag(sync=True)
    # The last spot that was pressed, None before; `observe(act, "picked")` follows it.
    picked = traitlets.Instance(Picked, allow_none=True, args=None, default_value=None)

    def __init__(self, **kwargs: Any) -> None:
        self._scene: Scene | None = None
        self._gaps: Gaps | None = None
        # The shape below, what it is, how many of the edges are its, and what lies over it.
        self._under: tuple[str, list[bytes], int, str] | None = None
        self._ticket = 0
        self._late_still: Any = None
        self._shown = 0  # ticket of the scene as shown
        super().__init__(still_id=secrets.token_hex(6), **kwargs)
        self.on_msg(self._hear)

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        try:
            message = p.picture_message(content)
        except FitkitError as error:
            self._refused(error)
            return
        match message:
            case p.Ready():
                self._send_scene()
                self._send_gaps()
                self._send_under()
            case p.AskStill(view=view):
                if self._scene:
                    self.send({"kind": "still"}, [still_png(self._scene, view=view)])
            case p.AskFacing(view=view, scale=scale):
                self._send_facing(view, scale)
            case p.PickSpot(body=body, at=at, normal=normal):
                self.picked = Picked(body, at, normal)
            case _:
                self._asked(message)

    def _asked(self, message: p.PictureMessage) -> None:
        """Do what a panel's controls ask; a preview has none."""

    def _refused(self, error: FitkitError) -> None:
        """Say why a message was refused; a preview has no place for it."""

    def _send_scene(self) -> None:
        if self._scene is not None:
            message = {
                "kind": "scene",
                "head": self._scene.head,
                "ticket": self._shown,
                "latest": self._shown == self._ticket,
            }
            self.send(message, [_bytes(array) for array in self._scene.arrays])

    def _send_facing(self, view: str, scale: float) -> None:
        """Send the dimension lines of a view along an axis; there are none of another."""
        from fitkit.drawings.facing import AXIS_VIEWS, facing

        if self._scene is not None and view in AXIS_VIEWS:
            placed = facing(self._scene.head, view, scale)
            self.send({"kind": "facing", "ticket": self._shown, "placed": placed})

    def lay_over(
        self, other: Part | str, *, journal: str | Path | None = None, what: str = ""
    ) -> None:
        """Draw the picture over the edges of another shape, to see what differs.

        Parameters
        ----------
        other : Part or str
            A built part, or the trace code of a print.
        journal : path, optional
            Where the print's record is; the workshop's journal if not given.
        what : str
            What it is, in words; its code or title if empty.
        """
        from fitkit.solids.mesh import feature_edges

        if isinstance(other, str):
            from fitkit.journal import Journal
            from fitkit.make.remake import rebuild
            from fitkit.workshop import find_workshop

            held = Journal(find_workshop().journal if journal is None else journal)
            record = held.print_of(other)
            what = what or f"{record.code}, printed on {record.made_at.date().isoformat()}"
            other = rebuild(record)
        from fitkit.parts.meshed import mesh_of

        edges = [feature_edges(mesh_of(body)).astype("<f4") for body in other.bodies]
        self._under = (what or other.title, [_bytes(array) for array in edges], len(edges), "")
        self._send_under()

    def _send_under(self) -> None:
        if self._under is not None:
            what, buffers, count, over = self._under
            self.send({"kind": "before", "what": what, "count": count, "over": over}, buffers)

    def _send_gaps(self) -> None:
        if self._gaps is not None:
            message = {"kind": "gaps", "gaps": self._gaps.gaps}
            self.send(message, [_bytes(array) for array in self._gaps.arrays])

    def _ipython_display_(self, **_kwargs: object) -> None:
        """Display the live view, and below it the still picture for readers without a kernel."""
        from IPython.display import display

        show: Callable[..., Any] = display
        bundle = self._repr_mimebundle_()
        if bundle is not None:
            show(bundle[0], metadata=bundle[1], raw=True)
        scene = self._first_scene()
        still = self._still(scene) if scene is not None else {"text/plain": ""}
        handle = show(still, raw=True, display_id=True)
        if scene is None:  # on a slow machine the picture comes after the cell has ended
            self._late_still = handle

    def _still(self, scene: Scene) -> dict[str, Any]:
        png = still_png(scene)
        return still_bundle(png, still_id=self.still_id, title=scene.head["title"])

    def _first_scene(self) -> Scene | None:
        return self._scene


class Preview(_Pictured):
    """A built part as a live picture, without controls."""

    def __init__(self, part: Part, *, bed_mm: Sequence[float] | None = None) -> None:
        super().__init__(
            doc=_document(title=part.title, subtitle=part.template, findings=part.findings)
        )
        self._scene = scene_of(part, bed_mm=bed_mm)
        self._gaps = gaps_of(part, self._scene)

    def __repr__(self) -> str:
        """One cheap line."""
        return f"Preview({self.doc['title']!r})"


class PartPanel(_Pictured):
    """Parameters, live picture, sizes on their way, findings and files of one part.

    Made by `part_panel`. `model` holds the values and works without a screen.
    """

    def __init__(
        self,
        source: SheetSource | TemplateSource,
        *,
        path: str = "",
        own: bool = True,
        bed_mm: Sequence[float] | None = None,
        worker: Worker | None = None,
    ) -> None:
        self._forget: Callable[[], None] = lambda: None
        self._worker = worker or Worker(preload=_PRELOAD)
        self._maker: Worker | None = None
        self._drafter: Worker | None = None
        self._laid: Worker | None = None
        self._drafting = ""  # path of the slider whose values are drawn ahead
        self.model = PanelModel(source)
        self.path = path
        self._bed_mm = bed_mm
        self._building = False
        self._exporting = ""
        self._said, self._said_bad = "", False
        self._files: list[str] = []
        self._findings: Sequence[Finding] = ()
        self._checking, self._checked = False, False
        self._question: dict[str, Any] | None = None
        self._answers = 0
        self._exported: dict[str, Any] = {}  # values of the files that are being written
        self._text = _text_of(path)  # of the sheet, as it was when it was read or saved
        self._own = own and bool(path)  # whether the sheet at `path` is this panel's
        self._first = threading.Event()
        self._early: Scene | None = None
        self._loop = running_loop()
        super().__init__()
        self._forget = self._watch_readings()
        self.observe(self._tell_spot, "picked")
        self.rebuild()

    # --- asked by the view ------------------------------------------------------------------------

    def _asked(self, message: p.PictureMessage) -> None:
        if isinstance(message, p.PrepareDrag):
            self._draw_ahead(message)
            return
        if isinstance(message, p.PickSize):
            self._point_at(message.name)
            return
        if isinstance(message, p.AskPrints):
            self.send({"kind": "prints", "prints": self._prints()})
            return
        if isinstance(message, p.LayOver):
            self._lay_prints(message.first, message.second)
            return
        self._said, self._question = "", None
        self._answers += 1
        try:
            match message:
                case p.SetValue(path=path, text=text, dragging=dragging):
                    self.model.set(self._known(path), text, dragging=dragging)
                    self.rebuild(slider=path)
                    return
                case p.ResetValues(path=path):
                    self.model.reset(self._known(path) if path else None)
                case p.AddItem(path=path):
                    self.model.add(self._known(path))
                case p.RemoveItem(path=path, index=index):
                    self.model.remove(self._known(path), index)
                case p.Export(piece=piece, size=size):
                    if piece:
                        self.export_piece(size)
                    else:
                        self.export()
                    return
                case p.SaveSheet(path=path, sure=sure):
                    if sure or not self._asks_to_save(path):
                        self.save(path)
                    return
                case p.LoadSheet(path=path, sure=sure):
                    if sure or not self._asks_to_load(path):
                        self.load(path)
                    return
                case p.Step(back=back):
                    if not (self.model.undo() if back else self.model.redo()):
                        self._refresh()
                        return
                case p.Leave():
                    self._refresh()
                    return
                case p.DecideReading(file=file, row=row, decision=decision, reason=reason):
                    self.decide(file, row, decision, reason)
                    return
                case _:
                    return
        except FitkitError as error:
            self.say(str(error), bad=True)
            return
        self.rebuild()

    def _refused(self, error: FitkitError) -> None:
        self.say(str(error), bad=True)

    def _journal(self) -> Journal | None:
        from fitkit.journal import Journal

        source = self.model.source
        return Journal(source.sheet.journal_folder) if isinstance(source, SheetSource) else None

    def _prints(self) -> list[dict[str, str]]:
        """Prints of this part, newest first."""
        journal = self._journal()
        found = journal.prints_of(self.model.source.title) if journal else ()
        return [
            {"code": one.code, "title": one.title, "made_on": f"{one.made_at:%Y-%m-%d}"}
            for one in sorted(found, key=lambda one: one.made_at, reverse=True)
        ]

    def _lay_prints(self, first: str, second: str) -> None:
        """Lay a print below another one, or below the part as it is; without codes, none."""
        journal = self._journal()
        if not first or journal is None:
            self._under = None
            self.send({"kind": "before", "what": "", "count": 0, "over": ""}, [])
            return
        try:
            records = [journal.print_of(code) for code in (first, second) if code]
        except FitkitError as error:
            self.say(str(error), bad=True)
            return
        self._laid = self._laid or Worker(preload=_PRELOAD)
        self._laid.submit(
            edges_of_prints,
            records,
            self.model.source.kind,
            done=lambda outcome: self._later(lambda: self._take_prints(records, outcome)),
        )

    def _take_prints(self, records: Sequence[PrintRecord], outcome: Outcome) -> None:
        if outcome.error is not None:
            self.say(f"These prints cannot be drawn. {outcome.error}", bad=True)
            return
        said = [f"{one.code}, printed on {one.made_at:%Y-%m-%d}" for one in records]
        buffers = [_bytes(array) for edges in outcome.value for array in edges]
        self._under = (said[0], buffers, len(outcome.value[0]), said[1] if said[1:] else "")
        self._send_under()

    def decide(self, file: str | Path, row: int, decision: Decision, reason: str) -> None:
        """Write what is decided on a doubted reading into its file, and draw what follows.

        Parameters
        ----------
        file : path
            One of the sheet's readings files.
        row : int
            As the finding names it.
        decision : {"keep", "leave-out", "again"}
            As for `fitkit.readings.decided.decide`.
        reason : str

        Raises
        ------
        ReadingError
            If the file is none of the sheet's, or as `fitkit.readings.decided.decide`.
        """
        from fitkit.readings.decided import counts_now, decide
        from fitkit.widgets.saved import tell_saved

        source, path = self.model.source, Path(file)
        known = source.sheet.readings_paths if isinstance(source, SheetSource) else ()
        if not isinstance(source, SheetSource) or path not in known:
            raise ReadingError(
                "is not one of the sheet's readings files",
                file=path,
                code="widgets.not-a-readings-file",
                remedy="Load the sheet again.",
            )
        sheet = source.sheet
        unit, decimal = sheet.unit or sheet.workshop.unit, sheet.decimal or sheet.workshop.decimal
        table = decide(path, row, decision, because=reason, unit=unit, decimal=decimal)
        mine = table.frame[table.frame["row"] == row].iloc[0]
        done = "counts" if counts_now(mine) else "does not count"
        tell_saved(path)
        self.say(f"{path.name}, row {row}: {mine['feature']} {mine['reading']} {done} from now on.")

    def _known(self, path: str) -> str:
        """Give a path back; refuse one of no parameter, such as of an item that is gone by now."""
        if not self.model.knows(path):
            raise FitkitError(
                f"there is no parameter {path!r} (any more)",
                where=self.model.source.title,
                code="widgets.no-parameter",
            )
        return path

    def set(self, **values: str) -> None:
        """Type values, as in the fields: ``panel.set(wall="2.4 mm")``."""
        for name, text in values.items():
            self.model.set(name, text)
        self.rebuild()

    def put(self, name: str) -> None:
        """Place a thing of a given shape at the spot that was pressed last in the picture.

        Parameters
        ----------
        name : str
            The thing's.

        Raises
        ------
        SheetError
            If no spot was pressed yet, there is no such thing, or the part is not a given shape.
        """
        if self.picked is None:
            raise SheetError(
                "no spot is picked yet",
                code="widgets.no-spot",
                remedy="Press a spot of the shape in the picture first.",
            )
        self.model.put(name, self.picked.point_mm, self.picked.normal)
        self.rebuild()

    def _tell_spot(self, change: Mapping[str, Any]) -> None:
        """Say where a pressed spot of a given shape lies, and how a thing gets there."""
        spot: Picked | None = change["new"]
        if spot is None or "shape" not in self.model.source.kind.model_fields:
            return
        at = ", ".join(f'"{round(x, 2) + 0.0:.2f} mm"' for x in spot.point_mm)
        out = ", ".join(f"{round(x, 3) + 0.0:g}" for x in spot.normal)
        self.say(f"Spot: at = [{at}], normal = [{out}]. panel.put('NAME') places a thing there.")

    def undo(self) -> None:
        """Take the last step back: a value, a drag, an item, or all of them set back."""
        if self.model.undo():
            self.rebuild()

    def redo(self) -> None:
        """Do again what was taken back."""
        if self.model.redo():
            self.rebuild()

    def _draw_ahead(self, asked: p.PrepareDrag) -> None:
        """Have the shapes of a slider's values made, while its user makes ready to drag it."""
        source = self.model.source
        if not isinstance(source, SheetSource | TemplateSource):
            return
        if not self.model.knows(asked.path):
            return
        self._drafter = self._drafter or Worker(preload=_PRELOAD, patience_s=0.0)
        self._drafting = asked.path
        slider = Slider(
            source=source.sheet if isinstance(source, SheetSource) else source,
            kind=source.kind,
            values=copy.deepcopy(self.model.values),
            path=asked.path,
            at=min(asked.at, asked.count - 1),
            steps=tuple(round(asked.low + n * asked.step, 6) for n in range(asked.count)),
            bed_mm=self._bed(),
        )
        self._drafter.submit(
            draw_ahead,
            slider,
            done=lambda _outcome: None,  # without a draft each value is built, as it is typed
            progress=lambda piece: self._later(lambda: self._take_piece(asked.token, piece)),
        )

    def _features_of(self, size: str) -> list[str]:
        """Name the features whose readings a size rests on."""
        source, solved = self.model.source, self.model.solved
        if not isinstance(source, SheetSource) or solved is None:
            return []
        paths = [path for row in solved.rows if row["name"] == size for path in row["paths"]]
        return source.features_of(paths, self.model.values)

    def _point_at(self, size: str) -> None:
        """Have the readings of a picked size marked in the grids on their file."""
        source = self.model.source
        if isinstance(source, SheetSource):
            for path in source.sheet.readings_paths:
                point_at(path, "panel", self._features_of(size))

    def _take_pointed(self, features: Sequence[str]) -> None:
        """Show the size whose reading was turned to in a grid, if there is one."""
        solved, wanted = self.model.solved, {spelled(name) for name in features}
        for row in solved.rows if solved else ():
            if wanted & {spelled(name) for name in self._features_of(row["name"])}:
                self.send({"kind": "size", "name": row["name"]})
                return

    def _forget_drafts(self) -> None:
        """Drop what was drawn ahead: it is of other values now."""
        if self._drafting and self._drafter:
            self._drafting = ""
            self._drafter.cancel()
            self.send({"kind": "no-draft"})

    def _take_piece(self, token: int, piece: Piece) -> None:
        if not self._drafting:
            return
        message = {
            "kind": "draft",
            "token": token,
            "low": piece.low,
            "high": piece.high,
            "at": piece.at,
            "bodies": piece.bodies,
        }
        self.send(message, [_bytes(array) for array in piece.arrays])

    def _bed(self) -> Sequence[float] | None:
        source = self.model.source
        if self._bed_mm or not isinstance(source, SheetSource):
            return self._bed_mm
        bed: Sequence[float] | None = getattr(source.inputs.profile, "bed_mm", None)
        return bed

    def rebuild(self, *, slider: str = "") -> None:
        """Build what the values say, unless they make no sense; newest wins.

        Parameters
        ----------
        slider : str
            Path of the one parameter that has changed, if nothing else has.
        """
        if slider != self._drafting:
            self._forget_drafts()
        solved = self.model.solved
        if solved is None or (self.model.old and self._ticket):
            # What is built, or is being built, is of the last values that made sense.
            if solved is None:
                self._first.set()
            self._refresh()
            return
        checks = None
        # What waits for its readings is drawn, but not judged.
        if self.model.ready and solved.plan:
            checks = SheetChecks.of(solved.plan)
        self._building = True
        self._ticket += 1
        self._worker.submit(
            build_scene,
            solved.builder,
            dict(solved.drawn),
            solved.title,
            checks,
            self._bed(),
            done=partial(self._built, self._ticket),
            progress=partial(self._shaped, self._ticket),
        )
        self._refresh()

    def export(self) -> None:
        """Write the files to print; a build that goes on meanwhile is not disturbed."""
        solved = self._to_write()
        if solved is None:
            return
        self._maker = self._maker or Worker(preload=_PRELOAD)
        self._exporting = "beginning"
        source = self.model.source
        if isinstance(source, SheetSource):
            sheet = source.with_values(solved.values)
            self._exported = copy.deepcopy(self.model.values)
            self._maker.submit(
                make_files, sheet, source.kind, done=self._made, progress=self._making
            )
        else:
            from fitkit.export.bodies import file_name

            folder = str(Path("made") / file_name(solved.title))
            bed = self._bed_mm or (220.0, 220.0)
            self._maker.submit(
                write_plain,
                solved.template,
                dict(solved.drawn),
                solved.title,
                bed,
                folder,
                done=self._made,
                progress=self._making,
            )
        self._refresh()

    def export_piece(self, size: str = "") -> None:
        """Write the files of the piece of the part that decides whether a size fits.

        Parameters
        ----------
        size : str
            Its name; that of the least sure fit, if empty.
        """
        source = self.model.source
        if not isinstance(source, SheetSource):
            raise SheetError(
                "a trial piece is of a part sheet",
                code="widgets.no-printer",
                remedy="Make the panel from a sheet, or with generic='PETG'.",
            )
        solved = self._to_write()
        if solved is None:
            return
        self._maker = self._maker or Worker(preload=_PRELOAD)
        self._exporting = "beginning"
        self._exported = copy.deepcopy(self.model.values)
        sheet = source.with_values(solved.values)
        self._maker.submit(
            make_trial_piece, sheet, source.kind, size, done=self._made, progress=self._making
        )
        self._refresh()

    def _to_write(self) -> Solved | None:
        """Give what files are written of; None if some are being written."""
        solved = self.model.solved
        if solved is None or self._exporting:
            return None
        if not self.model.ready:
            raise SheetError(
                "no files are written yet",
                code="widgets.not-ready",
                remedy="First mend what is listed below the picture.",
            )
        return solved

    def save(self, path: str) -> None:
        """Save the values as a part sheet."""
        from fitkit.flow.sheet import save_sheet

        source = self.model.source
        if not path.strip():
            raise SheetError(
                "the sheet has no name",
                code="widgets.no-sheet-name",
                remedy="Type one, such as case.toml.",
            )
        if not isinstance(source, SheetSource):
            raise SheetError(
                "a sheet says which printer it is for",
                code="widgets.no-printer",
                remedy="Make the panel from a sheet, or with generic='PETG'.",
            )
        target = Path(path)
        own = source.sheet.folder.resolve()
        if self.path and target.parent.resolve() != own:
            raise SheetError(
                f"{path!r} is in another folder than the sheet, from which its paths count",
                code="widgets.other-folder",
                remedy=f"Save it in {own}.",
            )
        if not target.suffix:
            target = target.with_suffix(".toml")
        save_sheet(source.with_values(self.model.values), target, like=self._text)
        self.path, self._own = str(target), True
        self._text = _text_of(self.path)
        self.model.saved = copy.deepcopy(self.model.values)
        self.say(f"Saved as {target.name}.")

    def _asks_to_save(self, path: str) -> bool:
        """Ask before a sheet is replaced that this panel did not read, or not as it is now."""
        target = Path(path)
        if not target.suffix:
            target = target.with_suffix(".toml")
        if not path.strip() or not target.is_file():
            return False
        if self._is_own(target):
            if _text_of(str(target)) == self._text:
                return False
            what = f"{target.name} has changed since this panel read it."
        else:
            what = f"There is another sheet named {target.name}."
        self._ask(f"{what} Saving replaces all that it says.", "Replace it", "save", path)
        return True

    def _asks_to_load(self, path: str) -> bool:
        """Ask before values are given up that stand in no file."""
        if not self.unsaved or not Path(path).is_file():
            return False
        text = "What you have changed here is not saved. Loading a sheet gives it up."
        self._ask(text, "Load it all the same", "load", path)
        return True

    def _ask(self, text: str, yes: str, does: str, path: str) -> None:
        self._question = {"text": text, "yes": yes, "does": does, "path": path}
        self._refresh()

    def _is_own(self, target: Path) -> bool:
        return self._own and target.resolve() == Path(self.path).resolve()

    @property
    def unsaved(self) -> bool:
        """Whether values have been changed since they were read from a sheet, or saved in one."""
        return self.model.values != self.model.saved

    def load(self, path: str) -> None:
        """Take the values, and all else, from a part sheet."""
        from fitkit.flow.sheet import load_sheet

        self.model = PanelModel(SheetSource(load_sheet(path)))
        self.path, self._own, self._text = path, True, _text_of(path)
        self._forget()
        self._forget = self._watch_readings()
        self._said = f"Loaded {Path(path).name}."
        self.rebuild()

    def wait(self, timeout_s: float = 60.0) -> bool:
        """Wait for the first shape or its failure; tell whether it came."""
        return self._first.wait(timeout_s)

    def close(self) -> None:
        """End the build processes with the view."""
        self._forget()
        self._worker.close()
        for other in (self._maker, self._drafter, self._laid):
            if other:
                other.close()
        super().close()

    # --- told by the build process, in its thread -------------------------------------------------

    def _shaped(self, ticket: int, what: Scene | Gaps | tuple[Finding, ...]) -> None:
        if isinstance(what, Gaps):
            self._later(lambda: self._take_gaps(ticket, what))
            return
        if isinstance(what, tuple):
            self._later(lambda: self._take_findings(ticket, what))
            return
        self._early = what
        self._first.set()
        self._later(lambda: self._take_scene(ticket, what))

    def _built(self, ticket: int, outcome: Outcome) -> None:
        if outcome.error:
            self._first.set()
        self._later(lambda: self._take_outcome(ticket, outcome))

    def _making(self, step: str) -> None:
        self._later(lambda: self._take_step(step))

    def _made(self, outcome: Outcome) -> None:
        self._later(lambda: self._take_files(outcome))

    def _later(self, act: Callable[[], None]) -> None:
        """Go on in the notebook's own thread, where views may be spoken to."""
        later(self._loop, act)

    # --- and then in the notebook's thread --------------------------------------------------------

    def _take_scene(self, ticket: int, scene: Scene) -> None:
        self._scene, self._gaps, self._shown = scene, None, ticket
        self._findings, self._checking, self._checked = (), True, False
        self._building = self._building and ticket != self._ticket
        self._send_scene()
        self._refresh()
        if self._late_still is not None:
            self._late_still.update(self._still(scene), raw=True)
            self._late_still = None

    def _take_gaps(self, ticket: int, gaps: Gaps) -> None:
        if ticket == self._shown:
            self._gaps = gaps
            self._send_gaps()

    def _take_findings(self, ticket: int, findings: tuple[Finding, ...]) -> None:
        """Show what was found so far; the rest is on its way."""
        if ticket == self._shown:
            self._findings = findings
            self._refresh()

    def _take_outcome(self, ticket: int, outcome: Outcome) -> None:
        if ticket != self._ticket:
            return
        self._building = self._checking = False
        if outcome.error is None:
            self._findings, self._checked = outcome.value, True
        elif self._shown == ticket:  # the shape is there: only what came after it failed
            self.say(f"The checks did not run. {outcome.error}", bad=True)
        else:
            self.model.blame(outcome.error)
            self.model.old = True
            # Where nothing has been drawn yet, the template's own sizes are better than nothing.
            first = self._scene is None and not self.model.stands_in
            if first and self.model.stand_in(sizes=False):
                self.rebuild()
                return
        self._refresh()

    def _take_step(self, step: str) -> None:
        self._exporting = step
        self._refresh()

    def _take_files(self, outcome: Outcome) -> None:
        self._exporting = ""
        if outcome.error is not None:
            self.say(f"Nothing was written. {outcome.error}", bad=True)
            return
        written: Written = outcome.value
        self._files = written.files
        done = f"Written under trace code {written.code}" if written.code else _NO_RECORD
        lines = [f"{line}." for line in (done, *written.said)]
        self.say(" ".join(filter(None, (*lines, self._keep_sheet()))))

    def _keep_sheet(self) -> str:
        """Save what was written in the sheet that it came from; say what became of it."""
        from fitkit.flow.sheet import save_sheet

        source, written = self.model.source, self._exported
        if not isinstance(source, SheetSource) or written == self.model.saved:
            return ""
        if not self._own:
            return "What you typed is in the record; save a sheet to go on with it."
        target = Path(self.path)
        if _text_of(self.path) != self._text:
            return (
                f"{target.name} has changed since this panel read it, so it was left as it is: "
                "what you typed is in the record alone. Save the sheet under another name."
            )
        try:
            save_sheet(source.with_values(written), target, like=self._text)
        except FitkitError as error:
            return f"The sheet was not saved. {error}"
        self._text = _text_of(self.path)
        self.model.saved = written
        return f"What you typed is saved in {target.name}."

    # --- state ------------------------------------------------------------------------------------

    def say(self, text: str, *, bad: bool = False) -> None:
        """Show a sentence under the controls, until the next change.

        Parameters
        ----------
        text : str
        bad : bool
            Whether it tells of a fault.
        """
        self._said, self._said_bad = text, bad
        self._refresh()

    def _refresh(self) -> None:
        self.doc = self._state()

    def _state(self) -> dict[str, Any]:
        model, solved = self.model, self.model.solved
        sheet = isinstance(model.source, SheetSource)
        old = model.old or (self._scene is not None and self._shown != self._ticket)
        return _document(
            title=model.source.title,
            subtitle=model.source.kind.title,
            groups=model.groups(),
            problems=model.problems(),
            stands_in=model.stands_in,
            rows=list(solved.rows) if solved else [],
            basis=solved.basis if solved else "",
            findings=self._findings,
            checking=sheet and self._checking,
            checked=self._checked,
            building=self._building,
            exporting=self._exporting,
            trouble=model.trouble,
            old=old,
            findings_old=old and (self._checked or bool(self._findings)),
            faulty=not model.ready,
            can_undo=model.can_undo,
            can_redo=model.can_redo,
            unsaved=sheet and self.unsaved,
            question=self._question,
            answers=self._answers,
            said=self._said,
            said_bad=self._said_bad,
            files=self._files,
            can_export=True,
            can_save=sheet,
            sheet_path=self.path,
        )

    def _watch_readings(self) -> Callable[[], None]:
        source = self.model.source
        if not isinstance(source, SheetSource):
            return lambda: None
        paths = source.sheet.readings_paths
        forget = [when_saved(path, self._read_again) for path in paths]
        forget += [when_pointed(path, "grid", self._take_pointed) for path in paths]

        def forget_all() -> None:
            for one in forget:
                one()

        return forget_all

    def _read_again(self) -> None:
        source = self.model.source
        assert isinstance(source, SheetSource)
        try:
            source.read_again()
        except FitkitError as error:
            self.say(str(error), bad=True)
            return
        self._said = ""
        self.model.last_path = ""
        self.model.solve()
        self.rebuild()

    def _first_scene(self) -> Scene | None:
        self._first.wait(_FIRST_WAIT_S)
        return self._scene or self._early

    def __repr__(self) -> str:
        """One cheap line."""
        return f"PartPanel({self.model.source.title!r})"


def _document(**given: Any) -> dict[str, Any]:
    """All that a view reads, as plain data."""
    plain: dict[str, Any] = {
        "groups": [],
        "rows": [],
        "basis": "",
        "findings": (),
        "checked": False,
        "checking": False,
        "building": False,
        "exporting": "",
        "trouble": "",
        "problems": [],
        "stands_in": "",
        "old": False,
        "findings_old": False,
        "faulty": False,
        "can_undo": False,
        "can_redo": False,
        "unsaved": False,
        "question": None,
        "answers": 0,
        "said": "",
        "said_bad": False,
        "files": [],
        "can_export": False,
        "can_save": False,
        "sheet_path": "",
    }
    plain |= given
    plain["findings"] = [shown_finding(item) for item in plain["findings"]]
    return plain


def _bytes(array: Any) -> bytes:
    return bytes(memoryview(array).cast("B")) if array.size else b""


def _text_of(path: str) -> str:
    """Read a file as it is; empty if it cannot be read."""
    try:
        return Path(path).read_text(encoding="utf-8") if path else ""
    except (OSError, UnicodeDecodeError):
        return ""
