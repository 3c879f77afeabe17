// The curve of a fit: how likely it behaves as wanted at each gap, with the verdicts given so far.
import { drawIn, svgRoot } from "./dom";
import { type Curve, SIGNS } from "./protocol";

const [W, H, LEFT, RIGHT, TOP, BOTTOM] = [760, 250, 54, 16, 30, 52];

export function chart(curve: Curve, before: Curve | null): SVGSVGElement {
  const svg = svgRoot();
  const put = (
    tag: "rect" | "line" | "text" | "path",
    attributes: Record<string, string | number>,
    text?: string,
  ) => drawIn(svg, tag, attributes, text);
  svg.setAttribute("viewBox", `0 0 ${W} ${H}`);
  svg.setAttribute("role", "img");
  const best = `best gap ${curve.best.toFixed(2)} mm`;
  const label = `chance of a fit as wanted against the gap: ${curve.about}; ${best}`;
  svg.setAttribute("aria-label", label);
  const [low, high] = [curve.gap[0], curve.gap[curve.gap.length - 1]];
  const x = (gap: number) => LEFT + ((gap - low) / (high - low)) * (W - LEFT - RIGHT);
  const y = (chance: number) => H - BOTTOM - chance * (H - TOP - BOTTOM);
  const path = (c: Curve) =>
    c.gap
      .map((gap, n) => `${n ? "L" : "M"}${x(gap).toFixed(1)},${y(c.chance[n]).toFixed(1)}`)
      .filter((_, n) => c.gap[n] >= low && c.gap[n] <= high)
      .join("")
      .replace(/^L/, "M");
  const [from, to] = curve.band.map(x);
  const band = { x: from, y: TOP, width: Math.max(0, to - from), height: H - TOP - BOTTOM };
  put("rect", { ...band, fill: "var(--mark)", opacity: 0.1 });
  for (const chance of [0, 0.5, 1]) {
    const at = y(chance);
    put("line", { x1: LEFT, x2: W - RIGHT, y1: at, y2: at, stroke: "var(--line)" });
    put("text", { x: LEFT - 6, y: at + 4, "text-anchor": "end" }, `${chance * 100} %`);
  }
  const floor = y(0);
  const step = [0.05, 0.1, 0.2, 0.5, 1].find((s) => (high - low) / s < 9) ?? 2;
  for (let gap = Math.ceil(low / step) * step; gap <= high; gap += step) {
    put("line", { x1: x(gap), x2: x(gap), y1: floor, y2: floor + 4, stroke: "var(--soft)" });
    const text = (Math.abs(gap) < 1e-9 ? 0 : gap).toFixed(2);
    put("text", { x: x(gap), y: floor + 17, "text-anchor": "middle" }, text);
  }
  put("text", { x: LEFT, y: H - 4 }, "gap as printed, mm (negative: overlap)");
  put("text", { x: LEFT, y: 16 }, `chance that it behaves as wanted: ${curve.about}`);
  const line = { fill: "none", stroke: "var(--mark)", "stroke-width": 2.2, class: "now" };
  if (before) {
    const old = { stroke: "var(--soft)", "stroke-width": 1.3, "stroke-dasharray": "5 4" };
    put("path", { d: path(before), fill: "none", ...old, class: "before" });
  }
  put("path", { d: path(curve), ...line });
  const made = x(curve.as_made);
  const dashed = { stroke: "var(--ink)", "stroke-dasharray": "2 3" };
  put("line", { x1: made, x2: made, y1: TOP, y2: floor, ...dashed });
  // Below the axis, where no curve runs; the arrow stands under the line.
  const last = made > W - RIGHT - 80;
  const arrow = { x: made + (last ? 4 : -4), y: floor + 32, class: "as-made" };
  put(
    "text",
    { ...arrow, "text-anchor": last ? "end" : "start" },
    last ? "this print ↑" : "↑ this print",
  );
  const chance = `${(curve.best_chance * 100).toFixed(0)} %${before ? "; before: dashed" : ""}`;
  put("text", { x: W - RIGHT, y: 16, "text-anchor": "end" }, `${best}, ${chance}`);
  for (const trial of curve.trials) {
    const place = { x: x(trial.gap), y: floor - 6, "text-anchor": "middle", class: "tried" };
    put("text", place, SIGNS[trial.verdict] ?? "?");
  }
  const signs = Object.entries(SIGNS).map(([verdict, sign]) => `${sign} ${verdict}`);
  put("text", { x: W - RIGHT, y: H - 4, "text-anchor": "end" }, signs.join("   "));
  return svg;
}
