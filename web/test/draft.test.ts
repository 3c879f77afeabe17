import { Plane, Texture } from "three";
import { beforeEach, describe, expect, it } from "vitest";
import { Drafts, drawPiece, fits } from "../src/preview/draft";
import { shapesOf } from "../src/preview/shapes";
import type { PictureMessage, Solid } from "../src/protocol";

const view = (array: Float32Array | Uint32Array | Int8Array) => new DataView(array.buffer);
const names = ["corners", "triangles", "normals", "edges"] as const;
const tray: Solid = { name: "tray", role: "body", arrays: [...names] };
const drawn = [
  view(new Float32Array([0, 0, 0, 10, 0, 0, 0, 20, 0])),
  view(new Uint32Array([0, 1, 2])),
  view(new Int8Array([0, 0, 127, 0, 0, 127, 0, 0, 127])),
  view(new Float32Array([0, 0, 0, 10, 0, 0])),
];
// The second corner moves along x as fast as the value.
const rates = [
  view(new Float32Array([0, 0, 0, 1, 0, 0, 0, 0, 0])),
  view(new Float32Array([0, 0, 0, 1, 0, 0])),
];
const moving = { ...tray, arrays: [...tray.arrays, "rates", "edge_rates"] } satisfies Solid;
const said = (token: number, low: number, high: number, at: number) => ({
  token,
  low,
  high,
  at,
  bodies: [moving],
});

let sent: PictureMessage[];
let drafts: Drafts;
const tokenOf = (message: PictureMessage) => (message.kind === "prepare" ? message.token : -1);

beforeEach(() => {
  sent = [];
  drafts = new Drafts((message) => sent.push(message) > 0);
});

describe("shapes drawn ahead of the kernel", () => {
  it("are asked for once a slider, and again where it has come to no shape", () => {
    drafts.prepare("wall", 1, 0.1, 51, 14);
    drafts.prepare("wall", 1, 0.1, 51, 20);
    expect(sent).toHaveLength(1);
    expect(sent[0]).toMatchObject({ kind: "prepare", path: "wall", count: 51, at: 14 });
    drafts.prepare("floor", 1, 0.1, 51, 14);
    expect(tokenOf(sent[1])).toBeGreaterThan(tokenOf(sent[0]));
  });

  it("are found by value, and what has been overtaken is left out", () => {
    drafts.prepare("wall", 1, 0.1, 51, 14);
    const token = tokenOf(sent[0]);
    drafts.take(said(token, 2.4, 3, 2.4), [...drawn, ...rates]);
    drafts.take(said(token, 2, 2.4, 2.4), [...drawn, ...rates]);
    expect(drafts.find(2.9)?.high).toBe(3);
    expect(drafts.find(2.1)?.low).toBe(2);
    expect(drafts.find(3.1)).toBeNull();
    drafts.take(said(token, 2.4, 5, 2.4), [...drawn, ...rates]); // it has grown
    expect(drafts.find(3.1)?.high).toBe(5);
    drafts.forget();
    drafts.take(said(token, 2.4, 5, 2.4), [...drawn, ...rates]);
    expect(drafts.find(3.1)).toBeNull();
  });

  it("have their corners and edges where the value says, without new buffers in one piece", () => {
    const shapes = shapesOf([tray], drawn, [], new Plane(), new Texture());
    drafts.prepare("wall", 1, 0.1, 51, 14);
    drafts.take(said(tokenOf(sent[0]), 2.4, 5, 2.4), [...drawn, ...rates]);
    const piece = drafts.find(3)!;
    expect(fits(piece, shapes)).toBe(true);
    expect(fits(piece, [])).toBe(false);
    const place = () => shapes[0].mesh.geometry.getAttribute("position");
    expect(drawPiece(shapes, piece, null, 3.4)).toBe(true);
    expect(place().getX(1)).toBeCloseTo(11);
    const before = place();
    expect(drawPiece(shapes, piece, piece, 4.4)).toBe(false);
    expect(place()).toBe(before);
    expect(place().getX(1)).toBeCloseTo(12);
    expect(place().getY(2)).toBeCloseTo(20);
    expect(shapes[0].edge.geometry.getAttribute("position").getX(1)).toBeCloseTo(12);
  });
});
