import { describe, expect, it } from "vitest";
import {
  DESCRIBED,
  GAP_BANDS,
  type GridMessage,
  MARKS,
  type PictureMessage,
  SIGNS,
  type TrialMessage,
  VIEWS,
} from "../src/protocol";

const sources: Record<string, string> = import.meta.glob("../src/**/*.ts", {
  query: "?raw",
  import: "default",
  eager: true,
});

// Kinds that are written out in the files of a view, which the compiler holds against the types.
function kindsIn(...files: RegExp[]): string[] {
  const own = Object.entries(sources).filter(([name]) => files.some((file) => file.test(name)));
  expect(own.length).toBeGreaterThanOrEqual(files.length);
  const kinds = own.flatMap(([, text]) => [...text.matchAll(/\bkind: "(\w+)"/g)]);
  return [...new Set(kinds.map(([, kind]) => kind))].sort();
}

const described = (view: string) => Object.keys(DESCRIBED[view]).sort();

describe("messages to the kernel", () => {
  it("are all described, and none is described that no view sends", () => {
    expect(kindsIn(/\/grid\.ts$/)).toEqual(described("Grid"));
    expect(kindsIn(/\/(part|actions|controls|decide|field|prints)\.ts$/, /\/preview\//)).toEqual(
      described("Picture"),
    );
    expect(kindsIn(/\/trial\.ts$/)).toEqual(described("Trial"));
  });

  it("have the fields that the compiler knows", () => {
    // Each line stops compiling when a field is renamed on the kernel's side.
    const grid: GridMessage = { kind: "cell", row: 0, repeat: 0, text: "" };
    const picture: PictureMessage = { kind: "remove", path: "slots", index: 0 };
    const trial: TrialMessage = { kind: "withdraw", code: "" };
    expect(Object.keys(grid)).toEqual(DESCRIBED.Grid.cell);
    expect(Object.keys(picture)).toEqual(DESCRIBED.Picture.remove);
    expect(Object.keys(trial)).toEqual(DESCRIBED.Trial.withdraw);
  });
});

describe("signs and colours", () => {
  it("tell meanings apart without colour", () => {
    for (const signs of [Object.values(MARKS), Object.values(SIGNS)])
      expect(new Set(signs).size).toBe(signs.length);
  });

  it("stand in no other file than the protocol", () => {
    const colours = GAP_BANDS.map(({ colour }) => colour.slice(1));
    const signs = [MARKS.stop, MARKS.note, ...Object.values(SIGNS)];
    for (const [name, text] of Object.entries(sources)) {
      if (name.endsWith("protocol.ts")) continue;
      expect([name, [...colours, ...signs].filter((own) => text.includes(own))]).toEqual([
        name,
        [],
      ]);
    }
  });

  it("name each view once", () => {
    expect(new Set(VIEWS.map(({ name }) => name)).size).toBe(7);
  });
});
