// The rows of the readings grid as elements.

import { make } from "./dom";
import { type Flag, type GridRow, type Head, MARKS } from "./protocol";
import { strip } from "./strip";

export const NEW = "new feature …";

// How many cells of a row are read; empty ones behind the last wait.
export function taken({ cells }: GridRow): number {
  let count = cells.length;
  while (count && !cells[count - 1].text) count--;
  return count;
}

const CHOICE_WIDTH: Partial<Record<Head, string>> = { mode: "62px", unit: "42px" };

export function titles(heads: readonly Head[], repeats: number): string[] {
  const numbers = Array.from({ length: repeats }, (_, n) => String(n + 1));
  return [...heads, ...numbers, "best value ± U (95 %)", "spread", "doubts"];
}

export function drawHead(heads: readonly Head[], repeats: number): HTMLElement {
  const names = titles(heads, repeats);
  const words = (col: number) => col < heads.length || col === names.length - 1;
  return make(
    "tr",
    { role: "row" },
    ...names.map((title, col) =>
      make("th", { scope: "col", role: "columnheader", class: words(col) ? "words" : null }, title),
    ),
  );
}

export function drawRow(
  row: GridRow,
  at: number,
  heads: readonly Head[],
  repeats: number,
  reach: number, // of the strip plot, mm
): HTMLTableRowElement {
  const waits = taken(row) === 0 && !row.flags.length;
  const line = make("tr", { role: "row", "data-row": at, class: waits ? "waits" : null });
  heads.forEach((name, col) => {
    const attributes = { role: "gridcell", class: col ? "choice" : "name", "data-col": col };
    line.append(
      make("td", { ...attributes, title: row[name] || null }, row[name] || (col ? "–" : "")),
    );
  });
  for (let n = 0; n < repeats; n++) {
    const cell = row.cells[n];
    const mark = cell?.bad ? `${MARKS.stop}\u2009` : cell?.left_out ? "⊘\u2009" : "";
    const kept = cell?.kept ? `kept: ${cell.kept}` : null;
    const title = cell?.bad || (cell?.left_out ? `left out: ${cell.left_out}` : kept);
    line.append(
      make(
        "td",
        {
          role: "gridcell",
          class: cell?.bad ? "cell bad" : "cell",
          "data-col": heads.length + n,
          title,
        },
        cell ? mark + cell.text : "",
      ),
    );
  }
  line.append(
    make("td", { role: "gridcell", class: "result" }, row.mean),
    make("td", { role: "gridcell", class: "result spread" }, strip(row, reach), row.spread),
    make(
      "td",
      { role: "gridcell", class: "flags" },
      ...(waits ? [make("span", {}, "waits to be read")] : doubtWords(row.flags)),
    ),
  );
  return line;
}

export function drawBlank(at: number, cells: number): HTMLElement {
  const line = make(
    "tr",
    { role: "row", "data-row": at },
    make("td", { role: "gridcell", class: "name soft", "data-col": 0 }, NEW),
  );
  for (let col = 1; col < cells; col++) line.append(make("td", { role: "gridcell" }));
  return line;
}

// Each doubt in a word, said once: its title and the lines below the grid tell the rest.
function doubtWords(flags: Flag[]): (HTMLElement | string)[] {
  const told = new Map<string, Flag[]>();
  for (const flag of flags) told.set(flag.short, [...(told.get(flag.short) ?? []), flag]);
  return [...told].flatMap(([short, alike]) => {
    const { severity } = alike[0];
    const times = alike.length > 1 ? ` ×${alike.length}` : "";
    const title = alike.map((flag) => flag.text).join("\n");
    return [make("span", { class: severity, title }, `${MARKS[severity]} ${short}${times}`), " "];
  });
}

// Rows lay themselves out each on its own, so the widths are set for all: as wide as the longest text.
export function widths(
  rows: GridRow[],
  heads: readonly Head[],
  instruments: string[],
  repeats: number,
): string {
  const wide = (texts: string[], least: number, most: number) => {
    const longest = Math.max(0, ...texts.map((text) => text.length));
    return `calc(${Math.max(least, Math.min(most, longest))}ch + 13px)`;
  };
  const readings = rows.flatMap((row) =>
    row.cells.map((cell) => (cell.left_out || cell.bad ? `⊘ ${cell.text}` : cell.text)),
  );
  return [
    wide(
      rows.map((row) => row.feature),
      14,
      21,
    ),
    ...heads.slice(1).map((name) => CHOICE_WIDTH[name] ?? wide(instruments, 8, 11)),
    `repeat(${repeats}, ${wide(readings, 5, 14)})`,
    "158px",
    "172px",
    "minmax(104px, 1fr)",
  ].join(" ");
}
