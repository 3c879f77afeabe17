// The page that shows a part live from one file: fitkit/export/view.py puts the part into it.
import { make, root } from "./dom";
import { Preview } from "./preview/preview";
import type { FacingSizes, GapsOf, SceneHead } from "./protocol";

interface Shared {
  head: SceneHead;
  arrays: string[];
  gaps: GapsOf[];
  gap_arrays: string[];
  facing: FacingSizes[];
  code: string;
  made_on: string;
}

const bytes = (text: string): DataView =>
  new DataView(Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer);

function show({ head, arrays, gaps, gap_arrays, facing, code, made_on }: Shared): void {
  document.body.style.margin = "0";
  const [frame] = root(document.body, "part");
  frame.classList.add("alone", "shared");
  const picture = make("div", { class: "picture" });
  const about = [head.template, code && `trace code ${code}`, made_on && `made ${made_on}`];
  const sizes = make("div", { class: "sizes" });
  frame.append(
    make(
      "header",
      {},
      make("h2", {}, head.title),
      make("p", { class: "soft" }, about.filter(Boolean).join(" · ")),
    ),
    picture,
    sizes,
  );
  let picked = "";
  // There is no kernel to ask; nothing is sent.
  const preview = new Preview(
    picture,
    () => false, // nobody hears this page
    (name) => pick(name),
  );
  const pick = (name: string) => {
    picked = name === picked ? "" : name;
    preview.pick(picked);
    list();
  };
  const list = () => {
    const rows = head.dimensions.map(({ name, text, round }) =>
      make(
        "tr",
        { class: name === picked ? "picked" : null },
        make(
          "th",
          { scope: "row" },
          make(
            "button",
            {
              type: "button",
              class: "pick",
              "aria-pressed": String(name === picked),
              title: "show its line and its faces",
              onclick: () => pick(name),
            },
            name,
          ),
        ),
        make("td", { class: "drawn" }, `${round ? "⌀ " : ""}${text}`),
      ),
    );
    sizes.replaceChildren(
      make(
        "table",
        {},
        make("caption", {}, "Key sizes as drawn. Press ? in the picture for its keys."),
        make("tbody", {}, ...rows),
      ),
    );
    sizes.hidden = !rows.length;
  };
  list();
  preview.setScene(head, arrays.map(bytes), 1);
  preview.setGaps(gaps, gap_arrays.map(bytes));
  preview.setFacing(facing);
}

show(JSON.parse(document.getElementById("part")!.textContent!) as Shared);
