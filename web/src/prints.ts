// Two prints of a part laid over each other: which ones, and the way back.
import { make } from "./dom";
import type { PictureMessage, PrintSaid } from "./protocol";

const NOW = "the part as it is now";

export class Prints {
  readonly element = make("div", { class: "prints" });
  private prints: PrintSaid[] | null = null;
  private first = "";
  private second = "";

  constructor(private readonly send: (message: PictureMessage) => boolean) {
    this.draw();
  }

  take(prints: PrintSaid[]): void {
    this.prints = prints;
    this.first = prints[1]?.code ?? prints[0]?.code ?? "";
    this.second = prints.length > 1 ? prints[0].code : "";
    this.draw();
    this.element.querySelector<HTMLElement>("select")?.focus();
  }

  private draw(): void {
    const { prints } = this;
    if (!prints) {
      const ask = () => this.send({ kind: "prints" });
      const title = "lay two prints of this part over each other";
      this.element.replaceChildren(
        make("button", { type: "button", title, onclick: ask }, "Compare prints"),
      );
      return;
    }
    if (!prints.length) {
      const text = "No print of this part is in the journal yet.";
      this.element.replaceChildren(make("p", { class: "soft", role: "status" }, text));
      this.prints = null;
      return;
    }
    const pick = (label: string, value: string, now: boolean, take: (code: string) => void) => {
      const options = prints.map(({ code, made_on }) =>
        make("option", { value: code }, `${code}, ${made_on}`),
      );
      if (now) options.unshift(make("option", { value: "" }, NOW));
      const select = make(
        "select",
        { "aria-label": label, onchange: () => take(select.value) },
        ...options,
      );
      select.value = value;
      return select;
    };
    const over = () => this.send({ kind: "over", first: this.first, second: this.second });
    const end = () => {
      this.send({ kind: "over", first: "", second: "" });
      this.prints = null;
      this.draw();
      this.element.querySelector("button")?.focus();
    };
    this.element.replaceChildren(
      pick("print below", this.first, false, (code) => {
        this.first = code;
      }),
      make("span", {}, "below"),
      pick("print on top", this.second, true, (code) => {
        this.second = code;
      }),
      make("button", { type: "button", onclick: over }, "Lay over"),
      make("button", { type: "button", onclick: end }, "End"),
    );
  }
}
