import { describe, expect, it } from "vitest";
import { drawFacing, Facing, onScreen, PX_PER_MM, reach } from "../src/preview/facing";
import type { FacingSizes } from "../src/protocol";

const set = (scale: number, view: FacingSizes["view"] = "front"): FacingSizes => ({
  view,
  scale,
  sizes: [
    {
      name: "board length",
      lines: [
        [0, 0, 0, -8],
        [20, 0, 20, -8],
        [0, -7, 20, -7],
      ],
      heads: [[0, -7, 2, -6.7, 2, -7.3, 0, -7]],
      text: "20.00",
      at: [6, -6],
      turn: 0,
    },
    { name: "height", lines: [[-7, 0, -7, 10]], heads: [], text: "10.00", at: [-8, 2], turn: 90 },
  ],
  left: [],
  turned: 1,
});

function asking(heard = true) {
  const asked: [string, number][] = [];
  let now = 0;
  const facing = new Facing(
    (view, scale) => {
      if (heard) asked.push([view, scale]);
      return heard;
    },
    () => now,
  );
  return { asked, facing, after: (ms: number) => (now += ms) };
}

describe("dimension lines of a view", () => {
  it("are asked for once at the scale in which letters are read, and waited for a moment", () => {
    const { asked, facing, after } = asking();
    expect(facing.find("front", 7)).toBe("wait");
    expect(facing.find("front", 7)).toBe("wait");
    expect(asked).toEqual([["front", Number((7 / PX_PER_MM).toPrecision(3))]]);
    after(500);
    expect(facing.find("front", 7)).toBe(null); // nobody answered: sizes are named beside the part
    facing.take([set(asked[0][1])]);
    expect(facing.find("front", 7)).toEqual(set(asked[0][1]));
    expect(asked).toHaveLength(1);
  });

  it("of a near scale stand in while the exact ones are on their way", () => {
    const { asked, facing } = asking();
    facing.take([set(1)]);
    expect(facing.find("front", PX_PER_MM * 1.2)).toEqual(set(1));
    expect(asked).toEqual([["front", 1.2]]);
    facing.take([set(1.2)]);
    expect(facing.find("front", PX_PER_MM * 1.2)).toEqual(set(1.2));
    expect(facing.find("front", PX_PER_MM * 1.01)).toEqual(set(1)); // kept
    expect(facing.find("top", PX_PER_MM)).toBe("wait");
  });

  it("are those of the shape that is shown", () => {
    const { facing } = asking(false);
    facing.take([set(1), set(1.5), set(1, "top")]);
    expect(facing.find("front", PX_PER_MM * 1.4)).toEqual(set(1.5));
    facing.forget();
    expect(facing.find("front", PX_PER_MM * 1.4)).toBe(null);
  });

  it("go with the part as it grows on the screen", () => {
    expect(onScreen(set(2), [100, 50], 10)(4, 6)).toEqual([120, 20]);
    const [left, top, right, bottom] = reach(set(2), [100, 50], 10);
    expect([left, right]).toEqual([100 - 52.5, 200]); // a standing number is left of its foot
    expect([top, bottom]).toEqual([50 - 58.75, 90]);
  });

  it("are drawn with their numbers, and a number picks its size", () => {
    const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    let picked = "";
    drawFacing(svg, set(1), [0, 0], PX_PER_MM, "black", "white", "height", (name) => {
      picked = name;
    });
    const texts = [...svg.querySelectorAll("text")];
    expect(texts.map((text) => text.firstChild?.textContent)).toEqual(["20.00", "10.00"]);
    expect(texts.map((text) => text.querySelector("title")?.textContent)).toEqual([
      "board length 20.00 mm",
      "height 10.00 mm",
    ]);
    expect(texts[1].getAttribute("transform")).toContain("rotate(-90 ");
    expect(texts.map((text) => text.getAttribute("font-weight"))).toEqual(["400", "700"]);
    expect(Number(texts[0].getAttribute("font-size"))).toBeCloseTo(12.05, 1);
    texts[0].dispatchEvent(new Event("pointerdown"));
    expect(picked).toBe("board length");
  });
});
