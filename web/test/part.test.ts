import { beforeEach, describe, expect, it, vi } from "vitest";
import { niceStep } from "../src/field";
import { GONE } from "../src/kernel";
import part from "../src/part";
import type { PanelDoc, ValueControl } from "../src/protocol";
import { control, doc } from "./panel";
import { Kernel, leaveWith, press, type } from "./page";

let kernel: Kernel<{ doc: PanelDoc; still_id: string }>;
let el: HTMLElement;

const field = (path: string) => el.querySelector<HTMLInputElement>(`[data-path="${path}"]`)!;
const button = (label: string) =>
  [...el.querySelectorAll("button")].find((each) => each.textContent === label)!;
const answer = (text: string, more: Partial<ValueControl> = {}) =>
  kernel.set("doc", doc(control("wall", text, more)));

beforeEach(() => {
  // There is no WebGL here, which three tells the console.
  vi.spyOn(console, "error").mockImplementation(() => undefined);
  kernel = new Kernel({ doc: doc(control("wall", "2.4 mm")), still_id: "a1" }, "Picture");
  el = kernel.mount(part.render);
  kernel.news();
});

describe("a parameter's field", () => {
  it("sends what is typed as it is, once, by Enter or by leaving the field", () => {
    field("wall").focus();
    type(" 1/8 in");
    press("Enter");
    const message = { kind: "set", path: "wall", text: " 1/8 in" };
    expect(kernel.news()).toEqual([message]);
    leaveWith(" 1/8 in");
    expect(kernel.news()).toEqual([]);
    leaveWith("3");
    field("wall").focus();
    leaveWith("3");
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "3" }]);
  });

  it("shows the kernel's answer, but never over what is being typed", () => {
    field("wall").focus();
    type("3");
    press("Enter");
    answer("3 mm");
    expect(field("wall").value).toBe("3 mm");
    type("3.");
    answer("3 mm", { message: "a word about it" });
    answer("7 mm");
    expect(field("wall").value).toBe("3.");
    press("Escape");
    expect(field("wall").value).toBe("7 mm");
  });

  it("puts a message beside the field and keeps what was typed", () => {
    field("wall").focus();
    leaveWith("101.6");
    answer("101.6 mm", { message: "101.6 mm is over the most, 61 mm." });
    expect(field("wall").value).toBe("101.6 mm");
    expect(field("wall").getAttribute("aria-invalid")).toBe("true");
    const message = el.querySelector("[data-field=wall] .message")!;
    expect(message.textContent).toBe("▲ 101.6 mm is over the most, 61 mm.");
  });

  it("sends a value that is typed again after all went back to the start", () => {
    field("wall").focus();
    leaveWith("3 mm");
    answer("3 mm");
    kernel.news();
    button("All back to the start").click();
    expect(kernel.news()).toEqual([{ kind: "reset" }]);
    answer("2.4 mm");
    expect(field("wall").value).toBe("2.4 mm");
    field("wall").focus();
    leaveWith("3 mm");
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "3 mm" }]);
  });

  it("sends a value that is typed again after a sheet was loaded over it", () => {
    field("wall").focus();
    leaveWith("3 mm");
    answer("3 mm");
    answer("5 mm"); // as after "Load sheet"
    kernel.news();
    field("wall").focus();
    leaveWith("3 mm");
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "3 mm" }]);
  });

  it("sends the old value when it is typed before the new one is answered", () => {
    field("wall").focus();
    type("3 mm");
    press("Enter");
    type("2.4 mm");
    press("Enter");
    expect(kernel.news().map(({ text }) => text)).toEqual(["3 mm", "2.4 mm"]);
  });

  it("is moved by its slider, one message a frame, in steps that a person would choose", async () => {
    const slider = el.querySelector<HTMLInputElement>("[data-field=wall] input[type=range]")!;
    expect(slider.step).toBe("0.5");
    for (const value of ["3", "4", "4.5"]) {
      slider.value = value;
      slider.dispatchEvent(new Event("input"));
    }
    expect(field("wall").value).toBe("4.5 mm");
    await new Promise((done) => requestAnimationFrame(done));
    expect(kernel.news()).toEqual([{ kind: "set", path: "wall", text: "4.5 mm", dragging: true }]);
    expect([0.004, 0.4, 0.2, 3].map(niceStep)).toEqual([0.005, 0.5, 0.2, 5]);
  });

  it("may be a switch, a choice, or one of a list", () => {
    field("lid").click();
    field("finish").focus();
    leaveWith("as printed");
    button("Add slot").click();
    button("Remove").click();
    el.querySelector<HTMLElement>("[data-field='slots.0.width'] .reset")!.click();
    expect(kernel.news()).toEqual([
      { kind: "set", path: "lid", text: "yes" },
      { kind: "set", path: "finish", text: "as printed" },
      { kind: "add", path: "slots" },
      { kind: "remove", path: "slots", index: 0 },
      { kind: "reset", path: "slots.0.width" },
    ]);
  });
});

describe("the panel", () => {
  it("asks for a still picture where there is no WebGL", () => {
    const views = [...el.querySelectorAll<HTMLElement>("[aria-label=views] button")];
    views[5].click();
    expect(kernel.news()).toEqual([{ kind: "still", view: "top" }]);
    expect(el.querySelector(".stage-note")?.textContent).toContain("no WebGL");
    kernel.say("msg:custom", { kind: "still" }, [new DataView(new ArrayBuffer(4))]);
    expect(el.querySelector("img")?.src).toMatch(/^blob:/);
  });

  it("writes, saves and loads", () => {
    button("Write the files to print").click();
    const name = el.querySelector<HTMLInputElement>("[aria-label='part sheet file']")!;
    name.value = "case.toml";
    button("Save sheet").click();
    button("Load sheet").click();
    expect(kernel.news()).toEqual([
      { kind: "export" },
      { kind: "save", path: "case.toml" },
      { kind: "load", path: "case.toml" },
    ]);
  });

  it("counts a press that begins on a button, though its place is taken meanwhile", async () => {
    const write = button("Write the files to print");
    const at = { clientX: 0, clientY: 0, bubbles: true };
    write.dispatchEvent(new PointerEvent("pointerdown", at));
    kernel.set("doc", doc(control("wall", "2.5 mm"), { said: "changed", faulty: true }));
    expect(button("Write the files to print")).toBe(write);
    window.dispatchEvent(new PointerEvent("pointerup", at));
    await new Promise((done) => setTimeout(done, 5));
    expect(kernel.news()).toEqual([{ kind: "export" }]);
    expect(button("Write the files to print")).not.toBe(write);
  });

  it("takes a press for one, and one that is let go elsewhere for none", async () => {
    const write = button("Write the files to print");
    const at = { clientX: 0, clientY: 0, bubbles: true };
    write.dispatchEvent(new PointerEvent("pointerdown", at));
    window.dispatchEvent(new PointerEvent("pointerup", at));
    write.click();
    await new Promise((done) => setTimeout(done, 5));
    expect(kernel.news()).toEqual([{ kind: "export" }]);
    write.dispatchEvent(new PointerEvent("pointerdown", at));
    window.dispatchEvent(new PointerEvent("pointerup", { ...at, clientX: 500 }));
    await new Promise((done) => setTimeout(done, 5));
    expect(kernel.news()).toEqual([]);
  });

  it("marks each finding by sign and word", () => {
    const finding = { check: "walls", text: "thin", number: "", remedy: "", at: [], readings: [] };
    const findings = (["stop", "warn", "note"] as const).map((severity) => ({
      ...finding,
      severity,
    }));
    kernel.set("doc", doc(control("wall", "2.4 mm"), { findings }));
    const marks = [...el.querySelectorAll(".findings b")].map((each) => each.textContent);
    expect(marks).toEqual(["■ stop", "▲ warn", "○ note"]);
  });

  it("decides on a doubted reading below its finding, with a reason", () => {
    const told = { check: "readings", severity: "stop" as const, text: "17.93 stands out." };
    const readings = [{ file: "bench.csv", row: 3, text: "lid 17.93 mm" }];
    const findings = [{ ...told, number: "", remedy: "", at: [], readings }];
    kernel.set("doc", doc(control("wall", "2.4 mm"), { findings, checked: true }));
    expect(el.querySelector(".decide")!.textContent).toContain("lid 17.93 mm (row 3)");
    button("Leave out").click();
    const reason = () => el.querySelector<HTMLInputElement>(".decide input")!;
    expect(document.activeElement).toBe(reason());
    press("Enter"); // no reason yet
    expect(kernel.news()).toEqual([]);
    type("it slipped");
    kernel.set("doc", doc(control("wall", "3 mm"), { findings, checked: true, answers: 1 }));
    expect(reason().value).toBe("it slipped");
    press("Enter");
    const decided = { kind: "decide", file: "bench.csv", row: 3, decision: "leave-out" };
    expect(kernel.news()).toEqual([{ ...decided, reason: "it slipped" }]);
    expect(reason()).toBeNull();
  });

  it("says once that the kernel is gone", () => {
    kernel.gone = true;
    field("wall").focus();
    leaveWith("3 mm");
    button("All back to the start").click();
    const told = [...el.querySelectorAll(".gone")].map((each) => each.textContent);
    expect(told).toEqual([`▲ ${GONE}`]);
  });
});
