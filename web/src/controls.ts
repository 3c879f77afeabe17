// The parameters of a part: a field for each, with its unit, slider, note, message and way back.
import { make } from "./dom";
import type { ListControl, PanelDoc, PictureMessage, ValueControl } from "./protocol";

type Control = ValueControl | ListControl;

// Widths that fitkit.css leaves beside a label for a text, and for a choice with its arrow, px.
const ROOM = { text: 92, choice: 66 };

interface Field {
  message: HTMLElement;
  entry: Entry | null; // a list has none of its own
}

interface Entry {
  input: HTMLInputElement | HTMLSelectElement;
  slider: HTMLInputElement | null;
  reset: HTMLElement;
  note: HTMLElement;
  shown: string | null; // as the kernel last said
  sent: string | null; // on its way to the kernel, until that shows a new text
  fitted: string;
}

const isList = (control: Control): control is ListControl => control.kind === "list";

export class Controls {
  readonly element: HTMLFormElement;
  private readonly fields = new Map<string, Field>();
  private readonly ruler = document.createElement("canvas").getContext("2d");

  constructor(
    private readonly id: string,
    private readonly send: (message: PictureMessage) => boolean,
  ) {
    this.element = make("form", {
      class: "controls",
      onsubmit: (event: Event) => event.preventDefault(),
    });
  }

  // Which controls there are: only when this changes are they made again.
  static shape(doc: PanelDoc): unknown {
    return doc.groups.map((group) => [
      group.name,
      group.controls.map((c) => [c.path, c.kind, isList(c) ? c.items.length : 0]),
    ]);
  }

  draw(doc: PanelDoc): void {
    const details = [...this.element.querySelectorAll("details")];
    const open = new Map(details.map((d) => [d.dataset.group, d.open]));
    const focus = (document.activeElement as HTMLElement | null)?.dataset?.path;
    this.fields.clear();
    const subtitle = doc.subtitle === doc.title ? null : make("p", { class: "soft" }, doc.subtitle);
    this.element.replaceChildren(
      make("header", {}, make("h2", {}, doc.title), subtitle),
      ...doc.groups.map((group, n) =>
        make(
          "details",
          { open: open.get(group.name) ?? n < 6, "data-group": group.name },
          make("summary", {}, group.name),
          ...group.controls.map((control) => this.drawControl(control)),
        ),
      ),
    );
    if (focus) this.fields.get(focus)?.entry?.input.focus();
  }

  refresh(doc: PanelDoc, font: string): void {
    for (const group of doc.groups)
      for (const control of group.controls) this.refreshControl(control, font);
  }

  // After all values were set back, a value that is typed again is news to the kernel.
  forgetSent(): void {
    for (const { entry } of this.fields.values()) if (entry) entry.sent = null;
  }

  private drawControl(control: Control): HTMLElement {
    return isList(control) ? this.drawList(control) : this.drawField(control);
  }

  private drawList(control: ListControl): HTMLElement {
    const message = make("p", { class: "message", role: "alert", hidden: true });
    this.fields.set(control.path, { message, entry: null });
    const add = make(
      "button",
      { type: "button", onclick: () => this.send({ kind: "add", path: control.path }) },
      "Add one",
    );
    const items = control.items.map((item, index) => {
      const away = make(
        "button",
        {
          type: "button",
          class: "quiet",
          "aria-label": `take ${item.title} away`,
          onclick: () => this.send({ kind: "remove", path: control.path, index }),
        },
        "take away",
      );
      return make(
        "fieldset",
        {},
        make("legend", {}, item.title, away),
        ...item.controls.map((inner) => this.drawControl(inner)),
      );
    });
    const head = make("div", { class: "list-head" }, make("span", {}, control.label), add);
    return make("div", { class: "list" }, head, message, ...items);
  }

  private drawField(control: ValueControl): HTMLElement {
    const { path } = control;
    const id = `fk-${this.id}-${path}`.replace(/[^\w-]/g, "-");
    const input = this.drawInput(control, id);
    input.dataset.path = path;
    input.setAttribute("aria-describedby", `${id}-m`);
    const slider = input instanceof HTMLInputElement ? this.drawSlider(control, input) : null;
    const reset = make(
      "button",
      {
        type: "button",
        class: "reset",
        title: `back to ${control.default_text || "the start"}`,
        "aria-label": `set ${control.label} back to ${control.default_text}`,
        onclick: () => {
          this.entry(path).sent = null;
          this.send({ kind: "reset", path });
        },
      },
      "↺",
    );
    const message = make("p", { class: "message", id: `${id}-m`, role: "alert", hidden: true });
    const note = make("p", { class: "note", hidden: true });
    const entry: Entry = { input, slider, reset, note, shown: null, sent: null, fitted: "" };
    this.fields.set(path, { message, entry });
    const name = path.split(".").at(-1) ?? path;
    const inSheet = name.replaceAll("_", " ") === control.label ? "" : `In a sheet: ${name}.`;
    const help = [control.help, control.bounds, inSheet].filter(Boolean).join(" ");
    const unit = control.unit ? make("span", { class: "unit" }, control.unit) : null;
    return make(
      "div",
      { class: `field ${control.kind}`, "data-field": path },
      make("label", { for: id, title: help }, control.label),
      make("span", { class: "entry" }, input, unit, reset),
      slider,
      note,
      message,
      help ? make("p", { class: "help" }, help) : null,
    );
  }

  private drawInput(control: ValueControl, id: string): HTMLInputElement | HTMLSelectElement {
    const { path } = control;
    if (control.kind === "choice") {
      const options = control.choices.map((choice) => make("option", { value: choice }, choice));
      const select = make(
        "select",
        { id, onchange: () => this.commit(path, select.value) },
        ...options,
      );
      return select;
    }
    if (control.kind === "switch") {
      const box = make("input", {
        type: "checkbox",
        id,
        onchange: () => this.commit(path, box.checked ? "yes" : "no"),
      });
      return box;
    }
    // What is typed is sent as it is; nothing is rounded or kept within bounds in silence.
    const input = make("input", {
      type: "text",
      id,
      autocomplete: "off",
      spellcheck: "false",
      onchange: () => this.commitTyped(path, input.value),
      onkeydown: (event: KeyboardEvent) => {
        if (event.key === "Enter") {
          event.preventDefault();
          this.commitTyped(path, input.value);
          input.select();
        }
        if (event.key === "Escape") input.value = this.entry(path).shown ?? "";
      },
    });
    return input;
  }

  private drawSlider(control: ValueControl, input: HTMLInputElement): HTMLInputElement | null {
    const { low, high } = control;
    if (input.type !== "text" || low === null || high === null || high <= low) return null;
    let queued: string | null = null;
    const slider = make("input", {
      type: "range",
      min: low,
      max: high,
      step: niceStep((high - low) / 150),
      tabindex: "-1",
      "aria-label": `${control.label}, slider`,
      oninput: () => {
        const text = `${trim(Number(slider.value))}${control.unit ? ` ${control.unit}` : ""}`;
        input.value = text;
        // One message a frame, however fast the slider is dragged.
        if (queued === null) {
          requestAnimationFrame(() => {
            const last = queued;
            queued = null;
            if (last !== null) this.commit(control.path, last);
          });
        }
        queued = text;
      },
    });
    return slider;
  }

  private entry(path: string): Entry {
    return this.fields.get(path)!.entry!;
  }

  private commit(path: string, text: string): void {
    this.entry(path).sent = this.send({ kind: "set", path, text }) ? text : null;
  }

  // Enter sends, and leaving the field after it must not send again.
  private commitTyped(path: string, text: string): void {
    const { sent, shown } = this.entry(path);
    if (text !== (sent ?? shown)) this.commit(path, text);
  }

  private refreshControl(control: Control, font: string): void {
    const field = this.fields.get(control.path);
    if (!field) return;
    if (isList(control)) {
      for (const item of control.items)
        for (const inner of item.controls) this.refreshControl(inner, font);
    } else if (field.entry) this.refreshEntry(control, field.entry, font);
    say(field.message, control.message ? `▲ ${control.message}` : "");
  }

  private refreshEntry(control: ValueControl, entry: Entry, font: string): void {
    const { input, slider, reset } = entry;
    const focused = input === document.activeElement;
    const news = control.text !== entry.shown;
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
    input.title = control.text;
    // An expression or a long choice needs room; a choice keeps its place whichever is picked.
    const fitted = `${font} ${control.text}`;
    if (entry.fitted !== fitted) {
      entry.fitted = fitted;
      const narrow =
        control.kind === "choice"
          ? control.choices.every((choice) => this.fits(choice, ROOM.choice, font))
          : this.fits(control.text, ROOM.text, font);
      input.closest(".field")?.classList.toggle("wide", !narrow);
    }
    if (slider && control.value !== null && slider !== document.activeElement)
      slider.value = String(control.value);
    reset.hidden = !control.changed;
    input.setAttribute("aria-invalid", String(Boolean(control.message)));
    say(entry.note, control.note);
  }

  // Measured without laying the page out: a field in a closed group has no width of its own.
  private fits(text: string, room: number, font: string): boolean {
    if (!this.ruler) return true;
    this.ruler.font = font;
    return this.ruler.measureText(text).width <= room;
  }
}

function say(place: HTMLElement, text: string): void {
  if (place.textContent !== text) place.textContent = text;
  place.hidden = !text;
}

// The least of 1, 2 or 5 times a power of ten that is no less.
export function niceStep(step: number): number {
  const power = 10 ** Math.floor(Math.log10(step));
  return [1, 2, 5, 10].map((n) => n * power).find((n) => n >= step - 1e-12) ?? 10 * power;
}

const trim = (number: number): string => String(Number(number.toFixed(3)));
