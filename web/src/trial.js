// Trial entry: which print, how it measured and fitted, and what that says of the next gap.
import { make, root } from "./dom.js";
import style from "./fitkit.css";

const SVG = "http://www.w3.org/2000/svg";
// A sign for each verdict, from too small a gap to too large, so that no colour is needed.
const SIGNS = { "will not go": "✕", tight: "▽", "as wanted": "●", loose: "△", rattles: "◇" };

function render({ model, el }) {
  const [frame, unwatch] = root(el, style, "trial");
  const id = `fk-${Math.random().toString(36).slice(2)}`;
  const blank = () => ({ verdicts: {}, measured: {}, finished: false, notes: "" });
  let typed = blank(); // what is not written down yet: the form is drawn anew at each answer
  let asked = "";
  let saved = -1;

  function pick(code) {
    asked = code;
    model.send({ kind: "pick", code });
  }

  function update() {
    const state = model.get("state");
    // After a misread code no print is picked; what was typed waits for the code to be mended.
    if (state.saved !== saved || (state.code && state.code !== frame.dataset.code)) typed = blank();
    saved = state.saved;
    const { verdicts, measured } = typed;
    const active = frame.contains(document.activeElement) ? document.activeElement : null;
    const focus = active?.dataset.key ?? null;
    const caret = active?.type === "text" ? [active.selectionStart, active.selectionEnd] : null;
    // An error stands at the field that it is about, which keeps what was typed.
    const fault = (place) => (state.fault_at === place
      ? make("p", { class: "message", role: "alert", id: `${id}-fault` }, `▲ ${state.said}`) : null);
    const blamed = (place) => (state.fault_at === place ? { "aria-invalid": "true", "aria-describedby": `${id}-fault` } : {});
    const code = make("input", { type: "text", value: state.fault_at === "code" ? asked : state.code, spellcheck: "false",
      "data-key": "code", "aria-label": "trace code", ...blamed("code"), onchange: () => go(),
      // Enter looks the code up; it does not write the trial down.
      onkeydown: (event) => { if (event.key === "Enter") { event.preventDefault(); go(); } } });
    let gone = code.value;
    const go = () => { if (code.value !== gone) { gone = code.value; pick(gone); } };
    const picked = make("select", { "aria-label": "print", "data-key": "print", onchange: () => pick(picked.value) },
      ...state.prints.map((p) => make("option", { value: p.code }, `${p.code} · ${p.title} · ${p.made_on}`)));
    picked.value = state.code;
    const finished = make("input", { type: "checkbox", checked: typed.finished, "data-key": "finished",
      onchange: () => { typed.finished = finished.checked; } });
    const notes = make("input", { type: "text", value: typed.notes, "aria-label": "notes", "data-key": "notes",
      oninput: () => { typed.notes = notes.value; } });
    const rows = state.fits.flatMap((fit) => {
      const size = make("input", { type: "text", value: measured[fit.name] ?? "", size: "12", "data-key": `size of ${fit.name}`,
        "aria-label": `${fit.name}, measured, mm`, ...blamed(fit.name), oninput: () => { measured[fit.name] = size.value; } });
      const choice = (verdict) => make("button", { type: "button", "data-verdict": verdict, "data-key": `${verdict}: ${fit.name}`, "aria-pressed": String(verdicts[fit.name] === verdict),
        onclick: (event) => {
          verdicts[fit.name] = verdicts[fit.name] === verdict ? undefined : verdict;
          for (const b of event.target.parentElement.children) b.setAttribute("aria-pressed", String(b.dataset.verdict === verdicts[fit.name]));
          if (fit.name !== model.get("state").fit) model.send({ kind: "fit", name: fit.name });
        } }, `${SIGNS[verdict]} ${verdict}`);
      const line = make("tr", { class: fit.name === state.fit ? "picked" : null },
        make("th", { scope: "row" }, fit.name, fit.mark ? make("span", { class: "soft" }, ` (marked ${fit.mark})`) : null), make("td", { class: "words" }, fit.wanted), make("td", {}, fit.expected),
        make("td", {}, size), make("td", { class: "words" }, fit.judged ? make("span", { class: "verdicts" }, ...state.verdicts.map(choice)) : "–"));
      const wrong = fault(fit.name);
      return wrong ? [line, make("tr", {}, make("td", { class: "words", colspan: "5" }, wrong))] : [line];
    });
    const form = make("form", { onsubmit: (event) => { event.preventDefault();
      model.send({ kind: "add", verdicts: { ...verdicts }, measured: { ...measured }, finished: finished.checked, notes: notes.value }); } },
      make("div", {}, make("label", {}, "code on the part", code), fault("code")),
      make("label", { class: "print" }, "or pick a print", picked),
      make("div", { class: "wide" }, state.fits.length ? make("table", {},
        make("thead", {}, make("tr", {}, ...["fit", "wanted", "expected ± (95 %)", "measured, mm", "how it fitted"].map((t, n) => make("th", { scope: "col", class: n === 1 || n === 4 ? "words" : null }, t)))),
        make("tbody", {}, ...rows)) : nothing(state)),
      make("label", {}, "notes", notes),
      make("label", {}, "coated before it was tried", finished),
      make("button", { type: "submit", class: "main", disabled: !state.fits.length, "data-key": "submit" }, "Write down"),
      make("div", { class: "wide" }, fault("form"), state.bad ? null : make("p", { class: "soft", role: "status" }, state.said), written(state)));
    frame.replaceChildren(form, ...(state.curve ? [chart(state.curve, state.before)] : []));
    frame.dataset.saved = String(state.saved);
    if (state.code) frame.dataset.code = state.code;
    const back = form.querySelector("[aria-invalid]") ?? [...form.querySelectorAll("[data-key]")].find((each) => each.dataset.key === focus);
    if (focus && back) back.focus();
    if (caret && back?.type === "text" && back.dataset.key === focus) back.setSelectionRange(...caret);
  }

  // What was written down of this print, each verdict with a button that takes it back.
  function written(state) {
    if (!state.tried.length) return null;
    const line = (trial) => make("li", {}, `${trial.on}, ${trial.code}: ${trial.said} `, trial.withdrawn ? "(withdrawn)"
      : make("button", { type: "button", "data-key": `withdraw ${trial.code}`, "aria-label": `withdraw ${trial.code}`,
        onclick: () => model.send({ kind: "withdraw", code: trial.code }) }, "Withdraw"));
    return make("div", {}, make("p", { class: "soft" }, "Written down of this print:"), make("ul", { class: "written" }, ...state.tried.map(line)));
  }

  // A print may have come into the journal since: whoever turns to the form sees it.
  const look = () => model.send({ kind: "refresh" });
  frame.addEventListener("pointerenter", look);
  frame.addEventListener("focusin", (event) => { if (!frame.contains(event.relatedTarget)) look(); });
  model.on("change:state", update);
  update();
  return () => { model.off("change:state", update); unwatch(); };
}

// What stands where the sizes would.
function nothing(state) {
  if (!state.prints.length) return "No print in this journal yet: write the files of a part first.";
  return state.code ? "This print has no size that must fit." : "Type the code that is on the part, or pick a print.";
}

function chart(curve, before) {
  const [w, h, left, right, top, bottom] = [760, 250, 54, 16, 30, 52];
  const svg = document.createElementNS(SVG, "svg");
  const put = (name, attributes, text) => {
    const element = document.createElementNS(SVG, name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    if (text) element.textContent = text;
    svg.append(element);
    return element;
  };
  svg.setAttribute("viewBox", `0 0 ${w} ${h}`);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `chance of a fit as wanted against the gap: ${curve.about}; best gap ${curve.best.toFixed(2)} mm`);
  const [low, high] = [curve.gap[0], curve.gap.at(-1)];
  const x = (gap) => left + ((gap - low) / (high - low)) * (w - left - right);
  const y = (chance) => h - bottom - chance * (h - top - bottom);
  const path = (c) => c.gap.map((gap, n) => `${n ? "L" : "M"}${x(gap).toFixed(1)},${y(c.chance[n]).toFixed(1)}`)
    .filter((_, n) => c.gap[n] >= low && c.gap[n] <= high).join("").replace(/^L/, "M");
  put("rect", { x: x(curve.band[0]), y: top, width: Math.max(0, x(curve.band[1]) - x(curve.band[0])), height: h - top - bottom, fill: "var(--mark)", opacity: 0.1 });
  for (const chance of [0, 0.5, 1]) {
    put("line", { x1: left, x2: w - right, y1: y(chance), y2: y(chance), stroke: "var(--line)" });
    put("text", { x: left - 6, y: y(chance) + 4, "text-anchor": "end" }, `${chance * 100} %`);
  }
  const step = [0.05, 0.1, 0.2, 0.5, 1].find((s) => (high - low) / s < 9) ?? 2;
  for (let gap = Math.ceil(low / step) * step; gap <= high; gap += step) {
    put("line", { x1: x(gap), x2: x(gap), y1: y(0), y2: y(0) + 4, stroke: "var(--soft)" });
    put("text", { x: x(gap), y: y(0) + 17, "text-anchor": "middle" }, (Math.abs(gap) < 1e-9 ? 0 : gap).toFixed(2));
  }
  put("text", { x: left, y: h - 4 }, "gap as printed, mm (negative: overlap)");
  put("text", { x: left, y: 16 }, `chance that it behaves as wanted: ${curve.about}`);
  if (before) put("path", { d: path(before), fill: "none", stroke: "var(--soft)", "stroke-width": 1.3, "stroke-dasharray": "5 4", class: "before" });
  put("path", { d: path(curve), fill: "none", stroke: "var(--mark)", "stroke-width": 2.2, class: "now" });
  put("line", { x1: x(curve.as_made), x2: x(curve.as_made), y1: top, y2: y(0), stroke: "var(--ink)", "stroke-dasharray": "2 3" });
  // Below the axis, where no curve runs; the arrow stands under the line.
  const last = x(curve.as_made) > w - right - 80;
  put("text", { x: x(curve.as_made) + (last ? 4 : -4), y: y(0) + 32, "text-anchor": last ? "end" : "start", class: "as-made" }, last ? "this print ↑" : "↑ this print");
  put("text", { x: w - right, y: 16, "text-anchor": "end" }, `best gap ${curve.best.toFixed(2)} mm, ${(curve.best_chance * 100).toFixed(0)} %${before ? "; before: dashed" : ""}`);
  for (const trial of curve.trials) put("text", { x: x(trial.gap), y: y(0) - 6, "text-anchor": "middle", class: "tried" }, SIGNS[trial.verdict] ?? "?");
  put("text", { x: w - right, y: h - 4, "text-anchor": "end" }, Object.entries(SIGNS).map(([verdict, sign]) => `${sign} ${verdict}`).join("   "));
  return svg;
}

export default { render };
