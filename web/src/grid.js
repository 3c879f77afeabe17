// The readings grid: type, Enter, type, Enter, as calipers with a data cable do.
import { make, MARKS, root } from "./dom.js";
import style from "./fitkit.css";

const HEADS = ["feature", "mode", "unit", "instrument"];
const CHOICE_WIDTH = { mode: "62px", unit: "42px" };

function render({ model, el }) {
  const [frame, unwatch] = root(el, style, "grid");
  const setup = model.get("setup");
  const id = `fk-${Math.random().toString(36).slice(2)}`;
  const heads = HEADS.filter((name) => name !== "instrument" || setup.instruments.length);
  let rows = [];
  let here = { row: 0, col: 0 }; // the picked cell
  let begun = false;
  let editor = null;
  let asked = setup.repeats;
  let leaving = false; // after Escape the next Tab is the page's, so that nobody is caught in here

  const said = make("span", { class: "soft", role: "status" });
  const reason = make("span", { hidden: true });
  const doubts = make("div", { class: "grid-doubts", "aria-live": "polite" });
  const scroll = make("div", { class: "grid-scroll", tabindex: "0", role: "grid",
    "aria-label": `readings in ${setup.file}; type a reading and press Enter; Escape, then Tab, leaves the grid`,
    onfocus: () => setLeaving(false), onblur: () => setLeaving(false) });
  const count = make("input", { type: "text", value: String(asked), size: "2", "aria-label": "readings wanted of each feature",
    onchange: () => { asked = Math.max(1, Math.min(20, Number.parseInt(count.value, 10) || asked));
      count.value = String(asked); model.send({ kind: "repeats", count: asked }); drawAll(); } });
  const button = (label, title, action) => make("button", { type: "button", title, onclick: () => { finish(); action(); } }, label);
  frame.append(
    make("div", { class: "grid-bar" },
      make("span", { class: "file" }, setup.file),
      button("Add a feature", "at the end", () => { here = { row: rows.length, col: 0 }; show(); edit(""); }),
      button("Remove", "the feature of the picked row", () => rows[here.row] && model.send({ kind: "remove", row: here.row })),
      button("Leave out / take back", "the picked reading, with a reason", askReason),
      button("Undo", "Ctrl+Z", () => model.send({ kind: "undo" })),
      make("label", {}, "repeats ", count)),
    scroll,
    doubts,
    make("div", { class: "grid-foot" }, reason, said,
      make("span", { class: "soft grid-keys" }, "Enter goes on, arrows and Tab move, Escape then Tab leaves the grid.")));

  const columns = () => Math.max(asked, ...rows.map((row) => row.cells.length + 1));
  const width = () => heads.length + columns();
  const repeatOf = (col) => col - heads.length;

  function drawAll() {
    const n = columns();
    const titles = [...heads, ...Array.from({ length: n }, (_, i) => String(i + 1)), "best value ± U (95 %)", "spread", "doubts"];
    const words = (col) => col < heads.length || col === titles.length - 1;
    const head = make("tr", { role: "row" }, ...titles.map((title, col) => make("th", { scope: "col", role: "columnheader", class: words(col) ? "words" : null }, title)));
    // Rows lay themselves out each on its own, so the widths are set for all: as wide as the longest text.
    const wide = (texts, least, most) => `calc(${Math.max(least, Math.min(most, Math.max(0, ...texts.map((text) => text.length))))}ch + 13px)`;
    scroll.style.setProperty("--columns", [wide(rows.map((row) => row.feature), 14, 24), ...heads.slice(1).map((name) => CHOICE_WIDTH[name] ?? wide(setup.instruments, 10, 13)),
      `repeat(${n}, ${wide(rows.flatMap((row) => row.cells.map((cell) => (cell.left_out || cell.bad ? `⊘ ${cell.text}` : cell.text))), 5, 14)})`,
      "158px", "92px", "minmax(130px, 1fr)"].join(" "));
    const body = make("tbody", { role: "rowgroup" });
    rows.forEach((row, at) => body.append(drawRow(row, at, n)));
    const blank = make("tr", { role: "row", "data-row": rows.length }, make("td", { role: "gridcell", class: "name soft", "data-col": 0 }, "new feature …"));
    for (let col = 1; col < titles.length; col++) blank.append(make("td", { role: "gridcell" }));
    body.append(blank);
    scroll.replaceChildren(make("table", { role: "presentation" }, make("thead", { role: "rowgroup" }, head), body));
    scroll.dataset.columns = String(n);
    show(false);
  }

  function drawRow(row, at, n = Number(scroll.dataset.columns)) {
    const line = make("tr", { role: "row", "data-row": at });
    heads.forEach((name, col) => line.append(make("td", { role: "gridcell", class: col ? "choice" : "name", "data-col": col, title: row[name] || null }, row[name] || (col ? "–" : ""))));
    for (let i = 0; i < n; i++) {
      const cell = row.cells[i];
      const mark = cell?.bad ? `${MARKS.stop}\u2009` : cell?.left_out ? "⊘\u2009" : "";
      const td = make("td", { role: "gridcell", class: cell?.bad ? "cell bad" : "cell", "data-col": heads.length + i,
        title: cell?.bad || (cell?.left_out ? `left out: ${cell.left_out}` : null) }, cell ? mark + cell.text : "");
      line.append(td);
    }
    line.append(make("td", { role: "gridcell", class: "result" }, row.mean), make("td", { role: "gridcell", class: "result" }, row.spread),
      make("td", { role: "gridcell", class: "flags" }, ...doubtWords(row)));
    return line;
  }

  // Each doubt in a word, said once: its title and the lines below the grid tell the rest.
  function doubtWords(row) {
    const told = new Map();
    for (const flag of row.flags) told.set(flag.short, [...(told.get(flag.short) ?? []), flag]);
    return [...told].flatMap(([short, flags]) => [make("span", { class: flags[0].severity, title: flags.map((flag) => flag.text).join("\n") },
      `${MARKS[flags[0].severity]} ${short}${flags.length > 1 ? ` ×${flags.length}` : ""}`), " "]);
  }

  const td = (row, col) => scroll.querySelector(`tr[data-row="${row}"] > td[data-col="${col}"]`);

  // Where the next reading belongs: the first feature that wants one.
  function nextWanted() {
    const row = Math.max(0, rows.findIndex((each) => each.cells.length < asked));
    const taken = rows[row]?.cells.length ?? 0;
    return { row, col: heads.length + (taken < asked ? taken : 0) };
  }

  function show(scrollTo = true) {
    scroll.querySelector("td.here")?.classList.remove("here");
    here.row = Math.max(0, Math.min(here.row, rows.length));
    here.col = here.row === rows.length ? 0 : Math.max(0, Math.min(here.col, width() - 1));
    const cell = td(here.row, here.col);
    cell?.classList.add("here");
    if (cell) {
      // The focus stays on the grid: this tells a screen reader which of its cells is meant.
      cell.id = `${id}-${here.row}-${here.col}`;
      scroll.setAttribute("aria-activedescendant", cell.id);
    }
    const row = rows[here.row];
    doubts.replaceChildren(...(row?.flags ?? []).map((flag) => make("div", { class: flag.severity },
      `${MARKS[flag.severity]} ${row.feature}: ${flag.text}`)));
    if (scrollTo) cell?.scrollIntoView({ block: "nearest", inline: "nearest" });
  }

  function move(down, right) {
    here = { row: here.row + down, col: here.col + right };
    show();
  }

  // Tab reads on as lines of a page do; false where there is no cell that way.
  function tab(back) {
    if (back && here.row === 0 && here.col === 0) return false;
    if (!back && here.row === rows.length) return false;
    if (back && here.col === 0) here = { row: here.row - 1, col: width() - 1 };
    else if (!back && here.col === width() - 1) here = { row: here.row + 1, col: 0 };
    else here = { row: here.row, col: here.col + (back ? -1 : 1) };
    return true;
  }

  function setLeaving(now) {
    if (leaving === now) return;
    leaving = now;
    scroll.classList.toggle("leaving", now);
    said.className = "soft";
    said.textContent = now ? "Tab leaves the grid now; any other key goes on in it." : "";
  }

  // After a reading: the next repeat, and after the last wanted one the next feature.
  function advance(back = false) {
    const repeat = repeatOf(here.col);
    if (repeat < 0) here = here.col === 0 && rows[here.row] ? { row: here.row, col: heads.length } : { row: here.row + 1, col: here.col };
    else if (back) here = repeat ? { row: here.row, col: here.col - 1 } : { row: Math.max(0, here.row - 1), col: heads.length + asked - 1 };
    else if (repeat + 1 < asked) here = { row: here.row, col: here.col + 1 };
    else here = { row: here.row + 1, col: heads.length };
    show();
  }

  function edit(start) {
    const cell = td(here.row, here.col);
    if (!cell || editor) return;
    const { row, col } = here;
    const name = heads[col];
    const now = !name ? rows[row]?.cells[repeatOf(col)]?.text ?? "" : rows[row]?.[name] ?? "";
    const choices = { mode: setup.modes, unit: setup.units, instrument: ["", ...setup.instruments] }[name];
    const input = choices
      ? make("select", {}, ...choices.map((choice) => make("option", { value: choice }, choice || "none")))
      : make("input", { type: "text", spellcheck: "false", autocomplete: "off" });
    input.value = start ?? now;
    if (choices) input.value = now;
    input.setAttribute("aria-label", name ?? `reading ${repeatOf(col) + 1} of ${rows[row]?.feature}`);
    const before = [...cell.childNodes];
    cell.replaceChildren(input);
    editor = { input, row, col, now, before, cell };
    input.addEventListener("blur", () => finish());
    if (choices) input.addEventListener("change", () => { finish(); scroll.focus({ preventScroll: true }); });
    input.focus({ preventScroll: true });
    if (start === undefined && !choices) input.select();
  }

  function finish(keep = true) {
    if (!editor) return;
    const { input, row, col, now, before, cell } = editor;
    editor = null;
    const text = input.value.trim();
    const name = heads[col];
    if (!keep || text === now) { cell.replaceChildren(...before); return; }
    // Shown at once; the kernel answers with what the readings now amount to.
    cell.replaceChildren(document.createTextNode(text));
    if (row === rows.length) {
      if (!text) { cell.textContent = "new feature …"; return; }
      model.send({ kind: "add", name: text });
      rows.push({ feature: text, mode: rows.at(-1)?.mode ?? "outside", unit: rows.at(-1)?.unit ?? "mm", cells: [], mean: "", spread: "", flags: [] });
      drawAll();
    } else if (name) {
      rows[row][name] = text;
      model.send({ kind: "head", row, column: name, text });
    } else {
      const repeat = repeatOf(col);
      if (text) rows[row].cells[Math.min(repeat, rows[row].cells.length)] = { text };
      else rows[row].cells.splice(repeat, 1);
      model.send({ kind: "cell", row, repeat, text });
    }
    said.textContent = "saving …";
  }

  function askReason() {
    const cell = rows[here.row]?.cells[repeatOf(here.col)];
    if (!cell) { said.textContent = "Pick a reading first."; return; }
    const { row } = here;
    const repeat = repeatOf(here.col);
    const send = (text) => { reason.hidden = true; model.send({ kind: "leave", row, repeat, reason: text }); scroll.focus(); };
    if (cell.left_out) { send(""); return; }
    const input = make("input", { type: "text", size: "44", placeholder: "why it cannot be right, then Enter", "aria-label": "reason",
      onkeydown: (event) => { event.stopPropagation();
        if (event.key === "Enter" && input.value.trim()) send(input.value);
        if (event.key === "Escape") { reason.hidden = true; scroll.focus(); } } });
    reason.replaceChildren(`Leave ${cell.text} out of ${rows[row].feature}: `, input, " ");
    reason.hidden = false;
    input.focus();
  }

  frame.addEventListener("keydown", (event) => {
    if (!scroll.contains(event.target)) return;
    const key = event.key;
    if (leaving && key === "Tab") return;
    if (key !== "Escape" && key !== "Shift") setLeaving(false);
    if ((event.ctrlKey || event.metaKey) && key.toLowerCase() === "z") {
      if (!editor) { event.preventDefault(); model.send({ kind: "undo" }); }
      return;
    }
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const inChoice = editor?.input.tagName === "SELECT";
    if (key === "Enter") {
      event.preventDefault();
      const was = editor;
      const column = here.col;
      finish();
      if (!was && column > 0 && column < heads.length) { edit(); return; }
      scroll.focus({ preventScroll: true });
      advance(event.shiftKey);
    } else if (key === "Tab") {
      const was = editor;
      finish();
      const within = tab(event.shiftKey);
      if (!within && !was) return; // out of the grid
      event.preventDefault();
      scroll.focus({ preventScroll: true });
      show();
    } else if (key === "Escape") {
      event.preventDefault();
      if (!editor) setLeaving(true);
      else {
        finish(false);
        scroll.focus({ preventScroll: true });
      }
    } else if (!inChoice && (key === "ArrowUp" || key === "ArrowDown")) {
      event.preventDefault();
      finish();
      scroll.focus({ preventScroll: true });
      move(key === "ArrowUp" ? -1 : 1, 0);
    } else if (!editor && (key === "ArrowLeft" || key === "ArrowRight")) {
      event.preventDefault();
      move(0, key === "ArrowLeft" ? -1 : 1);
    } else if (!editor && (key === "Home" || key === "End")) {
      event.preventDefault();
      here = { row: key === "Home" ? 0 : rows.length, col: key === "Home" ? heads.length : 0 };
      show();
    } else if (!editor && key === "F2") {
      event.preventDefault();
      edit();
    } else if (!editor && (key === "Delete" || key === "Backspace")) {
      event.preventDefault();
      if (repeatOf(here.col) >= 0 && rows[here.row]?.cells[repeatOf(here.col)]) model.send({ kind: "cell", row: here.row, repeat: repeatOf(here.col), text: "" });
    } else if (!editor && key.length === 1) {
      event.preventDefault();
      edit(key);
    } else return;
    event.stopPropagation();
  });

  scroll.addEventListener("pointerdown", (event) => {
    const cell = event.target.closest("td[data-col]");
    if (!cell || editor?.cell === cell) return;
    finish();
    here = { row: Number(cell.parentElement.dataset.row), col: Number(cell.dataset.col) };
    show(false);
  });
  scroll.addEventListener("dblclick", () => edit());
  scroll.addEventListener("paste", (event) => {
    const text = event.clipboardData.getData("text/plain");
    if (editor && !/[\t\n]/.test(text.trim())) return; // a single value goes into the field
    event.preventDefault();
    finish(false);
    scroll.focus({ preventScroll: true });
    said.textContent = "pasting …";
    model.send({ kind: "paste", row: Math.min(here.row, rows.length), repeat: Math.max(0, repeatOf(here.col)), text });
  });

  const heard = (content) => {
    frame.dataset.answers = String(Number(frame.dataset.answers ?? 0) + 1);
    said.textContent = content.said ?? "";
    said.className = content.bad ? "message" : "soft";
    if (content.kind === "all") {
      const open = editor && { text: editor.input.value };
      editor = null;
      rows = content.rows;
      if (!begun) here = nextWanted();
      begun = true;
      drawAll();
      if (open) edit(open.text);
    } else if (content.kind === "rows") {
      const n = columns();
      for (const row of content.rows) rows[row.at] = row;
      if (columns() !== n || columns() !== Number(scroll.dataset.columns)) {
        const open = editor && { text: editor.input.value };
        editor = null;
        drawAll();
        if (open) edit(open.text);
        return;
      }
      for (const row of content.rows) {
        const line = scroll.querySelector(`tr[data-row="${row.at}"]`);
        if (!line) continue;
        const fresh = drawRow(row, row.at);
        // A cell that is being typed in stays.
        [...fresh.children].forEach((cell, n2) => {
          const old = line.children[n2];
          if (old !== editor?.cell) old.replaceWith(cell);
        });
      }
      show(false);
    }
  };
  model.on("msg:custom", heard);
  drawAll();
  model.send({ kind: "ready" });
  return () => { model.off("msg:custom", heard); unwatch(); };
}

export default { render };
