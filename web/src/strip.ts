// A feature's repeats on a line: where each lies beside the best value, on one scale for all rows.
import { drawIn, svgRoot } from "./dom";
import type { GridRow } from "./protocol";

const [WIDE, HIGH] = [84, 16];
const ROOM = 6; // px at each end

// Where a size lies on the line, px; beyond `reach` from the middle it stands at the end.
export function placeOn(size: number, middle: number, reach: number): number {
  const share = Math.max(-1, Math.min(1, (size - middle) / reach));
  return WIDE / 2 + share * (WIDE / 2 - ROOM);
}

// Dots are what counts, rings what was left out; the band is ± U. Null without two readings.
export function strip(row: GridRow, reach: number): SVGSVGElement | null {
  const sizes = row.cells.filter(({ size }) => size !== undefined);
  if (!row.best || sizes.length < 2) return null;
  const [middle, spread] = row.best;
  const svg = svgRoot();
  svg.setAttribute("class", "strip");
  svg.setAttribute("viewBox", `0 0 ${WIDE} ${HIGH}`);
  svg.setAttribute("role", "img");
  svg.setAttribute("aria-label", `repeats beside the best value; the line is ± ${reach} mm`);
  const [from, to] = [-1, 1].map((side) => placeOn(middle + side * spread, middle, reach));
  const half = HIGH / 2;
  drawIn(svg, "rect", { x: from, y: 2, width: to - from, height: HIGH - 4, class: "band" });
  drawIn(svg, "path", { d: `M${ROOM},${half}H${WIDE - ROOM}`, class: "line" });
  drawIn(svg, "path", { d: `M${WIDE / 2},2V${HIGH - 2}`, class: "line" });
  for (const { size, left_out, bad } of sizes) {
    const cx = placeOn(size!, middle, reach);
    const kind = left_out || bad ? "ring" : "dot";
    if (Math.abs(size! - middle) > reach) {
      const way = size! > middle ? 4 : -4;
      drawIn(svg, "path", { d: `M${cx},${half - 4}l${way},4l${-way},4z`, class: kind });
    } else drawIn(svg, "circle", { cx, cy: half, r: 3, class: kind });
  }
  return svg;
}
