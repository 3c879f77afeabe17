// The part panel: parameters beside the live preview, sizes on their way, findings, files.
import { Controls } from "./controls";
import { hideStill, make, root } from "./dom";
import { alarm, type Mount, sender } from "./kernel";
import { Preview } from "./preview/preview";
import {
  MARKS,
  type PanelDoc,
  type PictureAnswer,
  type PictureMessage,
  type SizeRow,
} from "./protocol";

type State = { doc: PanelDoc; still_id: string };

function render({ model, el }: Mount<State, PictureMessage, PictureAnswer>) {
  const [frame, unwatch] = root(el, "part");
  const showStill = hideStill(model.get("still_id"));
  const send = sender<PictureMessage>(model, alarm(frame));
  const controls = new Controls(model.get("still_id"), send);
  const picture = make("div", { class: "picture" });
  const rows = make("div", { class: "sizes" });
  const findings = make("div", { class: "findings" });
  const actions = make("div", { class: "actions" });
  const alone = !model.get("doc").groups.length;
  frame.classList.toggle("alone", alone);
  frame.append(
    ...(alone ? [] : [make("div", { class: "left" }, controls.element, actions)]),
    make("div", { class: "right" }, picture, rows, findings),
  );
  const preview = new Preview(picture, send);
  const drawn: Record<string, string> = {};
  let picked = -1;
  let waiting = false;
  let pressing = false;
  let patience: ReturnType<typeof setTimeout> | undefined;

  function update() {
    const doc = model.get("doc");
    redraw("controls", Controls.shape(doc), () => controls.draw(doc));
    // There is no font before the frame is in the page.
    controls.refresh(doc, getComputedStyle(frame).font || "13px sans-serif");
    redraw("rows", [doc.rows, doc.basis], () => drawRows(doc));
    if (picked >= doc.findings.length) {
      picked = -1;
      preview.point([], "");
    }
    redraw("findings", [doc.findings, doc.trouble, doc.checked, doc.checking, picked], () =>
      drawFindings(doc),
    );
    const { exporting, faulty, said, said_bad, files, can_export, can_save, sheet_path } = doc;
    // A button that is pressed stays the button that it was until it is let go.
    if (!pressing)
      redraw(
        "actions",
        [exporting, faulty, said, said_bad, files, can_export, can_save, sheet_path, waiting],
        () => drawActions(doc),
      );
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

  // --- sizes, findings, files --------------------------------------------------------------------

  function drawRows(doc: PanelDoc) {
    rows.hidden = !doc.rows.length;
    if (rows.hidden) return;
    const open = rows.querySelector("details")?.open ?? false;
    const names = ["size", "measured", "", "target", "", "drawn", "expected as printed", "wanted"];
    const head = names.map((text) =>
      make("th", { scope: "col", class: text === "wanted" ? "words" : null }, text),
    );
    rows.replaceChildren(
      make(
        "table",
        {},
        make("caption", {}, `Sizes that must fit, mm. ${doc.basis}`),
        make("thead", {}, make("tr", {}, ...head)),
        make("tbody", {}, ...doc.rows.map(drawSize)),
      ),
      ...drawNotes(doc.rows, open),
    );
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
      return make("li", { class: finding.severity }, button);
    });
    const some = trouble.length || items.length;
    findings.hidden = !some && !doc.checked && !doc.checking;
    findings.replaceChildren(
      make("h3", {}, "Before you print"),
      some
        ? make("ul", {}, ...trouble, ...items)
        : make(
            "p",
            { class: "soft" },
            doc.checking ? "checking …" : "The checks that ran found nothing.",
          ),
    );
  }

  // A press that takes the cursor out of a field commits what was typed there, and what the field
  // then shows may move the buttons: a press counts where it began, though the button has moved.
  function pressed(action: () => void) {
    let heard = false;
    const act = () => {
      heard = true;
      action();
    };
    const onpointerdown = (down: PointerEvent) => {
      const place = (down.currentTarget as HTMLElement).getBoundingClientRect();
      heard = false;
      pressing = true;
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
          pressing = false;
          if (!heard && inside && up.type === "pointerup") act();
          update();
        });
      };
      addEventListener("pointerup", ended);
      addEventListener("pointercancel", ended);
    };
    return { onclick: act, onpointerdown };
  }

  let sheetName: HTMLInputElement | null = null;
  function drawActions(doc: PanelDoc) {
    if (alone) return;
    const typed = sheetName?.value ?? doc.sheet_path;
    const keep = sheetName !== null && document.activeElement === sheetName;
    const name = make("input", {
      type: "text",
      value: keep ? typed : doc.sheet_path || typed,
      "aria-label": "part sheet file",
      placeholder: "part sheet, such as case.toml",
      spellcheck: "false",
    });
    sheetName = name;
    const busy = doc.exporting;
    const button = (label: string, action: () => void, extra = {}) =>
      make("button", { type: "button", ...pressed(action), ...extra }, label);
    const shown = [
      button("All back to the start", () => {
        controls.forgetSent();
        send({ kind: "reset" });
      }),
      doc.can_export
        ? button(busy ? "Writing …" : "Write the files to print", () => send({ kind: "export" }), {
            class: "main",
            disabled: Boolean(busy) || waiting || doc.faulty,
          })
        : null,
      busy
        ? make("div", { class: "soft", role: "status" }, make("progress", {}), ` ${busy}`)
        : null,
      doc.said
        ? make("p", { class: doc.said_bad ? "message" : "soft", role: "status" }, doc.said)
        : null,
      doc.files.length
        ? make("ul", { class: "files" }, ...doc.files.map((file) => make("li", {}, file)))
        : null,
      doc.can_save
        ? make(
            "div",
            { class: "sheet" },
            name,
            button("Save sheet", () => send({ kind: "save", path: name.value })),
            button("Load sheet", () => send({ kind: "load", path: name.value })),
          )
        : null,
    ];
    actions.replaceChildren(...shown.filter((part) => part !== null));
    if (keep) name.focus();
  }

  // --- what comes from the kernel ----------------------------------------------------------------

  const heard = (content: PictureAnswer, buffers: DataView[]) => {
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

function drawSize(row: SizeRow): HTMLElement {
  const arrow = () => make("td", { class: "arrow" }, "→");
  return make(
    "tr",
    { title: row.notes.join(" ") },
    make("th", { scope: "row" }, row.name),
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
