// A panel's document as the kernel would send it, for the tests of the panel.
import type { Item, ListControl, PanelDoc, ValueControl } from "../src/protocol";

export function control(
  path: string,
  text: string,
  more: Partial<ValueControl> = {},
): ValueControl {
  return {
    path,
    kind: "length",
    label: path,
    help: "",
    message: "",
    group: "Tray",
    text,
    value: Number.parseFloat(text),
    unit: "mm",
    low: 1,
    high: 61,
    bounds: "From 1 to 61 mm.",
    choices: [],
    default_text: "2.4 mm",
    changed: text !== "2.4 mm",
    reading: "",
    back: "",
    waiting: "",
    used: true,
    measured: false,
    ...more,
  };
}

export function doc(wall: ValueControl, more: Partial<PanelDoc> = {}): PanelDoc {
  const lid = control("lid", "no", { kind: "switch", unit: "", low: null, high: null });
  const choices = ["as printed", "sanded"];
  const finish = control("finish", "sanded", { kind: "choice", unit: "", choices });
  const width = control("slots.0.width", "9 mm");
  const slots = {
    path: "slots",
    kind: "list" as const,
    label: "slots",
    help: "",
    message: "",
    group: "Tray",
    items: [{ title: "slot 1", controls: [width] }],
    one: "slot",
    can_add: true,
    can_remove: true,
    used: true,
  };
  return {
    title: "tray",
    subtitle: "plate tray",
    groups: [{ name: "Tray", controls: [wall, lid, finish, slots] }],
    rows: [],
    basis: "",
    findings: [],
    checked: false,
    checking: false,
    building: false,
    exporting: "",
    trouble: "",
    problems: [],
    stands_in: "",
    old: false,
    findings_old: false,
    faulty: false,
    can_undo: false,
    can_redo: false,
    unsaved: false,
    question: null,
    answers: 0,
    said: "",
    said_bad: false,
    files: [],
    can_export: true,
    can_save: true,
    sheet_path: "",
    ...more,
  };
}

// A list, or a thing that may be absent if it has one item at most.
export function list(path: string, items: Item[], more: Partial<ListControl> = {}): ListControl {
  return {
    path,
    kind: "list",
    label: path,
    help: "",
    message: "",
    group: "Tray",
    items,
    one: path,
    can_add: true,
    can_remove: true,
    used: true,
    ...more,
  };
}
