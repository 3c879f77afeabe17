// Shapes of a slider's values, drawn before the kernel has built them: an exact shape, moved along
// the straight lines that the kernel has found its corners to follow.
import type { BufferAttribute } from "three";
import type { PictureMessage, Solid } from "../protocol";
import { type Arrays, fill, numbersOf, type Shape } from "./shapes";

export interface Piece {
  low: number;
  high: number;
  at: number; // value of the shape
  bodies: Solid[];
  arrays: Arrays[];
}

interface Said {
  token: number;
  low: number;
  high: number;
  at: number;
  bodies: Solid[];
}

const NEAR = 1e-6;
const AGAIN = 3000; // ms between two questions for the same slider

export class Drafts {
  path = "";
  private token = 0;
  private asked = Number.NEGATIVE_INFINITY;
  private pieces = new Map<string, Piece>();

  constructor(private readonly send: (message: PictureMessage) => boolean) {}

  // Have the shapes of a slider made, unless they are there or on their way.
  prepare(path: string, low: number, step: number, count: number, at: number): void {
    const same = path === this.path;
    if (same && (this.find(low + at * step) || performance.now() - this.asked < AGAIN)) return;
    this.forget();
    this.path = path;
    this.asked = performance.now();
    this.send({ kind: "prepare", path, low, step, count, at, token: this.token });
  }

  take(said: Said, buffers: DataView[]): void {
    if (said.token !== this.token) return;
    const { low, high, at, bodies } = said;
    let next = 0;
    const arrays = bodies.map((solid) => {
      const own: Arrays = {};
      for (const name of solid.arrays) own[name] = numbersOf(name, buffers[next++]);
      return own;
    });
    const way = high > at ? "up" : low < at ? "down" : "here";
    this.pieces.set(`${at} ${way}`, { low, high, at, bodies, arrays });
  }

  // The least and the greatest value that has a shape; there may be holes between.
  get reach(): [number, number] {
    const all = [...this.pieces.values()];
    return [Math.min(...all.map(({ low }) => low)), Math.max(...all.map(({ high }) => high))];
  }

  find(value: number): Piece | null {
    for (const piece of this.pieces.values())
      if (value >= piece.low - NEAR && value <= piece.high + NEAR) return piece;
    return null;
  }

  // Other values have changed: what is there, and what is still to come, is of the old ones.
  forget(): void {
    this.token += 1;
    this.path = "";
    this.pieces.clear();
  }
}

// Corners, or ends of edges, of a shape at another value.
export function movedBy(places: ArrayLike<number>, rates: ArrayLike<number>, by: number) {
  const moved = new Float32Array(places.length);
  for (let n = 0; n < moved.length; n++) moved[n] = places[n] + rates[n] * by;
  return moved;
}

// Whether the shapes that are drawn are of the same solids.
export const fits = (piece: Piece, shapes: Shape[]): boolean =>
  piece.bodies.length === shapes.length &&
  piece.bodies.every(
    ({ name, role }, n) => shapes[n].solid.name === name && shapes[n].ghost === (role === "object"),
  );

// Give the shapes the places that a value has; tell whether they were filled anew.
export function drawPiece(
  shapes: Shape[],
  piece: Piece,
  last: Piece | null,
  value: number,
): boolean {
  const by = value - piece.at;
  shapes.forEach((shape, n) => {
    const { corners, triangles, edges, rates, edge_rates } = piece.arrays[n];
    if (!corners || !triangles || !edges || !rates || !edge_rates) return;
    const moved = movedBy(corners, rates, by);
    const ends = movedBy(edges, edge_rates, by);
    if (piece !== last) {
      fill(shape, { ...piece.arrays[n], corners: moved, edges: ends });
      return;
    }
    const faces = shape.mesh.geometry.getAttribute("position") as BufferAttribute;
    const into = faces.array as Float32Array;
    for (let i = 0; i < triangles.length; i++) {
      const from = 3 * triangles[i];
      into[3 * i] = moved[from];
      into[3 * i + 1] = moved[from + 1];
      into[3 * i + 2] = moved[from + 2];
    }
    faces.needsUpdate = true;
    shape.mesh.geometry.boundingSphere = null;
    const lines = shape.edge.geometry.getAttribute("position") as BufferAttribute;
    lines.array.set(ends);
    lines.needsUpdate = true;
    shape.edge.geometry.boundingSphere = null;
  });
  return piece !== last;
}
