import { beforeEach, describe, expect, it } from "vitest";
import { Prints } from "../src/prints";
import type { PictureMessage } from "../src/protocol";

let sent: PictureMessage[];
let prints: Prints;
const print = (code: string, made_on: string) => ({ code, title: "case", made_on });
const button = (text: string) =>
  [...prints.element.querySelectorAll("button")].find((each) => each.textContent === text)!;
const choice = (label: string) =>
  prints.element.querySelector<HTMLSelectElement>(`[aria-label='${label}']`)!;

beforeEach(() => {
  sent = [];
  prints = new Prints((message) => sent.push(message) > 0);
  document.body.replaceChildren(prints.element);
});

describe("two prints of a part", () => {
  it("are asked for, the last two picked, and laid over each other", () => {
    button("Compare prints").click();
    prints.take([print("K7M3PXA", "2026-03-11"), print("RJYMK9H", "2026-03-02")]);
    expect([choice("print below").value, choice("print on top").value]).toEqual([
      "RJYMK9H",
      "K7M3PXA",
    ]);
    button("Lay over").click();
    choice("print on top").value = "";
    choice("print on top").dispatchEvent(new Event("change"));
    button("Lay over").click();
    button("End").click();
    expect(sent).toEqual([
      { kind: "prints" },
      { kind: "over", first: "RJYMK9H", second: "K7M3PXA" },
      { kind: "over", first: "RJYMK9H", second: "" },
      { kind: "over", first: "", second: "" },
    ]);
    expect(button("Compare prints")).toBeDefined();
  });

  it("of one print lay that below the part, and of none say so", () => {
    prints.take([print("K7M3PXA", "2026-03-11")]);
    expect([choice("print below").value, choice("print on top").value]).toEqual(["K7M3PXA", ""]);
    prints.take([]);
    expect(prints.element.textContent).toContain("No print of this part");
  });
});
