// Written by web/protocol.py from fitkit/widgets/protocol.py: change it there.

export const VIEWS = [
  {"name": "iso", "label": "Corner", "eye": [0.62, -1.0, 0.72]},
  {"name": "front", "label": "Front", "eye": [0, -1, 0]},
  {"name": "back", "label": "Back", "eye": [0, 1, 0]},
  {"name": "left", "label": "Left", "eye": [-1, 0, 0]},
  {"name": "right", "label": "Right", "eye": [1, 0, 0]},
  {"name": "top", "label": "Above", "eye": [0, 0, 1]},
  {"name": "bottom", "label": "Below", "eye": [0, 0, -1]},
] as const;

export const BODY_COLOURS = [
  "#6fa59a",
  "#c9a464",
  "#938bb8",
  "#b77f6c",
] as const;

export const OBJECT_COLOUR = "#4a7fb5" as const;

export const GAP_BANDS = [
  {"below": 0.0, "colour": "#a11f3c", "text": "overlaps"},
  {"below": 0.1, "colour": "#e0703a", "text": "0 to 0.1 mm"},
  {"below": 0.2, "colour": "#e8c04a", "text": "0.1 to 0.2 mm"},
  {"below": 0.4, "colour": "#62b07f", "text": "0.2 to 0.4 mm"},
  {"below": 0.8, "colour": "#3e8fb4", "text": "0.4 to 0.8 mm"},
  {"below": 2.0, "colour": "#6a5f9e", "text": "0.8 to 2 mm"},
] as const;

export const LETTERS_MM = 2.5 as const;

export const NOT_NEAR = {
  "colour": "#9aa5a3",
  "text": "over 2 mm, or open",
} as const;

export const TRIANGLE_COLOURS = {
  "1": "#d9513c",
  "2": "#5b7fa6",
} as const;

export const OVERHANG = 1 as const;

export const ON_BED = 2 as const;

export const ARRAYS = {
  "corners": "f4",
  "triangles": "u4",
  "normals": "i1",
  "edges": "f4",
  "marks": "u1",
  "gap": "f4",
  "rates": "f4",
  "edge_rates": "f4",
} as const;

export const MARKS = {
  "stop": "■",
  "warn": "▲",
  "note": "○",
} as const;

export const SIGNS = {
  "will not go": "✕",
  "tight": "▽",
  "as wanted": "●",
  "loose": "△",
  "rattles": "◇",
} as const;

export const HEADS = [
  "feature",
  "mode",
  "unit",
  "instrument",
] as const;

export const MOST_REPEATS = 20 as const;

// Fields of each message that a view sends; those with ? may be absent.
export const DESCRIBED: Record<string, Record<string, string[]>> = {
  "Grid": {"ready": ["kind"], "cell": ["kind", "row", "repeat", "text"], "head": ["kind", "row", "column", "text"], "leave": ["kind", "row", "repeat", "reason"], "decide": ["kind", "row", "repeat", "decision", "reason"], "add": ["kind", "name"], "remove": ["kind", "row"], "paste": ["kind", "row", "repeat", "text"], "undo": ["kind"], "order": ["kind"], "at": ["kind", "row"], "repeats": ["kind", "count"]},
  "Picture": {"ready": ["kind"], "still": ["kind", "view"], "facing": ["kind", "view", "scale"], "prints": ["kind"], "over": ["kind", "first", "second"], "pick": ["kind", "body", "at", "normal"], "size": ["kind", "name"], "set": ["kind", "path", "text", "dragging?"], "prepare": ["kind", "path", "low", "step", "count", "at", "token"], "reset": ["kind", "path?"], "add": ["kind", "path"], "remove": ["kind", "path", "index"], "export": ["kind", "piece?", "size?"], "save": ["kind", "path", "sure?"], "load": ["kind", "path", "sure?"], "step": ["kind", "back"], "leave": ["kind"], "decide": ["kind", "file", "row", "decision", "reason"]},
  "Trial": {"pick": ["kind", "code"], "fit": ["kind", "name"], "picture": ["kind"], "add": ["kind", "verdicts", "measured", "finished", "notes"], "withdraw": ["kind", "code"], "refresh": ["kind"]},
};

export type Severity = keyof typeof MARKS;
export type Verdict = keyof typeof SIGNS;
export type View = (typeof VIEWS)[number]["name"];
export type Head = (typeof HEADS)[number];
export type ArrayName = keyof typeof ARRAYS;

export type GridMessage = Ready | TypeCell | TypeHead | LeaveOut | Decide | AddFeature | RemoveFeature | Paste | Undo | OrderRows | StandAt | Repeats;

export type PictureMessage = Ready | AskStill | AskFacing | AskPrints | LayOver | PickSpot | PickSize | SetValue | PrepareDrag | ResetValues | AddItem | RemoveItem | Export | SaveSheet | LoadSheet | Step | Leave | DecideReading;

export type TrialMessage = PickPrint | PickFit | AskPicture | WriteDown | Withdraw | Refresh;

export type GridAnswer = AllRows | SomeRows | MarkRows;

export type PictureAnswer = SceneMessage | GapsMessage | StillMessage | DraftMessage | NoDraftMessage | BeforeMessage | SizeMessage | FacingMessage | PrintsMessage;

export type TrialAnswer = MarkedMessage;

/** The view is drawn and wants its content. */
export interface Ready {
  kind: "ready";
}

/** A reading was typed; an empty text takes it away. */
export interface TypeCell {
  kind: "cell";
  row: number;
  repeat: number;
  text: string;
}

/** A feature's name, mode, unit or instrument was changed. */
export interface TypeHead {
  kind: "head";
  row: number;
  column: "feature" | "mode" | "unit" | "instrument";
  text: string;
}

/** A reading does not count, for a reason; an empty reason takes that back. */
export interface LeaveOut {
  kind: "leave";
  row: number;
  repeat: number;
  reason: string;
}

/** A doubted reading counts after all, or is to be taken again, and why. */
export interface Decide {
  kind: "decide";
  row: number;
  repeat: number;
  decision: "keep" | "again";
  reason: string;
}

/** A feature was added at the end. */
export interface AddFeature {
  kind: "add";
  name: string;
}

/** A row was taken away. */
export interface RemoveFeature {
  kind: "remove";
  row: number;
}

/** A block was pasted where the cursor is. */
export interface Paste {
  kind: "paste";
  row: number;
  repeat: number;
  text: string;
}

/** The last edit is to be taken back. */
export interface Undo {
  kind: "undo";
}

/** The rows are to follow one another so that the jaws change least. */
export interface OrderRows {
  kind: "order";
}

/** The cursor has come to another row, and rests there. */
export interface StandAt {
  kind: "at";
  row: number;
}

/** So many readings are wanted of each feature. */
export interface Repeats {
  kind: "repeats";
  count: number;
}

/** The browser draws no WebGL: a still picture is wanted. */
export interface AskStill {
  kind: "still";
  view: "iso" | "front" | "back" | "left" | "right" | "top" | "bottom";
}

/** Dimension lines are wanted of the sizes that face a view, at a scale of paper. */
export interface AskFacing {
  kind: "facing";
  view: "iso" | "front" | "back" | "left" | "right" | "top" | "bottom";
  scale: number;
}

/** The prints of the part are wanted, to pick two of them. */
export interface AskPrints {
  kind: "prints";
}

/** A print is to lie below another one, or the part as it is now; none does without codes. */
export interface LayOver {
  kind: "over";
  first: string;
  second: string;
}

/** A spot of a body was pressed: its place and the direction its face looks, in the assembly. */
export interface PickSpot {
  kind: "pick";
  body: string;
  at: [number, number, number];
  normal: [number, number, number];
}

/** A size was picked, or none any more: its readings are to be marked where they stand. */
export interface PickSize {
  kind: "size";
  name: string;
}

/** A parameter was typed, picked or dragged; a drag sends many, which are one step. */
export interface SetValue {
  kind: "set";
  path: string;
  text: string;
  dragging?: boolean;
}

/** A slider is about to be dragged: shapes are wanted of its values. */
export interface PrepareDrag {
  kind: "prepare";
  path: string;
  low: number;
  step: number;
  count: number;
  at: number;
  token: number;
}

/** One parameter goes back to the start; all of them do without a path. */
export interface ResetValues {
  kind: "reset";
  path?: string;
}

/** An item is added to a list, or a thing that may be absent. */
export interface AddItem {
  kind: "add";
  path: string;
}

/** An item is taken out of a list; of a thing that may be absent, the index is 0. */
export interface RemoveItem {
  kind: "remove";
  path: string;
  index: number;
}

/** The files to print are wanted; of the trial piece of a size, or of the least sure one. */
export interface Export {
  kind: "export";
  piece?: boolean;
  size?: string;
}

/** The values are to be saved as a part sheet; over another one only after a yes. */
export interface SaveSheet {
  kind: "save";
  path: string;
  sure?: boolean;
}

/** The values are to be taken from a part sheet; unsaved ones are given up after a yes. */
export interface LoadSheet {
  kind: "load";
  path: string;
  sure?: boolean;
}

/** The last step of a panel is to be taken back, or done again. */
export interface Step {
  kind: "step";
  back: boolean;
}

/** A question of the panel was answered with no. */
export interface Leave {
  kind: "leave";
}

/** It is decided on a reading that a finding doubts, in a file of the sheet, and why. */
export interface DecideReading {
  kind: "decide";
  file: string;
  row: number;
  decision: "keep" | "leave-out" | "again";
  reason: string;
}

/** A print was picked by its code. */
export interface PickPrint {
  kind: "pick";
  code: string;
}

/** A fit was picked, whose curve is wanted. */
export interface PickFit {
  kind: "fit";
  name: string;
}

/** A picture of the picked print is wanted, with its fits marked. */
export interface AskPicture {
  kind: "picture";
}

/** How the print fitted: verdicts and measured sizes by the name of the fit, as typed. */
export interface WriteDown {
  kind: "add";
  verdicts: Record<string, string>;
  measured: Record<string, string>;
  finished: boolean;
  notes: string;
}

/** A verdict is taken back. */
export interface Withdraw {
  kind: "withdraw";
  code: string;
}

/** The form was turned to: the journal may have grown. */
export interface Refresh {
  kind: "refresh";
}

/** Every row: the grid is drawn again. */
export interface AllRows {
  kind: "all";
  rows: GridRow[];
  said: string;
  bad: boolean;
}

/** A feature with its readings and what they amount to. */
export interface GridRow {
  at: number;
  feature: string;
  mode: string;
  unit: string;
  instrument: string;
  cells: Cell[];
  mean: string;
  spread: string;
  flags: Flag[];
  note?: string;
  best?: [number, number];
}

/** A reading as typed; why it was left out, kept by decision, or cannot be read. */
export interface Cell {
  text: string;
  left_out: string;
  bad: string;
  kept?: string;
  size?: number;
}

/** A doubt about a feature: in a word, and in full. */
export interface Flag {
  severity: "stop" | "warn" | "note";
  short: string;
  text: string;
}

/** Rows that have changed. */
export interface SomeRows {
  kind: "rows";
  rows: GridRow[];
  said: string;
  bad?: boolean;
}

/** Features that a size rests on which was picked in a panel. */
export interface MarkRows {
  kind: "mark";
  features: string[];
}

/** A new shape; the ticket counts builds. `latest` if no newer one is on its way. */
export interface SceneMessage {
  kind: "scene";
  head: SceneHead;
  ticket: number;
  latest: boolean;
}

/** What a scene holds beside its arrays; lengths in mm. */
export interface SceneHead {
  title: string;
  template: string;
  bodies: Solid[];
  bounds: number[][];
  bed: number[];
  bed_assumed: boolean;
  overhang_deg: number;
  dimensions: Dimension[];
}

/** A body or an object, with the names of its arrays in the order of the message's bytes. */
export interface Solid {
  name: string;
  role: "body" | "object";
  arrays: ("corners" | "triangles" | "normals" | "edges" | "marks" | "gap" | "rates" | "edge_rates")[];
  size?: number[];
  turn?: number[];
  on_bed?: number[];
}

/** A size to write beside the picture. */
export interface Dimension {
  name: string;
  text: string;
  body: string;
  start: [number, number, number];
  end: [number, number, number];
  round: boolean;
}

/** The gaps of the scene before it. */
export interface GapsMessage {
  kind: "gaps";
  gaps: GapsOf[];
}

/** Gaps round one object, on a finer mesh of it; `rests` if it lies on the part as it should. */
export interface GapsOf {
  name: string;
  least_gap: number | null;
  rests: boolean;
  arrays: ("corners" | "triangles" | "normals" | "edges" | "marks" | "gap" | "rates" | "edge_rates")[];
}

/** A still picture, PNG, in the message's bytes. */
export interface StillMessage {
  kind: "still";
}

/** A shape and how its corners move from `low` to `high` of a slider; `at` is its own value. */
export interface DraftMessage {
  kind: "draft";
  token: number;
  low: number;
  high: number;
  at: number;
  bodies: Solid[];
}

/** What was drawn ahead is of other values now. */
export interface NoDraftMessage {
  kind: "no-draft";
}

/** Another shape to lay under the picture: the edges of its bodies, and what it is. */
export interface BeforeMessage {
  kind: "before";
  what: string;
  count: number;
  over: string;
}

/** A size whose reading was turned to in a grid. */
export interface SizeMessage {
  kind: "size";
  name: string;
}

/** What was asked of the sizes that face a view; `ticket` is that of its scene. */
export interface FacingMessage {
  kind: "facing";
  ticket: number;
  placed: FacingSizes;
}

/** Sizes placed for a view at a scale; names `left` without room, and how many are `turned`. */
export interface FacingSizes {
  view: "iso" | "front" | "back" | "left" | "right" | "top" | "bottom";
  scale: number;
  sizes: FacingSize[];
  left: string[];
  turned: number;
}

/** A size's lines, arrow heads and number, in mm of paper from the part's origin, y upwards. */
export interface FacingSize {
  name: string;
  lines: number[][];
  heads: number[][];
  text: string;
  at: [number, number];
  turn: number;
}

/** The prints of a panel's part, newest first. */
export interface PrintsMessage {
  kind: "prints";
  prints: PrintSaid[];
}

/** A print that can be picked. */
export interface PrintSaid {
  code: string;
  title: string;
  made_on: string;
}

/** A print's picture, PNG in the message's bytes; `trouble` says why there is none. */
export interface MarkedMessage {
  kind: "picture";
  code: string;
  size: [number, number];
  marks: MarkSaid[];
  trouble: string;
}

/** A size on the picture, px: its line from `start` to `end`, its number `at` a place. */
export interface MarkSaid {
  name: string;
  start: [number, number];
  end: [number, number];
  at: [number, number];
}

/** What a grid is drawn with; traitlet ``setup``. */
export interface GridSetup {
  file: string;
  modes: string[];
  units: string[];
  instruments: string[];
  repeats: number;
  good_enough: number;
}

/** All that a panel or preview shows beside the picture; traitlet ``doc``. */
export interface PanelDoc {
  title: string;
  subtitle: string;
  groups: Group[];
  rows: SizeRow[];
  basis: string;
  findings: ShownFinding[];
  checked: boolean;
  checking: boolean;
  building: boolean;
  exporting: string;
  trouble: string;
  problems: Problem[];
  stands_in: string;
  old: boolean;
  findings_old: boolean;
  faulty: boolean;
  can_undo: boolean;
  can_redo: boolean;
  unsaved: boolean;
  question: Question | null;
  answers: number;
  said: string;
  said_bad: boolean;
  files: string[];
  can_export: boolean;
  can_save: boolean;
  sheet_path: string;
}

/** Controls under one heading. */
export interface Group {
  name: string;
  controls: (ValueControl | ListControl)[];
}

/** A parameter as text, choice or switch. */
export interface ValueControl {
  path: string;
  kind: "length" | "angle" | "area" | "count" | "number" | "lengths" | "numbers" | "switch" | "choice" | "text" | "list" | "model";
  label: string;
  help: string;
  message: string;
  group: string;
  text: string;
  value: number | null;
  unit: string;
  low: number | null;
  high: number | null;
  bounds: string;
  choices: string[];
  default_text: string;
  changed: boolean;
  reading: string;
  back: string;
  waiting: string;
  used: boolean;
  measured: boolean;
}

/** A list of items, or a thing that may be absent: a list of one or none. */
export interface ListControl {
  path: string;
  kind: "list";
  label: string;
  help: string;
  message: string;
  group: string;
  items: Item[];
  one: string;
  can_add: boolean;
  can_remove: boolean;
  used: boolean;
}

/** One item of a list. */
export interface Item {
  title: string;
  controls: ValueControl[];
}

/** A size that must fit, from its reading to the expected print; `paths` of what it rests on. */
export interface SizeRow {
  name: string;
  measured: string;
  target: string;
  drawn: string;
  expected: string;
  wanted: string;
  notes: string[];
  paths: string[];
}

/** What a check found. */
export interface ShownFinding {
  check: string;
  severity: "stop" | "warn" | "note";
  text: string;
  number: string;
  remedy: string;
  at: number[][];
  readings: ShownReading[];
}

/** A reading that a finding doubts: file and row where it stands, and how it reads. */
export interface ShownReading {
  file: string;
  row: number;
  text: string;
}

/** What is wrong, or not measured yet; `path` is that of its field, empty if there is none. */
export interface Problem {
  path: string;
  label: string;
  text: string;
  kind: "wrong" | "waiting";
}

/** What a panel asks before it does something that loses something. */
export interface Question {
  text: string;
  yes: string;
  does: "save" | "load";
  path: string;
}

/** All that a trial entry shows; traitlet ``state``. */
export interface TrialState {
  prints: PrintSaid[];
  code: string;
  title: string;
  fit: string;
  fits: FitSaid[];
  verdicts: ("will not go" | "tight" | "as wanted" | "loose" | "rattles")[];
  tried: Tried[];
  curve: Curve | null;
  before: Curve | null;
  said: string;
  bad: boolean;
  fault_at: string;
  saved: number;
}

/** A size of the picked print that must fit. */
export interface FitSaid {
  name: string;
  mark: string;
  wanted: string;
  expected: string;
  judged: boolean;
}

/** What was written down before. */
export interface Tried {
  code: string;
  on: string;
  said: string;
  withdrawn: boolean;
}

/** Chance of a fit as wanted against the gap, mm. */
export interface Curve {
  gap: number[];
  chance: number[];
  best: number;
  best_chance: number;
  band: number[];
  as_made: number;
  trials: CurveTrial[];
  about: string;
}

/** A verdict on the curve. */
export interface CurveTrial {
  gap: number;
  verdict: "will not go" | "tight" | "as wanted" | "loose" | "rattles";
  code: string;
}
