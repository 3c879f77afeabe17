// The part panel: parameters beside the live preview, sizes on their way, findings, files.
import { hideStill, make, MARKS, root } from "./dom.js";
import { Preview } from "./preview.js";
import style from "./fitkit.css";

// Widths that fitkit.css leaves beside a label for a text, and for a choice with its arrow, px.
const ROOM = { text: 92, choice: 66 };
const ruler = document.createElement("canvas").getContext("2d");

// Measured without laying the page out: a field in a closed group has no width of its own.
function fits(text, room, font) {
  ruler.font = font;
  return ruler.measureText(text).width <= room;
}

function render({ model, el }) {
  const [frame, unwatch] = root(el, style, "part");
  const showStill = hideStill(model.get("still_id"));
  const send = (content) => model.send(content);
  const controls = make("form", { class: "controls", onsubmit: (event) => event.preventDefault() });
  const picture = make("div", { class: "picture" });
  const rows = make("div", { class: "sizes" });
  const findings = make("div", { class: "findings" });
  const actions = make("div", { class: "actions" });
  const alone = !model.get("doc").groups.length;
  frame.classList.toggle("alone", alone);
  frame.append(...(alone ? [] : [make("div", { class: "left" }, controls, actions)]),
    make("div", { class: "right" }, picture, rows, findings));
  const preview = new Preview(picture, send);
  const fields = new Map();
  const drawn = {};
  let picked = -1;
  let waiting = false;
  let patience = null;
  let font = "";

  function update() {
    const doc = model.get("doc");
    redraw("controls", doc.groups.map((g) => [g.name, g.controls.map((c) => [c.path, c.kind, c.items?.length])]), () => drawControls(doc));
    font = getComputedStyle(frame).font || "13px sans-serif"; // none before the frame is in the page
    for (const group of doc.groups) for (const control of group.controls) refresh(control);
    redraw("rows", [doc.rows, doc.basis], () => drawRows(doc));
    if (picked >= doc.findings.length) { picked = -1; preview.point([], ""); }
    redraw("findings", [doc.findings, doc.trouble, doc.checked, doc.checking, picked], () => drawFindings(doc));
    redraw("actions", [doc.exporting, doc.faulty, doc.said, doc.said_bad, doc.files, doc.can_export, doc.can_save, doc.sheet_path, waiting], () => drawActions(doc));
    frame.dataset.state = doc.building ? "building" : doc.trouble ? "trouble" : "ready";
  }

  // Only what has changed is drawn again: a page that is repainted takes time from the next shape.
  function redraw(place, data, draw) {
    const now = JSON.stringify(data);
    if (drawn[place] === now) return;
    drawn[place] = now;
    draw();
  }

  // A build that is over at once shows no sign of waiting: a flicker tells nobody anything.
  function follow() {
    const { building } = model.get("doc");
    clearTimeout(patience);
    if (building) patience = setTimeout(() => setWaiting(true), 250);
    else if (waiting) { setWaiting(false); return; }
    update();
  }

  function setWaiting(now) {
    waiting = now;
    preview.setWaiting(now);
    update();
  }

  // --- parameters --------------------------------------------------------------------------------

  function drawControls(doc) {
    const open = new Map([...controls.querySelectorAll("details")].map((d) => [d.dataset.group, d.open]));
    const focus = document.activeElement?.dataset?.path;
    fields.clear();
    controls.replaceChildren(
      make("header", {}, make("h2", {}, doc.title), doc.subtitle === doc.title ? null : make("p", { class: "soft" }, doc.subtitle)),
      ...doc.groups.map((group, n) => make("details", { open: open.get(group.name) ?? n < 6, "data-group": group.name },
        make("summary", {}, group.name), ...group.controls.map(drawControl))));
    if (focus) fields.get(focus)?.input?.focus();
  }

  function drawControl(control) {
    if (control.kind === "list") {
      return make("div", { class: "list" },
        make("div", { class: "list-head" }, make("span", {}, control.label),
          make("button", { type: "button", onclick: () => send({ kind: "add", path: control.path }) }, "Add one")),
        listMessage(control),
        ...control.items.map((item, n) => make("fieldset", {},
          make("legend", {}, item.title,
            make("button", { type: "button", class: "quiet", "aria-label": `take ${item.title} away`,
              onclick: () => send({ kind: "remove", path: control.path, index: n }) }, "take away")),
          ...item.controls.map(drawControl))));
    }
    const id = `fk-${model.get("still_id")}-${control.path}`.replace(/[^\w-]/g, "-");
    const commit = (text) => {
      fields.get(control.path).sent = text;
      send({ kind: "set", path: control.path, text });
    };
    let input;
    let slider = null;
    if (control.kind === "choice") {
      input = make("select", { id, onchange: () => commit(input.value) },
        ...control.choices.map((choice) => make("option", { value: choice }, choice)));
    } else if (control.kind === "switch") {
      input = make("input", { type: "checkbox", id, onchange: () => commit(input.checked ? "yes" : "no") });
    } else {
      input = make("input", { type: "text", id, autocomplete: "off", spellcheck: "false", "data-path": control.path,
        // What is typed is sent as it is; nothing is rounded or kept within bounds in silence.
        onchange: () => { if (input.value !== fields.get(control.path).sent) commit(input.value); },
        onkeydown: (event) => {
          if (event.key === "Enter") { event.preventDefault(); if (input.value !== fields.get(control.path).sent) commit(input.value); input.select(); }
          if (event.key === "Escape") { input.value = fields.get(control.path).shown; }
        } });
      if (control.low != null && control.high != null && control.high > control.low) {
        const step = niceStep((control.high - control.low) / 150);
        let queued = null;
        slider = make("input", { type: "range", min: control.low, max: control.high, step, tabindex: "-1",
          "aria-label": `${control.label}, slider`,
          oninput: () => {
            const text = `${trim(Number(slider.value))}${control.unit ? ` ${control.unit}` : ""}`;
            input.value = text;
            // One message a frame, however fast the slider is dragged.
            if (queued === null) requestAnimationFrame(() => { const last = queued; queued = null; commit(last); });
            queued = text;
          } });
      }
    }
    input.dataset.path = control.path;
    const reset = make("button", { type: "button", class: "reset", title: `back to ${control.default_text || "the start"}`,
      "aria-label": `set ${control.label} back to ${control.default_text}`,
      onclick: () => { fields.get(control.path).sent = null; send({ kind: "reset", path: control.path }); } }, "↺");
    const message = make("p", { class: "message", id: `${id}-m`, role: "alert", hidden: true });
    const note = make("p", { class: "note", hidden: true });
    input.setAttribute("aria-describedby", `${id}-m`);
    fields.set(control.path, { input, slider, reset, message, note, shown: null, sent: null });
    const name = control.path.split(".").at(-1);
    const inSheet = name.replaceAll("_", " ") === control.label ? "" : `In a sheet: ${name}.`;
    const help = [control.help, control.bounds, inSheet].filter(Boolean).join(" ");
    return make("div", { class: `field ${control.kind}`, "data-field": control.path },
      make("label", { for: id, title: help }, control.label),
      make("span", { class: "entry" }, input, control.unit ? make("span", { class: "unit" }, control.unit) : null, reset),
      slider, note, message,
      help ? make("p", { class: "help" }, help) : null);
  }

  function listMessage(control) {
    const message = make("p", { class: "message", role: "alert", hidden: true });
    fields.set(control.path, { message, note: make("p"), list: true });
    return message;
  }

  function refresh(control) {
    const field = fields.get(control.path);
    if (control.kind === "list") {
      control.items.forEach((item) => item.controls.forEach(refresh));
    } else {
      const { input, slider, reset } = field;
      if (control.kind === "switch") input.checked = control.text === "yes";
      // A field that is being typed in is left alone unless the kernel answers what was sent.
      else if (control.text !== field.shown || input !== document.activeElement) {
        if (input !== document.activeElement || field.sent === null || input.value === field.sent) input.value = control.text;
      }
      field.shown = control.text;
      input.title = control.text;
      // An expression or a long choice needs room; a choice keeps its place whichever is picked.
      const fitted = `${font} ${control.text}`;
      if (field.fitted !== fitted) {
        field.fitted = fitted;
        const narrow = control.kind === "choice" ? control.choices.every((choice) => fits(choice, ROOM.choice, font)) : fits(control.text, ROOM.text, font);
        input.closest(".field").classList.toggle("wide", !narrow);
      }
      if (slider && control.value != null && slider !== document.activeElement) slider.value = control.value;
      reset.hidden = !control.changed;
      input.setAttribute("aria-invalid", String(Boolean(control.message)));
      say(field.note, control.note || "");
    }
    say(field.message, control.message ? `▲ ${control.message}` : "");
  }

  function say(place, text) {
    if (place.textContent !== text) place.textContent = text;
    place.hidden = !text;
  }

  // --- sizes, findings, files --------------------------------------------------------------------

  function drawRows(doc) {
    rows.hidden = !doc.rows.length;
    if (rows.hidden) return;
    const open = rows.querySelector("details")?.open ?? false;
    const head = ["size", "measured", "", "target", "", "drawn", "expected as printed", "wanted"];
    rows.replaceChildren(make("table", {},
      make("caption", {}, `Sizes that must fit, mm. ${doc.basis || ""}`),
      make("thead", {}, make("tr", {}, ...head.map((text) => make("th", { scope: "col", class: text === "wanted" ? "words" : null }, text)))),
      make("tbody", {}, ...doc.rows.map((row) => make("tr", { title: row.notes.join(" ") },
        make("th", { scope: "row" }, row.name), make("td", {}, row.measured), make("td", { class: "arrow" }, "→"),
        make("td", {}, row.target), make("td", { class: "arrow" }, "→"), make("td", { class: "drawn" }, row.drawn),
        make("td", {}, row.expected), make("td", { class: "words" }, row.wanted + (row.notes.length ? ` ${MARKS.note}` : "")))))),
      ...drawNotes(doc.rows, open));
  }

  // What the mark in the table stands for: each note once, with the sizes that it is about.
  function drawNotes(all, open) {
    const told = new Map();
    for (const row of all) for (const note of row.notes) told.set(note, [...(told.get(note) ?? []), row.name]);
    if (!told.size) return [];
    return [make("details", { class: "notes", open }, make("summary", {}, `${MARKS.note} marks a size with a note; read the notes`),
      make("ul", {}, ...[...told].map(([note, names]) => make("li", {}, make("b", {}, `${names.join(", ")}: `), note))))];
  }

  function drawFindings(doc) {
    const trouble = doc.trouble ? [make("li", { class: "stop", role: "alert" },
      make("b", {}, `${MARKS.stop} not built`), ` ${doc.trouble}`)] : [];
    const items = doc.findings.map((finding, n) => make("li", { class: finding.severity },
      make("button", { type: "button", "aria-pressed": String(n === picked), disabled: !finding.at.length,
        title: finding.at.length ? "show where" : "nowhere in particular",
        onclick: () => { picked = picked === n ? -1 : n;
          preview.point(picked < 0 ? [] : finding.at, finding.check); update(); } },
        make("b", {}, `${MARKS[finding.severity]} ${finding.severity}`), ` ${finding.check}: ${finding.text}`,
        finding.number ? make("span", { class: "number" }, ` ${finding.number}`) : null,
        finding.remedy ? make("span", { class: "remedy" }, ` ${finding.remedy}`) : null)));
    findings.hidden = !trouble.length && !items.length && !doc.checked && !doc.checking;
    findings.replaceChildren(make("h3", {}, "Before you print"),
      trouble.length || items.length ? make("ul", {}, ...trouble, ...items) : make("p", { class: "soft" }, doc.checking ? "checking …" : "The checks that ran found nothing."));
  }

  let sheetName = null;
  function drawActions(doc) {
    if (alone) return;
    const typed = sheetName?.value ?? doc.sheet_path;
    const keep = document.activeElement === sheetName;
    sheetName = make("input", { type: "text", value: keep ? typed : doc.sheet_path || typed, "aria-label": "part sheet file",
      placeholder: "part sheet, such as case.toml", spellcheck: "false" });
    const busy = doc.exporting;
    actions.replaceChildren(...[
      make("button", { type: "button", onclick: () => send({ kind: "reset" }) }, "All back to the start"),
      doc.can_export ? make("button", { type: "button", class: "main", disabled: Boolean(busy) || waiting || Boolean(doc.faulty),
        onclick: () => send({ kind: "export" }) }, busy ? "Writing …" : "Write the files to print") : null,
      busy ? make("div", { class: "soft", role: "status" }, make("progress", {}), ` ${busy}`) : null,
      doc.said ? make("p", { class: doc.said_bad ? "message" : "soft", role: "status" }, doc.said) : null,
      doc.files.length ? make("ul", { class: "files" }, ...doc.files.map((file) => make("li", {}, file))) : null,
      doc.can_save ? make("div", { class: "sheet" }, sheetName,
        make("button", { type: "button", onclick: () => send({ kind: "save", path: sheetName.value }) }, "Save sheet"),
        make("button", { type: "button", onclick: () => send({ kind: "load", path: sheetName.value }) }, "Load sheet")) : null,
    ].filter(Boolean));
    if (keep) sheetName.focus();
  }

  // --- what comes from the kernel ----------------------------------------------------------------

  const heard = (content, buffers) => {
    if (content.kind === "scene") preview.setScene(content.head, buffers, content.ticket);
    else if (content.kind === "gaps") preview.setGaps(content.gaps, buffers);
    else if (content.kind === "still") preview.setStill(buffers[0]);
  };
  model.on("msg:custom", heard);
  model.on("change:doc", follow);
  follow();
  send({ kind: "ready" });
  return () => {
    model.off("msg:custom", heard);
    model.off("change:doc", follow);
    clearTimeout(patience);
    unwatch();
    showStill();
    preview.dispose();
  };
}

function niceStep(step) {
  const power = 10 ** Math.floor(Math.log10(step));
  return [1, 2, 5, 10].map((n) => n * power).find((n) => n >= step - 1e-12);
}

const trim = (number) => String(Number(number.toFixed(3)));

export default { render };
