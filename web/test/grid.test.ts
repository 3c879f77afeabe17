import { beforeEach, describe, expect, it, vi } from "vitest";
import grid from "../src/grid";
import { GONE } from "../src/kernel";
import type { GridRow, GridSetup } from "../src/protocol";
import { byPlace } from "../src/keys";
import { Kernel, press, type } from "./page";

const setup: GridSetup = {
  file: "board.csv",
  modes: ["outside", "inside", "depth"],
  units: ["mm", "in"],
  instruments: [],
  repeats: 2,
  good_enough: 0.1,
};

function row(at: number, feature: string, ...texts: string[]): GridRow {
  const cells = texts.map((text) => ({ text, left_out: "", bad: "" }));
  const plain = { mode: "outside", unit: "mm", instrument: "", mean: "", spread: "", flags: [] };
  return { at, feature, cells, ...plain };
}

let kernel: Kernel<{ setup: GridSetup }>;
let el: HTMLElement;

const scroll = () => el.querySelector<HTMLElement>(".grid-scroll")!;
const said = () => el.querySelector<HTMLElement>("[role=status]")!;
const cell = (at: number, col: number) =>
  el.querySelector<HTMLElement>(`tr[data-row="${at}"] > td[data-col="${col}"]`)!;
const here = () => {
  const td = el.querySelector<HTMLElement>("td.here")!;
  return [Number(td.parentElement?.dataset.row), Number(td.dataset.col)];
};
const pick = (at: number, col: number) =>
  cell(at, col).dispatchEvent(new Event("pointerdown", { bubbles: true }));
const button = (label: string) =>
  [...el.querySelectorAll("button")].find((each) => each.textContent === label)!;

// As calipers with a data cable do: the first digit opens the cell.
function typeInto(text: string) {
  press(text[0]);
  type(text);
}

beforeEach(() => {
  kernel = new Kernel({ setup }, "Grid");
  el = kernel.mount(grid.render);
  kernel.news();
  const rows = [row(0, "board length"), row(1, "board width", "49.01")];
  kernel.say("msg:custom", { kind: "all", rows, said: "", bad: false });
  scroll().focus();
});

describe("typing readings", () => {
  it("begins at the first reading that is wanted, and Enter goes on", () => {
    expect(here()).toEqual([0, 3]);
    typeInto("12.34");
    press("Enter");
    expect(kernel.news()).toEqual([{ kind: "cell", row: 0, repeat: 0, text: "12.34" }]);
    expect(here()).toEqual([0, 4]);
    typeInto("12.36");
    press("Enter");
    expect(here()).toEqual([1, 3]);
    expect(cell(0, 4).textContent).toBe("12.36");
    expect(said().textContent).toBe("saving …");
  });

  it("sends nothing when nothing was changed, or Escape takes it back", () => {
    pick(1, 3);
    press("F2");
    press("Enter");
    pick(1, 3);
    typeInto("50");
    press("Escape");
    expect(cell(1, 3).textContent).toBe("49.01");
    expect(kernel.news()).toEqual([]);
  });

  it("takes a reading away by Delete", () => {
    pick(1, 3);
    press("Delete");
    expect(kernel.news()).toEqual([{ kind: "cell", row: 1, repeat: 0, text: "" }]);
  });

  it("adds a feature in the row behind the last", () => {
    button("Add a feature").click();
    type("slot");
    press("Enter");
    expect(kernel.news()).toEqual([{ kind: "add", name: "slot" }]);
    expect(cell(2, 0).textContent).toBe("slot");
    expect(here()).toEqual([2, 3]);
  });

  it("keeps what is being typed when the kernel answers", () => {
    typeInto("12.3");
    const rows = [row(0, "board length"), row(1, "board width", "49.01", "49.02")];
    kernel.say("msg:custom", { kind: "rows", rows: [rows[1]], said: "Saved.", bad: false });
    expect((document.activeElement as HTMLInputElement).value).toBe("12.3");
    kernel.say("msg:custom", { kind: "all", rows, said: "", bad: false });
    expect((document.activeElement as HTMLInputElement).value).toBe("12.3");
  });

  it("keeps every key that it takes from the notebook around it", () => {
    for (const key of ["5", "Enter", "ArrowDown", "Home", "F2", "a", "ArrowLeft", "Escape"])
      expect([key, press(key)]).toEqual([key, false]);
    expect(press("F9")).toBe(true);
  });

  it("pastes a block where the cursor is", () => {
    const event = new Event("paste", { bubbles: true });
    Object.assign(event, { clipboardData: { getData: () => "1\t2\n3" } });
    scroll().dispatchEvent(event);
    expect(kernel.news()).toEqual([{ kind: "paste", row: 0, repeat: 0, text: "1\t2\n3" }]);
  });

  it("leaves a reading out with a reason", () => {
    pick(1, 3);
    button("Leave out / take back").click();
    type("dropped");
    press("Enter");
    const message = { kind: "leave", row: 1, repeat: 0, reason: "dropped" };
    expect(kernel.news()).toEqual([message]);
  });

  it.each([
    ["Keep", "keep"],
    ["Read again", "again"],
  ])("decides on a reading with a reason: %s", (label, decision) => {
    pick(1, 3);
    button(label).click();
    press("Enter"); // without a reason nothing is decided
    type("the block says so");
    press("Enter");
    const reason = "the block says so";
    expect(kernel.news()).toEqual([{ kind: "decide", row: 1, repeat: 0, decision, reason }]);
  });

  it("undoes, removes and asks for repeats", () => {
    press("z", { ctrlKey: true });
    button("Remove").click();
    const count = el.querySelector<HTMLInputElement>("label input")!;
    count.value = "400";
    count.dispatchEvent(new Event("change"));
    expect(kernel.news()).toEqual([
      { kind: "undo" },
      { kind: "remove", row: 0 },
      { kind: "repeats", count: 20 },
    ]);
  });
});

describe("mode and unit", () => {
  it("are changed by the keyboard, choice by choice, and Enter picks", () => {
    pick(0, 1);
    press("Enter");
    const choice = document.activeElement as HTMLSelectElement;
    expect(choice.tagName).toBe("SELECT");
    for (const mode of ["inside", "depth"]) {
      expect(press("ArrowDown")).toBe(false); // the notebook would move to its next cell
      type(mode); // what the browser does with the arrow
      choice.dispatchEvent(new Event("change", { bubbles: true }));
      expect(document.activeElement).toBe(choice);
    }
    expect(kernel.news()).toEqual([]);
    press("Enter");
    expect(kernel.news()).toEqual([{ kind: "head", row: 0, column: "mode", text: "depth" }]);
    expect(document.activeElement).toBe(scroll());
  });

  it("are picked at once by the pointer", () => {
    pick(0, 2);
    cell(0, 2).dispatchEvent(new Event("dblclick", { bubbles: true }));
    const choice = document.activeElement as HTMLSelectElement;
    choice.dispatchEvent(new Event("pointerdown", { bubbles: true }));
    type("in");
    choice.dispatchEvent(new Event("change", { bubbles: true }));
    expect(kernel.news()).toEqual([{ kind: "head", row: 0, column: "unit", text: "in" }]);
    expect(cell(0, 2).textContent).toBe("in");
  });
});

describe("once the kernel is gone", () => {
  it("a reading is shown as unsaved, the key stays here, and it is said what to do", () => {
    kernel.say("msg:custom", { kind: "rows", rows: [], said: "Saved.", bad: false });
    kernel.gone = true;
    typeInto("12.34");
    expect(press("Enter")).toBe(false);
    expect(said().textContent).toBe(GONE);
    expect(said().className).toBe("message");
    expect(cell(0, 3).textContent).toBe("12.34");
    expect(cell(0, 3).classList.contains("unsaved")).toBe(true);
    expect(cell(0, 3).title).toContain("not saved");
    expect(here()).toEqual([0, 4]);
    // It goes on being said, whatever is typed or drawn next.
    typeInto("12.36");
    press("Enter");
    expect(said().textContent).toBe(GONE);
    expect(el.querySelectorAll("td.unsaved")).toHaveLength(2);
  });

  it("the other keys stay here too", () => {
    kernel.gone = true;
    pick(1, 3);
    expect(press("Delete")).toBe(false);
    expect(said().textContent).toBe(GONE);
    press("z", { ctrlKey: true });
    button("Add a feature").click();
    type("slot");
    expect(press("Enter")).toBe(false);
    expect(cell(2, 0).classList.contains("unsaved")).toBe(true);
  });

  it("a restart is told, and an answer takes the words back", () => {
    kernel.say("comm_live_update");
    expect(said().textContent).toBe(GONE);
    expect(kernel.news()).toEqual([{ kind: "ready" }]);
    const rows = [row(0, "board length", "12.34")];
    kernel.say("msg:custom", { kind: "all", rows, said: "", bad: false });
    expect(said().textContent).toBe("");
    expect(el.querySelectorAll("td.unsaved")).toHaveLength(0);
  });
});

describe("by keyboard", () => {
  const open = () => el.querySelector<HTMLSelectElement>("td.open select")!;
  const go = (key: string, times: number) => {
    for (let n = 0; n < times; n++) press(key);
  };

  it("shows all modes at once, picks one by its first letter, and goes on", () => {
    go("ArrowLeft", 2);
    expect(here()).toEqual([0, 1]);
    press("Enter");
    expect(open().getAttribute("size")).toBe("3");
    expect(open().value).toBe("outside");
    press("Escape");
    expect(cell(0, 1).textContent).toBe("outside");
    press("i");
    expect(open().value).toBe("inside");
    expect(press("ArrowDown")).toBe(false); // the notebook hears nothing of it
    press("Enter");
    expect(kernel.news()).toEqual([{ kind: "head", row: 0, column: "mode", text: "inside" }]);
    expect(here()).toEqual([1, 1]);
    press("ArrowRight");
    press("i");
    press("Enter");
    expect(kernel.news()).toEqual([{ kind: "head", row: 1, column: "unit", text: "in" }]);
  });
});

describe("keys of a calipers' cable", () => {
  // The same places under other layouts: what is printed on the keys of the upper row.
  const layouts = {
    French: "&é\"'(-è_çà",
    Czech: "+ěščřžýáíé",
    German: "1234567890",
  };
  const places = "1234567890";
  const hit = (text: string, layout: string) => {
    for (const sign of text) {
      const at = places.indexOf(sign);
      const code = at < 0 ? (sign === "." ? "Period" : "Minus") : `Digit${sign}`;
      const other = sign === "." ? (layout === layouts.French ? ":" : ".") : ")";
      press(at < 0 ? other : layout[at], { code });
    }
  };

  for (const [name, layout] of Object.entries(layouts))
    it(`type what the display shows under a ${name} layout`, () => {
      hit("12.34", layout);
      press("Enter");
      hit("-0.58", layout);
      press("Enter");
      expect(kernel.news()).toEqual([
        { kind: "cell", row: 0, repeat: 0, text: "12.34" },
        { kind: "cell", row: 0, repeat: 1, text: "-0.58" },
      ]);
    });

  it("of the number block type digits while NumLock is off, when they are arrows else", () => {
    // What a browser hears of such keys then, by the place of the key.
    const arrows: Record<string, string> = {
      "0": "Insert",
      "1": "End",
      "2": "ArrowDown",
      "3": "PageDown",
      "4": "ArrowLeft",
      "5": "Clear",
      "6": "ArrowRight",
      "7": "Home",
      "8": "ArrowUp",
      "9": "PageUp",
      ".": "Delete",
    };
    for (const sign of "12.34")
      press(arrows[sign], { code: sign === "." ? "NumpadDecimal" : `Numpad${sign}` });
    press("Enter", { code: "NumpadEnter" });
    press("-", { code: "NumpadSubtract" });
    for (const sign of "0567.89")
      press(arrows[sign], { code: sign === "." ? "NumpadDecimal" : `Numpad${sign}` });
    press("Enter", { code: "NumpadEnter" });
    expect(kernel.news()).toEqual([
      { kind: "cell", row: 0, repeat: 0, text: "12.34" },
      { kind: "cell", row: 0, repeat: 1, text: "-0567.89" },
    ]);
    press("ArrowDown", { code: "ArrowDown" }); // keys that are arrows alone go on being so
    expect(el.querySelector("td input")).toBe(null);
  });

  it("of the number block say their own sign while NumLock is on", () => {
    const said = (key: string, code: string) =>
      byPlace(new KeyboardEvent("keydown", { key, code }));
    expect(said("7", "Numpad7")).toBe(null);
    expect(said(",", "NumpadDecimal")).toBe(null); // as a German layout has it
    expect(said("Home", "Numpad7")).toBe("7");
    expect(said("Enter", "NumpadEnter")).toBe(null);
  });

  it("leave what a person types with Shift, and names, as they are", () => {
    press("5", { code: "Digit5", shiftKey: true }); // a digit of a French keyboard
    type("5 1/2 in");
    press("Enter");
    expect(kernel.news()[0]).toMatchObject({ text: "5 1/2 in" });
    pick(0, 0);
    press("é", { code: "Digit2" });
    expect(el.querySelector<HTMLInputElement>("td input")!.value).toBe("é");
  });
});

describe("a row", () => {
  const blank = { text: "", left_out: "", bad: "" };

  it("waits in a calm colour, says where the jaws go, and takes readings into empty cells", () => {
    const waiting = { ...row(0, "hole"), cells: [blank, blank], note: "in the lower left hole" };
    kernel.say("msg:custom", { kind: "all", rows: [waiting, row(1, "lid", "3", "3")], said: "" });
    expect(el.querySelector("tr.waits .flags")!.textContent).toBe("waits to be read");
    expect(el.querySelectorAll("tr.waits")).toHaveLength(1);
    pick(0, 3);
    expect(el.querySelector("tr[data-row='0'] .jaws")!.textContent).toContain("lower left hole");
    expect(el.querySelectorAll("thead th")).toHaveLength(3 + 3 + 3);
    typeInto("4.01");
    press("Enter");
    expect(kernel.news()[0]).toMatchObject({ row: 0, repeat: 0, text: "4.01" });
    press("ArrowDown");
    expect(el.querySelector(".jaws")).toBeNull();
  });

  it("is marked while a size is picked that rests on it, and tells where the cursor rests", () => {
    vi.useFakeTimers();
    kernel.say("msg:custom", { kind: "mark", features: ["board_width"] });
    const marked = () => [...el.querySelectorAll("td.marked")].map((each) => each.textContent);
    expect(marked()).toEqual(["board width"]);
    press("ArrowDown");
    press("ArrowDown");
    press("ArrowUp");
    expect(kernel.news()).toEqual([]); // it has not come to rest
    vi.advanceTimersByTime(400);
    expect(kernel.news()).toEqual([{ kind: "at", row: 1 }]);
    kernel.say("msg:custom", { kind: "mark", features: [] });
    expect(marked()).toEqual([]);
    vi.useRealTimers();
  });

  it("shows its repeats on a line, each in its place, and what is far off at the end", () => {
    const sizes = [12.3, 12.34, 13];
    const cells = sizes.map((size) => ({ text: `${size}`, left_out: "", bad: "", size }));
    cells[2].left_out = "slipped";
    const read = { ...row(0, "lid"), cells, best: [12.32, 0.02] as [number, number] };
    kernel.say("msg:custom", { kind: "rows", rows: [read], said: "" });
    const dots = [...el.querySelectorAll(".strip circle.dot")];
    const places = dots.map((dot) => Number(dot.getAttribute("cx")));
    expect(places[0]).toBeCloseTo(42 - 0.2 * 36);
    expect(places[1]).toBeCloseTo(42 + 0.2 * 36);
    expect(el.querySelectorAll(".strip path.ring")).toHaveLength(1);
  });
});
