import { beforeEach, describe, expect, it, vi } from "vitest";
import part from "../src/part";
import type { PanelDoc, Problem, ValueControl } from "../src/protocol";
import { Kernel, leaveWith, press, type } from "./page";
import { control, doc, list } from "./panel";

let kernel: Kernel<{ doc: PanelDoc; still_id: string }>;
let el: HTMLElement;
let answers = 0;

const field = (path: string) => el.querySelector<HTMLInputElement>(`[data-path="${path}"]`)!;
const box = (path: string) => el.querySelector<HTMLElement>(`[data-field="${path}"]`)!;
const button = (label: string, within: ParentNode = el) =>
  [...within.querySelectorAll("button")].find(
    (each) => each.textContent === label || each.getAttribute("aria-label") === label,
  )!;
const show = (more: Partial<PanelDoc> = {}, wall: Partial<ValueControl> = {}) => {
  answers += 1;
  kernel.set("doc", doc(control("wall", "2.4 mm", wall), { answers, ...more }));
};
const grouped = (...groups: [string, (ValueControl | ReturnType<typeof list>)[]][]) =>
  show({ groups: groups.map(([name, controls]) => ({ name, controls })) });
const active = () => document.activeElement as HTMLElement;

beforeEach(() => {
  vi.spyOn(console, "error").mockImplementation(() => undefined); // no WebGL here
  kernel = new Kernel({ doc: doc(control("wall", "2.4 mm")), still_id: "a1" }, "Picture");
  el = kernel.mount(part.render);
  kernel.news();
});

describe("a thing that may be absent", () => {
  const wall = control("cable.wall", "left", { kind: "choice", choices: ["left", "right"] });
  const item = { title: "cable", controls: [wall, control("cable.diameter", "4 mm")] };

  it("has no field before it is added, and can be removed again", () => {
    grouped(["Openings", [list("cable", [])]]);
    expect(field("cable.diameter")).toBeNull();
    button("Add cable").click();
    expect(kernel.news()).toEqual([{ kind: "add", path: "cable" }]);
    grouped(["Openings", [list("cable", [item], { can_add: false })]]);
    expect(box("cable").querySelector("legend")!.textContent).toBe("cable");
    expect(button("Add cable").hidden).toBe(true);
    button("Remove cable").click();
    expect(kernel.news()).toEqual([{ kind: "remove", path: "cable", index: 0 }]);
  });

  it("has the focus on its first field after it came, and on the button after it went", () => {
    grouped(["Openings", [list("cable", [])]]);
    button("Add cable").focus();
    button("Add cable").click();
    grouped(["Openings", [list("cable", [item], { can_add: false })]]);
    expect(active()).toBe(field("cable.wall"));
    button("Remove cable").focus();
    button("Remove cable").click();
    grouped(["Openings", [list("cable", [])]]);
    expect(active()).toBe(button("Add cable"));
  });
});

describe("a measured size", () => {
  const reading = "64.00 ± 0.03 mm, from plate length";
  const measured = { text: "plate length", value: 64, reading, default_text: "plate length" };

  it("shows its reading and takes no size before a yes", () => {
    show({}, measured);
    expect(box("wall").querySelector(".reading")!.textContent).toBe("64.00 ± 0.03 mm");
    expect(box("wall").querySelector(".read")!.textContent).toBe("from plate lengthChange");
    expect(field("wall").closest<HTMLElement>(".entry")!.hidden).toBe(true);
    expect(box("wall").querySelector<HTMLElement>("input[type=range]")!.hidden).toBe(true);
    button("Change wall").click();
    expect(active().textContent).toBe("Type over it");
    button("Keep the reading", box("wall")).click();
    expect(field("wall").closest<HTMLElement>(".entry")!.hidden).toBe(true);
    expect(active()).toBe(button("Change wall"));
    button("Change wall").click();
    active().click();
    expect(active()).toBe(field("wall"));
    leaveWith("193 mm");
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "193 mm" }]);
  });

  it("is as it was when it is left without a change", () => {
    show({}, measured);
    button("Change wall").click();
    active().click();
    active().blur();
    expect(field("wall").closest<HTMLElement>(".entry")!.hidden).toBe(true);
    expect(kernel.news()).toEqual([]);
  });

  it("goes back to its reading after a size was typed over it", () => {
    const over = { text: "193 mm", changed: true, default_text: "plate length" };
    show({}, { ...over, back: "plate length" });
    expect(field("wall").closest<HTMLElement>(".entry")!.hidden).toBe(false);
    expect(box("wall").querySelector<HTMLElement>(".reset")!.hidden).toBe(true);
    button("Set wall back to its reading").click();
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "plate length" }]);
  });
});

describe("what is typed", () => {
  const state = () => box("wall").querySelector<HTMLElement>(".state")!;

  it("is marked until the kernel has it", () => {
    field("wall").focus();
    type("3");
    expect(state().textContent).toBe("Not taken in yet: press Enter.");
    press("Enter");
    expect(state().hidden).toBe(true);
    show({}, { text: "3 mm" });
    expect(state().hidden).toBe(true);
  });

  it("is said to be unanswered when it is, and lost when it is", () => {
    vi.useFakeTimers();
    field("wall").focus();
    leaveWith("3 mm");
    vi.advanceTimersByTime(5000);
    expect(state().textContent).toBe("Sent; there is no answer yet.");
    vi.useRealTimers();
    kernel.gone = true;
    field("wall").focus();
    leaveWith("4 mm");
    expect(state().textContent).toBe("▲ Not sent: the kernel is gone.");
    expect(field("wall").value).toBe("4 mm");
  });

  it("shows the kernel's way of writing it, though the value is the one that was there", () => {
    field("wall").focus();
    leaveWith("2.4");
    show();
    expect(field("wall").value).toBe("2.4 mm");
  });

  it("makes pictures, sizes and findings of the values before look old", () => {
    const finding = { check: "walls", text: "thin", number: "", remedy: "", at: [], readings: [] };
    const findings = [{ ...finding, severity: "warn" as const }];
    show({ old: true, findings_old: true, findings, checked: true });
    expect(el.querySelector(".stage")!.classList.contains("old")).toBe(true);
    expect(el.querySelector(".problems")!.textContent).toContain("Old picture");
    expect(el.querySelector(".findings h3")!.textContent).toContain("old");
    show({ findings, checked: true });
    expect(el.querySelector(".stage")!.classList.contains("old")).toBe(false);
    expect(el.querySelector<HTMLElement>(".problems")!.hidden).toBe(true);
    expect(el.querySelector(".findings h3")!.textContent).not.toContain("old");
  });

  it("is said to be unsaved, and a sheet is replaced only after a yes", () => {
    show({ unsaved: true });
    expect(el.querySelector(".unsaved")!.textContent).toContain("not saved");
    const text = "There is another sheet named case.toml.";
    show({ question: { text, yes: "Replace it", does: "save", path: "case.toml" } });
    expect(active().textContent).toBe("Leave it as it is");
    active().click();
    expect(kernel.news()).toEqual([{ kind: "leave" }]);
    button("Replace it").click();
    expect(kernel.news()).toEqual([{ kind: "save", path: "case.toml", sure: true }]);
  });

  it("is taken back and done again by keys and buttons, but not while a field is typed in", () => {
    show({ can_undo: true, can_redo: true });
    field("wall").focus();
    press("z", { ctrlKey: true });
    press("y", { ctrlKey: true });
    press("Z", { ctrlKey: true, shiftKey: true });
    button("Undo").click();
    expect(kernel.news()).toEqual([
      { kind: "step", back: true },
      { kind: "step", back: false },
      { kind: "step", back: false },
      { kind: "step", back: true },
    ]);
    type("9");
    press("z", { ctrlKey: true });
    expect(kernel.news()).toEqual([]);
  });
});

describe("problems", () => {
  const unread: Problem = { path: "wall", label: "wall", text: "no reading", kind: "waiting" };

  it("stand below the picture, each with a link to its field", () => {
    const wrong: Problem = { path: "lid", label: "lid", text: "does not close", kind: "wrong" };
    show({ problems: [wrong, unread], faulty: true }, { waiting: "no reading" });
    const told = el.querySelector<HTMLElement>(".problems")!;
    expect(told.textContent).toContain("does not close");
    expect(told.textContent).toContain("1 size is not measured yet and drawn at a default");
    box("wall").closest("details")!.open = false;
    button("? wall", told).click();
    expect(active()).toBe(field("wall"));
    expect(box("wall").closest("details")!.open).toBe(true);
    expect(el.querySelector("summary .count")!.textContent).toBe(" ▲ 1");
  });

  it("keep files from being written, and say why", () => {
    show({ problems: [unread], faulty: true });
    button("Write the files to print").click();
    expect(kernel.news()).toEqual([]);
    expect(el.querySelector(".why")!.textContent).toContain("measure the size");
  });
});

describe("by keyboard", () => {
  const many = (name: string, count: number): [string, ValueControl[]] => [
    name,
    Array.from({ length: count }, (_, n) => control(`${name}${n}`, "2 mm")),
  ];
  const label = () => active().textContent ?? "";

  it("the way from the first field to the button that writes is short", () => {
    grouped(many("Board", 11), many("Openings", 12), many("Case", 16), many("Label", 1));
    field("Board0").focus();
    let presses = 0;
    while (label() !== "Write the files to print" && presses < 20) {
      press("PageDown");
      presses += 1;
    }
    expect(presses).toBeLessThanOrEqual(12);
    field("Board0").focus();
    press("Enter", { ctrlKey: true });
    expect(label()).toBe("Write the files to print");
  });

  it("headings are gone through up and down", () => {
    grouped(many("Board", 2), many("Case", 2));
    field("Case1").focus();
    press("PageUp");
    expect(label()).toBe("Case");
    press("ArrowUp");
    expect(label()).toBe("Board");
    press("ArrowDown");
    expect(label()).toBe("Case");
  });

  it("a search leaves the fields that match, and Enter goes to the first", () => {
    grouped(many("Board", 2), ["Case", [control("floor", "2 mm"), control("lid", "2 mm")]]);
    const search = el.querySelector<HTMLInputElement>("[aria-label='Find a field']")!;
    search.focus();
    type("flo");
    expect(box("floor").hidden).toBe(false);
    expect(box("lid").hidden).toBe(true);
    expect(box("Board0").closest("details")!.hidden).toBe(true);
    press("Enter");
    expect(active()).toBe(field("floor"));
    search.focus();
    press("Escape");
    expect(box("lid").hidden).toBe(false);
  });

  it("the focus stays on a button whose place is drawn again", () => {
    button("Undo").focus();
    show({ can_undo: true, said: "Saved." });
    expect(label()).toBe("Undo");
  });
});

describe("fields", () => {
  it("that the variant does not use are out of sight", () => {
    grouped(["Case", [control("floor", "2 mm"), control("insert", "4 mm", { used: false })]]);
    expect(box("insert").hidden).toBe(true);
    grouped(["Case", [control("floor", "2 mm"), control("insert", "4 mm")]]);
    expect(box("insert").hidden).toBe(false);
    grouped(["Case", [control("insert", "4 mm", { used: false })]]);
    expect(box("insert").closest("details")!.hidden).toBe(true);
  });
});

describe("a size in the table", () => {
  const row = {
    name: "pocket",
    measured: "64.00",
    target: "64.3",
    drawn: "64.5",
    expected: "64.3",
    wanted: "slides",
    notes: [],
    paths: ["wall"],
  };

  it("is told to the grids, and is picked from there without an echo", () => {
    show({ rows: [row] });
    button("pocket").click();
    expect(kernel.news()).toEqual([{ kind: "size", name: "pocket" }]);
    kernel.say("msg:custom", { kind: "size", name: "" }, []);
    expect(button("pocket").getAttribute("aria-pressed")).toBe("false");
    kernel.say("msg:custom", { kind: "size", name: "pocket" }, []);
    expect(button("pocket").getAttribute("aria-pressed")).toBe("true");
    expect(kernel.news()).toEqual([]);
  });

  it("has its trial piece written, or else that of the least sure fit", () => {
    show({ rows: [row] });
    button("Write a trial piece for the least sure fit").click();
    button("pocket").click();
    button("Write a trial piece for pocket").click();
    const asked = kernel.news().filter(({ kind }) => kind === "export");
    expect(asked).toEqual([
      { kind: "export", piece: true, size: "" },
      { kind: "export", piece: true, size: "pocket" },
    ]);
    show({ rows: [row], faulty: true });
    button("Write a trial piece for pocket").click();
    expect(kernel.news()).toEqual([]);
  });

  it("is picked by its button, marks the fields that it rests on, and is let go again", () => {
    show({ rows: [row] });
    const pick = () => button("pocket");
    pick().focus();
    pick().click();
    expect(pick().getAttribute("aria-pressed")).toBe("true");
    expect(active()).toBe(pick());
    expect(box("wall").classList.contains("picked")).toBe(true);
    pick().click();
    expect(pick().getAttribute("aria-pressed")).toBe("false");
    expect(box("wall").classList.contains("picked")).toBe(false);
  });
});
