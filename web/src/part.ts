// The part panel: parameters beside the live preview, sizes on their way, findings, files.
import { Actions, stepKeys } from "./actions";
import { Controls } from "./controls";
import { Decisions } from "./decide";
import { hideStill, make, root } from "./dom";
import type { Ahead } from "./field";
import { alarm, type Mount, sender } from "./kernel";
import { Drafts } from "./preview/draft";
import { Preview } from "./preview/preview";
import { numbersOf } from "./preview/shapes";
import { Prints } from "./prints";
import { Problems } from "./problems";
import {
  MARKS,
  type PanelDoc,
  type PictureAnswer,
  type PictureMessage,
  type SizeRow,
} from "./protocol";

// Messages that change nothing of the part.
const QUIET: ReadonlySet<PictureMessage["kind"]> = new Set([
  "still",
  "pick",
  "facing",
  "prints",
  "over",
]);

type State = { doc: PanelDoc; still_id: string };

function render({ model, el }: Mount<State, PictureMessage, PictureAnswer>) {
  const [frame, unwatch] = root(el, "part");
  const showStill = hideStill(model.get("still_id"));
  const post = sender<PictureMessage>(model, alarm(frame));
  const drafts = new Drafts(post);
  const send = (message: PictureMessage) => {
    const same = message.kind === "set" && message.path === drafts.path;
    if (!same && !QUIET.has(message.kind)) drafts.forget();
    return post(message);
  };
  const ahead: Ahead = {
    prepare: (path, low, step, count, at) => drafts.prepare(path, low, step, count, at),
    show: (path, value) => {
      const piece = path === drafts.path ? drafts.find(value) : null;
      const shown = piece !== null && preview.drawAhead(piece, value);
      if (shown !== drafting) {
        drafting = shown;
        update();
      }
      return shown;
    },
    end: () => {
      preview.endDrag();
      drafting = false;
    },
  };
  const actions = new Actions({
    send,
    forget: () => controls.forgetSent(),
    picked: () => size,
    pressing: (now) => {
      pressing = now;
      if (!now) update();
    },
  });
  const controls = new Controls(model.get("still_id"), send, () => actions.focus(), ahead);
  const picture = make("div", { class: "picture" });
  const rows = make("div", { class: "sizes" });
  const findings = make("div", { class: "findings" });
  const alone = !model.get("doc").groups.length;
  frame.classList.toggle("alone", alone);
  const left = make("div", { class: "left" }, controls.element, actions.element);
  const prints = new Prints(post);
  const right = make("div", { class: "right" }, picture, prints.element, rows, findings);
  prints.element.hidden = alone || !model.get("doc").can_save;
  frame.append(make("div", { class: "panes" }, ...(alone ? [] : [left]), right));
  const preview = new Preview(picture, send, (name) => pickSize(name));
  const decisions = new Decisions(send, () => drawFindings(model.get("doc")));
  const problems = new Problems((path) => controls.show(path));
  preview.over.append(problems.element);
  const drawn: Record<string, string> = {};
  let picked = -1;
  let size = ""; // name of the size that is picked
  let waiting = false;
  let pressing = false;
  let drafting = false; // the picture is ahead of the numbers
  let patience: ReturnType<typeof setTimeout> | undefined;
  frame.addEventListener("keydown", (event) => stepKeys(event, model.get("doc"), send, actions));

  function update() {
    const doc = model.get("doc");
    redraw("controls", Controls.shape(doc), () => controls.draw(doc));
    // There is no font before the frame is in the page.
    controls.refresh(doc, getComputedStyle(frame).font || "13px sans-serif");
    redraw("rows", [doc.rows, doc.basis, doc.old, drafting, size], () => drawRows(doc));
    preview.setRows(doc.rows);
    if (picked >= doc.findings.length) {
      picked = -1;
      preview.point([], "");
    }
    redraw(
      "findings",
      [doc.findings, doc.trouble, doc.checked, doc.checking, doc.findings_old, picked],
      () => drawFindings(doc),
    );
    // While a build is on its way a picture is old, but a moment later it is not: no flicker.
    const old = doc.old && (!doc.building || waiting);
    if (doc.old && !doc.building) preview.dropDraft();
    preview.setOld(old);
    rows.classList.toggle("old", drafting || (doc.old && !doc.building));
    findings.classList.toggle("old", drafting || doc.findings_old);
    redraw("problems", [doc.problems, doc.stands_in, old, doc.building], () =>
      problems.draw(doc, old && !doc.building),
    );
    // A button that is pressed stays the button that it was until it is let go.
    const shown = [Actions.shown(doc, waiting), size, doc.rows.length > 0];
    if (!pressing) redraw("actions", shown, () => actions.draw(doc, waiting));
    frame.dataset.state = doc.building ? "building" : doc.trouble ? "trouble" : "ready";
  }

  // Only what has changed is drawn again: a page that is repainted takes time from the next shape.
  function redraw(place: string, data: unknown, draw: () => void) {
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
    else if (waiting) {
      setWaiting(false);
      return;
    }
    update();
  }

  function setWaiting(now: boolean) {
    waiting = now;
    preview.setWaiting(now);
    update();
  }

  function pickSize(name: string, told = true) {
    // Where its readings stand they are marked too; what came from there is not told back.
    if (told && name !== size && model.get("doc").can_save) post({ kind: "size", name });
    size = name;
    preview.pick(name);
    update();
    controls.mark(model.get("doc").rows.find((row) => row.name === name)?.paths ?? []);
  }

  // --- sizes, findings, files --------------------------------------------------------------------

  function drawRows(doc: PanelDoc) {
    rows.hidden = !doc.rows.length;
    if (rows.hidden) return;
    const open = rows.querySelector("details")?.open ?? false;
    const active = document.activeElement as HTMLElement | null;
    const key = rows.contains(active) ? active?.dataset.key : undefined;
    const names = ["size", "measured", "", "target", "", "drawn", "expected as printed", "wanted"];
    const head = names.map((text) =>
      text
        ? make("th", { scope: "col", class: text === "wanted" ? "words" : null }, text)
        : make("td", {}),
    );
    rows.replaceChildren(
      make(
        "table",
        {},
        make(
          "caption",
          {},
          drafting || (doc.old && !doc.building)
            ? make("b", {}, "Old: of the values before. ")
            : null,
          `Sizes that must fit, mm. ${doc.basis}`,
        ),
        make("thead", {}, make("tr", {}, ...head)),
        make(
          "tbody",
          {},
          ...doc.rows.map((row) =>
            drawSize(row, row.name === size, () => pickSize(row.name === size ? "" : row.name)),
          ),
        ),
      ),
      ...drawNotes(doc.rows, open),
    );
    const keyed = [...rows.querySelectorAll<HTMLElement>("[data-key]")];
    if (key) keyed.find((each) => each.dataset.key === key)?.focus();
  }

  function drawFindings(doc: PanelDoc) {
    const trouble = doc.trouble
      ? [
          make(
            "li",
            { class: "stop", role: "alert" },
            make("b", {}, `${MARKS.stop} not built`),
            ` ${doc.trouble}`,
          ),
        ]
      : [];
    const items = doc.findings.map((finding, n) => {
      const pick = () => {
        picked = picked === n ? -1 : n;
        preview.point(picked < 0 ? [] : finding.at, finding.check);
        update();
      };
      const button = make(
        "button",
        {
          type: "button",
          "aria-pressed": String(n === picked),
          disabled: !finding.at.length,
          title: finding.at.length ? "show where" : "nowhere in particular",
          onclick: pick,
        },
        make("b", {}, `${MARKS[finding.severity]} ${finding.severity}`),
        ` ${finding.check}: ${finding.text}`,
        finding.number ? make("span", { class: "number" }, ` ${finding.number}`) : null,
        finding.remedy ? make("span", { class: "remedy" }, ` ${finding.remedy}`) : null,
      );
      return make("li", { class: finding.severity }, button, decisions.draw(finding.readings));
    });
    const some = trouble.length || items.length;
    findings.hidden = !some && !doc.checked && !doc.checking;
    findings.replaceChildren(
      make(
        "h3",
        {},
        "Before you print",
        doc.findings_old ? make("span", { class: "soft" }, " (old: of the values before)") : null,
      ),
      some
        ? make("ul", {}, ...trouble, ...items)
        : make(
            "p",
            { class: "soft" },
            doc.checking ? "checking …" : "The checks that ran found nothing.",
          ),
    );
    decisions.focus();
  }

  // --- what comes from the kernel ----------------------------------------------------------------

  const heard = (content: PictureAnswer, buffers: DataView[]) => {
    if (content.kind === "scene")
      preview.setScene(content.head, buffers, content.ticket, content.latest);
    else if (content.kind === "draft") {
      drafts.take(content, buffers);
      frame.dataset.ahead = drafts.reach.join(" ");
    } else if (content.kind === "no-draft") drafts.forget();
    else if (content.kind === "gaps") preview.setGaps(content.gaps, buffers);
    else if (content.kind === "size") pickSize(content.name, false);
    else if (content.kind === "before")
      preview.setBefore(
        buffers.map((ends) => numbersOf("edges", ends)),
        content.what,
        content.count,
        content.over,
      );
    else if (content.kind === "prints") prints.take(content.prints);
    else if (content.kind === "facing") preview.setFacing([content.placed], content.ticket);
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

function drawSize(row: SizeRow, picked: boolean, pick: () => void): HTMLElement {
  const arrow = () => make("td", { class: "arrow" }, "→");
  return make(
    "tr",
    { title: row.notes.join(" "), class: picked ? "picked" : null },
    make(
      "th",
      { scope: "row" },
      make(
        "button",
        {
          type: "button",
          class: "pick",
          "aria-pressed": String(picked),
          title: "show its faces, its line and its fields",
          "data-key": row.name,
          onclick: pick,
        },
        row.name,
      ),
    ),
    make("td", {}, row.measured),
    arrow(),
    make("td", {}, row.target),
    arrow(),
    make("td", { class: "drawn" }, row.drawn),
    make("td", {}, row.expected),
    make("td", { class: "words" }, row.wanted + (row.notes.length ? ` ${MARKS.note}` : "")),
  );
}

// What the mark in the table stands for: each note once, with the sizes that it is about.
function drawNotes(rows: SizeRow[], open: boolean): HTMLElement[] {
  const told = new Map<string, string[]>();
  for (const row of rows)
    for (const note of row.notes) told.set(note, [...(told.get(note) ?? []), row.name]);
  if (!told.size) return [];
  const items = [...told].map(([note, names]) =>
    make("li", {}, make("b", {}, `${names.join(", ")}: `), note),
  );
  const summary = `${MARKS.note} marks a size with a note; read the notes`;
  return [
    make(
      "details",
      { class: "notes", open },
      make("summary", {}, summary),
      make("ul", {}, ...items),
    ),
  ];
}

export default { render };
