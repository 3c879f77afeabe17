// The picture of a print with its fits marked by numbers, and beside it the fit that is being judged.
import { drawIn, make } from "./dom";
import { type MarkedMessage, SIGNS, type Verdict } from "./protocol";

const SVG = "http://www.w3.org/2000/svg";

export class MarkedPicture {
  readonly element = make("div", { class: "marked", hidden: true });
  private shown: MarkedMessage | null = null;
  private address = "";

  constructor(private readonly pick: (name: string) => void) {}

  // Of another print than the picked one nothing is shown.
  take(message: MarkedMessage, png?: DataView): void {
    this.drop();
    this.shown = message;
    if (png) {
      const bytes = new Uint8Array(png.buffer, png.byteOffset, png.byteLength).slice();
      this.address = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    }
  }

  drop(): void {
    if (this.address) URL.revokeObjectURL(this.address);
    this.address = "";
    this.shown = null;
  }

  // The number that marks a fit; 0 if it is not on the picture.
  numberOf(code: string, name: string): number {
    return this.of(code) ? this.shown!.marks.findIndex((mark) => mark.name === name) + 1 : 0;
  }

  draw(
    code: string,
    title: string,
    fit: string,
    verdicts: Record<string, Verdict>,
    card: HTMLElement | null,
  ): void {
    const { shown } = this;
    this.element.hidden = !this.of(code) && !(shown?.code === code && shown.trouble);
    if (this.element.hidden || !shown) return;
    if (shown.trouble) {
      const text = `No picture of this print: ${shown.trouble}`;
      this.element.replaceChildren(make("p", { class: "soft" }, text));
      return;
    }
    const [width, height] = shown.size;
    const image = make("img", {
      src: this.address,
      alt: `${title}, its bodies lifted apart`,
      width,
      height,
    });
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    // All lines lie below all numbers, and take no press from them.
    for (const { name, start, end, at } of shown.marks) {
      const own = name === fit ? "own " : "";
      const middle = [(start[0] + end[0]) / 2, (start[1] + end[1]) / 2];
      drawIn(svg, "path", { d: `M${start}L${end}`, class: `${own}line` });
      drawIn(svg, "path", { d: `M${middle}L${at}`, class: "lead" });
    }
    shown.marks.forEach(({ name, at }, n) => {
      const own = name === fit;
      const verdict = verdicts[name];
      const said = verdict ?? "not judged";
      const about = { role: "button", tabindex: 0, "data-key": `mark ${name}` };
      const label = { "aria-label": `${n + 1}: ${name}, ${said}`, "aria-pressed": String(own) };
      const group = drawIn(svg, "g", { class: own ? "mark own" : "mark", ...about, ...label });
      drawIn(group, "title", {}, `${name}: ${said}`);
      drawIn(group, "circle", { cx: at[0], cy: at[1], r: 12 });
      drawIn(group, "text", { x: at[0], y: at[1] + 4.5 }, String(n + 1));
      if (verdict) {
        drawIn(group, "circle", { cx: at[0] + 12, cy: at[1] - 10, r: 8, class: "sign" });
        drawIn(group, "text", { x: at[0] + 12, y: at[1] - 6, class: "sign" }, SIGNS[verdict]);
      }
      group.addEventListener("click", () => this.pick(name));
      group.addEventListener("keydown", (event) => {
        if (event.key !== "Enter" && event.key !== " ") return;
        event.preventDefault();
        this.pick(name);
      });
    });
    const frame = make("div", { class: "marked-frame" }, image);
    frame.append(svg);
    this.element.replaceChildren(frame, ...(card ? [card] : []));
  }

  private of(code: string): boolean {
    return this.shown !== null && this.shown.code === code && this.address !== "";
  }
}
