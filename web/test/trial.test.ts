import { beforeEach, describe, expect, it } from "vitest";
import { SIGNS, type TrialState, type Verdict } from "../src/protocol";
import trial from "../src/trial";
import { Kernel, leaveWith, type } from "./page";

const verdicts = Object.keys(SIGNS) as Verdict[];
const curve = {
  gap: [-0.2, 0, 0.2, 0.4],
  chance: [0, 0.4, 0.9, 0.2],
  best: 0.21,
  best_chance: 0.92,
  band: [0.1, 0.3],
  as_made: 0.2,
  trials: [{ gap: 0.1, verdict: "tight" as const, code: "B2" }],
  about: "pin in hole, slides, 8.0 mm",
};
const state: TrialState = {
  prints: [{ code: "A1", title: "holder", made_on: "2026-11-02" }],
  code: "A1",
  title: "holder",
  fit: "pocket",
  fits: ["pocket", "slot"].map((name) => {
    return { name, mark: "", wanted: "slides", expected: "64.20 ± 0.10 mm", judged: true };
  }),
  verdicts,
  tried: [{ code: "B2", on: "2026-11-03", said: "pocket: tight", withdrawn: false }],
  curve,
  before: null,
  said: "",
  bad: false,
  fault_at: "",
  saved: 0,
};

let kernel: Kernel<{ state: TrialState }>;
let el: HTMLElement;

const label = (text: string) => el.querySelector<HTMLInputElement>(`[aria-label='${text}']`)!;
const choice = (key: string) => el.querySelector<HTMLElement>(`[data-key='${key}']`)!;

beforeEach(() => {
  kernel = new Kernel({ state }, "Trial");
  el = kernel.mount(trial.render);
  kernel.news();
});

describe("the trial entry", () => {
  it("writes down verdicts, sizes and notes as typed, and not what was unpicked", () => {
    choice("tight: pocket").click();
    choice("loose: slot").click();
    choice("loose: slot").click();
    label("pocket, measured, mm").focus();
    kernel.news();
    type("64.3");
    label("notes").focus();
    type("printed slowly");
    el.querySelector("form")!.dispatchEvent(new Event("submit", { cancelable: true }));
    const add = kernel.news().find(({ kind }) => kind === "add");
    expect(add).toEqual({
      kind: "add",
      verdicts: { pocket: "tight" },
      measured: { pocket: "64.3" },
      finished: false,
      notes: "printed slowly",
    });
  });

  it("picks a fit, looks up a code, and takes a verdict back", () => {
    choice("tight: slot").click();
    label("trace code").value = "zzzz";
    label("trace code").dispatchEvent(new Event("change"));
    label("withdraw B2").click();
    const sent = kernel.news().filter(({ kind }) => kind !== "refresh");
    expect(sent).toEqual([
      { kind: "fit", name: "slot" },
      { kind: "pick", code: "zzzz" },
      { kind: "withdraw", code: "B2" },
    ]);
  });

  it("keeps what was typed, and the focus, while an error stands at its field", () => {
    label("slot, measured, mm").focus();
    leaveWith("3 kg");
    label("slot, measured, mm").focus();
    const said = "'kg' is not a unit of length.";
    kernel.set("state", { ...state, fault_at: "slot", bad: true, said });
    expect(label("slot, measured, mm").value).toBe("3 kg");
    expect(document.activeElement).toBe(label("slot, measured, mm"));
    expect(el.querySelector("[role=alert]")?.textContent).toBe(`▲ ${said}`);
  });

  it("shows each verdict by its sign, on the buttons and on the curve", () => {
    const buttons = [...el.querySelectorAll("tr")][1].querySelectorAll("button");
    const signs = [...buttons].map((each) => each.textContent);
    expect(signs).toEqual(["✕ will not go", "▽ tight", "● as wanted", "△ loose", "◇ rattles"]);
    expect(el.querySelector(".tried")?.textContent).toBe("▽");
    const sentence = "chance of a fit as wanted against the gap: ";
    const about = "pin in hole, slides, 8.0 mm; best gap 0.21 mm";
    expect(el.querySelector("svg")?.getAttribute("aria-label")).toBe(sentence + about);
  });
});

describe("the picture of a print", () => {
  const marks = ["pocket", "slot"].map((name, n) => {
    const at: [number, number] = [100 + 60 * n, 80];
    return { name, start: [90, 90] as [number, number], end: [140, 90] as [number, number], at };
  });
  const picture = { kind: "picture", code: "A1", size: [640, 460], marks, trouble: "" };
  const png = new DataView(new Uint8Array([137, 80, 78, 71]).buffer);
  const mark = (name: string) => el.querySelector<SVGElement>(`[data-key='mark ${name}']`)!;

  it("is asked for once, and marks each fit by the number that its row has", () => {
    const again = new Kernel({ state }, "Trial");
    el = again.mount(trial.render);
    again.say("change:state");
    expect(again.news().filter(({ kind }) => kind === "picture")).toHaveLength(1);
    expect(el.querySelector<HTMLElement>(".marked")!.hidden).toBe(true);
    again.say("msg:custom", picture, [png]);
    expect(el.querySelector<HTMLElement>(".marked")!.hidden).toBe(false);
    expect(mark("slot").getAttribute("aria-label")).toBe("2: slot, not judged");
    expect([...el.querySelectorAll("tbody .nth")].map((each) => each.textContent)).toEqual([
      "1",
      "2",
    ]);
    expect(el.querySelector(".card h3")!.textContent).toBe("1pocket");
  });

  it("takes a verdict by one press, shows it there, and goes on to the next fit", () => {
    kernel.say("msg:custom", picture, [png]);
    choice("card tight").focus();
    choice("card tight").click();
    expect(mark("pocket").getAttribute("aria-label")).toBe("1: pocket, tight");
    expect(mark("pocket").textContent).toContain(SIGNS.tight);
    expect(choice("tight: pocket").getAttribute("aria-pressed")).toBe("true");
    expect(kernel.news()).toContainEqual({ kind: "fit", name: "slot" });
    expect(document.activeElement).toBe(choice("card tight")); // the hand stays where it is
    expect(el.querySelector(".card")!.textContent).toContain("1 of 2 judged");
  });

  it("has the measured size beside it, which is that of the row", () => {
    kernel.say("msg:custom", picture, [png]);
    choice("card size").focus();
    type("64,3");
    expect((choice("size of pocket") as HTMLInputElement).value).toBe("64,3");
    el.querySelector("form")!.dispatchEvent(new Event("submit", { cancelable: true }));
    const add = kernel.news().find(({ kind }) => kind === "add");
    expect(add).toMatchObject({ measured: { pocket: "64,3" } });
  });

  it("picks a fit by press or key", () => {
    kernel.say("msg:custom", picture, [png]);
    mark("slot").dispatchEvent(new Event("click"));
    mark("pocket").dispatchEvent(new KeyboardEvent("keydown", { key: "Enter" }));
    expect(kernel.news().filter(({ kind }) => kind === "fit")).toEqual([
      { kind: "fit", name: "slot" },
      { kind: "fit", name: "pocket" },
    ]);
  });

  it("of another print is not shown, and one that cannot be drawn is said", () => {
    kernel.say("msg:custom", { ...picture, code: "B9" }, [png]);
    expect(el.querySelector<HTMLElement>(".marked")!.hidden).toBe(true);
    kernel.say("msg:custom", { ...picture, marks: [], trouble: "no such template" }, []);
    expect(el.querySelector(".marked")!.textContent).toContain("no such template");
    expect(el.querySelector(".card")).toBe(null);
  });
});
