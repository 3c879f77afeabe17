// What is wrong, and what is not measured yet, below the picture: each with a link to its field.
import { make } from "./dom";
import type { PanelDoc, Problem } from "./protocol";

export class Problems {
  readonly element = make("div", { class: "problems", role: "status", hidden: true });

  constructor(private readonly show: (path: string) => void) {}

  draw(doc: PanelDoc, old: boolean): void {
    const wrong = doc.problems.filter(({ kind }) => kind === "wrong");
    const waiting = doc.problems.filter(({ kind }) => kind === "waiting");
    const parts: HTMLElement[] = [];
    if (old) {
      const text = "▲ Old picture: it does not show what is typed now.";
      parts.push(make("p", { class: "bad" }, make("b", {}, text)));
    }
    if (doc.stands_in) parts.push(make("p", { class: "bad" }, make("b", {}, `▲ ${doc.stands_in}`)));
    if (wrong.length)
      parts.push(
        make("ul", {}, ...wrong.map((one) => make("li", {}, this.link(one, "▲"), ` ${one.text}`))),
      );
    if (waiting.length) {
      const first = waiting.length === 1 ? "1 size is" : `${waiting.length} sizes are`;
      const links = waiting.flatMap((one) => [" ", this.link(one, "?")]);
      const text = `${first} not measured yet and drawn at a default:`;
      parts.push(make("p", { class: "unread" }, make("b", {}, text), ...links));
    }
    this.element.replaceChildren(...parts);
    this.element.hidden = !parts.length;
  }

  private link({ path, label }: Problem, sign: string): HTMLElement | string {
    if (!path) return "▲";
    return make(
      "button",
      { type: "button", class: "link", onclick: () => this.show(path) },
      `${sign} ${label}`,
    );
  }
}
