// One parameter's field. A measured one shows its reading, and is typed over only after a yes. What
// is typed and not taken in yet is marked as such.
import { make } from "./dom";
import type { PictureMessage, ValueControl } from "./protocol";

export type Send = (message: PictureMessage) => boolean;

// Widths that fitkit.css leaves beside a label for a text, and for a choice with its arrow, px.
const ROOM = { text: 92, choice: 66 };
// How long an answer may take before the field says that there is none yet, ms.
const PATIENCE = 1500;

// How long a slider rests before its value is sent while shapes are drawn ahead of the kernel, ms.
const REST = 150;

// Who draws a slider's values before the kernel has built them.
export interface Ahead {
  // The slider is about to be dragged: it gives `low` and `count` values, and stands at the `at`th.
  prepare(path: string, low: number, step: number, count: number, at: number): void;
  // Draw a value; false if its shape is not there.
  show(path: string, value: number): boolean;
  end(): void;
}

export interface Entry {
  shown: string | null; // as the kernel last said
  sent: string | null; // on its way to the kernel, until that shows a new text
}

export class FieldBox {
  readonly element: HTMLElement;
  readonly entry: Entry = { shown: null, sent: null };
  used = true;

  private readonly path: string;
  private readonly input: HTMLInputElement | HTMLSelectElement;
  private readonly slider: HTMLInputElement | null;
  private readonly reset: HTMLButtonElement;
  private readonly typing: HTMLElement; // the field itself
  private readonly state = make("p", { class: "state", hidden: true });
  private readonly message: HTMLElement;
  private readonly waiting = make("p", { class: "waiting", hidden: true });
  private readonly reading: HTMLElement;
  private readonly from = make("span", { class: "soft" });
  private readonly change: HTMLButtonElement;
  private readonly question: HTMLElement;
  private readonly yes: HTMLButtonElement;
  private readonly back: HTMLButtonElement;
  private readonly words: string;
  private backTo = "";
  private measured = ""; // the reading, as the kernel last said
  private open = false; // a yes was given to typing over the reading
  private fitted = "";
  private lost = false;
  private patience: ReturnType<typeof setTimeout> | undefined;

  constructor(
    control: ValueControl,
    owner: string,
    private readonly send: Send,
    private readonly ruler: CanvasRenderingContext2D | null,
    private readonly ahead: Ahead | null = null,
  ) {
    const { path, label } = control;
    this.path = path;
    const id = `fk-${owner}-${path}`.replace(/[^\w-]/g, "-");
    this.input = this.drawInput(control, id);
    this.input.dataset.path = path;
    this.input.setAttribute("aria-describedby", `${id}-m ${id}-w ${id}-s`);
    this.slider = this.input instanceof HTMLInputElement ? this.drawSlider(control) : null;
    this.message = make("p", { class: "message", id: `${id}-m`, role: "alert", hidden: true });
    this.waiting.id = `${id}-w`;
    this.state.id = `${id}-s`;
    this.reset = make(
      "button",
      {
        type: "button",
        class: "reset",
        title: `back to ${control.default_text || "the start"}`,
        "aria-label": `set ${label} back to ${control.default_text || "the start"}`,
        onclick: () => {
          this.entry.sent = null;
          this.send({ kind: "reset", path });
        },
      },
      "↺",
    );
    this.reading = make("output", { class: "reading" });
    this.change = make(
      "button",
      {
        type: "button",
        "aria-label": `Change ${label}`,
        "data-key": `change ${path}`,
        onclick: () => this.ask(true),
      },
      "Change",
    );
    this.yes = make("button", { type: "button", onclick: () => this.unlock() }, "Type over it");
    const no = make(
      "button",
      {
        type: "button",
        onclick: () => {
          this.ask(false);
          this.change.focus();
        },
      },
      "Keep the reading",
    );
    this.question = make(
      "div",
      {
        class: "question",
        role: "group",
        "aria-label": `${label} is measured`,
        hidden: true,
        onkeydown: (event: KeyboardEvent) => {
          if (event.key === "Escape") no.click();
        },
      },
      make("p", {}, "This size is measured. Typing over it cuts the tie to the reading."),
      this.yes,
      no,
    );
    this.back = make(
      "button",
      {
        type: "button",
        class: "back",
        "aria-label": `Set ${label} back to its reading`,
        onclick: () => this.goBack(),
      },
      "Back to the reading",
    );
    const name = path.split(".").at(-1) ?? path;
    const inSheet = name.replaceAll("_", " ") === label ? "" : `In a sheet: ${name}.`;
    const help = [control.help, control.bounds, inSheet].filter(Boolean).join(" ");
    const unit = control.unit ? make("span", { class: "unit" }, control.unit) : null;
    this.words = `${label} ${control.help} ${name}`.toLowerCase();
    this.typing = make("span", { class: "entry" }, this.input, unit, this.reset);
    const helpText = help ? make("p", { class: "help" }, help) : null;
    // Left without typing over the reading, a measured field is as it was.
    const left = (event: FocusEvent) => {
      if (this.element.contains(event.relatedTarget as Node | null)) return;
      if (this.pending || !this.measured) return;
      this.open = false;
      this.showLock();
    };
    this.element = make(
      "div",
      { class: `field ${control.kind}`, "data-field": path, onfocusout: left },
      make("label", { for: id, title: help }, label),
      this.typing,
      this.reading,
      make("span", { class: "read" }, this.from, this.change),
      this.question,
      this.slider,
      this.back,
      this.state,
      this.waiting,
      this.message,
      helpText,
    );
  }

  matches(wanted: string): boolean {
    return this.words.includes(wanted);
  }

  focus(): void {
    (this.locked ? this.change : this.input).focus();
  }

  // Something is typed that the kernel has not been sent.
  get pending(): boolean {
    const { sent, shown } = this.entry;
    return this.input.type === "text" && shown !== null && this.input.value !== (sent ?? shown);
  }

  private get locked(): boolean {
    return Boolean(this.measured) && !this.open;
  }

  // --- a measured size ---------------------------------------------------------------------------

  private ask(asking: boolean): void {
    this.question.hidden = !asking;
    if (asking) this.yes.focus();
  }

  private unlock(): void {
    this.open = true;
    this.ask(false);
    this.showLock();
    this.input.focus();
    if (this.input instanceof HTMLInputElement) this.input.select();
  }

  private showLock(): void {
    const { locked } = this;
    this.typing.hidden = locked;
    // A slider beside an expression would replace it at a touch.
    if (this.slider) this.slider.hidden = locked || !this.waiting.hidden;
    this.change.parentElement!.hidden = !locked;
    this.reading.hidden = !locked;
    if (!locked) this.question.hidden = true;
    this.element.classList.toggle("locked", locked);
  }

  private goBack(): void {
    this.open = false;
    this.commit(this.backTo);
  }

  // --- typing ------------------------------------------------------------------------------------

  private drawInput(control: ValueControl, id: string): HTMLInputElement | HTMLSelectElement {
    if (control.kind === "choice") {
      const options = control.choices.map((choice) => make("option", { value: choice }, choice));
      const select = make("select", { id, onchange: () => this.commit(select.value) }, ...options);
      return select;
    }
    if (control.kind === "switch") {
      const box = make("input", {
        type: "checkbox",
        id,
        onchange: () => this.commit(box.checked ? "yes" : "no"),
      });
      return box;
    }
    // What is typed is sent as it is; nothing is rounded or kept within bounds in silence.
    const input = make("input", {
      type: "text",
      id,
      autocomplete: "off",
      spellcheck: "false",
      oninput: () => this.showState(),
      onchange: () => this.commitTyped(),
      onkeydown: (event: KeyboardEvent) => {
        if (event.key === "Enter") {
          event.preventDefault();
          this.commitTyped();
          input.select();
        }
        if (event.key === "Escape") {
          input.value = this.entry.shown ?? "";
          this.showState();
          if (!this.measured) return;
          this.open = false;
          this.showLock();
          this.change.focus();
        }
      },
    });
    return input;
  }

  private drawSlider(control: ValueControl): HTMLInputElement | null {
    const { low, high } = control;
    const input = this.input;
    if (input.type !== "text" || low === null || high === null || high <= low) return null;
    const step = niceStep((high - low) / 150);
    const { ahead, path } = this;
    let queued: string | null = null;
    let rest: ReturnType<typeof setTimeout> | undefined;
    const said = () => `${trim(Number(slider.value))}${control.unit ? ` ${control.unit}` : ""}`;
    const prepare = () => {
      const count = Math.floor((high - low) / step + 1e-9) + 1;
      ahead?.prepare(path, low, step, count, Math.round((Number(slider.value) - low) / step));
    };
    // Once a frame, however fast the slider is dragged. Where its shape is there already, the kernel
    // hears of it as soon as the slider rests.
    const follow = () => {
      const last = queued;
      queued = null;
      if (last === null) return;
      clearTimeout(rest);
      if (ahead?.show(path, Number.parseFloat(last)))
        rest = setTimeout(() => this.commit(last, true), REST);
      else this.commit(last, true);
    };
    const slider = make("input", {
      type: "range",
      min: low,
      max: high,
      step,
      tabindex: "-1",
      "aria-label": `${control.label}, slider`,
      onpointerenter: prepare,
      onpointerdown: prepare,
      onfocus: prepare,
      oninput: () => {
        const text = said();
        input.value = text;
        if (queued === null) requestAnimationFrame(follow);
        queued = text;
      },
      // Let go: the whole drag is one step of the undo.
      onchange: () => {
        queued = null;
        clearTimeout(rest);
        ahead?.end();
        input.value = said();
        this.commit(input.value);
      },
    });
    return slider;
  }

  private commit(text: string, dragging = false): void {
    const { path } = this;
    const message = { kind: "set", path, text } as const;
    const gone = this.send(dragging ? { ...message, dragging } : message);
    this.lost = !gone;
    this.entry.sent = gone ? text : null;
    clearTimeout(this.patience);
    if (gone) this.patience = setTimeout(() => this.showState(true), PATIENCE);
    this.showState();
  }

  // Enter sends, and leaving the field after it must not send again.
  private commitTyped(): void {
    const { sent, shown } = this.entry;
    if (this.input.value !== (sent ?? shown)) this.commit(this.input.value);
  }

  // Say what has become of what was typed, as long as the kernel has not taken it in.
  private showState(late = false): void {
    const text = this.lost
      ? "▲ Not sent: the kernel is gone."
      : this.entry.sent !== null && late
        ? "Sent; there is no answer yet."
        : this.pending
          ? "Not taken in yet: press Enter."
          : "";
    say(this.state, text);
  }

  // --- what the kernel says ----------------------------------------------------------------------

  refresh(control: ValueControl, font: string): void {
    const { input, entry, slider } = this;
    const focused = input === document.activeElement;
    const news = control.text !== entry.shown;
    this.used = control.used;
    if (input instanceof HTMLInputElement && control.kind === "switch")
      input.checked = control.text === "yes";
    else if (news || !focused) {
      // A field that is being typed in is left alone unless the kernel answers what was sent.
      const touched = entry.shown !== null && ![entry.shown, entry.sent].includes(input.value);
      if (!focused || !touched) input.value = control.text;
    }
    // What was sent has been answered, or is overtaken: typed once more, it is to be sent again.
    if (news) entry.sent = null;
    entry.shown = control.text;
    clearTimeout(this.patience);
    input.title = control.text;
    this.fit(control, font);
    if (slider && control.value !== null && slider !== document.activeElement)
      slider.value = String(control.value);
    input.setAttribute("aria-invalid", String(Boolean(control.message)));
    this.measured = control.reading;
    if (!control.reading) this.open = false;
    // Where it comes from is said where that is not its own name.
    const [size, from] = control.reading.split(", from ");
    say(this.reading, size);
    const plain = (text: string) => text.replaceAll("_", " ");
    say(this.from, from && plain(from) !== control.label ? `from ${from}` : "read");
    this.backTo = control.back;
    this.back.hidden = !control.back;
    // Both ways back would do the same.
    this.reset.hidden =
      !control.changed || (control.back !== "" && control.back === control.default_text);
    say(this.waiting, control.waiting ? `? ${control.waiting}` : "");
    say(this.message, control.message ? `▲ ${control.message}` : "");
    this.showLock();
    this.showState();
  }

  // An expression or a long choice needs room; a choice keeps its place whichever is picked.
  private fit(control: ValueControl, font: string): void {
    const fitted = `${font} ${control.text}`;
    if (this.fitted === fitted) return;
    this.fitted = fitted;
    const narrow =
      control.kind === "choice"
        ? control.choices.every((choice) => this.fits(choice, ROOM.choice, font))
        : this.fits(control.text, ROOM.text, font);
    this.element.classList.toggle("wide", !narrow);
  }

  // Measured without laying the page out: a field in a closed group has no width of its own.
  private fits(text: string, room: number, font: string): boolean {
    if (!this.ruler) return true;
    this.ruler.font = font;
    return this.ruler.measureText(text).width <= room;
  }
}

export function say(place: HTMLElement, text: string): void {
  if (place.textContent !== text) place.textContent = text;
  place.hidden = !text;
}

// The least of 1, 2 or 5 times a power of ten that is no less.
export function niceStep(step: number): number {
  const power = 10 ** Math.floor(Math.log10(step));
  return [1, 2, 5, 10].map((n) => n * power).find((n) => n >= step - 1e-12) ?? 10 * power;
}

const trim = (number: number): string => String(Number(number.toFixed(3)));
