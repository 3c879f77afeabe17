// The part as a shaded solid with its edges, the measured object in it, cuts, gaps and sizes.
import {
  AmbientLight, BufferAttribute, BufferGeometry, CanvasTexture, Color, DirectionalLight, DoubleSide,
  BackSide, FrontSide, Group, LineBasicMaterial, LineSegments, Matrix4, Mesh, MeshBasicMaterial,
  MeshLambertMaterial, OrthographicCamera, Plane, PlaneGeometry, Raycaster, RepeatWrapping, Scene,
  Vector2, Vector3, WebGLRenderer, AlwaysStencilFunc, DecrementWrapStencilOp, IncrementWrapStencilOp,
  NotEqualStencilFunc, ReplaceStencilOp,
} from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { make } from "./dom.js";

// Direction from the part to the eye.
const VIEWS = [
  ["Corner", [0.62, -1, 0.72]], ["Front", [0, -1, 0]], ["Back", [0, 1, 0]], ["Left", [-1, 0, 0]],
  ["Right", [1, 0, 0]], ["Above", [0, -1e-4, 1]], ["Below", [0, -1e-4, -1]],
];
const STILLS = ["iso", "front", "back", "left", "right", "top", "bottom"];
const BODIES = [0x6fa59a, 0xc9a464, 0x938bb8, 0xb77f6c]; // lichen, ochre, heather, clay
const OBJECT = 0x4a7fb5;
// Upper bound of each band of gap, mm; its colour; what it says.
export const GAP_BANDS = [
  [0, 0xa11f3c, "overlaps"], [0.1, 0xe0703a, "0 to 0.1 mm"], [0.2, 0xe8c04a, "0.1 to 0.2 mm"],
  [0.4, 0x62b07f, "0.2 to 0.4 mm"], [0.8, 0x3e8fb4, "0.4 to 0.8 mm"], [2, 0x6a5f9e, "0.8 to 2 mm"],
];
const NOT_NEAR = 0x9aa5a3;
const MARK_COLOURS = { 1: 0xd9513c, 2: 0x5b7fa6 };
const KEYS = [
  ["1 … 7", "views"], ["arrows", "turn"], ["+  −  0", "nearer, farther, whole part"],
  ["X Y Z", "cut across"], ["[  ]", "move the cut"], ["O", "object"], ["G", "gaps"], ["D", "sizes"],
  ["H", "overhangs"], ["B", "on the bed"], ["P", "picture"], ["?", "these keys"],
];
const SVG = "http://www.w3.org/2000/svg";

export class Preview {
  constructor(host, send) {
    this.host = host;
    this.send = send;
    this.on = { object: true, gaps: false, sizes: true, overhangs: false, bed: false };
    this.cut = { axis: null, share: 0.5, back: false };
    this.view = 0;
    this.pins = [];
    this.drawn = 0;
    this.#layOut();
    try {
      this.#startDrawing();
    } catch {
      this.#fallBack("This browser draws no WebGL: a still picture is shown.");
    }
  }

  // --- the frame round the picture ---------------------------------------------------------------

  #layOut() {
    const button = (label, title, action, extra = {}) =>
      make("button", { type: "button", title, onclick: action, ...extra }, label);
    this.viewButtons = VIEWS.map(([label], n) =>
      button(label, `view ${n + 1} (key ${n + 1})`, () => this.look(n), { "aria-pressed": "false" }));
    const toggles = [
      ["object", "Object", "O", "the measured object in its place"],
      ["gaps", "Gaps", "G", "gap between object and part, by colour and number"],
      ["sizes", "Sizes", "D", "key sizes as drawn"],
      ["overhangs", "Overhangs", "H", "faces that hang over as printed"],
      ["bed", "On the bed", "B", "as it lies on the bed"],
    ];
    this.toggleButtons = Object.fromEntries(toggles.map(([name, label, key, title]) =>
      [name, button(label, `${title} (key ${key})`, () => this.toggle(name), { "data-toggle": name })]));
    this.axis = make("select", { "aria-label": "cut across", title: "cut the part open (keys X, Y, Z)",
      onchange: () => this.setCut(this.axis.value || null) },
      make("option", { value: "" }, "no cut"),
      ...["x", "y", "z"].map((a) => make("option", { value: a }, `cut across ${a}`)));
    this.slide = make("input", { type: "range", min: "0", max: "1000", value: "500",
      "aria-label": "place of the cut", oninput: () => this.moveCut(this.slide.value / 1000) });
    this.cutText = make("output", { class: "cut-at" });
    this.otherSide = button("⇄", "show the other side of the cut", () => {
      this.cut.back = !this.cut.back; this.#place(); });
    this.stage = make("div", { class: "stage", tabindex: "0", role: "img",
      "aria-label": "three-dimensional picture of the part; press ? for its keys" });
    this.svg = document.createElementNS(SVG, "svg");
    this.legend = make("div", { class: "legend", hidden: true });
    this.readout = make("div", { class: "readout", hidden: true });
    this.progress = make("div", { class: "progress", role: "status", hidden: true }, "building …");
    this.note = make("div", { class: "stage-note", hidden: true });
    this.help = make("dl", { class: "keys", hidden: true },
      ...KEYS.flatMap(([key, text]) => [make("dt", {}, key), make("dd", {}, text)]));
    this.stage.append(this.svg, this.legend, this.readout, this.progress, this.note, this.help);
    this.host.append(
      make("div", { class: "bar" },
        make("span", { class: "set", role: "group", "aria-label": "views" }, ...this.viewButtons),
        make("span", { class: "set", role: "group", "aria-label": "shown" },
          ...Object.values(this.toggleButtons))),
      this.stage,
      make("div", { class: "bar foot" },
        make("span", { class: "set cut" }, this.axis, this.slide, this.cutText, this.otherSide),
        make("span", { class: "set" },
          button("Save picture", "PNG of this view (key P)", () => this.savePicture()),
          button("?", "keys", () => { this.help.hidden = !this.help.hidden; }))));
    this.stage.addEventListener("keydown", (event) => this.#key(event));
    this.stage.addEventListener("pointerdown", () => this.stage.focus({ preventScroll: true }));
    this.#showState();
  }

  #key(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const key = event.key.toLowerCase();
    const turn = { arrowleft: [-15, 0], arrowright: [15, 0], arrowup: [0, 15], arrowdown: [0, -15] }[key];
    const toggle = { o: "object", g: "gaps", d: "sizes", h: "overhangs", b: "bed" }[key];
    if (/^[1-7]$/.test(key)) this.look(key - 1);
    else if (turn) this.turn(...turn);
    else if (key === "+" || key === "=") this.zoom(1.25);
    else if (key === "-" || key === "−") this.zoom(0.8);
    else if (key === "0") this.fit();
    else if ("xyz".includes(key)) this.setCut(this.cut.axis === key ? null : key);
    else if (key === "[" || key === "]") this.moveCut(this.cut.share + (key === "]" ? 0.02 : -0.02));
    else if (toggle) this.toggle(toggle);
    else if (key === "p") this.savePicture();
    else if (key === "?") this.help.hidden = !this.help.hidden;
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  #showState() {
    this.viewButtons.forEach((b, n) => b.setAttribute("aria-pressed", String(n === this.view)));
    for (const [name, b] of Object.entries(this.toggleButtons)) b.setAttribute("aria-pressed", String(this.on[name]));
    this.axis.value = this.cut.axis ?? "";
    for (const part of [this.slide, this.cutText, this.otherSide]) part.hidden = !this.cut.axis;
    this.slide.value = String(Math.round(this.cut.share * 1000));
  }

  setWaiting(waiting) {
    this.stage.classList.toggle("stale", waiting);
    this.progress.hidden = !waiting;
  }

  #fallBack(text) {
    this.dead = true;
    this.renderer?.domElement.remove();
    this.image = make("img", { alt: "still picture of the part" });
    this.stage.prepend(this.image);
    this.note.textContent = text;
    this.note.hidden = false;
    for (const part of [...Object.values(this.toggleButtons), this.axis]) {
      part.disabled = true;
      part.title = "needs WebGL";
    }
    this.send({ kind: "still", view: STILLS[this.view] });
  }

  setStill(buffer) {
    if (!this.image) return;
    if (this.stillUrl) URL.revokeObjectURL(this.stillUrl);
    this.stillUrl = URL.createObjectURL(new Blob([buffer], { type: "image/png" }));
    this.image.src = this.stillUrl;
    this.#count();
  }

  #count() {
    this.drawn += 1;
    this.host.dataset.drawn = String(this.drawn);
  }

  // --- drawing -----------------------------------------------------------------------------------

  #startDrawing() {
    this.renderer = new WebGLRenderer({ antialias: true, alpha: true, stencil: true });
    this.renderer.localClippingEnabled = true;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    const canvas = this.renderer.domElement;
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      if (!this.disposed && !this.dead) this.#fallBack("The browser took the 3D view back: run the cell again for a live one.");
    });
    this.stage.prepend(canvas);
    this.scene = new Scene();
    this.camera = new OrthographicCamera(-1, 1, 1, -1, -5000, 5000);
    this.camera.up.set(0, 0, 1);
    this.scene.add(new AmbientLight(0xffffff, 1.35), this.camera);
    for (const [place, strength] of [[[-0.6, 0.8, 1], 1.75], [[1, -0.1, 0.6], 0.5]]) {
      const lamp = new DirectionalLight(0xffffff, strength);
      lamp.position.set(...place);
      this.camera.add(lamp, lamp.target);
    }
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener("change", () => { this.view = this.steady ? this.view : -1; this.draw(); });
    this.plane = new Plane(new Vector3(0, 0, -1), 0);
    this.world = new Group();
    this.scene.add(this.world);
    this.bed = new Group();
    this.scene.add(this.bed);
    this.hatch = hatchTexture();
    this.items = [];
    this.resize = new ResizeObserver(() => this.#fitFrame());
    this.resize.observe(this.stage);
    canvas.addEventListener("pointermove", (event) => this.#read(event));
    canvas.addEventListener("pointerleave", () => { this.readout.hidden = true; });
    this.theme = new MutationObserver(() => this.#recolour());
    const themed = this.host.closest("[data-theme]");
    if (themed) this.theme.observe(themed, { attributes: true, attributeFilter: ["data-theme"] });
  }

  get dark() { return this.host.closest("[data-theme]")?.dataset.theme === "dark"; }

  setScene(head, buffers, ticket) {
    this.head = head;
    if (this.dead) {
      this.host.dataset.ticket = String(ticket);
      this.send({ kind: "still", view: STILLS[Math.max(this.view, 0)] });
      return;
    }
    const first = !this.items.length;
    // A body that was there before keeps its materials: a browser takes far longer to make a shader
    // ready than to draw with it.
    const before = new Map(this.items.map((item) => [item.key, item]));
    let next = 0;
    let colour = 0;
    this.items = head.bodies.map((entry, order) => {
      const arrays = Object.fromEntries(entry.arrays.map((name) => [name, typed(name, buffers[next++])]));
      const own = entry.role === "body" ? BODIES[colour++ % BODIES.length] : OBJECT;
      const key = `${order} ${entry.role}`;
      const item = before.get(key) ?? this.#item(key, entry.role === "object", order);
      before.delete(key);
      fill(item, arrays);
      return Object.assign(item, { entry, arrays, colour: own, near: null, leastGap: null });
    });
    for (const item of before.values()) disposeItem(item);
    for (const item of this.items) this.world.add(item.group);
    this.#drawBed();
    this.#place();
    if (first) { this.#fitFrame(); this.look(0); }
    this.#legend();
    this.draw();
    requestAnimationFrame(() => { this.host.dataset.ticket = String(ticket); this.#count(); });
  }

  // Gaps come after the shape, so that the shape need not wait for them. They lie on a finer mesh of
  // the object, which takes the place of the plain one while gaps are shown.
  setGaps(gaps, buffers) {
    if (this.dead) return;
    let next = 0;
    for (const { name, least_gap, arrays } of gaps) {
      const near = Object.fromEntries(arrays.map((kind) => [kind, typed(kind, buffers[next++])]));
      near.triangles = Uint32Array.from({ length: near.corners.length / 3 }, (_, n) => n);
      const item = this.items.find((i) => i.entry.name === name);
      if (item) Object.assign(item, { near, leastGap: least_gap });
    }
    if (this.on.gaps) {
      this.#showNear();
      this.#recolour();
    }
    this.#legend();
    this.host.dataset.gaps = String(Number(this.host.dataset.gaps ?? 0) + 1);
  }

  #showNear() {
    for (const item of this.items) if (item.near) fill(item, { ...item.arrays, ...(this.on.gaps ? item.near : {}) });
  }

  #item(key, ghost, order) {
    const geometry = new BufferGeometry();
    const lines = new BufferGeometry();
    const planes = [this.plane];
    const mesh = new Mesh(geometry, new MeshLambertMaterial({ vertexColors: true, side: DoubleSide,
      polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 }));
    const edge = new LineSegments(lines, new LineBasicMaterial({ transparent: true }));
    const through = new LineSegments(lines, new LineBasicMaterial({ transparent: true, depthTest: false }));
    mesh.renderOrder = ghost ? 60 : 50;
    edge.renderOrder = ghost ? 61 : 51;
    through.renderOrder = 62;
    through.visible = ghost;
    // What the cut opens is closed by counting faces behind and before the plane in the stencil.
    const count1 = (side, op) => new Mesh(geometry, new MeshBasicMaterial({ side, depthWrite: false,
      depthTest: false, colorWrite: false, stencilWrite: true, stencilFunc: AlwaysStencilFunc,
      stencilFail: op, stencilZFail: op, stencilZPass: op, clippingPlanes: planes }));
    const behind = count1(BackSide, IncrementWrapStencilOp);
    const before = count1(FrontSide, DecrementWrapStencilOp);
    behind.renderOrder = before.renderOrder = order + 1;
    const cap = new Mesh(new PlaneGeometry(1, 1), new MeshBasicMaterial({ map: this.hatch, side: DoubleSide,
      stencilWrite: true, stencilRef: 0, stencilFunc: NotEqualStencilFunc, stencilFail: ReplaceStencilOp,
      stencilZFail: ReplaceStencilOp, stencilZPass: ReplaceStencilOp }));
    cap.renderOrder = order + 1.1;
    cap.onAfterRender = (renderer) => renderer.clearStencil();
    const group = new Group();
    group.add(mesh, edge, through, behind, before);
    group.matrixAutoUpdate = false;
    return { key, ghost, group, mesh, edge, through, behind, before, cap };
  }

  // Put everything where the switches say: assembled or on the bed, cut or whole.
  #place() {
    if (this.dead || !this.head) return;
    const low = new Vector3(Infinity, Infinity, Infinity);
    const high = new Vector3(-Infinity, -Infinity, -Infinity);
    for (const item of this.items) {
      const { entry, group } = item;
      group.visible = item.ghost ? this.on.object && !this.on.bed : true;
      group.matrix.identity();
      if (this.on.bed && !item.ghost) {
        const t = entry.turn;
        const [x, y, z] = entry.on_bed;
        group.matrix.copy(new Matrix4(t[0], t[1], t[2], x, t[3], t[4], t[5], y, t[6], t[7], t[8], z, 0, 0, 0, 1));
      }
      group.matrixWorldNeedsUpdate = true;
      if (!group.visible) continue;
      item.mesh.geometry.computeBoundingBox();
      const box = item.mesh.geometry.boundingBox.clone().applyMatrix4(group.matrix);
      low.min(box.min);
      high.max(box.max);
    }
    this.low = low;
    this.high = high;
    this.bed.visible = this.on.bed;
    const { axis, share, back } = this.cut;
    const normal = new Vector3();
    if (axis) {
      const sign = back ? 1 : -1;
      // Away from the eye of the corner view, so that the open side is seen.
      const facing = axis === "y" ? -sign : sign;
      normal[axis] = facing;
      const at = low[axis] + (high[axis] - low[axis]) * share;
      this.plane.normal.copy(normal);
      this.plane.constant = -facing * at;
      this.cutText.textContent = `${axis} = ${at.toFixed(1)} mm`;
    }
    const size = 2 * low.distanceTo(high);
    for (const item of this.items) {
      const cutting = Boolean(axis) && item.group.visible;
      const planes = cutting ? [this.plane] : [];
      for (const part of [item.mesh, item.edge, item.through]) {
        part.material.clippingPlanes = planes;
      }
      item.behind.visible = item.before.visible = cutting;
      item.cap.removeFromParent();
      if (cutting) {
        this.plane.coplanarPoint(item.cap.position);
        item.cap.position.add(new Vector3().addVectors(low, high).multiplyScalar(0.5)
          .projectOnPlane(normal));
        item.cap.lookAt(item.cap.position.clone().sub(normal));
        item.cap.scale.setScalar(size);
        this.hatch.repeat.setScalar(size / 3);
        this.scene.add(item.cap);
      }
    }
    this.#recolour();
    this.#showState();
    this.draw();
  }

  #recolour() {
    if (this.dead || !this.items) return;
    const dark = this.dark;
    const line = new Color(dark ? 0xdfe8e5 : 0x1f2b28);
    const colour = new Color();
    for (const item of this.items) {
      const { mesh, edge, through, arrays, ghost, near } = item;
      const paint = mesh.geometry.getAttribute("color");
      const seeThrough = !ghost && this.on.gaps && !this.on.bed;
      const valueAt = ghost && this.on.gaps ? (corner) => bandColour(near?.gap[corner])
        : !ghost && this.on.overhangs ? (corner) => MARK_COLOURS[arrays.marks[(corner / 3) | 0]] ?? item.colour
        : () => item.colour;
      let last = null;
      for (let corner = 0; corner < paint.count; corner++) {
        const value = valueAt(corner);
        if (value !== last) colour.setHex(last = value);
        paint.setXYZ(corner, colour.r, colour.g, colour.b);
      }
      paint.needsUpdate = true;
      mesh.material.transparent = seeThrough || (ghost && !this.on.gaps);
      mesh.material.opacity = seeThrough ? 0.16 : ghost && !this.on.gaps ? 0.45 : 1;
      mesh.material.depthWrite = !mesh.material.transparent;
      edge.material.color = line;
      edge.material.opacity = seeThrough ? 0.45 : 1;
      through.material.color = new Color(dark ? 0x9cc3ea : 0x2f5f92);
      through.material.opacity = 0.35;
      item.cap.material.color.setHex(item.colour).multiplyScalar(dark ? 0.95 : 1.1);
    }
    this.draw();
  }

  #drawBed() {
    this.bed.clear();
    const [wide, deep] = this.head.bed ?? [220, 220];
    const points = [];
    const line = (a, b, c, d) => points.push(a, b, 0, c, d, 0);
    for (let x = 0; x <= wide + 1e-6; x += 10) line(x, 0, x, deep);
    for (let y = 0; y <= deep + 1e-6; y += 10) line(0, y, wide, y);
    const grid = new BufferGeometry();
    grid.setAttribute("position", new BufferAttribute(new Float32Array(points), 3));
    this.bed.add(new LineSegments(grid, new LineBasicMaterial({ color: 0x7d8f8a, transparent: true, opacity: 0.28 })));
    const rim = new BufferGeometry();
    // Outline, and an arrow at the front edge.
    const m = wide / 2;
    const outline = [0, 0, wide, 0, wide, 0, wide, deep, wide, deep, 0, deep, 0, deep, 0, 0,
      m - 8, -4, m, -12, m, -12, m + 8, -4, m + 8, -4, m - 8, -4];
    const flat = [];
    for (let i = 0; i < outline.length; i += 2) flat.push(outline[i], outline[i + 1], 0);
    rim.setAttribute("position", new BufferAttribute(new Float32Array(flat), 3));
    this.bed.add(new LineSegments(rim, new LineBasicMaterial({ color: 0x2f8f86 })));
  }

  #fitFrame() {
    if (this.dead) return;
    const { clientWidth: w, clientHeight: h } = this.stage;
    if (!w || !h) return;
    this.renderer.setSize(w, h);
    this.svg.setAttribute("viewBox", `0 0 ${w} ${h}`);
    this.svg.setAttribute("width", w);
    this.svg.setAttribute("height", h);
    this.#frustum();
    this.draw();
  }

  #frustum() {
    const { clientWidth: w, clientHeight: h } = this.stage;
    const half = this.half ?? 50;
    Object.assign(this.camera, { left: (-half * w) / h, right: (half * w) / h, top: half, bottom: -half });
    this.camera.updateProjectionMatrix();
  }

  look(n) {
    this.view = n;
    if (this.dead) { this.#showState(); this.send({ kind: "still", view: STILLS[n] }); return; }
    if (!this.low) return;
    this.#aim(new Vector3(...VIEWS[n][1]).normalize());
    this.fit();
    this.view = n;
    this.#showState();
  }

  #aim(direction) {
    const centre = new Vector3().addVectors(this.low, this.high).multiplyScalar(0.5);
    this.steady = true;
    this.camera.position.copy(centre).addScaledVector(direction, 500);
    this.controls.target.copy(centre);
    this.controls.update();
    this.steady = false;
  }

  fit() {
    if (this.dead || !this.low) return;
    const direction = new Vector3().subVectors(this.camera.position, this.controls.target).normalize();
    const view = this.view;
    this.#aim(direction);
    this.view = view;
    this.camera.updateMatrixWorld();
    let across = 1;
    let up = 1;
    const spots = [this.low, this.high];
    const [wide, deep] = this.head.bed ?? [220, 220];
    const corners = [];
    for (const x of spots) for (const y of spots) for (const z of spots) corners.push(new Vector3(x.x, y.y, z.z));
    const inverse = this.camera.matrixWorldInverse.copy(this.camera.matrixWorld).invert();
    if (this.on.bed) corners.push(new Vector3(0, 0, 0), new Vector3(wide, 0, 0), new Vector3(0, deep, 0), new Vector3(wide, deep, 0));
    for (const corner of corners) {
      corner.applyMatrix4(inverse);
      across = Math.max(across, Math.abs(corner.x));
      up = Math.max(up, Math.abs(corner.y));
    }
    const { clientWidth: w, clientHeight: h } = this.stage;
    const margin = this.on.sizes && !this.on.bed && this.head.dimensions.length ? 1.55 : 1.2;
    this.half = Math.max(up * 1.25, (across * margin * h) / Math.max(w, 1));
    this.camera.zoom = 1;
    this.#frustum();
    this.draw();
  }

  zoom(factor) {
    if (this.dead) return;
    this.camera.zoom *= factor;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  turn(aboutUp, aboutSide) {
    if (this.dead) return;
    const offset = new Vector3().subVectors(this.camera.position, this.controls.target);
    const radians = Math.PI / 180;
    const flat = Math.atan2(offset.y, offset.x) + aboutUp * radians;
    const rise = Math.asin(offset.z / offset.length()) + aboutSide * radians;
    const limited = Math.max(-1.5706, Math.min(1.5706, rise));
    this.camera.position.copy(this.controls.target).add(new Vector3(Math.cos(flat) * Math.cos(limited),
      Math.sin(flat) * Math.cos(limited), Math.sin(limited)).multiplyScalar(offset.length()));
    this.controls.update();
    this.view = -1;
    this.#showState();
    this.draw();
  }

  toggle(name) {
    if (this.dead) return;
    this.on[name] = !this.on[name];
    if (name === "gaps") {
      if (this.on.gaps) this.on.object = true;
      this.#showNear();
    }
    this.#place();
    if (name === "bed") { const view = this.view; this.#aim(new Vector3(...VIEWS[Math.max(view, 0)][1]).normalize()); this.view = view; this.fit(); }
    this.#legend();
    this.#showState();
  }

  setCut(axis) {
    if (this.dead) return;
    this.cut.axis = axis;
    this.#place();
  }

  moveCut(share) {
    this.cut.share = Math.max(0.002, Math.min(0.998, share));
    this.#place();
  }

  // Show places on the part, as a finding gives them.
  point(spots, text) {
    this.pins = spots.map((at) => ({ at, text }));
    if (this.on.bed && spots.length) this.toggle("bed");
    this.draw();
  }

  draw() {
    if (this.dead || this.queued || this.disposed) return;
    this.queued = true;
    requestAnimationFrame(() => {
      this.queued = false;
      if (this.disposed || this.dead) return;
      this.renderer.render(this.scene, this.camera);
      this.#showState();
      this.#callOuts();
      this.host.dataset.frames = String(Number(this.host.dataset.frames ?? 0) + 1);
    });
  }

  // --- words over the picture --------------------------------------------------------------------

  #screen(point) {
    const { clientWidth: w, clientHeight: h } = this.stage;
    const p = new Vector3(...point).project(this.camera);
    return [((p.x + 1) / 2) * w, ((1 - p.y) / 2) * h];
  }

  #callOuts() {
    this.svg.replaceChildren();
    if (!this.head) return;
    const { clientWidth: w, clientHeight: h } = this.stage;
    const ink = this.dark ? "#8fd6cd" : "#0b5f66";
    const paper = this.dark ? "#16201eee" : "#fbfcfaee";
    const put = (name, attributes, text) => {
      const element = document.createElementNS(SVG, name);
      for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
      if (text) element.textContent = text;
      this.svg.append(element);
      return element;
    };
    if (this.on.bed) {
      const [wide, deep] = this.head.bed ?? [220, 220];
      const [x, y] = this.#screen([wide / 2, -16, 0]);
      put("text", { x, y: y + 8, "text-anchor": "middle", fill: ink, "font-size": 12, "font-family": "sans-serif" },
        `front · bed ${wide} × ${deep} mm${this.head.bed_assumed ? " (assumed)" : ""}`);
    } else if (this.on.sizes) {
      // Labels stand in two columns beside the part, in the order of what they point at.
      const sides = { left: [], right: [] };
      for (const dimension of this.head.dimensions) {
        const a = this.#screen(dimension.start);
        const b = this.#screen(dimension.end);
        const middle = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
        sides[middle[0] < w / 2 ? "left" : "right"].push({ dimension, a, b, middle });
      }
      // A crowded side gives to the other.
      for (const [from, to] of [["left", "right"], ["right", "left"]]) {
        sides[from].sort((p, q) => (from === "left" ? q : p).middle[0] - (from === "left" ? p : q).middle[0]);
        while (sides[from].length > sides[to].length + 1) sides[to].push(sides[from].shift());
      }
      const step = 24;
      for (const [side, items] of Object.entries(sides)) {
        items.sort((p, q) => p.middle[1] - q.middle[1]);
        const most = Math.floor((h - 20) / step);
        const shown = items.slice(0, most);
        let y = 0;
        const rows = shown.map((item, n) => {
          const left = (shown.length - n - 1) * step;
          y = Math.min(Math.max(item.middle[1], y + step, 18), h - 14 - left);
          return y;
        });
        // All labels are written before any is measured, so that the browser lays out once.
        const labels = shown.map(({ dimension, a, b }, n) => {
          const text = `${dimension.round ? "⌀ " : ""}${dimension.name}  ${dimension.text}`;
          const x = side === "left" ? 10 : w - 10;
          const anchor = side === "left" ? "start" : "end";
          put("path", { d: `M${a}L${b}`, stroke: ink, "stroke-width": 1.1, opacity: 0.8, fill: "none" });
          for (const end of [a, b]) put("circle", { cx: end[0], cy: end[1], r: 2, fill: ink });
          return put("text", { x, y: rows[n] + 4, "text-anchor": anchor, fill: ink, "font-size": 12,
            "font-family": "sans-serif", class: "callout" }, text);
        });
        const boxes = labels.map((label) => label.getBBox());
        shown.forEach(({ middle }, n) => {
          const box = boxes[n];
          const edge = side === "left" ? box.x + box.width + 4 : box.x - 4;
          put("path", { d: `M${edge},${rows[n]}L${middle}`, stroke: ink, "stroke-width": 0.6, opacity: 0.45, fill: "none" });
          put("rect", { x: box.x - 3, y: box.y - 1, width: box.width + 6, height: box.height + 2, rx: 3, fill: paper });
          this.svg.append(labels[n]); // over its paper
        });
        if (items.length > most) put("text", { x: w / 2, y: h - 6, "text-anchor": "middle", fill: ink, "font-size": 11, "font-family": "sans-serif" }, `${items.length - most} more sizes: enlarge the view`);
      }
    }
    const warn = this.dark ? "#ffb38a" : "#a33b10";
    this.pins.forEach(({ at, text }, n) => {
      const [x, y] = this.#screen(at);
      put("circle", { cx: x, cy: y, r: 13, fill: "none", stroke: warn, "stroke-width": 2.5, class: "pin" });
      put("circle", { cx: x, cy: y, r: 3, fill: warn });
      if (n === 0) put("text", { x: x + 17, y: y - 10, fill: warn, "font-size": 12.5, "font-weight": 600,
        "font-family": "sans-serif", stroke: paper, "stroke-width": 3, "paint-order": "stroke" }, text);
    });
  }

  #legend() {
    const rows = [];
    const swatch = (colour, text) => make("li", {},
      make("i", { style: `background:#${colour.toString(16).padStart(6, "0")}` }), text);
    const objects = this.items?.filter((item) => item.ghost) ?? [];
    if (this.on.gaps && !this.on.bed) {
      rows.push(make("b", {}, objects.length ? "gap round the object" : "no object in this part"));
      if (objects.length) rows.push(make("ul", {}, ...GAP_BANDS.map(([, c, text]) => swatch(c, text)), swatch(NOT_NEAR, "over 2 mm, or open")));
      for (const { entry, leastGap } of objects) {
        if (leastGap != null) rows.push(make("p", {}, `${entry.name}: least ${leastGap.toFixed(2)} mm`));
      }
    }
    if (this.on.overhangs) {
      rows.push(make("b", {}, "as printed"), make("ul", {},
        swatch(MARK_COLOURS[1], `hangs over by more than ${this.head?.overhang_deg ?? 45}°`),
        swatch(MARK_COLOURS[2], "lies on the bed")));
    }
    this.legend.replaceChildren(...rows);
    this.legend.hidden = !rows.length;
  }

  // The number under the pointer, so that colour is never the only word.
  #read(event) {
    if (!this.on.gaps || this.on.bed || event.buttons) { this.readout.hidden = true; return; }
    const box = this.stage.getBoundingClientRect();
    const spot = new Vector2(((event.clientX - box.left) / box.width) * 2 - 1, 1 - ((event.clientY - box.top) / box.height) * 2);
    const ray = new Raycaster();
    ray.setFromCamera(spot, this.camera);
    const meshes = this.items.filter((item) => item.ghost && item.group.visible).map((item) => item.mesh);
    const [hit] = ray.intersectObjects(meshes, false);
    if (!hit) { this.readout.hidden = true; return; }
    const item = this.items.find((i) => i.mesh === hit.object);
    const gap = item.near?.gap[hit.face.a];
    this.readout.textContent = Number.isFinite(gap) ? `gap ${gap.toFixed(2)} mm` : "over 2 mm, or open";
    this.readout.style.left = `${event.clientX - box.left + 14}px`;
    this.readout.style.top = `${event.clientY - box.top + 10}px`;
    this.readout.hidden = false;
  }

  async savePicture() {
    const name = `${(this.head?.title || "part").replace(/[^\p{L}\p{N}]+/gu, "-")}.png`;
    const { clientWidth: w, clientHeight: h } = this.stage;
    const page = make("canvas");
    const scale = this.dead ? 1 : this.renderer.getPixelRatio();
    page.width = w * scale;
    page.height = h * scale;
    const ink = page.getContext("2d");
    ink.fillStyle = getComputedStyle(this.stage).backgroundColor;
    ink.fillRect(0, 0, page.width, page.height);
    if (this.dead) ink.drawImage(this.image, 0, 0, page.width, page.height);
    else {
      this.renderer.render(this.scene, this.camera);
      ink.drawImage(this.renderer.domElement, 0, 0, page.width, page.height);
      const svg = new XMLSerializer().serializeToString(this.svg);
      const overlay = new Image();
      overlay.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
      await overlay.decode();
      ink.drawImage(overlay, 0, 0, page.width, page.height);
    }
    const link = make("a", { download: name, href: page.toDataURL("image/png") });
    link.click();
  }

  dispose() {
    this.disposed = true;
    this.resize?.disconnect();
    this.theme?.disconnect();
    this.controls?.dispose();
    for (const item of this.items ?? []) disposeItem(item);
    this.hatch?.dispose();
    this.renderer?.dispose();
    this.renderer?.forceContextLoss();
    if (this.stillUrl) URL.revokeObjectURL(this.stillUrl);
  }
}

function bandColour(gap) {
  if (gap === undefined || !Number.isFinite(gap)) return NOT_NEAR;
  return (GAP_BANDS.find(([below]) => gap < below) ?? GAP_BANDS.at(-1))[1];
}

function typed(name, view) {
  const kinds = { triangles: Uint32Array, normals: Int8Array, marks: Uint8Array };
  const Kind = kinds[name] ?? Float32Array;
  // A copy, because the message's bytes may lie at any offset.
  const bytes = new Uint8Array(view.buffer, view.byteOffset, view.byteLength).slice();
  return new Kind(bytes.buffer);
}

// Give an item its shape: corners spelt out for each triangle, so that edges can be sharp.
function fill({ mesh, edge, through, behind, before }, { corners, triangles, normals, edges }) {
  const position = new Float32Array(triangles.length * 3);
  for (let i = 0; i < triangles.length; i++) {
    const from = 3 * triangles[i];
    position[3 * i] = corners[from];
    position[3 * i + 1] = corners[from + 1];
    position[3 * i + 2] = corners[from + 2];
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(position, 3));
  geometry.setAttribute("normal", new BufferAttribute(normals, 3, true));
  geometry.setAttribute("color", new BufferAttribute(new Float32Array(position.length), 3));
  const lines = new BufferGeometry();
  lines.setAttribute("position", new BufferAttribute(edges, 3));
  mesh.geometry.dispose();
  edge.geometry.dispose();
  for (const part of [mesh, behind, before]) part.geometry = geometry;
  for (const part of [edge, through]) part.geometry = lines;
}

function disposeItem(item) {
  item.group.removeFromParent();
  item.mesh.geometry.dispose();
  item.edge.geometry.dispose();
  item.cap.geometry.dispose();
  item.cap.removeFromParent();
  for (const part of [item.mesh, item.edge, item.through, item.behind, item.before, item.cap]) part.material.dispose();
}

// Slanted lines, as a draughtsman fills a cut face.
function hatchTexture() {
  const tile = make("canvas", { width: "64", height: "64" });
  const ink = tile.getContext("2d");
  ink.fillStyle = "#f2f2ec";
  ink.fillRect(0, 0, 64, 64);
  ink.strokeStyle = "#4a5552";
  ink.lineWidth = 6;
  for (const shift of [-64, 0, 64]) {
    ink.beginPath();
    ink.moveTo(shift - 4, 68);
    ink.lineTo(shift + 68, -4);
    ink.stroke();
  }
  const texture = new CanvasTexture(tile);
  texture.wrapS = texture.wrapT = RepeatWrapping;
  return texture;
}
