// Dimension lines of the sizes that face a view along an axis. Where they go is worked out where
// drawings on paper are (fitkit/drawings/facing.py); here they are asked for, kept and drawn.
import { drawIn } from "../dom";
import { type FacingSizes, LETTERS_MM, type View } from "../protocol";

type Point = [number, number];

const CAPITALS_PX = 8.8; // height of a number's capitals, as letters of 12 px have
const CAPITALS = 0.73; // of the size that a common sans face is named by
const PATIENCE_MS = 400;
export const PX_PER_MM = CAPITALS_PX / LETTERS_MM; // px of the screen for a mm of paper

// How far from what they were placed for lines may be drawn: letters of 9 to 16 px.
const near = (one: FacingSizes, scale: number) =>
  scale / one.scale > 0.74 && scale / one.scale < 1.36;
export const exact = (one: FacingSizes, scale: number) => Math.abs(scale / one.scale - 1) < 0.03;

export class Facing {
  private sets: FacingSizes[] = [];
  private asked = ""; // what was asked for last, and when
  private askedAt = 0;
  heard = true; // whether somebody hears what is asked

  // `ask` tells whether somebody hears it.
  constructor(
    private readonly ask: (view: View, scale: number) => boolean,
    private readonly now: () => number = () => performance.now(),
  ) {}

  // Another shape has come.
  forget(): void {
    this.sets = [];
    this.asked = "";
  }

  take(sets: FacingSizes[]): void {
    const fresh = (old: FacingSizes) => !sets.some(({ view }) => view === old.view);
    // Of one view the last few are kept: going nearer and back asks nobody.
    const others = this.sets.filter((old) => fresh(old) || sets.length > 1);
    const same = this.sets.filter((old) => !fresh(old) && sets.length === 1).slice(-3);
    this.sets = [...others, ...same, ...sets];
  }

  // Lines for a view in which a mm of the part is so many px: null if there are none, "wait" if
  // they have just been asked for.
  find(view: View, perMm: number): FacingSizes | "wait" | null {
    const scale = perMm / PX_PER_MM;
    const off = (one: FacingSizes) => Math.abs(Math.log(scale / one.scale));
    const found = this.sets
      .filter((one) => one.view === view && near(one, scale))
      .sort((a, b) => off(a) - off(b))[0];
    if (!found || !exact(found, scale)) {
      const wanted = Number(scale.toPrecision(3));
      const key = `${view} ${wanted}`;
      if (key !== this.asked) {
        this.heard = this.ask(view, wanted);
        if (this.heard) {
          this.asked = key;
          this.askedAt = this.now();
        }
      }
    }
    if (found) return found;
    return this.asked.startsWith(`${view} `) && this.now() - this.askedAt < PATIENCE_MS
      ? "wait"
      : null;
  }
}

// Where a place of paper lies on the screen.
export const onScreen =
  ({ scale }: FacingSizes, [ox, oy]: Point, perMm: number) =>
  (x: number, y: number): Point => [ox + (x * perMm) / scale, oy - (y * perMm) / scale];

// How far lines and numbers reach, px: left, top, right, bottom.
export function reach(set: FacingSizes, origin: Point, perMm: number): number[] {
  const to = onScreen(set, origin, perMm);
  const found = [Infinity, Infinity, -Infinity, -Infinity];
  const add = ([x, y]: Point) => {
    found[0] = Math.min(found[0], x);
    found[1] = Math.min(found[1], y);
    found[2] = Math.max(found[2], x);
    found[3] = Math.max(found[3], y);
  };
  for (const { lines, text, at, turn } of set.sizes) {
    for (const line of lines)
      for (let n = 0; n < line.length; n += 2) add(to(line[n], line[n + 1]));
    const long = 0.78 * LETTERS_MM * text.length;
    const [dx, dy] = turn ? [LETTERS_MM, long] : [long, LETTERS_MM];
    add(to(...at));
    add(to(at[0] + (turn ? -dx : dx), at[1] + dy));
  }
  return found;
}

export function drawFacing(
  svg: SVGSVGElement,
  set: FacingSizes,
  origin: Point,
  perMm: number,
  ink: string,
  paper: string,
  picked: string,
  pick: (name: string) => void,
): void {
  const to = onScreen(set, origin, perMm);
  const path = (line: number[], end = "") => {
    const points: string[] = [];
    for (let n = 0; n < line.length; n += 2) {
      const [x, y] = to(line[n], line[n + 1]);
      points.push(`${x.toFixed(1)},${y.toFixed(1)}`);
    }
    return `M${points.join("L")}${end}`;
  };
  const font = ((LETTERS_MM / CAPITALS) * perMm) / set.scale;
  for (const { name, lines, heads, text, at, turn } of set.sizes) {
    const own = name === picked;
    const opacity = picked && !own ? 0.35 : 1;
    const all = lines.map((line) => path(line)).join("");
    drawIn(svg, "path", {
      d: all,
      stroke: ink,
      "stroke-width": own ? 2 : 0.9,
      opacity,
      fill: "none",
    });
    drawIn(svg, "path", { d: heads.map((head) => path(head, "Z")).join(""), fill: ink, opacity });
    const [x, y] = to(...at);
    const written = drawIn(
      svg,
      "text",
      {
        x,
        y,
        fill: ink,
        opacity,
        "font-size": font,
        "font-weight": own ? 700 : 400,
        "font-family": "DejaVu Sans, Liberation Sans, Arial, sans-serif",
        stroke: paper,
        "stroke-width": 3,
        "paint-order": "stroke",
        class: "callout facing",
        "data-size": name,
        transform: turn ? `rotate(${-turn} ${x} ${y})` : "",
      },
      text,
    );
    drawIn(written, "title", {}, `${name} ${text} mm`);
    written.addEventListener("pointerdown", () => pick(name));
  }
}
