import { Plane, Scene, Texture, Vector3 } from "three";
import { describe, expect, it } from "vitest";
import { Before } from "../src/preview/before";
import { Cut } from "../src/preview/cutting";
import { direction, Eye } from "../src/preview/eye";
import { showNear, takeGaps } from "../src/preview/gaps";
import { cross, lineFrom, placeLabels } from "../src/preview/labels";
import { legendOf } from "../src/preview/legend";
import { bandColour, paint } from "../src/preview/paint";
import { fileName } from "../src/preview/picture";
import { hex, numbersOf, placed, shapesOf } from "../src/preview/shapes";
import { type Dimension, GAP_BANDS, NOT_NEAR, OBJECT_COLOUR, type Solid } from "../src/protocol";

const size = { w: 800, h: 400 };
const whole = { object: true, gaps: false, sizes: true, overhangs: false, bed: false };
const quarter = [0, -1, 0, 1, 0, 0, 0, 0, 1]; // a turn about the upright

function bytes(array: Float32Array | Uint32Array | Int8Array | Uint8Array): DataView {
  // At an odd offset, as a message's bytes may lie.
  const room = new Uint8Array(array.byteLength + 3);
  room.set(new Uint8Array(array.buffer), 3);
  return new DataView(room.buffer, 3);
}

const corners = new Float32Array([0, 0, 0, 10, 0, 0, 0, 20, 0]);
const drawn = [
  bytes(corners),
  bytes(new Uint32Array([0, 1, 2])),
  bytes(new Int8Array([0, 0, 127, 0, 0, 127, 0, 0, 127])),
  bytes(new Float32Array([0, 0, 0, 10, 0, 0])),
];
const names = ["corners", "triangles", "normals", "edges"] as const;
const tray: Solid = {
  name: "tray",
  role: "body",
  arrays: [...names, "marks"],
  turn: quarter,
  on_bed: [5, 6, 0],
};
const plate: Solid = { name: "plate", role: "object", arrays: [...names] };
const shapes = () => {
  const buffers = [...drawn, bytes(new Uint8Array([1])), ...drawn];
  return shapesOf([tray, plate], buffers, [], new Plane(), new Texture());
};

describe("what comes with a scene", () => {
  it("is read at any offset and kept apart from the message", () => {
    expect(numbersOf("corners", drawn[0])).toEqual(corners);
    expect(numbersOf("normals", drawn[2])[2]).toBe(127);
  });

  it("keeps the materials of a body that was there before, and drops what is gone", () => {
    const before = shapes();
    const buffers = [...drawn, bytes(new Uint8Array([1]))];
    const after = shapesOf([tray], buffers, before, new Plane(), new Texture());
    expect(after).toHaveLength(1);
    expect(after[0].mesh.material).toBe(before[0].mesh.material);
  });

  it("is turned and laid on the bed as its pose says", () => {
    const [body, object] = shapes();
    const at = new Vector3(10, 0, 0).applyMatrix4(placed(body, true));
    expect(at.toArray()).toEqual([5, 16, 0]);
    const still = new Vector3(10, 0, 0).applyMatrix4(placed(object, true));
    expect(still.toArray()).toEqual([10, 0, 0]);
  });
});

describe("gaps", () => {
  it("have the colour of their band, and none where nothing is near", () => {
    expect(bandColour(-0.01)).toBe(hex(GAP_BANDS[0].colour));
    expect(bandColour(0)).toBe(hex(GAP_BANDS[1].colour));
    expect(bandColour(0.199)).toBe(hex(GAP_BANDS[2].colour));
    expect(bandColour(5)).toBe(hex(GAP_BANDS[5].colour));
    expect(bandColour(Number.NaN)).toBe(hex(NOT_NEAR.colour));
    expect(bandColour(undefined)).toBe(hex(NOT_NEAR.colour));
  });

  it("lie on a finer mesh, which takes the place of the plain one while they are shown", () => {
    const all = shapes();
    const fine = new Float32Array(18);
    const near = [bytes(fine), bytes(new Int8Array(18)), bytes(new Float32Array(6).fill(0.05))];
    const gaps = [
      {
        name: "plate",
        least_gap: 0.05,
        rests: true,
        arrays: ["corners", "normals", "gap"] as const,
      },
    ].map((each) => ({ ...each, arrays: [...each.arrays] }));
    takeGaps(all, gaps, near);
    const count = () => all[1].mesh.geometry.getAttribute("position").count;
    expect(count()).toBe(3);
    showNear(all, true);
    expect(count()).toBe(6);
    paint(all, { ...whole, gaps: true }, false);
    expect(colourOf(all[1])).toBe(hex(GAP_BANDS[1].colour));
    const words = legendOf({ ...whole, gaps: true }, all, 45).map((each) => each.textContent);
    expect(words.at(-1)).toBe("plate: least gap 0.05 mm; rests on the part");
    showNear(all, false);
    expect(count()).toBe(3);
  });

  function colourOf(shape: ReturnType<typeof shapes>[number]): number {
    const faces = shape.mesh.geometry.getAttribute("color");
    const { color } = shape.edge.material;
    return color.clone().setRGB(faces.getX(0), faces.getY(0), faces.getZ(0)).getHex();
  }

  it("leave the object in its own colour until they are shown", () => {
    const all = shapes();
    paint(all, whole, false);
    expect(colourOf(all[1])).toBe(hex(OBJECT_COLOUR));
  });
});

describe("the cut", () => {
  it("opens what is seen at a share of the way, and says where", () => {
    const all = shapes();
    const cut = new Cut();
    cut.axis = "x";
    cut.move(0.25);
    const scene = new Scene();
    all[1].group.visible = false;
    const [low, high] = [new Vector3(0, 0, 0), new Vector3(10, 20, 5)];
    expect(cut.apply(all, scene, low, high, new Texture())).toBe("x = 2.5 mm");
    expect(cut.plane.distanceToPoint(new Vector3(2.5, 7, 1))).toBeCloseTo(0);
    expect(all.map((shape) => shape.cap.parent === scene)).toEqual([true, false]);
    cut.axis = null;
    expect(cut.apply(all, scene, low, high, new Texture())).toBe("");
    expect(all[0].cap.parent).toBeNull();
    cut.move(7);
    expect(cut.share).toBeLessThan(1);
  });
});

describe("the eye", () => {
  it("sees the middle of the part in the middle, and all of it, from every view", () => {
    const eye = new Eye(document.createElement("canvas"), () => undefined);
    for (let view = 0; view < 7; view++) {
      eye.aim(new Vector3(5, 10, 2), direction(view));
      const box = [0, 10].flatMap((x) => [0, 20].map((y) => new Vector3(x, y, 4 * (x / 10))));
      const spots = box.map((spot) => spot.toArray());
      eye.frame(box, 1.2, size);
      const [x, y] = eye.screen([5, 10, 2], size);
      expect([x, y].map(Math.round)).toEqual([400, 200]);
      for (const spot of spots) {
        const [right, down] = eye.screen(spot, size);
        expect(right).toBeGreaterThan(0);
        expect(right).toBeLessThan(size.w);
        expect(down).toBeGreaterThan(0);
        expect(down).toBeLessThan(size.h);
      }
    }
  });

  it("turns about the upright", () => {
    const eye = new Eye(document.createElement("canvas"), () => undefined);
    eye.aim(new Vector3(), direction(1)); // from the front
    eye.turn(90, 0);
    expect(eye.from().x).toBeCloseTo(1); // from the right
  });
});

describe("labels", () => {
  const dimension = (name: string, x: number, y: number): Dimension => {
    const at: [number, number, number] = [x, y, 0];
    return { name, text: "", body: "", start: at, end: at, round: false };
  };
  const screen = ([x, y]: readonly number[]): [number, number] => [x, y];

  it("stand beside the part in the order of what they point at, never over each other", () => {
    const many = [120, 100, 101, 300].map((y, n) => dimension(`d${n}`, n % 2 ? 700 : 60, y));
    const { left, right } = placeLabels(many, screen, size);
    expect(left.map((label) => label.dimension.name)).toEqual(["d2", "d0"]);
    expect(right.map((label) => label.dimension.name)).toEqual(["d1", "d3"]);
    for (const side of [left, right])
      for (let n = 1; n < side.length; n++)
        expect(side[n].y - side[n - 1].y).toBeGreaterThanOrEqual(24);
  });

  it("go to the other side where one is crowded, and are counted where there is no room", () => {
    const crowd = Array.from({ length: 40 }, (_, n) => dimension(`d${n}`, 50 + n, 200));
    const { left, right, more } = placeLabels(crowd, screen, size);
    expect(left.length + more.left).toBe(20);
    expect(right.length + more.right).toBe(20);
    expect(left).toHaveLength(15); // (400 - 20) / 24
    expect(left.every(({ y }) => y > 0 && y < size.h)).toBe(true);
  });
});

it("a picture is named after the part", () => {
  expect(fileName("lamp: holder №2")).toBe("lamp-holder-2.png");
  expect(fileName("")).toBe("part.png");
});

describe("lines from labels to what they name", () => {
  it("do not cross on a side, wherever the dimensions lie", () => {
    let seed = 3;
    const chance = () => {
      seed = (seed * 48271) % 2147483647;
      return seed / 2147483647;
    };
    for (let round = 0; round < 60; round++) {
      const dimensions = Array.from({ length: 12 }, (_, n): Dimension => {
        const at = (): [number, number, number] => [200 + 400 * chance(), 60 + 280 * chance(), 0];
        const name = "size".repeat(1 + (n % 4));
        return { name, text: "12.34 mm", body: "tray", start: at(), end: at(), round: false };
      });
      const columns = placeLabels(dimensions, ([x, y]) => [x, y], size);
      for (const side of ["left", "right"] as const) {
        const lines = columns[side].map((each): [[number, number], [number, number]] => [
          lineFrom(each, side, size.w),
          each.middle,
        ]);
        for (const one of lines)
          for (const other of lines) if (one !== other) expect(cross(one, other)).toBe(false);
        const heights = columns[side].map(({ y }) => y).sort((p, q) => p - q);
        for (let n = 1; n < heights.length; n++)
          expect(heights[n] - heights[n - 1]).toBeGreaterThanOrEqual(23.9);
      }
    }
  });
});

describe("another shape below the picture", () => {
  it("is the edges of the bodies as they were held, until they are let go", () => {
    const before = new Before();
    const all = shapes();
    before.hold(all);
    expect(before.group.children).toHaveLength(1); // the object is no body
    const lines = before.group.children[0] as unknown as {
      geometry: (typeof all)[0]["edge"]["geometry"];
    };
    const place = () => lines.geometry.getAttribute("position");
    expect(place().getX(1)).toBe(10);
    // What changes afterwards does not move what is held.
    all[0].edge.geometry.getAttribute("position").setX(1, 99);
    expect(place().getX(1)).toBe(10);
    before.clear();
    expect(before.what).toBe("");
    expect(before.group.children).toHaveLength(0);
  });
});
