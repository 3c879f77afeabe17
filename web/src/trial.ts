// Trial entry: which print, how it measured and fitted, and what that says of the next gap.
import { chart } from "./chart";
import { make, root } from "./dom";
import { alarm, type Mount, sender } from "./kernel";
import { MarkedPicture } from "./marked";
import {
  type FitSaid,
  type MarkedMessage,
  SIGNS,
  type TrialMessage,
  type TrialState,
  type Verdict,
} from "./protocol";

const HEADS = ["fit", "wanted", "expected ± (95 %)", "measured, mm", "how it fitted"];

interface Typed {
  verdicts: Record<string, Verdict>;
  measured: Record<string, string>;
  finished: boolean;
  notes: string;
}

const blank = (): Typed => ({ verdicts: {}, measured: {}, finished: false, notes: "" });

function render({ model, el }: Mount<{ state: TrialState }, TrialMessage, MarkedMessage>) {
  const [frame, unwatch] = root(el, "trial");
  const id = `fk-${Math.random().toString(36).slice(2)}`;
  const send = sender<TrialMessage>(model, alarm(frame));
  let typed = blank(); // what is not written down yet: the form is drawn again at each answer
  let asked = "";
  let saved = -1;
  let drawn = ""; // code of the print whose picture was asked for
  const picture = new MarkedPicture((name) => send({ kind: "fit", name }));

  function pick(code: string) {
    asked = code;
    send({ kind: "pick", code });
  }

  function update() {
    const state = model.get("state");
    // After a misread code no print is picked; what was typed waits for the code to be mended.
    if (state.saved !== saved || (state.code && state.code !== frame.dataset.code)) typed = blank();
    saved = state.saved;
    const focused = frame.contains(document.activeElement) ? document.activeElement : null;
    const key = (focused as HTMLElement | null)?.dataset.key ?? null;
    const caret = caretOf(focused);
    if (state.code && state.fits.length && state.code !== drawn) {
      drawn = state.code;
      send({ kind: "picture" });
    }
    const form = drawForm(state);
    picture.draw(state.code, state.title, state.fit, typed.verdicts, drawCard(state));
    frame.replaceChildren(
      picture.element,
      form,
      ...(state.curve ? [chart(state.curve, state.before)] : []),
    );
    frame.dataset.saved = String(state.saved);
    if (state.code) frame.dataset.code = state.code;
    const keyed = [...frame.querySelectorAll<HTMLElement>("[data-key]")];
    const back =
      form.querySelector<HTMLElement>("[aria-invalid]") ??
      keyed.find((each) => each.dataset.key === key);
    if (key && back) back.focus();
    if (caret && back instanceof HTMLInputElement && back.dataset.key === key)
      back.setSelectionRange(...caret);
  }

  function drawForm(state: TrialState): HTMLFormElement {
    // An error stands at the field that it is about, which keeps what was typed.
    const fault = (place: string) =>
      state.fault_at === place
        ? make("p", { class: "message", role: "alert", id: `${id}-fault` }, `▲ ${state.said}`)
        : null;
    const blamed = (place: string): Record<string, string> =>
      state.fault_at === place ? { "aria-invalid": "true", "aria-describedby": `${id}-fault` } : {};
    const code = make("input", {
      type: "text",
      value: state.fault_at === "code" ? asked : state.code,
      spellcheck: "false",
      "data-key": "code",
      "aria-label": "trace code",
      ...blamed("code"),
      onchange: () => go(),
      // Enter looks the code up; it does not write the trial down.
      onkeydown: (event: KeyboardEvent) => {
        if (event.key !== "Enter") return;
        event.preventDefault();
        go();
      },
    });
    let gone = code.value;
    const go = () => {
      if (code.value === gone) return;
      gone = code.value;
      pick(gone);
    };
    const prints = state.prints.map((print) => {
      const text = `${print.code} · ${print.title} · ${print.made_on}`;
      return make("option", { value: print.code }, text);
    });
    const picked = make(
      "select",
      { "aria-label": "print", "data-key": "print", onchange: () => pick(picked.value) },
      ...prints,
    );
    picked.value = state.code;
    const finished = make("input", {
      type: "checkbox",
      checked: typed.finished,
      "data-key": "finished",
      onchange: () => {
        typed.finished = finished.checked;
      },
    });
    const notes = make("input", {
      type: "text",
      value: typed.notes,
      "aria-label": "notes",
      "data-key": "notes",
      oninput: () => {
        typed.notes = notes.value;
      },
    });
    const rows = state.fits.flatMap((fit) => {
      const wrong = fault(fit.name);
      const cell = { class: "words", colspan: "5" };
      const line = drawFit(state, fit, blamed(fit.name));
      return wrong ? [line, make("tr", {}, make("td", cell, wrong))] : [line];
    });
    const writeDown = (event: Event) => {
      event.preventDefault();
      const { verdicts, measured } = typed;
      send({
        kind: "add",
        verdicts: { ...verdicts },
        measured: { ...measured },
        finished: finished.checked,
        notes: notes.value,
      });
    };
    const submit = { type: "submit", class: "main", "data-key": "submit" };
    const said = state.bad ? null : make("p", { class: "soft", role: "status" }, state.said);
    return make(
      "form",
      { onsubmit: writeDown },
      make("div", {}, make("label", {}, "code on the part", code), fault("code")),
      make("label", { class: "print" }, "or pick a print", picked),
      make("div", { class: "wide" }, rows.length ? table(rows) : nothing(state)),
      make("label", {}, "notes", notes),
      make("label", {}, "coated before it was tried", finished),
      make("button", { ...submit, disabled: !state.fits.length }, "Write down"),
      make("div", { class: "wide" }, fault("form"), said, written(state)),
    );
  }

  function drawFit(state: TrialState, fit: FitSaid, blame: Record<string, string>) {
    const { verdicts, measured } = typed;
    const size = make("input", {
      type: "text",
      value: measured[fit.name] ?? "",
      size: "12",
      "data-key": `size of ${fit.name}`,
      "aria-label": `${fit.name}, measured, mm`,
      ...blame,
      oninput: () => {
        measured[fit.name] = size.value;
        const card = frame.querySelector<HTMLInputElement>(`[data-key="card size"]`);
        if (card && fit.name === model.get("state").fit) card.value = size.value;
      },
    });
    const choices = state.verdicts.map((verdict) =>
      choice(fit, verdict, `${verdict}: ${fit.name}`, () => {
        if (verdicts[fit.name] === verdict) delete verdicts[fit.name];
        else verdicts[fit.name] = verdict;
        update();
        if (fit.name !== model.get("state").fit) send({ kind: "fit", name: fit.name });
      }),
    );
    const nth = picture.numberOf(state.code, fit.name);
    const number = nth ? make("span", { class: "nth" }, String(nth)) : null;
    const mark = fit.mark ? make("span", { class: "soft" }, ` (marked ${fit.mark})`) : null;
    const judged = fit.judged ? make("span", { class: "verdicts" }, ...choices) : "–";
    return make(
      "tr",
      { class: fit.name === state.fit ? "picked" : null },
      make("th", { scope: "row" }, number, fit.name, mark),
      make("td", { class: "words", "data-head": HEADS[1] }, fit.wanted),
      make("td", { "data-head": HEADS[2] }, fit.expected),
      make("td", { "data-head": HEADS[3] }, size),
      make("td", { class: "words" }, judged),
    );
  }

  const choice = (fit: FitSaid, verdict: Verdict, key: string, act: () => void) =>
    make(
      "button",
      {
        type: "button",
        "data-verdict": verdict,
        "data-key": key,
        "aria-pressed": String(typed.verdicts[fit.name] === verdict),
        onclick: act,
      },
      `${SIGNS[verdict]} ${verdict}`,
    );

  // The fit that is picked on the picture. A verdict is one press, and goes on to the next fit.
  function drawCard(state: TrialState): HTMLElement | null {
    const fit = state.fits.find(({ name }) => name === state.fit);
    const nth = fit ? picture.numberOf(state.code, fit.name) : 0;
    if (!fit || !nth) return null;
    const { verdicts, measured } = typed;
    const judge = (verdict: Verdict) => {
      verdicts[fit.name] = verdict;
      const at = state.fits.indexOf(fit);
      const after = [...state.fits.slice(at + 1), ...state.fits.slice(0, at)];
      const next = after.find((one) => one.judged && !verdicts[one.name]);
      update();
      if (next) send({ kind: "fit", name: next.name });
    };
    const choices = state.verdicts.map((verdict) =>
      choice(fit, verdict, `card ${verdict}`, () => judge(verdict)),
    );
    const size = make("input", {
      type: "text",
      size: "12",
      value: measured[fit.name] ?? "",
      "data-key": "card size",
      oninput: () => {
        measured[fit.name] = size.value;
        const other = frame.querySelector<HTMLInputElement>(`[data-key="size of ${fit.name}"]`);
        if (other) other.value = size.value;
      },
    });
    const judged = state.fits.filter((one) => one.judged);
    const done = judged.filter((one) => verdicts[one.name]).length;
    return make(
      "div",
      { class: "card", role: "group", "aria-label": `fit ${nth}` },
      make("h3", {}, make("span", { class: "nth" }, String(nth)), fit.name),
      make("p", {}, `${fit.wanted}; expected ${fit.expected}`),
      make("label", {}, "measured, mm", size),
      fit.judged ? make("div", { class: "verdicts" }, ...choices) : null,
      make("p", { class: "soft" }, `${done} of ${judged.length} judged`),
    );
  }

  // What was written down of this print, each verdict with a button that takes it back.
  function written(state: TrialState) {
    if (!state.tried.length) return null;
    const lines = state.tried.map((trial) => {
      const button = make(
        "button",
        {
          type: "button",
          "data-key": `withdraw ${trial.code}`,
          "aria-label": `withdraw ${trial.code}`,
          onclick: () => send({ kind: "withdraw", code: trial.code }),
        },
        "Withdraw",
      );
      const text = `${trial.on}, ${trial.code}: ${trial.said} `;
      return make("li", {}, text, trial.withdrawn ? "(withdrawn)" : button);
    });
    return make(
      "div",
      {},
      make("p", { class: "soft" }, "Written down of this print:"),
      make("ul", { class: "written" }, ...lines),
    );
  }

  // A print may have come into the journal since: whoever turns to the form sees it.
  const look = () => send({ kind: "refresh" });
  frame.addEventListener("pointerenter", look);
  frame.addEventListener("focusin", (event) => {
    if (!frame.contains(event.relatedTarget as Node | null)) look();
  });
  const heard = (message: MarkedMessage, buffers: DataView[]) => {
    if (message.code !== model.get("state").code) return;
    picture.take(message, buffers[0]);
    update();
  };
  model.on("msg:custom", heard);
  model.on("change:state", update);
  update();
  return () => {
    model.off("change:state", update);
    model.off("msg:custom", heard);
    picture.drop();
    unwatch();
  };
}

function caretOf(element: Element | null): [number, number] | null {
  if (!(element instanceof HTMLInputElement) || element.type !== "text") return null;
  return [element.selectionStart ?? 0, element.selectionEnd ?? 0];
}

function table(rows: HTMLElement[]): HTMLElement {
  const heads = HEADS.map((name, n) =>
    make("th", { scope: "col", class: n === 1 || n === 4 ? "words" : null }, name),
  );
  const head = make("thead", {}, make("tr", {}, ...heads));
  return make("table", {}, head, make("tbody", {}, ...rows));
}

// What stands where the sizes would.
function nothing(state: TrialState): string {
  if (!state.prints.length) return "No print in this journal yet: write the files of a part first.";
  return state.code
    ? "This print has no size that must fit."
    : "Type the code that is on the part, or pick a print.";
}

export default { render };
