// Words over the picture: sizes in two columns beside the part, the bed's name, and pins.
import { drawIn } from "../dom";
import type { Dimension, SceneHead } from "../protocol";
import type { Size } from "./eye";

type Point = [number, number];

export interface Pin {
  at: readonly number[];
  text: string;
}

export interface Label {
  dimension: Dimension;
  a: Point;
  b: Point;
  middle: Point;
  y: number; // of its text
}

export interface Columns {
  left: Label[];
  right: Label[];
  more: Record<"left" | "right", number>; // for how many there was no room
}

const STEP = 24; // px from label to label
const SIDES = ["left", "right"] as const;
const FONT = { "font-family": "sans-serif" };

// Labels stand in two columns beside the part, in the order of what they point at.
export function placeLabels(
  dimensions: Dimension[],
  screen: (point: readonly number[]) => Point,
  { w, h }: Size,
): Columns {
  const sides: Record<"left" | "right", Label[]> = { left: [], right: [] };
  for (const dimension of dimensions) {
    const a = screen(dimension.start);
    const b = screen(dimension.end);
    const middle: Point = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    sides[middle[0] < w / 2 ? "left" : "right"].push({ dimension, a, b, middle, y: 0 });
  }
  // A crowded side gives to the other, first what lies nearest to it.
  for (const [from, to] of [SIDES, ["right", "left"] as const]) {
    const sign = from === "left" ? -1 : 1;
    sides[from].sort((p, q) => sign * (p.middle[0] - q.middle[0]));
    while (sides[from].length > sides[to].length + 1) sides[to].push(sides[from].shift()!);
  }
  const most = Math.floor((h - 20) / STEP);
  const more = { left: 0, right: 0 };
  for (const side of SIDES) {
    const labels = sides[side].sort((p, q) => p.middle[1] - q.middle[1]);
    more[side] = Math.max(0, labels.length - most);
    sides[side] = labels.slice(0, most);
    let y = 0;
    sides[side].forEach((label, n) => {
      const below = (sides[side].length - n - 1) * STEP;
      y = Math.min(Math.max(label.middle[1], y + STEP, 18), h - 14 - below);
      label.y = y;
    });
    uncross(sides[side], side, w);
  }
  return { ...sides, more };
}

const LETTER = 6.4; // px, about, of a label's text

export const words = ({ name, text, round }: Dimension): string =>
  `${round ? "⌀ " : ""}${name}  ${text}`;

// Where a label's line to its dimension begins, as near as can be told before it is written.
export function lineFrom({ dimension, y }: Label, side: "left" | "right", w: number): Point {
  const long = 14 + LETTER * words(dimension).length;
  return [side === "left" ? long : w - long, y];
}

// Whether two lines cross, each from one point to another.
export function cross([a, b]: [Point, Point], [c, d]: [Point, Point]): boolean {
  const turn = (p: Point, q: Point, r: Point) =>
    Math.sign((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]));
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

// Labels whose lines cross change places: each change makes the lines shorter, so it ends.
function uncross(labels: Label[], side: "left" | "right", w: number): void {
  const line = (label: Label): [Point, Point] => [lineFrom(label, side, w), label.middle];
  for (let again = 0; again < labels.length; again++) {
    let changed = false;
    for (const one of labels)
      for (const other of labels)
        if (one !== other && cross(line(one), line(other))) {
          [one.y, other.y] = [other.y, one.y];
          changed = true;
        }
    if (!changed) return;
  }
}

// The size that is picked stands out, and the others stand back.
export function drawSizes(
  svg: SVGSVGElement,
  columns: Columns,
  { w, h }: Size,
  dark: boolean,
  picked = "",
  pick: (name: string) => void = () => undefined,
) {
  const [ink, paper] = [inkOf(dark), paperOf(dark)];
  for (const side of SIDES) {
    const labels = columns[side];
    // All labels are written before any is measured, so that the browser lays out once.
    const texts = labels.map(({ dimension, a, b, y }) => {
      const text = words(dimension);
      const own = dimension.name === picked;
      const weight = own ? 3 : 1.1;
      const opacity = own ? 1 : picked ? 0.2 : 0.8;
      const line = { stroke: ink, "stroke-width": weight, opacity, fill: "none" };
      drawIn(svg, "path", { d: `M${a}L${b}`, ...line });
      for (const [cx, cy] of [a, b])
        drawIn(svg, "circle", { cx, cy, r: own ? 4 : 2, fill: ink, opacity });
      const place = { x: side === "left" ? 10 : w - 10, y: y + 4 };
      const anchor = { "text-anchor": side === "left" ? "start" : "end", class: "callout" };
      const letters = { fill: ink, "font-size": 12, "font-weight": own ? 700 : 400, ...FONT };
      const written = drawIn(svg, "text", { ...place, ...anchor, ...letters }, text);
      // The picture is drawn again at each move, so that a click may not end where it began.
      written.addEventListener("pointerdown", () => pick(dimension.name));
      return written;
    });
    const boxes = texts.map((text) => text.getBBox());
    labels.forEach(({ dimension, middle, y }, n) => {
      const box = boxes[n];
      const edge = side === "left" ? box.x + box.width + 4 : box.x - 4;
      const own = dimension.name === picked;
      const opacity = own ? 1 : picked ? 0.12 : 0.45;
      const line = { stroke: ink, "stroke-width": own ? 1.4 : 0.6, opacity, fill: "none" };
      drawIn(svg, "path", { d: `M${edge},${y}L${middle}`, ...line });
      const [x, top, width, height] = [box.x - 3, box.y - 1, box.width + 6, box.height + 2];
      drawIn(svg, "rect", { x, y: top, width, height, rx: 3, fill: paper });
      svg.append(texts[n]); // over its paper
    });
    const more = columns.more[side];
    const place = { x: w / 2, y: h - 6, "text-anchor": "middle", fill: ink, "font-size": 11 };
    if (more) drawIn(svg, "text", { ...place, ...FONT }, `${more} more sizes: enlarge the view`);
  }
}

// A sentence at the lower edge.
export function drawFoot(svg: SVGSVGElement, text: string, { w, h }: Size, dark: boolean) {
  const place = { x: w / 2, y: h - 6, "text-anchor": "middle", fill: inkOf(dark), "font-size": 11 };
  const halo = { stroke: paperOf(dark), "stroke-width": 3, "paint-order": "stroke" };
  drawIn(svg, "text", { ...place, ...FONT, ...halo, class: "foot-note" }, text);
}

export function drawBedName(svg: SVGSVGElement, head: SceneHead, [x, y]: Point, dark: boolean) {
  const [wide, deep] = head.bed;
  const text = `front · bed ${wide} × ${deep} mm${head.bed_assumed ? " (assumed)" : ""}`;
  const place = { x, y: y + 8, "text-anchor": "middle", fill: inkOf(dark), "font-size": 12 };
  drawIn(svg, "text", { ...place, ...FONT }, text);
}

// Places that a finding is about; the first says which.
export function drawPins(svg: SVGSVGElement, pins: [Pin, Point][], dark: boolean) {
  const warn = dark ? "#ffb38a" : "#a33b10";
  const halo = { stroke: paperOf(dark), "stroke-width": 3, "paint-order": "stroke" };
  const letters = { fill: warn, "font-size": 12.5, "font-weight": 600 };
  pins.forEach(([{ text }, [x, y]], n) => {
    const ring = { r: 13, fill: "none", stroke: warn, "stroke-width": 2.5, class: "pin" };
    drawIn(svg, "circle", { cx: x, cy: y, ...ring });
    drawIn(svg, "circle", { cx: x, cy: y, r: 3, fill: warn });
    if (n === 0) drawIn(svg, "text", { x: x + 17, y: y - 10, ...letters, ...FONT, ...halo }, text);
  });
}

// Two spots that are measured between, with what lies between them.
export function drawMeasure(svg: SVGSVGElement, spots: Point[], text: string, dark: boolean) {
  const ink = inkOf(dark);
  const halo = { stroke: paperOf(dark), "stroke-width": 4, "paint-order": "stroke" };
  const [a, b] = spots;
  if (b) drawIn(svg, "path", { d: `M${a}L${b}`, stroke: ink, "stroke-width": 2.5, fill: "none" });
  for (const [x, y] of spots) {
    const cross = `M${x - 6},${y}h12M${x},${y - 6}v12`;
    drawIn(svg, "path", { d: cross, stroke: ink, "stroke-width": 2, fill: "none" });
  }
  const [x, y]: Point = b ? [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] : a;
  const letters = { "font-size": 13, "font-weight": 600, fill: ink, "text-anchor": "middle" };
  drawIn(svg, "text", { x, y: y - 10, ...letters, ...FONT, ...halo }, text);
}

export function drawFigures(svg: SVGSVGElement, figures: [string, Point][], dark: boolean) {
  const halo = { stroke: paperOf(dark), "stroke-width": 4, "paint-order": "stroke" };
  for (const [text, [x, y]] of figures) {
    drawIn(svg, "circle", { cx: x, cy: y, r: 3, fill: inkOf(dark) });
    const letters = { "font-size": 12.5, "font-weight": 600, fill: inkOf(dark), class: "figure" };
    drawIn(svg, "text", { x: x + 6, y: y - 5, ...letters, ...FONT, ...halo }, text);
  }
}

// What is taken hold of to drag the cut.
export function drawHandle(
  svg: SVGSVGElement,
  [cx, cy]: Point,
  dark: boolean,
  grip: (event: PointerEvent) => void,
) {
  const look = { cx, cy, r: 10, fill: paperOf(dark), stroke: inkOf(dark), "stroke-width": 2.5 };
  const handle = drawIn(svg, "circle", { ...look, class: "grip" });
  drawIn(
    svg,
    "text",
    { x: cx, y: cy + 5, fill: inkOf(dark), "text-anchor": "middle", ...FONT },
    "↔",
  );
  handle.addEventListener("pointerdown", grip);
}

export const inkOf = (dark: boolean) => (dark ? "#8fd6cd" : "#0b5f66");
export const paperOf = (dark: boolean) => (dark ? "#16201eee" : "#fbfcfaee");
