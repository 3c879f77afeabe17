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
