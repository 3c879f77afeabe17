import { describe, expect, it } from "vitest";
import { advance, columns, type Layout, nextWanted, type Spot, tab, within } from "../src/walk";

// Three columns of heads; two features want three readings each.
const empty: Layout = { heads: 3, asked: 3, taken: [0, 0] };

function follow(step: (here: Spot) => Spot | null, from: Spot, times: number): number[][] {
  const seen: number[][] = [];
  let here: Spot | null = from;
  for (let n = 0; n < times && here; n++) {
    here = step(here);
    if (here) seen.push([here.row, here.col]);
  }
  return seen;
}

describe("the cursor of the grid", () => {
  it("goes on to the next repeat, then to the next feature, then to the new row", () => {
    const spots = follow((here) => advance(empty, here, false), { row: 0, col: 3 }, 6);
    expect(spots).toEqual([
      [0, 4],
      [0, 5],
      [1, 3],
      [1, 4],
      [1, 5],
      [2, 3],
    ]);
    expect(within(empty, { row: 2, col: 3 })).toEqual({ row: 2, col: 0 });
  });

  it("goes back by Shift and Enter", () => {
    expect(advance(empty, { row: 1, col: 3 }, true)).toEqual({ row: 0, col: 5 });
    expect(advance(empty, { row: 1, col: 5 }, true)).toEqual({ row: 1, col: 4 });
  });

  it("goes from a name to its first reading", () => {
    expect(advance(empty, { row: 1, col: 0 }, false)).toEqual({ row: 1, col: 3 });
  });

  it("begins where a reading is wanted", () => {
    expect(nextWanted({ ...empty, taken: [3, 1] })).toEqual({ row: 1, col: 4 });
    expect(nextWanted({ ...empty, taken: [3, 3] })).toEqual({ row: 0, col: 3 });
    expect(nextWanted({ ...empty, taken: [] })).toEqual({ row: 0, col: 3 });
  });

  it("reads on by Tab through every cell, and out at both ends", () => {
    const seen = follow((here) => tab(empty, here, false), { row: 0, col: 0 }, 99);
    expect(seen).toHaveLength(12); // 2 rows of 6 cells and the new row, less the first
    expect(seen.at(-1)).toEqual([2, 0]);
    const back = follow((here) => tab(empty, here, true), { row: 2, col: 0 }, 99);
    expect(back.at(-1)).toEqual([0, 0]);
    expect(back).toHaveLength(12);
  });

  it("has a free cell behind the longest row", () => {
    expect(columns({ ...empty, taken: [3, 5] })).toBe(6);
    expect(columns(empty)).toBe(3);
  });
});
