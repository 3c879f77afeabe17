import { BoxGeometry, CylinderGeometry, Matrix4 } from "three";
import { describe, expect, it } from "vitest";
import { between, drivenBy, facesOf, trianglesOf } from "../src/preview/faces";
import { gapFigures } from "../src/preview/figures";
import type { Shape } from "../src/preview/shapes";
import type { Dimension } from "../src/protocol";

type Vec = [number, number, number];
const size = (name: string, start: Vec, end: Vec, round = false): Dimension => ({
  name,
  text: "",
  body: "tray",
  start,
  end,
  round,
});
const spelt = (geometry: BoxGeometry | CylinderGeometry) =>
  trianglesOf(geometry.toNonIndexed().getAttribute("position").array);
const box = spelt(new BoxGeometry(60, 40, 20)); // 12 triangles, its middle at the origin
const length = size("length", [-30, 0, 3], [30, 0, 3]);
const height = size("height", [30, -20, -10], [30, -20, 10]);

describe("the faces of a size", () => {
  it("are those in the planes at both ends of its line", () => {
    const ends = facesOf(length, box);
    expect(ends.size).toBe(4);
    for (const n of ends) expect(Math.abs(box[n].at[0])).toBeCloseTo(30);
    expect(facesOf(size("short", [-29, 0, 0], [29, 0, 0]), box).size).toBe(0);
  });

  it("are the wall of a hole for its diameter, and not a plane that is as far away", () => {
    const hole = new CylinderGeometry(4, 4, 10, 64, 1, true).applyMatrix4(
      new Matrix4().makeRotationX(Math.PI / 2),
    );
    const wall = spelt(hole);
    const plane = spelt(new BoxGeometry(30, 30, 8));
    const across = size("hole", [-4, 0, 5], [4, 0, 5], true);
    expect(facesOf(across, wall).size).toBe(wall.length);
    expect(facesOf(across, plane).size).toBe(0);
    expect(facesOf(size("wider", [-5, 0, 5], [5, 0, 5], true), wall).size).toBe(0);
  });

  it("name the size that drives them, of several the nearest", () => {
    const far = size("far", [-30, 15, 9], [30, 15, 9]);
    const known = [length, height, far].map((one): [Dimension, Set<number>] => [
      one,
      facesOf(one, box),
    ]);
    const right = box.findIndex(({ at }) => at[0] > 29.9);
    expect(drivenBy(known, right, [30, 1, 2])?.name).toBe("length");
    expect(drivenBy(known, right, [30, 14, 8])?.name).toBe("far");
    const front = box.findIndex(({ at }) => at[1] < -19.9);
    expect(drivenBy(known, front, [0, -20, 0])).toBeNull();
  });
});

describe("measuring between two spots", () => {
  it("tells the way, its parts, and how far parallel faces are apart", () => {
    const a = { at: [0, 0, 0] as Vec, normal: [1, 0, 0] as Vec };
    const b = { at: [3, 4, 0] as Vec, normal: [-1, 0, 0] as Vec };
    expect(between(a, b)).toBe("faces 3.00 mm apart; points 5.00 mm (x 3.00, y 4.00, z 0.00)");
    expect(between(a, { ...b, normal: [0, 1, 0] })).toBe("5.00 mm (x 3.00, y 4.00, z 0.00)");
  });
});

describe("gaps where a cut goes through", () => {
  const near = {
    corners: new Float32Array([5, 0, 0, 5, 0, 1, -5, 0, 0, 0, 0, -2, 5, 30, 0]),
    normals: new Int8Array([127, 0, 0, 127, 0, 0, -127, 0, 0, 0, 0, -127, 127, 0, 0]),
    gap: new Float32Array([0.3, 0.23, 0.1, 0, 0.01]),
  };
  const shape = { ghost: true, group: { visible: true }, near } as unknown as Shape;

  it("are the least of each side, and none beside the cut", () => {
    const found = gapFigures([shape], "y", 0.2);
    const texts = found.map(({ text }) => text);
    expect(texts).toEqual(["gap 0.23 mm", "gap 0.10 mm", "touches"]);
    expect(found[0].at[1]).toBeCloseTo(0.2);
    expect(gapFigures([shape], null, 0)).toEqual([]);
    expect(gapFigures([shape], "y", 10)).toEqual([]);
  });
});
