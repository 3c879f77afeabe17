// The readings grid: type, Enter, type, Enter, as calipers with a data cable do.
import { listen, type Sent, sentText, serialOf } from "./cable";
import { make, root } from "./dom";
import { GONE, type Mount, sender } from "./kernel";
import { byPlace, insert } from "./keys";
import {
  type GridAnswer,
  type GridMessage,
  type GridRow,
  type GridSetup,
  HEADS,
  type Head,
  MARKS,
  MOST_REPEATS,
} from "./protocol";
import { drawBlank, drawHead, drawRow, NEW, taken, titles, widths } from "./rows";
import { advance, columns, type Layout, nextWanted, type Spot, tab, within } from "./walk";

interface Editor {
  input: HTMLInputElement | HTMLSelectElement;
  row: number;
  col: number;
  now: string;
  before: Node[];
  cell: HTMLElement;
  byKey: boolean; // the last change of a choice came from a key
}

// What is asked before a decision about a reading is sent.
const ASKED = {
  keep: {
    why: "why it is right, then Enter",
    says: (text: string, feature: string) => `Keep ${text} of ${feature}: `,
  },
  "leave-out": {
    why: "why it cannot be right, then Enter",
    says: (text: string, feature: string) => `Leave ${text} out of ${feature}: `,
  },
  again: {
    why: "what was wrong, then Enter",
    says: (text: string, feature: string) => `Read ${text} of ${feature} again: `,
  },
} as const;

function render({ model, el }: Mount<{ setup: GridSetup }, GridMessage, GridAnswer>) {
  const [frame, unwatch] = root(el, "grid");
  const setup = model.get("setup");
  const id = `fk-${Math.random().toString(36).slice(2)}`;
  const heads = HEADS.filter((name) => name !== "instrument" || setup.instruments.length);
  let rows: GridRow[] = [];
  let here: Spot = { row: 0, col: 0 }; // the picked cell
  let begun = false;
  let editor: Editor | null = null;
  let asked = setup.repeats;
  let leaving = false; // after Escape the next Tab is the page's, so that nobody is caught in here
  let gone = false;
  let marked = new Set<string>(); // features that a panel points at, as `plain` spells them
  let stood = -1; // the row that panels were told of last
  let resting: ReturnType<typeof setTimeout> | undefined;
  const plain = (name: string) =>
    name
      .replace(/[_\s-]+/g, " ")
      .trim()
      .toLowerCase();
  const unsaved = new Map<string, Spot>(); // cells whose text no kernel has taken

  const said = make("span", { class: "soft", role: "status" });
  const reason = make("span", { hidden: true });
  const note = make("td", { class: "jaws", role: "gridcell" });
  const doubts = make("div", { class: "grid-doubts", "aria-live": "polite" });
  const scroll = make("div", {
    class: "grid-scroll",
    tabindex: "0",
    role: "grid",
    "aria-label":
      `readings in ${setup.file}; type a reading and press Enter; ` +
      "Escape, then Tab, leaves the grid",
    onfocus: () => setLeaving(false),
    onblur: () => setLeaving(false),
  });
  const count = make("input", {
    type: "text",
    value: String(asked),
    size: "2",
    "aria-label": "readings wanted of each feature",
    onchange: () => {
      asked = Math.max(1, Math.min(MOST_REPEATS, Number.parseInt(count.value, 10) || asked));
      count.value = String(asked);
      post({ kind: "repeats", count: asked });
      drawAll();
    },
  });
  const serial = serialOf(navigator);
  let endListening: (() => void) | null = null;
  let cableUnit = ""; // in which the calipers sent last
  const cableButton = make(
    "button",
    {
      type: "button",
      title: "take readings from calipers on a serial port",
      "aria-pressed": "false",
      onclick: () => void followCable(),
    },
    "Listen to calipers",
  );
  const button = (label: string, title: string, action: () => void) =>
    make(
      "button",
      {
        type: "button",
        title,
        onclick: () => {
          finish();
          action();
        },
      },
      label,
    );
  frame.append(
    make(
      "div",
      { class: "grid-bar" },
      make("span", { class: "file" }, setup.file),
      button("Add a feature", "at the end", () => {
        here = { row: rows.length, col: 0 };
        show();
        edit("");
      }),
      button("Remove", "the feature of the picked row", () => {
        if (rows[here.row]) post({ kind: "remove", row: here.row });
      }),
      button("Keep", "the picked reading, though it is doubted, with a reason", () =>
        askReason("keep"),
      ),
      button("Leave out / take back", "the picked reading, with a reason", () =>
        askReason("leave-out"),
      ),
      button("Read again", "the picked reading does not count until it is, with a reason", () =>
        askReason("again"),
      ),
      button("Order by jaws", "what the same jaws read stands together, so they change least", () =>
        post({ kind: "order" }),
      ),
      button("Undo", "Ctrl+Z", () => post({ kind: "undo" })),
      make("label", {}, "repeats ", count),
      serial ? cableButton : null,
    ),
    scroll,
    doubts,
    make(
      "div",
      { class: "grid-foot" },
      reason,
      said,
      make(
        "span",
        { class: "soft grid-keys" },
        "Enter goes on, arrows and Tab move, Escape then Tab leaves the grid.",
      ),
    ),
  );

  // --- words to and from the kernel --------------------------------------------------------------

  function say(text: string, bad = false) {
    said.textContent = text;
    said.className = bad ? "message" : "soft";
  }

  const post = sender<GridMessage>(model, lost);

  function lost() {
    gone = true;
    say(GONE, true);
  }

  // Send what was typed into a cell; where it cannot be sent the cell shows so.
  function keep(message: GridMessage, spot: Spot) {
    if (post(message)) say("saving …");
    else {
      unsaved.set(`${spot.row} ${spot.col}`, spot);
      markUnsaved();
    }
  }

  function markUnsaved() {
    for (const { row, col } of unsaved.values()) {
      const cell = td(row, col);
      cell?.classList.add("unsaved");
      if (cell) cell.title = "not saved: the kernel is gone";
    }
  }

  // --- drawing -----------------------------------------------------------------------------------

  const layout = (): Layout => ({
    heads: heads.length,
    asked,
    taken: rows.map(taken),
  });
  const repeatOf = (col: number) => col - heads.length;
  const headOf = (col: number): Head | undefined => heads[col];
  const td = (row: number, col: number) =>
    scroll.querySelector<HTMLElement>(`tr[data-row="${row}"] > td[data-col="${col}"]`);

  function drawAll() {
    const n = columns(layout());
    scroll.style.setProperty("--columns", widths(rows, heads, setup.instruments, n));
    const body = make("tbody", { role: "rowgroup" });
    rows.forEach((row, at) => {
      body.append(drawRow(row, at, heads, n, setup.good_enough));
    });
    body.append(drawBlank(rows.length, titles(heads, n).length));
    const head = make("thead", { role: "rowgroup" }, drawHead(heads, n));
    scroll.replaceChildren(make("table", { role: "presentation" }, head, body));
    scroll.dataset.columns = String(n);
    markUnsaved();
    showMarked();
    show(false);
  }

  function show(scrollTo = true) {
    scroll.querySelector("td.here")?.classList.remove("here");
    here = within(layout(), here);
    const cell = td(here.row, here.col);
    cell?.classList.add("here");
    if (cell) {
      // The focus stays on the grid: this tells a screen reader which of its cells is meant.
      cell.id = `${id}-${here.row}-${here.col}`;
      scroll.setAttribute("aria-activedescendant", cell.id);
    }
    const row = rows[here.row];
    showNote(cell, row);
    doubts.replaceChildren(
      ...(row?.flags ?? []).map((flag) =>
        make(
          "div",
          { class: flag.severity },
          `${MARKS[flag.severity]} ${row.feature}: ${flag.text}`,
        ),
      ),
    );
    if (scrollTo) cell?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  // Rows that a size rests on which is picked in a panel.
  function showMarked() {
    rows.forEach((row, at) => {
      const name = td(at, 0);
      name?.classList.toggle("marked", marked.has(plain(row.feature)));
    });
  }

  // A panel shows the size of the row that the cursor rests in.
  function tellRow() {
    clearTimeout(resting);
    if (here.row === stood || here.row >= rows.length) return;
    resting = setTimeout(() => {
      stood = here.row;
      if (here.row < rows.length && !gone) post({ kind: "at", row: here.row });
    }, 300);
  }

  // Where the jaws go, below the row that is being read.
  function showNote(cell: HTMLElement | null, row: GridRow | undefined) {
    const text = row?.note ? `${MARKS.note} ${row.note}` : "";
    const line = cell?.parentElement ?? null;
    if (note.parentElement === line && note.textContent === text) return;
    note.remove();
    note.textContent = text;
    if (text) line?.append(note);
  }

  function go(spot: Spot) {
    here = spot;
    show();
    tellRow();
  }

  function setLeaving(now: boolean) {
    if (leaving === now) return;
    leaving = now;
    scroll.classList.toggle("leaving", now);
    if (now) say("Tab leaves the grid now; any other key goes on in it.");
    else if (gone) say(GONE, true);
    else say("");
  }

  // --- editing -----------------------------------------------------------------------------------

  function choicesOf(name: Head | undefined): string[] | null {
    if (name === "mode") return setup.modes;
    if (name === "unit") return setup.units;
    return name === "instrument" ? ["", ...setup.instruments] : null;
  }

  function edit(start?: string) {
    const cell = td(here.row, here.col);
    if (!cell || editor) return;
    const { row, col } = here;
    const name = headOf(col);
    const now = (name ? rows[row]?.[name] : rows[row]?.cells[repeatOf(col)]?.text) ?? "";
    const choices = choicesOf(name);
    const input = choices
      ? make(
          "select",
          { size: choices.length }, // all are in sight: a list that pops up wants a pointer
          ...choices.map((choice) => make("option", { value: choice }, choice || "none")),
        )
      : make("input", { type: "text", spellcheck: "false", autocomplete: "off" });
    const first = choices?.find((choice) => start && choice.startsWith(start.toLowerCase()));
    input.value = choices ? (first ?? now) : (start ?? now);
    const label = name ?? `reading ${repeatOf(col) + 1} of ${rows[row]?.feature}`;
    input.setAttribute("aria-label", label);
    const before = [...cell.childNodes];
    cell.replaceChildren(input);
    const opened: Editor = { input, row, col, now, before, cell, byKey: false };
    editor = opened;
    cell.classList.toggle("open", choices !== null);
    input.addEventListener("blur", () => finish());
    input.addEventListener("change", () => {
      // A key goes through the choices one by one: Enter, Tab or a click elsewhere picks.
      if (!choices || opened.byKey) return;
      finish();
      scroll.focus({ preventScroll: true });
    });
    input.addEventListener("pointerdown", () => {
      opened.byKey = false;
    });
    input.focus({ preventScroll: true });
    if (start === undefined && input instanceof HTMLInputElement) input.select();
  }

  function finish(taken = true) {
    if (!editor) return;
    const { input, row, col, now, before, cell } = editor;
    editor = null;
    cell.classList.remove("open");
    const text = input.value.trim();
    const name = headOf(col);
    if (!taken || text === now) {
      cell.replaceChildren(...before);
      return;
    }
    // Shown at once; the kernel answers with what the readings now amount to.
    cell.replaceChildren(document.createTextNode(text));
    if (row === rows.length) {
      if (!text) {
        cell.textContent = NEW;
        return;
      }
      rows.push(newRow(text));
      keep({ kind: "add", name: text }, { row, col: 0 });
      drawAll();
    } else if (name) {
      rows[row][name] = text;
      keep({ kind: "head", row, column: name, text }, { row, col });
    } else {
      const repeat = repeatOf(col);
      const { cells } = rows[row];
      if (text) cells[Math.min(repeat, cells.length)] = { text, left_out: "", bad: "" };
      else cells.splice(repeat, 1);
      keep({ kind: "cell", row, repeat, text }, { row, col });
    }
  }

  function newRow(feature: string): GridRow {
    const like = rows.at(-1);
    const [mode, unit] = [like?.mode ?? "outside", like?.unit ?? "mm"];
    const instrument = like?.instrument ?? "";
    return {
      at: rows.length,
      feature,
      mode,
      unit,
      instrument,
      cells: [],
      mean: "",
      spread: "",
      flags: [],
    };
  }

  // Calipers on a port of this computer, which the page reads by itself.
  async function followCable() {
    if (endListening) {
      endListening();
      return;
    }
    if (!serial) return;
    const why = await listen(serial, takeSent, (end) => {
      endListening = end;
      cableButton.setAttribute("aria-pressed", "true");
      say("Listening to the calipers.");
    });
    endListening = null;
    cableButton.setAttribute("aria-pressed", "false");
    say(why);
  }

  // As if it were typed where the cursor is.
  function takeSent(sent: Sent) {
    finish();
    if (here.row >= rows.length) return;
    if (here.col < heads.length) go(nextWanted(layout()));
    const same = sent.unit === "" || sent.unit === rows[here.row].unit;
    edit(same ? sent.number : sentText(sent));
    finish();
    go(advance(layout(), here, false));
    if (cableUnit && sent.unit && sent.unit !== cableUnit)
      say(`The calipers changed from ${cableUnit} to ${sent.unit}: look at the display.`, true);
    cableUnit = sent.unit || cableUnit;
  }

  function askReason(decision: keyof typeof ASKED) {
    const cell = rows[here.row]?.cells[repeatOf(here.col)];
    if (!cell) {
      say("Pick a reading first.");
      return;
    }
    const { row } = here;
    const repeat = repeatOf(here.col);
    const close = () => {
      reason.hidden = true;
      scroll.focus();
    };
    const send = (text: string) => {
      if (decision === "leave-out") post({ kind: "leave", row, repeat, reason: text });
      else post({ kind: "decide", row, repeat, decision, reason: text });
      close();
    };
    if (decision === "leave-out" && cell.left_out) {
      send("");
      return;
    }
    const input = make("input", {
      type: "text",
      size: "44",
      placeholder: ASKED[decision].why,
      "aria-label": "reason",
      onkeydown: (event: KeyboardEvent) => {
        event.stopPropagation();
        if (event.key === "Enter" && input.value.trim()) send(input.value);
        if (event.key === "Escape") close();
      },
    });
    reason.replaceChildren(ASKED[decision].says(cell.text, rows[row].feature), input, " ");
    reason.hidden = false;
    input.focus();
  }

  // --- keys, pointer, clipboard ------------------------------------------------------------------

  const toGrid = () => scroll.focus({ preventScroll: true });

  // Do what a key says; tell whether it was ours.
  function press(event: KeyboardEvent): boolean {
    const { key } = event;
    if (key === "Enter") {
      const was = editor;
      const column = here.col;
      finish();
      if (!was && column > 0 && column < heads.length) edit();
      else {
        toGrid();
        go(advance(layout(), here, event.shiftKey));
      }
    } else if (key === "Tab") {
      const was = editor;
      finish();
      const next = tab(layout(), here, event.shiftKey);
      if (!next && !was) return false; // out of the grid
      toGrid();
      go(next ?? here);
    } else if (key === "Escape") {
      if (editor) {
        finish(false);
        toGrid();
      } else setLeaving(true);
    } else if (editor?.input instanceof HTMLSelectElement) return false;
    else if (key === "ArrowUp" || key === "ArrowDown") {
      finish();
      toGrid();
      go({ row: here.row + (key === "ArrowUp" ? -1 : 1), col: here.col });
    } else if (editor) return false;
    else if (key === "ArrowLeft" || key === "ArrowRight") {
      go({ row: here.row, col: here.col + (key === "ArrowLeft" ? -1 : 1) });
    } else if (key === "Home" || key === "End") {
      go(key === "Home" ? { row: 0, col: heads.length } : { row: rows.length, col: 0 });
    } else if (key === "F2") edit();
    else if (key === "Delete" || key === "Backspace") {
      const repeat = repeatOf(here.col);
      if (repeat >= 0 && rows[here.row]?.cells[repeat])
        post({ kind: "cell", row: here.row, repeat, text: "" });
    } else if (key.length === 1) edit(key);
    else return false;
    return true;
  }

  frame.addEventListener("keydown", (event) => {
    if (!scroll.contains(event.target as Node)) return;
    const { key } = event;
    if (leaving && key === "Tab") return;
    if (key !== "Escape" && key !== "Shift") setLeaving(false);
    if ((event.ctrlKey || event.metaKey) && key.toLowerCase() === "z") {
      if (!editor) {
        event.preventDefault();
        post({ kind: "undo" });
      }
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const open = editor;
    const meant = here.col >= heads.length && here.row < rows.length ? byPlace(event) : null;
    if (meant !== null) {
      event.preventDefault();
      event.stopPropagation();
      if (open?.input instanceof HTMLInputElement) insert(open.input, meant);
      else edit(meant);
      return;
    }
    if (open) open.byKey = true;
    if (press(event)) event.preventDefault();
    else if (!open) return;
    // A key that the open field or choice takes by itself is not the notebook's either.
    event.stopPropagation();
  });

  scroll.addEventListener("pointerdown", (event) => {
    const cell = (event.target as Element).closest<HTMLElement>("td[data-col]");
    if (!cell || editor?.cell === cell) return;
    finish();
    const line = cell.parentElement as HTMLElement;
    here = { row: Number(line.dataset.row), col: Number(cell.dataset.col) };
    show(false);
    tellRow();
  });
  scroll.addEventListener("dblclick", () => edit());
  scroll.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (editor && !/[\t\n]/.test(text.trim())) return; // a single value goes into the field
    event.preventDefault();
    finish(false);
    toGrid();
    const row = Math.min(here.row, rows.length);
    if (post({ kind: "paste", row, repeat: Math.max(0, repeatOf(here.col)), text }))
      say("pasting …");
  });

  // --- what comes from the kernel ----------------------------------------------------------------

  // Draw all again, with what is being typed.
  function drawAround() {
    const open = editor?.input.value;
    editor = null;
    drawAll();
    if (open !== undefined) edit(open);
  }

  const heard = (content: GridAnswer) => {
    if (content.kind === "mark") {
      marked = new Set(content.features.map(plain));
      showMarked();
      return;
    }
    frame.dataset.answers = String(Number(frame.dataset.answers ?? 0) + 1);
    gone = false;
    say(content.said, content.bad);
    if (content.kind === "all") {
      rows = content.rows;
      unsaved.clear();
      if (!begun) here = nextWanted(layout());
      begun = true;
      drawAround();
      return;
    }
    for (const row of content.rows) {
      rows[row.at] = row;
      for (const [key, spot] of unsaved) if (spot.row === row.at) unsaved.delete(key);
    }
    if (columns(layout()) !== Number(scroll.dataset.columns)) {
      drawAround();
      return;
    }
    for (const row of content.rows) {
      const line = scroll.querySelector(`tr[data-row="${row.at}"]`);
      if (!line) continue;
      const fresh = drawRow(row, row.at, heads, columns(layout()), setup.good_enough);
      line.className = fresh.className;
      // A cell that is being typed in stays.
      [...fresh.children].forEach((cell, n) => {
        const old = line.children[n];
        if (old !== editor?.cell) old.replaceWith(cell);
      });
    }
    markUnsaved();
    showMarked();
    show(false);
  };
  model.on("msg:custom", heard);
  // A kernel that restarts keeps the line open and answers nothing: its readers must be told.
  const askAgain = () => {
    lost();
    post({ kind: "ready" }); // one that is there after all answers, which takes the words back
  };
  model.on("comm_live_update", askAgain);
  drawAll();
  post({ kind: "ready" });
  return () => {
    model.off("msg:custom", heard);
    model.off("comm_live_update", askAgain);
    endListening?.();
    clearTimeout(resting);
    unwatch();
  };
}

export default { render };
