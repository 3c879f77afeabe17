// What is done with the whole of a panel: files, steps back, sheets; and the questions before a loss.
import { make } from "./dom";
import type { PanelDoc, PictureMessage } from "./protocol";

interface Reach {
  send(message: PictureMessage): boolean;
  forget(): void; // what was sent before: all values change at once
  pressing(now: boolean): void;
  picked(): string; // name of the size that is picked, empty if none is
}

// Ctrl+Z and Ctrl+Y take steps back and on, Ctrl+Enter goes to the button that writes, and Ctrl+S
// saves the sheet. In a field that is being typed in, undo is the field's own.
export function stepKeys(
  event: KeyboardEvent,
  doc: PanelDoc,
  send: (message: PictureMessage) => boolean,
  actions: Actions,
): void {
  if (!doc.groups.length || event.altKey || !(event.ctrlKey || event.metaKey)) return;
  const key = event.key.toLowerCase();
  const field = event.target as HTMLElement;
  const typing = field instanceof HTMLInputElement && field.type === "text";
  if (key === "enter") actions.focus();
  else if (key === "s" && doc.can_save) actions.save();
  else if (key === "z" || key === "y") {
    if (typing && field.value !== (field.title || field.defaultValue)) return;
    const back = key === "z" && !event.shiftKey;
    if (back ? doc.can_undo : doc.can_redo) send({ kind: "step", back });
  } else return;
  event.preventDefault();
  event.stopPropagation();
}

export class Actions {
  readonly element = make("div", { class: "actions" });
  private name: HTMLInputElement | null = null;
  private asked = "";

  constructor(private readonly reach: Reach) {}

  // What decides how the actions look.
  static shown(doc: PanelDoc, waiting: boolean): unknown {
    const { exporting, faulty, said, said_bad, files, can_export, can_save, sheet_path } = doc;
    const { can_undo, can_redo, unsaved, question, problems } = doc;
    const state = [exporting, faulty, said, said_bad, files, can_export, can_save, sheet_path];
    return [...state, can_undo, can_redo, unsaved, question, problems.length, waiting];
  }

  focus(): void {
    const first = this.keyed("write") ?? this.element.querySelector("button");
    first?.scrollIntoView({ block: "nearest" });
    first?.focus();
  }

  save(): void {
    if (this.name?.value) this.reach.send({ kind: "save", path: this.name.value });
    else this.name?.focus();
  }

  draw(doc: PanelDoc, waiting: boolean): void {
    const active = document.activeElement as HTMLElement | null;
    const key = this.element.contains(active) ? active?.dataset.key : undefined;
    const { send, forget } = this.reach;
    const shown = [
      doc.can_export ? this.drawWrite(doc, waiting) : null,
      doc.said
        ? make("p", { class: doc.said_bad ? "message" : "soft", role: "status" }, doc.said)
        : null,
      doc.files.length
        ? make("ul", { class: "files" }, ...doc.files.map((file) => make("li", {}, file)))
        : null,
      make(
        "div",
        { class: "steps" },
        this.button("undo", "Undo", () => send({ kind: "step", back: true }), {
          "aria-disabled": String(!doc.can_undo),
          title: "take the last step back (Ctrl+Z)",
        }),
        this.button("redo", "Redo", () => send({ kind: "step", back: false }), {
          "aria-disabled": String(!doc.can_redo),
          title: "do it again (Ctrl+Y)",
        }),
        this.button("reset", "All back to the start", () => {
          forget();
          send({ kind: "reset" });
        }),
      ),
      doc.can_save ? this.drawSheet(doc) : null,
      doc.question ? this.drawQuestion(doc.question) : null,
    ];
    this.element.replaceChildren(...shown.filter((part) => part !== null));
    const asked = doc.question?.text ?? "";
    if (asked && asked !== this.asked) this.keyed("no")?.focus();
    else if (key) this.keyed(key)?.focus();
    this.asked = asked;
  }

  private keyed(key: string): HTMLElement | null {
    return this.element.querySelector<HTMLElement>(`[data-key="${key}"]`);
  }

  private drawWrite(doc: PanelDoc, waiting: boolean): HTMLElement {
    const busy = doc.exporting;
    const why = busy ? "" : whyNot(doc, waiting);
    const label = busy ? "Writing …" : "Write the files to print";
    return make(
      "div",
      { class: "write" },
      this.button("write", label, () => this.reach.send({ kind: "export" }), {
        class: "main",
        title: "Ctrl+Enter goes here from anywhere in the panel",
        "aria-disabled": String(Boolean(busy) || waiting || doc.faulty),
      }),
      doc.can_save && doc.rows.length && !busy ? this.drawPiece(doc, waiting) : null,
      busy
        ? make(
            "div",
            { class: "soft", role: "status" },
            make("progress", { "aria-label": "writing" }),
            ` ${busy}`,
          )
        : null,
      why ? make("p", { class: "why" }, why) : null,
    );
  }

  // The piece that is printed first: of the size that is picked, else of the least sure fit.
  private drawPiece(doc: PanelDoc, waiting: boolean): HTMLElement {
    const size = this.reach.picked();
    const of = size ? `for ${size}` : "for the least sure fit";
    return this.button(
      "piece",
      `Write a trial piece ${of}`,
      () => this.reach.send({ kind: "export", piece: true, size: this.reach.picked() }),
      {
        title: "a small piece of the part, to try one fit on before the whole is printed",
        "aria-disabled": String(waiting || doc.faulty),
      },
    );
  }

  private drawSheet(doc: PanelDoc): HTMLElement {
    const typed = this.name?.value ?? doc.sheet_path;
    const keep = this.name !== null && document.activeElement === this.name;
    const name = make("input", {
      type: "text",
      value: keep ? typed : doc.sheet_path || typed,
      "aria-label": "part sheet file",
      placeholder: "part sheet, such as case.toml",
      spellcheck: "false",
      "data-key": "sheet",
    });
    this.name = name;
    const { send, forget } = this.reach;
    return make(
      "div",
      { class: "sheet" },
      make(
        "p",
        { class: doc.unsaved ? "unsaved" : "soft" },
        doc.unsaved ? "✎ Changes are not saved in a sheet." : "All values are as in the sheet.",
      ),
      name,
      this.button("save", "Save sheet", () => send({ kind: "save", path: name.value }), {
        title: "Ctrl+S",
      }),
      this.button("load", "Load sheet", () => {
        forget();
        send({ kind: "load", path: name.value });
      }),
    );
  }

  private drawQuestion(question: NonNullable<PanelDoc["question"]>): HTMLElement {
    const { text, yes, does, path } = question;
    const { send, forget } = this.reach;
    const no = () => send({ kind: "leave" });
    return make(
      "div",
      {
        class: "question",
        role: "group",
        "aria-label": "question",
        onkeydown: (event: KeyboardEvent) => {
          if (event.key === "Escape") no();
        },
      },
      make("p", { role: "alert" }, text),
      this.button("yes", yes, () => {
        if (does === "load") forget();
        send({ kind: does, path, sure: true });
      }),
      this.button("no", "Leave it as it is", no),
    );
  }

  private button(key: string, label: string, action: () => void, extra = {}): HTMLButtonElement {
    const attributes = { type: "button", "data-key": key, ...this.pressed(action), ...extra };
    return make("button", attributes, label);
  }

  // A press that takes the cursor out of a field commits what was typed there, and what the field
  // then shows may move the buttons: a press counts where it began, though the button has moved.
  private pressed(action: () => void) {
    let heard = false;
    const act = (button: HTMLElement) => {
      heard = true;
      if (button.getAttribute("aria-disabled") !== "true") action();
    };
    const onpointerdown = (down: PointerEvent) => {
      const button = down.currentTarget as HTMLElement;
      const place = button.getBoundingClientRect();
      heard = false;
      this.reach.pressing(true);
      const ended = (up: PointerEvent) => {
        removeEventListener("pointerup", ended);
        removeEventListener("pointercancel", ended);
        const inside =
          up.clientX >= place.left &&
          up.clientX <= place.right &&
          up.clientY >= place.top &&
          up.clientY <= place.bottom;
        // The click, if there is one, comes right after.
        setTimeout(() => {
          if (!heard && inside && up.type === "pointerup") act(button);
          this.reach.pressing(false);
        });
      };
      addEventListener("pointerup", ended);
      addEventListener("pointercancel", ended);
    };
    return { onclick: (event: Event) => act(event.currentTarget as HTMLElement), onpointerdown };
  }
}

// Why no files can be written now; empty if they can.
function whyNot(doc: PanelDoc, building: boolean): string {
  const wrong = doc.problems.filter(({ kind }) => kind === "wrong").length;
  const unread = doc.problems.length - wrong;
  if (wrong || doc.trouble) return "First mend what is listed below the picture.";
  if (unread === 1) return "First measure the size that has no reading yet.";
  if (unread) return `First measure the ${unread} sizes that have no reading yet.`;
  if (doc.faulty) return "The picture is not of these values yet.";
  return building ? "This part is being built." : "";
}
