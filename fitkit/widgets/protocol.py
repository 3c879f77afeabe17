"""What a page and the kernel say to each other, and the signs and colours that both of them show.

This is the only description of it. The page takes types and constants from
``web/src/protocol.ts``, which ``web/protocol.py`` writes from this file. A message that comes from
a page is a frozen dataclass, made by `grid_message`, `picture_message` or `trial_message`; these
refuse in one place what is not described here. What goes to a page is plain data, described by
TypedDicts. Bytes that go with a message are described in `ARRAYS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, Literal, NotRequired, cast, get_args

from annotated_types import Ge, Gt, Le
from typing_extensions import TypedDict  # pydantic reads typing's own from Python 3.12 on

from fitkit.core.errors import FitkitError
from fitkit.fits.trial import VERDICT_KINDS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pydantic import TypeAdapter

    # Only described here: the places that these come from would load more with a grid.
    from fitkit.core.finding import Severity
    from fitkit.fits.trial import Verdict
    from fitkit.widgets.fields import Kind

__all__ = [
    "ARRAYS",
    "GAP_BANDS",
    "HEARD",
    "MOST_REPEATS",
    "OBJECT_COLOUR",
    "SENT",
    "SIGNS",
    "constants",
    "grid_message",
    "picture_message",
    "trial_message",
]

# --- signs and colours ----------------------------------------------------------------------------

# Every meaning has a sign, so that none hangs on colour alone.
SIGNS: Mapping[Verdict, str] = {kind.word: kind.sign for kind in VERDICT_KINDS}
OBJECT_COLOUR = "#4a7fb5"
# Upper bound of each band of gap, mm, and its colour; negative gaps are overlaps.
GAP_BANDS = (
    (0.0, "#a11f3c"),
    (0.1, "#e0703a"),
    (0.2, "#e8c04a"),
    (0.4, "#62b07f"),
    (0.8, "#3e8fb4"),
    (2.0, "#6a5f9e"),
)
_NOT_NEAR = "#9aa5a3"
_OVERHANG, _ON_BED = "#d9513c", "#5b7fa6"
MOST_REPEATS = 20
MOST_STEPS = 1000  # of a slider
_VIEW_LABELS = {
    "iso": "Corner",
    "front": "Front",
    "back": "Back",
    "left": "Left",
    "right": "Right",
    "top": "Above",
    "bottom": "Below",
}
# Little-endian numbers of each array that goes with a scene or its gaps.
ARRAYS = {
    "corners": "f4",
    "triangles": "u4",
    "normals": "i1",
    "edges": "f4",
    "marks": "u1",
    "gap": "f4",
    "rates": "f4",
    "edge_rates": "f4",
}

View = Literal["iso", "front", "back", "left", "right", "top", "bottom"]
Head = Literal["feature", "mode", "unit", "instrument"]
ArrayName = Literal[
    "corners", "triangles", "normals", "edges", "marks", "gap", "rates", "edge_rates"
]

# --- from the page to the kernel ------------------------------------------------------------------

_Place = Annotated[int, Ge(0)]


def _described(kind: type[Any]) -> type[Any]:
    """Have a message refused that has fields of which nothing is said here."""
    kind.__pydantic_config__ = {"extra": "forbid"}
    return kind


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """The view is drawn and wants its content."""

    kind: Literal["ready"] = "ready"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class TypeCell:
    """A reading was typed; an empty text takes it away."""

    kind: Literal["cell"] = "cell"
    row: _Place
    repeat: _Place
    text: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class TypeHead:
    """A feature's name, mode, unit or instrument was changed."""

    kind: Literal["head"] = "head"
    row: _Place
    column: Head
    text: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveOut:
    """A reading does not count, for a reason; an empty reason takes that back."""

    kind: Literal["leave"] = "leave"
    row: _Place
    repeat: _Place
    reason: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Decide:
    """A doubted reading counts after all, or is to be taken again, and why."""

    kind: Literal["decide"] = "decide"
    row: _Place
    repeat: _Place
    decision: Literal["keep", "again"]
    reason: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AddFeature:
    """A feature was added at the end."""

    kind: Literal["add"] = "add"
    name: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveFeature:
    """A row was taken away."""

    kind: Literal["remove"] = "remove"
    row: _Place


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Paste:
    """A block was pasted where the cursor is."""

    kind: Literal["paste"] = "paste"
    row: _Place
    repeat: _Place
    text: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Undo:
    """The last edit is to be taken back."""

    kind: Literal["undo"] = "undo"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class StandAt:
    """The cursor has come to another row, and rests there."""

    kind: Literal["at"] = "at"
    row: _Place


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRows:
    """The rows are to follow one another so that the jaws change least."""

    kind: Literal["order"] = "order"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Repeats:
    """So many readings are wanted of each feature."""

    kind: Literal["repeats"] = "repeats"
    count: Annotated[int, Ge(1), Le(MOST_REPEATS)]


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AskStill:
    """The browser draws no WebGL: a still picture is wanted."""

    kind: Literal["still"] = "still"
    view: View


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AskFacing:
    """Dimension lines are wanted of the sizes that face a view, at a scale of paper."""

    kind: Literal["facing"] = "facing"
    view: View
    scale: Annotated[float, Gt(0), Le(1000)]


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AskPrints:
    """The prints of the part are wanted, to pick two of them."""

    kind: Literal["prints"] = "prints"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class LayOver:
    """A print is to lie below another one, or the part as it is now; none does without codes."""

    kind: Literal["over"] = "over"
    first: str
    second: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class PickSpot:
    """A spot of a body was pressed: its place and the direction its face looks, in the assembly."""

    kind: Literal["pick"] = "pick"
    body: str
    at: tuple[float, float, float]
    normal: tuple[float, float, float]


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class PickSize:
    """A size was picked, or none any more: its readings are to be marked where they stand."""

    kind: Literal["size"] = "size"
    name: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class SetValue:
    """A parameter was typed, picked or dragged; a drag sends many, which are one step."""

    kind: Literal["set"] = "set"
    path: str
    text: str
    dragging: bool = False


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class PrepareDrag:
    """A slider is about to be dragged: shapes are wanted of its values.

    It gives `low` and then `count` steps; `at` is where it stands. The `token` comes back with each
    shape, so that one that is overtaken is known.
    """

    kind: Literal["prepare"] = "prepare"
    path: str
    low: float
    step: Annotated[float, Gt(0)]
    count: Annotated[int, Ge(1), Le(MOST_STEPS)]
    at: _Place
    token: int


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class ResetValues:
    """One parameter goes back to the start; all of them do without a path."""

    kind: Literal["reset"] = "reset"
    path: str = ""


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AddItem:
    """An item is added to a list, or a thing that may be absent."""

    kind: Literal["add"] = "add"
    path: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class RemoveItem:
    """An item is taken out of a list; of a thing that may be absent, the index is 0."""

    kind: Literal["remove"] = "remove"
    path: str
    index: _Place


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Export:
    """The files to print are wanted; of the trial piece of a size, or of the least sure one."""

    kind: Literal["export"] = "export"
    piece: bool = False
    size: str = ""


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class SaveSheet:
    """The values are to be saved as a part sheet; over another one only after a yes."""

    kind: Literal["save"] = "save"
    path: str
    sure: bool = False


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class LoadSheet:
    """The values are to be taken from a part sheet; unsaved ones are given up after a yes."""

    kind: Literal["load"] = "load"
    path: str
    sure: bool = False


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """The last step of a panel is to be taken back, or done again."""

    kind: Literal["step"] = "step"
    back: bool


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Leave:
    """A question of the panel was answered with no."""

    kind: Literal["leave"] = "leave"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class DecideReading:
    """It is decided on a reading that a finding doubts, in a file of the sheet, and why."""

    kind: Literal["decide"] = "decide"
    file: str
    row: _Place
    decision: Literal["keep", "leave-out", "again"]
    reason: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class PickPrint:
    """A print was picked by its code."""

    kind: Literal["pick"] = "pick"
    code: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class AskPicture:
    """A picture of the picked print is wanted, with its fits marked."""

    kind: Literal["picture"] = "picture"


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class PickFit:
    """A fit was picked, whose curve is wanted."""

    kind: Literal["fit"] = "fit"
    name: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class WriteDown:
    """How the print fitted: verdicts and measured sizes by the name of the fit, as typed."""

    kind: Literal["add"] = "add"
    verdicts: dict[str, str]
    measured: dict[str, str]
    finished: bool
    notes: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Withdraw:
    """A verdict is taken back."""

    kind: Literal["withdraw"] = "withdraw"
    code: str


@_described
@dataclass(frozen=True, slots=True, kw_only=True)
class Refresh:
    """The form was turned to: the journal may have grown."""

    kind: Literal["refresh"] = "refresh"


GridMessage = (
    Ready
    | TypeCell
    | TypeHead
    | LeaveOut
    | Decide
    | AddFeature
    | RemoveFeature
    | Paste
    | Undo
    | OrderRows
    | StandAt
    | Repeats
)  # fmt: skip
PictureMessage = (
    Ready
    | AskStill
    | AskFacing
    | AskPrints
    | LayOver
    | PickSpot
    | PickSize
    | SetValue
    | PrepareDrag
    | ResetValues
    | AddItem
    | RemoveItem
    | Export
    | SaveSheet
    | LoadSheet
    | Step
    | Leave
    | DecideReading
)  # fmt: skip
TrialMessage = PickPrint | PickFit | AskPicture | WriteDown | Withdraw | Refresh
# By the view that sends them.
HEARD: Mapping[str, Any] = {
    "Grid": GridMessage,
    "Picture": PictureMessage,
    "Trial": TrialMessage,
}


def grid_message(content: object) -> GridMessage:
    """Read what the readings grid sent.

    Parameters
    ----------
    content : object
        As it came.

    Returns
    -------
    one of the kinds in `GridMessage`

    Raises
    ------
    FitkitError
        If no kind of message is like it.
    """
    return cast("GridMessage", _read("Grid", content))


def picture_message(content: object) -> PictureMessage:
    """Read what the part panel or the preview sent; else as `grid_message`."""
    return cast("PictureMessage", _read("Picture", content))


def trial_message(content: object) -> TrialMessage:
    """Read what the trial entry sent; else as `grid_message`."""
    return cast("TrialMessage", _read("Trial", content))


@cache
def _reader(view: str) -> TypeAdapter[Any]:
    from pydantic import Discriminator, TypeAdapter

    kinds: Any = Annotated[HEARD[view], Discriminator("kind")]
    return TypeAdapter(kinds)


def _read(view: str, content: object) -> object:
    from pydantic import ValidationError

    try:
        return _reader(view).validate_python(content)
    except ValidationError as error:
        raise FitkitError(
            "the page sent a message that this version does not know; nothing was done",
            code="widgets.unknown-message",
            remedy="Reload the page and run the cell again: the page may be from another version.",
        ) from error


# --- from the kernel to the page ------------------------------------------------------------------


class Cell(TypedDict):
    """A reading as typed; why it was left out, kept by decision, or cannot be read.

    `size` is its length in mm, where it has one that counts or was left out.
    """

    text: str
    left_out: str
    bad: str
    kept: NotRequired[str]
    size: NotRequired[float]


class Flag(TypedDict):
    """A doubt about a feature: in a word, and in full."""

    severity: Severity
    short: str
    text: str


class GridRow(TypedDict):
    """A feature with its readings and what they amount to.

    `note` says where the jaws go; `best` is the best value with its ± U, mm, for the strip plot.
    """

    at: int
    feature: str
    mode: str
    unit: str
    instrument: str
    cells: list[Cell]
    mean: str
    spread: str
    flags: list[Flag]
    note: NotRequired[str]
    best: NotRequired[tuple[float, float]]


class GridSetup(TypedDict):
    """What a grid is drawn with; traitlet ``setup``."""

    file: str
    modes: list[str]
    units: list[str]
    instruments: list[str]
    repeats: int
    good_enough: float


class AllRows(TypedDict):
    """Every row: the grid is drawn again."""

    kind: Literal["all"]
    rows: list[GridRow]
    said: str
    bad: bool


class SomeRows(TypedDict):
    """Rows that have changed."""

    kind: Literal["rows"]
    rows: list[GridRow]
    said: str
    bad: NotRequired[bool]


class MarkRows(TypedDict):
    """Features that a size rests on which was picked in a panel."""

    kind: Literal["mark"]
    features: list[str]


class Solid(TypedDict):
    """A body or an object, with the names of its arrays in the order of the message's bytes."""

    name: str
    role: Literal["body", "object"]
    arrays: list[ArrayName]
    size: NotRequired[list[float]]
    turn: NotRequired[list[float]]
    on_bed: NotRequired[list[float]]


class Dimension(TypedDict):
    """A size to write beside the picture."""

    name: str
    text: str
    body: str
    start: tuple[float, float, float]
    end: tuple[float, float, float]
    round: bool


class SceneHead(TypedDict):
    """What a scene holds beside its arrays; lengths in mm."""

    title: str
    template: str
    bodies: list[Solid]
    bounds: list[list[float]]
    bed: list[float]
    bed_assumed: bool
    overhang_deg: float
    dimensions: list[Dimension]


class SceneMessage(TypedDict):
    """A new shape; the ticket counts builds. `latest` if no newer one is on its way."""

    kind: Literal["scene"]
    head: SceneHead
    ticket: int
    latest: bool


class DraftMessage(TypedDict):
    """A shape and how its corners move from `low` to `high` of a slider; `at` is its own value."""

    kind: Literal["draft"]
    token: int
    low: float
    high: float
    at: float
    bodies: list[Solid]


class FacingSize(TypedDict):
    """A size's lines, arrow heads and number, in mm of paper from the part's origin, y upwards.

    A line is x, y, x, y, and so on; `at` is where the number's foot begins, `turn` in degrees.
    """

    name: str
    lines: list[list[float]]
    heads: list[list[float]]
    text: str
    at: tuple[float, float]
    turn: float


class FacingSizes(TypedDict):
    """Sizes placed for a view at a scale; names `left` without room, and how many are `turned`."""

    view: View
    scale: float
    sizes: list[FacingSize]
    left: list[str]
    turned: int


class FacingMessage(TypedDict):
    """What was asked of the sizes that face a view; `ticket` is that of its scene."""

    kind: Literal["facing"]
    ticket: int
    placed: FacingSizes


class BeforeMessage(TypedDict):
    """Another shape to lay under the picture: the edges of its bodies, and what it is.

    Edges after the first `count` are of a shape `over` it, which takes the place of the part.
    """

    kind: Literal["before"]
    what: str
    count: int
    over: str


class SizeMessage(TypedDict):
    """A size whose reading was turned to in a grid."""

    kind: Literal["size"]
    name: str


class NoDraftMessage(TypedDict):
    """What was drawn ahead is of other values now."""

    kind: Literal["no-draft"]


class GapsOf(TypedDict):
    """Gaps round one object, on a finer mesh of it; `rests` if it lies on the part as it should."""

    name: str
    least_gap: float | None
    rests: bool
    arrays: list[ArrayName]


class GapsMessage(TypedDict):
    """The gaps of the scene before it."""

    kind: Literal["gaps"]
    gaps: list[GapsOf]


class StillMessage(TypedDict):
    """A still picture, PNG, in the message's bytes."""

    kind: Literal["still"]


class ValueControl(TypedDict):
    """A parameter as text, choice or switch.

    `reading` is what was read of it, with its doubt; `back` an expression of readings that it can
    go back to; `waiting` says that its reading is not there yet. Empty texts mean none.
    """

    path: str
    kind: Kind
    label: str
    help: str
    message: str
    group: str
    text: str
    value: float | None
    unit: str
    low: float | None
    high: float | None
    bounds: str
    choices: list[str]
    default_text: str
    changed: bool
    reading: str
    back: str
    waiting: str
    used: bool
    measured: bool


class ListControl(TypedDict):
    """A list of items, or a thing that may be absent: a list of one or none."""

    path: str
    kind: Literal["list"]
    label: str
    help: str
    message: str
    group: str
    items: list[Item]
    one: str
    can_add: bool
    can_remove: bool
    used: bool


class Item(TypedDict):
    """One item of a list."""

    title: str
    controls: list[ValueControl]


class Group(TypedDict):
    """Controls under one heading."""

    name: str
    controls: list[ValueControl | ListControl]


class SizeRow(TypedDict):
    """A size that must fit, from its reading to the expected print; `paths` of what it rests on."""

    name: str
    measured: str
    target: str
    drawn: str
    expected: str
    wanted: str
    notes: list[str]
    paths: list[str]


class ShownReading(TypedDict):
    """A reading that a finding doubts: file and row where it stands, and how it reads."""

    file: str
    row: int
    text: str


class ShownFinding(TypedDict):
    """What a check found."""

    check: str
    severity: Severity
    text: str
    number: str
    remedy: str
    at: list[list[float]]
    readings: list[ShownReading]


class Problem(TypedDict):
    """What is wrong, or not measured yet; `path` is that of its field, empty if there is none."""

    path: str
    label: str
    text: str
    kind: Literal["wrong", "waiting"]


class Question(TypedDict):
    """What a panel asks before it does something that loses something."""

    text: str
    yes: str
    does: Literal["save", "load"]
    path: str


class PanelDoc(TypedDict):
    """All that a panel or preview shows beside the picture; traitlet ``doc``.

    What is `old` belongs to values typed before: sizes and picture, or findings. `problems` come
    with the fields that they are about; `stands_in` says that the picture is not of the values.
    `answers` counts the messages that were acted on, so that each of them changes the document.
    """

    title: str
    subtitle: str
    groups: list[Group]
    rows: list[SizeRow]
    basis: str
    findings: list[ShownFinding]
    checked: bool
    checking: bool
    building: bool
    exporting: str
    trouble: str
    problems: list[Problem]
    stands_in: str
    old: bool
    findings_old: bool
    faulty: bool
    can_undo: bool
    can_redo: bool
    unsaved: bool
    question: Question | None
    answers: int
    said: str
    said_bad: bool
    files: list[str]
    can_export: bool
    can_save: bool
    sheet_path: str


class PrintSaid(TypedDict):
    """A print that can be picked."""

    code: str
    title: str
    made_on: str


class FitSaid(TypedDict):
    """A size of the picked print that must fit."""

    name: str
    mark: str
    wanted: str
    expected: str
    judged: bool


class Tried(TypedDict):
    """What was written down before."""

    code: str
    on: str
    said: str
    withdrawn: bool


class CurveTrial(TypedDict):
    """A verdict on the curve."""

    gap: float
    verdict: Verdict
    code: str


class Curve(TypedDict):
    """Chance of a fit as wanted against the gap, mm."""

    gap: list[float]
    chance: list[float]
    best: float
    best_chance: float
    band: list[float]
    as_made: float
    trials: list[CurveTrial]
    about: str


class MarkSaid(TypedDict):
    """A size on the picture, px: its line from `start` to `end`, its number `at` a place."""

    name: str
    start: tuple[float, float]
    end: tuple[float, float]
    at: tuple[float, float]


class MarkedMessage(TypedDict):
    """A print's picture, PNG in the message's bytes; `trouble` says why there is none."""

    kind: Literal["picture"]
    code: str
    size: tuple[int, int]
    marks: list[MarkSaid]
    trouble: str


class PrintsMessage(TypedDict):
    """The prints of a panel's part, newest first."""

    kind: Literal["prints"]
    prints: list[PrintSaid]


class TrialState(TypedDict):
    """All that a trial entry shows; traitlet ``state``."""

    prints: list[PrintSaid]
    code: str
    title: str
    fit: str
    fits: list[FitSaid]
    verdicts: list[Verdict]
    tried: list[Tried]
    curve: Curve | None
    before: Curve | None
    said: str
    bad: bool
    fault_at: str
    saved: int


# By the view that hears them.
SENT: Mapping[str, tuple[type, ...]] = {
    "Grid": (AllRows, SomeRows, MarkRows),
    "Picture": (
        SceneMessage,
        GapsMessage,
        StillMessage,
        DraftMessage,
        NoDraftMessage,
        BeforeMessage,
        SizeMessage,
        FacingMessage,
        PrintsMessage,
    ),
    "Trial": (MarkedMessage,),
}


def constants() -> dict[str, Any]:
    """Collect what the page shows as the other rooms do, each from its own place.

    Returns
    -------
    dict
        Plain data by the name that the page's sources use: views with the direction to the eye,
        colours, signs, names of columns.
    """
    from fitkit.core.finding import MARKS, SEVERITIES
    from fitkit.drawings.placing import TEXT_MM
    from fitkit.export.gaps import REACH_MM
    from fitkit.export.scene import ON_BED, OVERHANG
    from fitkit.solids.picture import PALETTE, VIEWS

    return {
        "VIEWS": [
            {"name": name, "label": _VIEW_LABELS[name], "eye": list(eye)}
            for name, (eye, _up) in VIEWS.items()
        ],
        "BODY_COLOURS": list(PALETTE),
        "OBJECT_COLOUR": OBJECT_COLOUR,
        "GAP_BANDS": [
            {
                "below": end,
                "colour": colour,
                "text": f"{GAP_BANDS[n - 1][0]:g} to {end:g} mm" if n else "overlaps",
            }
            for n, (end, colour) in enumerate(GAP_BANDS)
        ],
        "LETTERS_MM": TEXT_MM,
        "NOT_NEAR": {"colour": _NOT_NEAR, "text": f"over {REACH_MM:g} mm, or open"},
        "TRIANGLE_COLOURS": {OVERHANG: _OVERHANG, ON_BED: _ON_BED},
        "OVERHANG": OVERHANG,
        "ON_BED": ON_BED,
        "ARRAYS": ARRAYS,
        "MARKS": {severity: MARKS[severity] for severity in SEVERITIES},
        "SIGNS": dict(SIGNS),
        "HEADS": list(get_args(Head)),
        "MOST_REPEATS": MOST_REPEATS,
    }
