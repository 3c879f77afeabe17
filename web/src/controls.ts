// The parameters of a part: a field for each, with its unit, slider, reading, message and way back.
import { make } from "./dom";
import { type Ahead, FieldBox, type Send, say } from "./field";
import type { ListControl, PanelDoc, ValueControl } from "./protocol";
import { SearchBox } from "./search";

type Control = ValueControl | ListControl;

interface ListBox {
  element: HTMLElement;
  message: HTMLElement;
  add: HTMLButtonElement;
}

const isList = (control: Control): control is ListControl => control.kind === "list";

export class Controls {
  readonly element: HTMLFormElement;
  private readonly fields = new Map<string, FieldBox>();
  private readonly lists = new Map<string, ListBox>();
  private readonly search = new SearchBox(() => this.filter());
  private readonly ruler = document.createElement("canvas").getContext("2d");
  private readonly counts = new Map<string, number>(); // of items, as last shown
  private turnTo = ""; // path of a list that an item is added to or taken out of

  constructor(
    private readonly id: string,
    private readonly send: Send,
    private readonly onward: () => void, // what comes behind the last group
    private readonly ahead: Ahead | null = null,
  ) {
    this.element = make("form", {
      class: "controls",
      onsubmit: (event: Event) => event.preventDefault(),
      onkeydown: (event: KeyboardEvent) => this.jump(event),
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
    const open = new Map(this.groups().map((d) => [d.dataset.group, d.open]));
    const active = document.activeElement;
    const focused = this.element.contains(active) ? (active as HTMLElement) : null;
    const key = focused?.dataset.path ?? focused?.dataset.key;
    this.fields.clear();
    this.lists.clear();
    const subtitle = doc.subtitle === doc.title ? null : make("p", { class: "soft" }, doc.subtitle);
    const keys = "Page Down: next heading. Ctrl+Enter: to the writing. Ctrl+Z: undo.";
    const hint = make("p", { class: "soft hint" }, keys);
    this.element.replaceChildren(
      make("header", {}, make("h2", {}, doc.title), subtitle, this.search.element, hint),
      ...doc.groups.map((group, n) =>
        make(
          "details",
          { open: open.get(group.name) ?? n < 6, "data-group": group.name },
          make(
            "summary",
            { "data-key": `group ${group.name}` },
            group.name,
            make("span", { class: "count" }),
          ),
          ...group.controls.map((control) => this.drawControl(control)),
        ),
      ),
    );
    if (this.turnTo) this.focusList(doc);
    else if (key) this.keyed(key)?.focus();
  }

  refresh(doc: PanelDoc, font: string): void {
    for (const group of doc.groups)
      for (const control of group.controls) this.refreshControl(control, font);
    this.filter();
    for (const details of this.groups()) {
      const group = doc.groups.find(({ name }) => name === details.dataset.group);
      const count = countOf(group?.controls ?? []);
      details.querySelector(".count")!.textContent = count ? ` ▲ ${count}` : "";
    }
  }

  // After all values were set back, a value that is typed again is news to the kernel.
  forgetSent(): void {
    for (const { entry } of this.fields.values()) entry.sent = null;
  }

  // Turn to the field of a path: open its group, bring it into sight, and put the focus there.
  show(path: string): void {
    this.search.clear();
    const field = this.fields.get(path);
    const element = field?.element ?? this.lists.get(path)?.element;
    if (!element) return;
    const group = element.closest("details");
    if (group) group.open = true;
    element.scrollIntoView({ block: "nearest" });
    if (field) field.focus();
    else this.lists.get(path)?.add.focus();
  }

  // Mark the fields that a picked size rests on.
  mark(paths: readonly string[]): void {
    for (const [path, { element }] of this.fields)
      element.classList.toggle("picked", paths.includes(path));
  }

  // What is typed and has not been sent, if anything.
  get pending(): boolean {
    return [...this.fields.values()].some((field) => field.pending);
  }

  private groups(): HTMLDetailsElement[] {
    return [...this.element.querySelectorAll("details")];
  }

  private keyed(key: string): HTMLElement | undefined {
    const all = this.element.querySelectorAll<HTMLElement>("[data-path], [data-key]");
    return [...all].find((each) => each.dataset.path === key || each.dataset.key === key);
  }

  // Page Down and Page Up go from heading to heading, and on to what stands below the fields.
  private jump(event: KeyboardEvent): void {
    const from = event.target as HTMLElement;
    const heading = from.matches("summary");
    const down = event.key === "PageDown" || (heading && event.key === "ArrowDown");
    const up = event.key === "PageUp" || (heading && event.key === "ArrowUp");
    if (!down && !up) return;
    const heads = this.groups().filter((each) => !each.hidden);
    const here = heads.findIndex((each) => each.contains(from));
    const to = down ? here + 1 : heading ? here - 1 : here;
    event.preventDefault();
    if (to >= heads.length) this.onward();
    else if (to < 0) this.search.element.querySelector("input")?.focus();
    else heads[to].querySelector("summary")?.focus();
  }

  // Show the fields that the variant uses, and of these the ones that are looked for.
  private filter(): void {
    const { wanted } = this.search;
    for (const field of this.fields.values())
      field.element.hidden = !field.used || !field.matches(wanted);
    for (const { element } of this.lists.values()) {
      const inner = [...element.querySelectorAll<HTMLElement>(".field")];
      const named = (element.dataset.words ?? "").includes(wanted);
      element.hidden =
        element.dataset.unused === "true" ||
        (Boolean(wanted) && !named && inner.every((each) => each.hidden));
    }
    for (const group of this.groups()) {
      const inside = [...group.children].filter((each) => each.matches(".field, .list"));
      group.hidden = inside.every((each) => (each as HTMLElement).hidden);
      if (wanted && !group.hidden) group.open = true;
    }
    this.search.found([...this.fields.values()].filter((field) => !field.element.hidden));
  }

  private drawControl(control: Control): HTMLElement {
    if (isList(control)) return this.drawList(control);
    const field = new FieldBox(control, this.id, this.send, this.ruler, this.ahead);
    this.fields.set(control.path, field);
    return field.element;
  }

  private drawList(control: ListControl): HTMLElement {
    const { path, label, one } = control;
    const message = make("p", { class: "message", role: "alert", hidden: true });
    const many = control.items.length > 0;
    const add = make(
      "button",
      {
        type: "button",
        "data-key": `add ${path}`,
        title: control.help,
        onclick: () => this.change(path, () => this.send({ kind: "add", path })),
      },
      `Add ${one}`,
    );
    add.hidden = !control.can_add;
    const items = control.items.map((item, index) => {
      const away = make(
        "button",
        {
          type: "button",
          class: "away",
          "aria-label": `Remove ${item.title}`,
          "data-key": `remove ${path} ${index}`,
          onclick: () => this.change(path, () => this.send({ kind: "remove", path, index })),
        },
        "Remove",
      );
      return make(
        "fieldset",
        {},
        make("legend", {}, item.title),
        control.can_remove ? away : null,
        ...item.controls.map((inner) => this.drawControl(inner)),
      );
    });
    const head = make("div", { class: "list-head" }, make("span", {}, label), add);
    const element = make(
      "div",
      {
        class: "list",
        "data-field": path,
        "data-words": `${label} ${control.help}`.toLowerCase(),
        role: "group",
        "aria-label": label,
      },
      head,
      many ? null : make("p", { class: "soft none" }, control.help),
      message,
      ...items,
    );
    this.lists.set(path, { element, message, add });
    return element;
  }

  private change(path: string, act: () => boolean): void {
    this.turnTo = act() ? path : "";
  }

  // After an item came, its first field has the focus; after one went, the list's button has it.
  private focusList(doc: PanelDoc): void {
    const path = this.turnTo;
    this.turnTo = "";
    const list = doc.groups.flatMap((group) => group.controls).find((one) => one.path === path);
    if (!list || !isList(list)) return;
    const last = list.items.at(-1)?.controls.find((one) => one.used);
    if (last && list.items.length > (this.counts.get(path) ?? 0))
      this.fields.get(last.path)?.focus();
    else this.lists.get(path)?.add.focus();
  }

  private refreshControl(control: Control, font: string): void {
    if (!isList(control)) {
      this.fields.get(control.path)?.refresh(control, font);
      return;
    }
    const box = this.lists.get(control.path);
    if (!box) return;
    this.counts.set(control.path, control.items.length);
    box.element.dataset.unused = String(!control.used);
    box.add.hidden = !control.can_add;
    for (const item of control.items)
      for (const inner of item.controls) this.refreshControl(inner, font);
    say(box.message, control.message ? `▲ ${control.message}` : "");
  }
}

// How many problems a group has.
function countOf(controls: Control[]): number {
  return controls
    .map((one) => {
      const own = one.message ? 1 : 0;
      if (!isList(one)) return own || (one.waiting ? 1 : 0);
      return own + one.items.reduce((sum, item) => sum + countOf(item.controls), 0);
    })
    .reduce((sum, count) => sum + count, 0);
}
