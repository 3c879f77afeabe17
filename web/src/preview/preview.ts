// The part as a shaded solid with its edges, the measured object in it, cuts, gaps and sizes: the
// frame round the picture, its keys, and what the switches say.
import {
  AmbientLight,
  DirectionalLight,
  Group,
  Raycaster,
  Scene,
  type Texture,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { make, svgRoot } from "../dom";
import {
  type Dimension,
  type FacingSizes,
  type GapsOf,
  type PictureMessage,
  type SceneHead,
  type SizeRow,
  VIEWS,
} from "../protocol";
import { drawBed } from "./bed";
import { BEFORE, Before, OVER } from "./before";
import { type Axis, Cut } from "./cutting";
import { drawPiece, fits, type Piece } from "./draft";
import { direction, Eye, type Size } from "./eye";
import { gapUnder, showNear, takeGaps } from "./gaps";
import { between, drivenBy, facesOf, type Spot, trianglesOf } from "./faces";
import { drawFacing, exact, Facing, PX_PER_MM, reach } from "./facing";
import { type Figure, gapFigures } from "./figures";
import {
  drawBedName,
  drawFigures,
  drawFoot,
  drawHandle,
  drawMeasure,
  drawPins,
  drawSizes,
  inkOf,
  type Pin,
  paperOf,
  placeLabels,
} from "./labels";
import { legendOf } from "./legend";
import { paint, type Shown } from "./paint";
import { Still, savePicture } from "./picture";
import { dispose, fill, hatchTexture, type Numbers, placed, type Shape, shapesOf } from "./shapes";

const KEYS = [
  ["1 … 7", "views"],
  ["arrows", "turn"],
  ["+  −  0", "nearer, farther, whole part"],
  ["X Y Z", "cut across"],
  ["[  ]", "move the cut"],
  ["O", "object"],
  ["G", "gaps"],
  ["D", "sizes"],
  ["H", "overhangs"],
  ["B", "on the bed"],
  ["C", "hold this shape, to compare with what comes"],
  ["M", "measure between two spots; Escape ends"],
  ["P", "picture"],
  ["?", "these keys"],
];
const TURNS: Record<string, [number, number]> = {
  arrowleft: [-15, 0],
  arrowright: [15, 0],
  arrowup: [0, 15],
  arrowdown: [0, -15],
};
const TOGGLES: [keyof Shown, string, string, string][] = [
  ["object", "Object", "O", "the measured object in its place"],
  ["gaps", "Gaps", "G", "gap between object and part, by colour and number"],
  ["sizes", "Sizes", "D", "key sizes as drawn"],
  ["overhangs", "Overhangs", "H", "faces that hang over as printed"],
  ["bed", "On the bed", "B", "as it lies on the bed"],
];
const AXES: Axis[] = ["x", "y", "z"];

// What draws with WebGL; a browser without it has none.
interface Drawing {
  renderer: WebGLRenderer;
  scene: Scene;
  eye: Eye;
  world: Group;
  bed: Group;
  hatch: Texture;
  watches: { disconnect(): void }[];
}

function button(label: string, title: string, action: () => void, extra = {}) {
  return make("button", { type: "button", title, onclick: action, ...extra }, label);
}

export class Preview {
  private readonly on: Shown = {
    object: true,
    gaps: false,
    sizes: true,
    overhangs: false,
    bed: false,
  };
  private readonly cut = new Cut();
  private readonly still = new Still();
  private shape = 0; // width of the picture over its height
  private fitted = 0; // size of the part when it was fitted to the picture, mm
  private view = 0; // -1 if it is none of the views
  private pins: Pin[] = [];
  private rows: SizeRow[] = [];
  private picked = ""; // name of a size
  private driven: [Dimension, Set<number>][] | null = null; // faces of each size, once asked for
  private figures: Figure[] = [];
  private draft: Piece | null = null; // what is drawn ahead of the kernel
  private dragging = false;
  private held: (() => void) | null = null; // an exact shape that came in a drag
  private measuring = false;
  private spots: Spot[] = [];
  private pressedAt: [number, number] | null = null;
  private drawn = 0;
  private readonly facing = new Facing((view, scale) => this.send({ kind: "facing", view, scale }));
  private ticket = 0; // of the shape that is shown
  private settling = 0; // how often the picture may still be moved to leave room for lines
  private later: ReturnType<typeof setTimeout> | undefined;
  private queued = false;
  private disposed = false;
  private drawing: Drawing | null = null;
  private head: SceneHead | null = null;
  private shapes: Shape[] = [];
  private bounds: [low: Vector3, high: Vector3] | null = null;

  private readonly svg = svgRoot();
  private readonly legend = make("div", { class: "legend", hidden: true });
  private readonly readout = make("div", { class: "readout", hidden: true });
  private readonly progress = make(
    "div",
    { class: "progress", role: "status", hidden: true },
    "building …",
  );
  private readonly note = make("div", { class: "stage-note", hidden: true });
  private readonly draftNote = make(
    "div",
    { class: "draft-note", hidden: true },
    "draft while dragging; numbers follow",
  );
  private readonly help = make(
    "dl",
    { class: "keys", hidden: true },
    ...KEYS.flatMap(([key, text]) => [make("dt", {}, key), make("dd", {}, text)]),
  );
  private readonly stage = make(
    "div",
    {
      class: "stage",
      tabindex: "0",
      role: "img",
      "aria-label": "three-dimensional picture of the part; press ? for its keys",
    },
    this.svg,
    this.legend,
    this.readout,
    this.progress,
    this.note,
    this.draftNote,
    this.help,
  );
  // What the panel says of the picture, right below it.
  readonly over = make("div", { class: "over" });
  private readonly viewButtons = VIEWS.map(({ label }, n) =>
    button(label, `view ${n + 1} (key ${n + 1})`, () => this.look(n), { "aria-pressed": "false" }),
  );
  private readonly toggleButtons = TOGGLES.map(([name, label, key, title]) =>
    button(label, `${title} (key ${key})`, () => this.toggle(name), { "data-toggle": name }),
  );
  private readonly measureButton = button(
    "Measure",
    "click two spots of the part (key M)",
    () => this.setMeasuring(!this.measuring),
    { "aria-pressed": "false" },
  );
  private readonly compareButton = button(
    "Compare",
    "hold this shape: what you change is drawn over its edges (key C)",
    () => this.compare(),
    { "aria-pressed": "false" },
  );
  private readonly before = new Before();
  private readonly above = new Before(OVER); // takes the place of the part while it is there
  private readonly axis: HTMLSelectElement = make(
    "select",
    {
      "aria-label": "cut across",
      title: "cut the part open (keys X, Y, Z)",
      onchange: () => this.setCut(AXES.find((axis) => axis === this.axis.value) ?? null),
    },
    make("option", { value: "" }, "no cut"),
    ...AXES.map((axis) => make("option", { value: axis }, `cut across ${axis}`)),
  );
  private readonly slide: HTMLInputElement = make("input", {
    type: "range",
    min: "0",
    max: "1000",
    value: "500",
    "aria-label": "place of the cut",
    oninput: () => this.moveCut(Number(this.slide.value) / 1000),
  });
  private readonly cutText = make("output", { class: "cut-at" });
  private readonly otherSide = button("⇄", "show the other side of the cut", () => {
    this.cut.back = !this.cut.back;
    this.place();
  });

  constructor(
    private readonly host: HTMLElement,
    private readonly send: (message: PictureMessage) => boolean,
    private readonly tellPicked: (name: string) => void = () => undefined,
  ) {
    this.layOut();
    try {
      this.drawing = this.startDrawing();
    } catch {
      this.fallBack("This browser draws no WebGL: a still picture is shown.");
    }
  }

  // --- the frame round the picture ---------------------------------------------------------------

  private layOut(): void {
    const views = { class: "set", role: "group", "aria-label": "views" };
    const shown = { class: "set", role: "group", "aria-label": "shown" };
    this.host.append(
      make(
        "div",
        { class: "bar" },
        make("span", views, ...this.viewButtons),
        make("span", shown, ...this.toggleButtons),
      ),
      make("div", { class: "stage-frame" }, this.stage, this.over),
      make(
        "div",
        { class: "bar foot" },
        make("span", { class: "set cut" }, this.axis, this.slide, this.cutText, this.otherSide),
        make(
          "span",
          { class: "set" },
          this.compareButton,
          this.measureButton,
          button("Save picture", "PNG of this view (key P)", () => this.savePicture()),
          button("?", "keys", () => this.toggleHelp()),
        ),
      ),
    );
    this.stage.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (!this.press(event.key.toLowerCase())) return;
      event.preventDefault();
      event.stopPropagation();
    });
    this.stage.addEventListener("pointerdown", () => this.stage.focus({ preventScroll: true }));
    this.showState();
  }

  // Do what a key says; tell whether it is one of ours.
  private press(key: string): boolean {
    const turn = TURNS[key];
    const toggle = TOGGLES.find(([, , letter]) => letter.toLowerCase() === key);
    const axis = AXES.find((each) => each === key);
    if (/^[1-7]$/.test(key)) this.look(Number(key) - 1);
    else if (turn) this.turn(...turn);
    else if (key === "+" || key === "=") this.zoom(1.25);
    else if (key === "-" || key === "−") this.zoom(0.8);
    else if (key === "0") this.fit();
    else if (axis) this.setCut(this.cut.axis === axis ? null : axis);
    else if (key === "[" || key === "]")
      this.moveCut(this.cut.share + (key === "]" ? 0.02 : -0.02));
    else if (toggle) this.toggle(toggle[0]);
    else if (key === "c") this.compare();
    else if (key === "m") this.setMeasuring(!this.measuring);
    else if (key === "escape" && (this.measuring || this.picked)) {
      if (this.measuring) this.setMeasuring(false);
      else this.tellPicked("");
    } else if (key === "p") this.savePicture();
    else if (key === "?") this.toggleHelp();
    else return false;
    return true;
  }

  private toggleHelp(): void {
    this.help.hidden = !this.help.hidden;
  }

  private showState(): void {
    this.viewButtons.forEach((each, n) => {
      each.setAttribute("aria-pressed", String(n === this.view));
    });
    TOGGLES.forEach(([name], n) => {
      this.toggleButtons[n].setAttribute("aria-pressed", String(this.on[name]));
    });
    this.measureButton.setAttribute("aria-pressed", String(this.measuring));
    this.compareButton.setAttribute("aria-pressed", String(Boolean(this.before.what)));
    this.axis.value = this.cut.axis ?? "";
    for (const part of [this.slide, this.cutText, this.otherSide]) part.hidden = !this.cut.axis;
    this.slide.value = String(Math.round(this.cut.share * 1000));
  }

  // The picture is of values typed before.
  setOld(old: boolean): void {
    this.stage.classList.toggle("old", old);
  }

  setWaiting(waiting: boolean): void {
    this.stage.classList.toggle("stale", waiting);
    this.progress.hidden = !waiting;
  }

  // --- without WebGL -----------------------------------------------------------------------------

  private fallBack(text: string): void {
    if (this.drawing) {
      this.drawing.renderer.domElement.remove();
      for (const watch of this.drawing.watches) watch.disconnect();
      this.drawing = null;
    }
    this.stage.prepend(this.still.image);
    this.note.textContent = text;
    this.note.hidden = false;
    for (const part of [...this.toggleButtons, this.axis, this.measureButton, this.compareButton]) {
      part.disabled = true;
      part.title = "needs WebGL";
    }
    this.askStill();
  }

  private askStill(): void {
    this.send({ kind: "still", view: VIEWS[Math.max(this.view, 0)].name });
  }

  setStill(png: DataView): void {
    if (this.drawing) return;
    this.still.show(png);
    this.count();
  }

  private count(): void {
    this.drawn += 1;
    this.host.dataset.drawn = String(this.drawn);
  }

  // --- drawing -----------------------------------------------------------------------------------

  private startDrawing(): Drawing {
    const renderer = new WebGLRenderer({ antialias: true, alpha: true, stencil: true });
    renderer.localClippingEnabled = true;
    renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    const canvas = renderer.domElement;
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      if (!this.disposed && this.drawing)
        this.fallBack("The browser took the 3D view back: run the cell again for a live one.");
    });
    this.stage.prepend(canvas);
    const eye = new Eye(canvas, (byHand) => {
      if (byHand) this.view = -1;
      this.draw();
    });
    const scene = new Scene();
    scene.add(new AmbientLight(0xffffff, 1.35), eye.camera);
    for (const [x, y, z, strength] of [
      [-0.6, 0.8, 1, 1.75],
      [1, -0.1, 0.6, 0.5],
    ]) {
      const lamp = new DirectionalLight(0xffffff, strength);
      lamp.position.set(x, y, z);
      eye.camera.add(lamp, lamp.target);
    }
    const [world, bed] = [new Group(), new Group()];
    scene.add(world, bed, this.before.group, this.above.group);
    const resize = new ResizeObserver(() => this.fitFrame());
    resize.observe(this.stage);
    canvas.addEventListener("pointermove", (event) => this.read(event));
    canvas.addEventListener("pointerdown", (event) => {
      this.pressedAt = [event.clientX, event.clientY];
    });
    canvas.addEventListener("pointerup", (event) => this.press3d(event));
    canvas.addEventListener("pointerleave", () => {
      this.readout.hidden = true;
    });
    const theme = new MutationObserver(() => this.recolour());
    const themed = this.host.closest("[data-theme]");
    if (themed) theme.observe(themed, { attributes: true, attributeFilter: ["data-theme"] });
    const watches = [resize, theme];
    return { renderer, scene, eye, world, bed, hatch: hatchTexture(), watches };
  }

  private get dark(): boolean {
    return this.host.closest<HTMLElement>("[data-theme]")?.dataset.theme === "dark";
  }

  private get size(): Size {
    return { w: this.stage.clientWidth, h: this.stage.clientHeight };
  }

  // An exact shape. In a drag the picture is ahead of it, and after one until the last has come.
  setScene(head: SceneHead, buffers: DataView[], ticket: number, latest = true): void {
    if (this.draft && (this.dragging || !latest)) {
      this.held = () => this.setScene(head, buffers, ticket);
      return;
    }
    this.setDraft(null);
    this.head = head;
    this.ticket = ticket;
    this.facing.forget();
    this.driven = null;
    this.spots = [];
    const { drawing } = this;
    if (!drawing) {
      this.host.dataset.ticket = String(ticket);
      this.askStill();
      return;
    }
    const first = !this.shapes.length;
    const { plane } = this.cut;
    this.shapes = shapesOf(head.bodies, buffers, this.shapes, plane, drawing.hatch);
    for (const { group } of this.shapes) drawing.world.add(group);
    drawBed(drawing.bed, head.bed);
    this.place();
    if (first) {
      this.fitFrame();
      this.look(0);
    } else if (this.outgrown()) this.fit();
    this.showLegend();
    this.draw();
    requestAnimationFrame(() => {
      this.host.dataset.ticket = String(ticket);
      this.count();
    });
  }

  // Dimension lines that were asked for, or all there are.
  setFacing(sets: FacingSizes[], ticket = this.ticket): void {
    if (ticket !== this.ticket) return;
    this.facing.take(sets);
    this.draw();
  }

  // Draw a shape that was made ahead; false if it cannot be drawn as it is looked at now.
  drawAhead(piece: Piece, value: number): boolean {
    const { drawing, on } = this;
    if (!drawing || on.bed || on.gaps || on.overhangs || !fits(piece, this.shapes)) return false;
    const fresh = drawPiece(this.shapes, piece, this.draft, value);
    this.dragging = true;
    this.setDraft(piece);
    this.spots = [];
    if (fresh) this.paintAll();
    drawing.renderer.render(drawing.scene, drawing.eye.camera);
    this.showWords(drawing.eye);
    this.host.dataset.draft = String(Number(this.host.dataset.draft ?? 0) + 1);
    return true;
  }

  // The slider was let go: the exact shape takes the draft's place when it comes.
  endDrag(): void {
    this.dragging = false;
  }

  // No exact shape will come for what was drawn ahead: back to the last one.
  dropDraft(): void {
    if (!this.draft || this.dragging) return;
    const { held } = this;
    this.setDraft(null);
    if (held) held();
    else {
      for (const shape of this.shapes) fill(shape, shape.arrays);
      this.place();
    }
  }

  get ahead(): boolean {
    return this.draft !== null;
  }

  private setDraft(piece: Piece | null): void {
    this.draft = piece;
    if (!piece) this.held = null;
    this.draftNote.hidden = !piece;
  }

  // Gaps come after the shape, so that the shape need not wait for them.
  setGaps(gaps: GapsOf[], buffers: DataView[]): void {
    if (!this.drawing) return;
    takeGaps(this.shapes, gaps, buffers);
    if (this.on.gaps) {
      showNear(this.shapes, true);
      this.recolour();
    }
    this.figures = gapFigures(this.shapes, this.cut.axis, this.cut.at);
    this.draw();
    this.showLegend();
    this.host.dataset.gaps = String(Number(this.host.dataset.gaps ?? 0) + 1);
  }

  // Put everything where the switches say: assembled or on the bed, cut or whole.
  private place(): void {
    const { drawing } = this;
    if (!drawing || !this.head) return;
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (const shape of this.shapes) {
      const { group, ghost, mesh } = shape;
      group.visible = ghost ? this.on.object && !this.on.bed : !this.above.what || this.on.bed;
      group.matrix.copy(placed(shape, this.on.bed));
      group.matrixWorldNeedsUpdate = true;
      if (!group.visible && ghost) continue;
      mesh.geometry.computeBoundingBox();
      const box = mesh.geometry.boundingBox!.clone().applyMatrix4(group.matrix);
      low.min(box.min);
      high.max(box.max);
    }
    this.bounds = [low, high];
    drawing.bed.visible = this.on.bed;
    this.before.group.visible = !this.on.bed;
    this.above.group.visible = !this.on.bed;
    for (const lines of [this.before, this.above])
      lines.cutBy(this.cut.axis ? [this.cut.plane] : []);
    const where = this.cut.apply(this.shapes, drawing.scene, low, high, drawing.hatch);
    if (where) this.cutText.textContent = where;
    this.figures = this.on.bed ? [] : gapFigures(this.shapes, this.cut.axis, this.cut.at);
    this.recolour();
    this.showState();
    this.draw();
  }

  private recolour(): void {
    this.paintAll();
    this.draw();
  }

  private paintAll(): void {
    // The faces of a size are looked for in the exact shape alone.
    const one =
      this.picked && !this.draft
        ? this.faces().find(([size]) => size.name === this.picked)
        : undefined;
    paint(this.shapes, this.on, this.dark, one ? { body: one[0].body, faces: one[1] } : null);
  }

  private fitFrame(): void {
    const { drawing, size } = this;
    if (!drawing || !size.w || !size.h) return;
    drawing.renderer.setSize(size.w, size.h);
    this.svg.setAttribute("viewBox", `0 0 ${size.w} ${size.h}`);
    this.svg.setAttribute("width", String(size.w));
    this.svg.setAttribute("height", String(size.h));
    const shape = size.w / size.h;
    // A part that filled the picture fills it in its new shape too.
    if (this.bounds && drawing.eye.camera.zoom === 1 && Math.abs(shape - this.shape) > 0.05)
      this.fit();
    else drawing.eye.fitTo(size);
    this.shape = shape;
    this.draw();
  }

  // --- what buttons and keys do ------------------------------------------------------------------

  private look(n: number): void {
    this.view = n;
    if (!this.drawing) {
      this.showState();
      this.askStill();
      return;
    }
    if (!this.bounds) return;
    this.fit(direction(n));
    this.showState();
  }

  // Whether the part has grown out of the picture, or shrunk in it, since it was fitted to it; not
  // once somebody has moved nearer or farther.
  private outgrown(): boolean {
    if (!this.bounds || !this.drawing || this.drawing.eye.camera.zoom !== 1) return false;
    const [low, high] = this.bounds;
    const { size } = this;
    if (low.distanceTo(high) < this.fitted / 1.3) return true;
    for (const x of [low.x, high.x])
      for (const y of [low.y, high.y])
        for (const z of [low.z, high.z]) {
          const [right, down] = this.drawing.eye.screen([x, y, z], size);
          if (right < 4 || down < 4 || right > size.w - 4 || down > size.h - 4) return true;
        }
    return false;
  }

  // Show the whole part, from where it is seen now or from elsewhere.
  private fit(from?: Vector3): void {
    if (!this.drawing || !this.bounds || !this.head) return;
    this.fitted = this.bounds[0].distanceTo(this.bounds[1]);
    const { eye } = this.drawing;
    const [low, high] = this.bounds;
    const middle = new Vector3().addVectors(low, high).multiplyScalar(0.5);
    eye.aim(middle, from ?? eye.from());
    const corners: Vector3[] = [];
    for (const { x } of [low, high])
      for (const { y } of [low, high])
        for (const { z } of [low, high]) corners.push(new Vector3(x, y, z));
    const [wide, deep] = this.head.bed;
    if (this.on.bed)
      for (const x of [0, wide]) for (const y of [0, deep]) corners.push(new Vector3(x, y, 0));
    const labelled = this.on.sizes && !this.on.bed && this.head.dimensions.length;
    eye.frame(corners, labelled ? 1.55 : 1.2, this.size);
    this.settling = labelled && eye.along() > 0 ? 3 : 0;
    this.draw();
  }

  private zoom(factor: number): void {
    this.drawing?.eye.zoom(factor);
    this.draw();
  }

  private turn(aboutUp: number, aboutSide: number): void {
    if (!this.drawing) return;
    this.drawing.eye.turn(aboutUp, aboutSide);
    this.view = -1;
    this.showState();
    this.draw();
  }

  private toggle(name: keyof Shown): void {
    if (!this.drawing) return;
    this.on[name] = !this.on[name];
    if (name === "gaps") {
      if (this.on.gaps) this.on.object = true;
      showNear(this.shapes, this.on.gaps);
    }
    this.place();
    if (name === "bed") this.fit(direction(this.view));
    this.showLegend();
    this.showState();
  }

  private setCut(axis: Axis | null): void {
    if (!this.drawing) return;
    this.cut.axis = axis;
    this.place();
  }

  private moveCut(share: number): void {
    this.cut.move(share);
    this.place();
  }

  // Hold the shape as it is now, or let it go.
  private compare(): void {
    if (!this.drawing) return;
    if (this.before.what) {
      this.before.clear();
      this.above.clear();
    } else this.before.hold(this.shapes);
    this.place();
    this.showLegend();
  }

  // Draw over the edges of another shape.
  setBefore(edges: Numbers[], what: string, count = edges.length, over = ""): void {
    if (!this.drawing) return;
    this.before.take(edges.slice(0, count), what);
    this.above.take(edges.slice(count), over);
    this.place();
    this.showLegend();
  }

  // Show places on the part, as a finding gives them.
  point(spots: number[][], text: string): void {
    this.pins = spots.map((at) => ({ at, text }));
    if (this.on.bed && spots.length) this.toggle("bed");
    this.draw();
  }

  private draw(): void {
    if (!this.drawing || this.queued || this.disposed) return;
    this.queued = true;
    requestAnimationFrame(() => {
      this.queued = false;
      const { drawing } = this;
      if (this.disposed || !drawing) return;
      drawing.renderer.render(drawing.scene, drawing.eye.camera);
      this.showState();
      this.showWords(drawing.eye);
      this.host.dataset.frames = String(Number(this.host.dataset.frames ?? 0) + 1);
    });
  }

  // --- words over the picture --------------------------------------------------------------------

  private showWords(eye: Eye): void {
    if (this.svg.hasChildNodes()) this.svg.replaceChildren();
    const { head, size, dark } = this;
    if (!head) return;
    const screen = (point: readonly number[]) => eye.screen(point, size);
    if (this.on.bed) drawBedName(this.svg, head, screen([head.bed[0] / 2, -16, 0]), dark);
    else if (this.on.sizes && !this.draft) this.showSizes(eye, head);
    if (!this.on.bed) this.showCut(screen);
    if (this.draft) return; // places of findings and gaps are of the exact shape
    const spots = this.spots.map((spot) => screen(spot.at));
    const text = this.spots.length === 2 ? between(this.spots[0], this.spots[1]) : "to … ?";
    if (spots.length) drawMeasure(this.svg, spots, text, dark);
    drawPins(
      this.svg,
      this.pins.map((pin) => [pin, screen(pin.at)]),
      dark,
    );
  }

  // Along an axis the sizes that face the view get dimension lines; else all are named beside it.
  private showSizes(eye: Eye, head: SceneHead): void {
    const { size, dark, picked } = this;
    const screen = (point: readonly number[]) => eye.screen(point, size);
    const view = eye.along();
    const perMm = eye.perMm(size);
    const found = view > 0 ? this.facing.find(VIEWS[view].name, perMm) : null;
    clearTimeout(this.later);
    if (found === "wait") {
      this.later = setTimeout(() => this.draw(), 420);
      return;
    }
    const pick = (name: string) => this.tellPicked(name === picked ? "" : name);
    const named = (dimensions: Dimension[]) =>
      drawSizes(this.svg, placeLabels(dimensions, screen, size), size, dark, picked, pick);
    if (!found) {
      named(head.dimensions);
      return;
    }
    if (this.settling) {
      // Other lines come at another size, until both agree.
      this.settling -= 1;
      if (this.settle(eye, found)) return;
      if (!exact(found, perMm / PX_PER_MM)) this.settling += 1;
    }
    const origin = screen([0, 0, 0]);
    drawFacing(this.svg, found, origin, perMm, inkOf(dark), paperOf(dark), picked, pick);
    const shown = new Set(found.sizes.map(({ name }) => name));
    named(head.dimensions.filter(({ name }) => name === picked && !shown.has(name)));
    const more = found.turned + found.left.length;
    if (more)
      drawFoot(this.svg, `${more} more sizes: in other views, and in the table`, size, dark);
  }

  // Let part and lines fill the picture together; true if that moves them.
  private settle(eye: Eye, found: FacingSizes): boolean {
    const { size, bounds } = this;
    if (!bounds || !size.w || !size.h) return false;
    const perMm = eye.perMm(size);
    const corners = bounds.flatMap(({ x }) =>
      bounds.flatMap(({ y }) => bounds.map(({ z }) => eye.screen([x, y, z], size))),
    );
    const [xs, ys] = [corners.map(([x]) => x), corners.map(([, y]) => y)];
    const part = [Math.min(...xs), Math.min(...ys), Math.max(...xs), Math.max(...ys)];
    const lines = reach(found, eye.screen([0, 0, 0], size), perMm);
    const reaches = part.map((at, n) => Math.max(0, n < 2 ? at - lines[n] : lines[n] - at));
    const [wide, high] = [part[2] - part[0], part[3] - part[1]];
    // Lines that can be asked for come with letters of one size; others grow with the part.
    const grown = (found.scale * PX_PER_MM) / perMm;
    const fixed = reaches.map((far) => (this.facing.heard ? grown * far : 0));
    const growing = reaches.map((far) => (this.facing.heard ? 0 : far));
    const larger = Math.min(
      (size.w - 20 - fixed[0] - fixed[2]) / (wide + growing[0] + growing[2]),
      (size.h - 48 - fixed[1] - fixed[3]) / (high + growing[1] + growing[3]),
    );
    const out = reaches.map((_, n) => fixed[n] + larger * growing[n]);
    const room = [size.w - out[0] - out[2] - 20, size.h - out[1] - out[3] - 48];
    if (!(larger > 0.2) || !Number.isFinite(larger)) return false;
    const middle = [(part[0] + part[2]) / 2, (part[1] + part[3]) / 2];
    // Where the part's middle is to be, less where it would be.
    const right = 10 + out[0] + room[0] / 2 - size.w / 2 - (middle[0] - size.w / 2) * larger;
    const down = 18 + out[1] + room[1] / 2 - size.h / 2 - (middle[1] - size.h / 2) * larger;
    if (Math.abs(larger - 1) < 0.02 && Math.hypot(right, down) < 3) return false;
    eye.settle(perMm * larger, [right, down], size);
    this.draw();
    return true;
  }

  private showLegend(): void {
    const rows = legendOf(this.on, this.shapes, this.head?.overhang_deg ?? 45);
    const laid = [
      [BEFORE, this.before.what],
      [OVER, this.above.what],
    ].filter(([, what]) => what && !this.on.bed);
    for (const [colour, what] of laid)
      rows.push(make("ul", {}, make("li", {}, make("i", { style: `background:${colour}` }), what)));
    this.legend.replaceChildren(...rows);
    this.legend.hidden = !rows.length;
  }

  // Gaps where the cut goes through, and the handle by which it is dragged.
  private showCut(screen: (point: readonly number[]) => [number, number]): void {
    const { axis } = this.cut;
    if (!axis || !this.bounds) return;
    drawFigures(
      this.svg,
      (this.draft ? [] : this.figures).map(({ at, text }) => [text, screen(at)]),
      this.dark,
    );
    const [low, high] = this.bounds;
    const end = (at: number) => {
      const place = high.clone();
      place[axis] = at;
      return screen(place.toArray());
    };
    const [from, to] = [end(low[axis]), end(high[axis])];
    const way = [to[0] - from[0], to[1] - from[1]];
    const long = way[0] ** 2 + way[1] ** 2;
    drawHandle(this.svg, end(this.cut.at), this.dark, (event) => {
      event.preventDefault();
      const { share } = this.cut;
      const moved = (move: PointerEvent) => {
        const [right, down] = [move.clientX - event.clientX, move.clientY - event.clientY];
        if (long > 1) this.moveCut(share + (right * way[0] + down * way[1]) / long);
      };
      const ended = () => {
        removeEventListener("pointermove", moved);
        removeEventListener("pointerup", ended);
        removeEventListener("pointercancel", ended);
      };
      addEventListener("pointermove", moved);
      addEventListener("pointerup", ended);
      addEventListener("pointercancel", ended);
    });
  }

  // --- sizes and faces ---------------------------------------------------------------------------

  // What the sizes are to do, for the words at a face.
  setRows(rows: SizeRow[]): void {
    this.rows = rows;
  }

  // Make a size stand out: its line, its name and the faces that it drives.
  pick(name: string): void {
    if (name === this.picked) return;
    this.picked = name;
    if (name && !this.on.sizes) this.on.sizes = true;
    this.recolour();
  }

  private faces(): [Dimension, Set<number>][] {
    if (this.driven) return this.driven;
    const found: [Dimension, Set<number>][] = [];
    for (const { ghost, solid, mesh } of this.shapes) {
      const own = (this.head?.dimensions ?? []).filter(({ body }) => body === solid.name);
      if (ghost || !own.length) continue;
      const triangles = trianglesOf(mesh.geometry.getAttribute("position").array);
      found.push(...own.map((size): [Dimension, Set<number>] => [size, facesOf(size, triangles)]));
    }
    this.driven = found;
    return found;
  }

  // The spot of a body under the pointer that is not cut away.
  private under(event: PointerEvent): { spot: Spot; triangle: number; body: string } | null {
    if (!this.drawing || this.on.bed) return null;
    const box = this.stage.getBoundingClientRect();
    const [right, down] = [event.clientX - box.left, event.clientY - box.top];
    const ray = new Raycaster();
    const at = new Vector2((right / box.width) * 2 - 1, 1 - (down / box.height) * 2);
    ray.setFromCamera(at, this.drawing.eye.camera);
    const bodies = this.shapes.filter(({ ghost }) => !ghost);
    const hits = ray.intersectObjects(
      bodies.map(({ mesh }) => mesh),
      false,
    );
    const { axis, plane } = this.cut;
    const hit = hits.find(({ point }) => !axis || plane.distanceToPoint(point) >= 0);
    const shape = bodies.find(({ mesh }) => mesh === hit?.object);
    if (!hit?.face || !shape || hit.faceIndex === undefined || hit.faceIndex === null) return null;
    const normal = hit.face.normal.toArray() as [number, number, number];
    // A corner that is near is meant.
    const places = shape.mesh.geometry.getAttribute("position");
    const corners = [hit.face.a, hit.face.b, hit.face.c].map((n) =>
      new Vector3().fromBufferAttribute(places, n),
    );
    const away = (corner: Vector3) => {
      const [x, y] = this.drawing!.eye.screen(corner.toArray(), this.size);
      return Math.hypot(x - right, y - down);
    };
    const nearest = corners.sort((a, b) => away(a) - away(b))[0];
    const point = away(nearest) < 9 ? nearest : hit.point;
    const spot = { at: point.toArray() as [number, number, number], normal };
    return { spot, triangle: hit.faceIndex, body: shape.solid.name };
  }

  private sizeUnder(event: PointerEvent): Dimension | null {
    const found = this.under(event);
    if (!found) return null;
    const own = this.faces().filter(([size]) => size.body === found.body);
    return drivenBy(own, found.triangle, found.spot.at);
  }

  // A press without a drag picks the size of a face, or a spot to measure from.
  private press3d(event: PointerEvent): void {
    const from = this.pressedAt;
    if (!from || Math.hypot(event.clientX - from[0], event.clientY - from[1]) > 4) return;
    const found = this.under(event);
    if (found) {
      const [x, y, z] = found.spot.at;
      const [right, back, up] = found.spot.normal;
      this.send({ kind: "pick", body: found.body, at: [x, y, z], normal: [right, back, up] });
    }
    if (this.measuring) {
      if (!found) return;
      this.spots = this.spots.length === 1 ? [...this.spots, found.spot] : [found.spot];
      this.draw();
      return;
    }
    const size = this.sizeUnder(event);
    this.tellPicked(size && size.name !== this.picked ? size.name : "");
  }

  private setMeasuring(now: boolean): void {
    if (!this.drawing) return;
    this.measuring = now;
    this.spots = [];
    if (now && this.on.bed) this.toggle("bed");
    this.stage.classList.toggle("measuring", now);
    this.showState();
    this.draw();
  }

  // What the size of a face is, and how the face is held against the object.
  private wordsAt(event: PointerEvent): string {
    const size = this.sizeUnder(event);
    if (!size) return "";
    const row = this.rows.find(({ name }) => name === size.name);
    const held = row ? `: ${row.wanted.replace(/gap ([+−-]?[\d.]+)/, "gap $1 mm")}` : "";
    return `${size.name} ${size.text} as drawn${held}`;
  }

  // The number under the pointer, so that colour is never the only word.
  private read(event: PointerEvent): void {
    this.readout.hidden = true;
    if (!this.drawing || this.on.bed || event.buttons) return;
    const box = this.stage.getBoundingClientRect();
    const [right, down] = [event.clientX - box.left, event.clientY - box.top];
    const [x, y] = [(right / box.width) * 2 - 1, 1 - (down / box.height) * 2];
    const text = this.on.gaps
      ? gapUnder(this.shapes, this.drawing.eye.camera, x, y)
      : this.wordsAt(event);
    if (!text) return;
    this.readout.textContent = text;
    this.readout.style.left = `${right + 14}px`;
    this.readout.style.top = `${down + 10}px`;
    this.readout.hidden = false;
  }

  private async savePicture(): Promise<void> {
    const title = this.head?.title ?? "";
    if (!this.drawing) {
      await savePicture(title, this.stage, this.still.image, null, 1);
      return;
    }
    const { renderer, scene, eye } = this.drawing;
    renderer.render(scene, eye.camera);
    await savePicture(title, this.stage, renderer.domElement, this.svg, renderer.getPixelRatio());
  }

  dispose(): void {
    this.disposed = true;
    clearTimeout(this.later);
    for (const shape of this.shapes) dispose(shape);
    this.before.dispose();
    this.above.dispose();
    this.still.dispose();
    if (!this.drawing) return;
    const { renderer, eye, hatch, watches } = this.drawing;
    for (const watch of watches) watch.disconnect();
    eye.dispose();
    hatch.dispose();
    renderer.dispose();
    renderer.forceContextLoss();
  }
}
