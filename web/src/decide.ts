// Below a finding that doubts readings: keep one, leave it out, or read it again, with a reason.
import { make } from "./dom";
import type { PictureMessage, ShownReading } from "./protocol";

type Decision = Extract<PictureMessage, { kind: "decide" }>["decision"];

const ASKED: Record<Decision, { label: string; title: string; why: string }> = {
  keep: {
    label: "Keep",
    title: "it counts, though it is doubted",
    why: "why it is right, then Enter",
  },
  "leave-out": {
    label: "Leave out",
    title: "it does not count",
    why: "why it cannot be right, then Enter",
  },
  again: {
    label: "Read again",
    title: "it does not count, and another reading is wanted",
    why: "what was wrong, then Enter",
  },
};

export class Decisions {
  private asked: { key: string; decision: Decision; text: string } | null = null;
  private wanted: HTMLElement | null = null; // what is to have the cursor once it is in the page

  constructor(
    private readonly send: (message: PictureMessage) => boolean,
    private readonly redraw: () => void,
  ) {}

  draw(readings: ShownReading[]): HTMLElement | null {
    if (!readings.length) return null;
    return make("ul", { class: "decide" }, ...readings.map((one) => this.line(one)));
  }

  focus(): void {
    this.wanted?.focus();
    this.wanted = null;
  }

  private line(one: ShownReading): HTMLElement {
    const key = `${one.file} ${one.row}`;
    const buttons = (Object.keys(ASKED) as Decision[]).map((decision) =>
      make(
        "button",
        {
          type: "button",
          title: ASKED[decision].title,
          "aria-pressed": String(this.asked?.key === key && this.asked.decision === decision),
          onclick: () => {
            this.asked = { key, decision, text: "" };
            this.redraw();
          },
        },
        ASKED[decision].label,
      ),
    );
    const asked = this.asked?.key === key ? this.reason(one) : null;
    return make("li", {}, make("span", {}, `${one.text} (row ${one.row}) `), ...buttons, asked);
  }

  private reason({ file, row }: ShownReading): HTMLElement {
    const { decision, text } = this.asked as NonNullable<typeof this.asked>;
    const close = () => {
      this.asked = null;
      this.redraw();
    };
    const input = make("input", {
      type: "text",
      value: text,
      size: "36",
      placeholder: ASKED[decision].why,
      "aria-label": "reason",
      oninput: () => {
        if (this.asked) this.asked.text = input.value;
      },
      onkeydown: (event: KeyboardEvent) => {
        event.stopPropagation();
        if (event.key === "Escape") close();
        const reason = input.value.trim();
        if (event.key !== "Enter" || !reason) return;
        if (this.send({ kind: "decide", file, row, decision, reason })) close();
      },
    });
    this.wanted = input;
    return input;
  }
}
