// What the colours mean, as far as any are shown.
import { make } from "../dom";
import { GAP_BANDS, NOT_NEAR, ON_BED, OVERHANG, TRIANGLE_COLOURS } from "../protocol";
import type { Shown } from "./paint";
import type { Shape } from "./shapes";

export function legendOf(on: Shown, shapes: Shape[], overhang_deg: number): HTMLElement[] {
  const rows: HTMLElement[] = [];
  const swatch = (colour: string, text: string) =>
    make("li", {}, make("i", { style: `background:${colour}` }), text);
  const objects = shapes.filter((shape) => shape.ghost);
  if (on.gaps && !on.bed) {
    const title = objects.length ? "gap round the object" : "no object in this part";
    rows.push(make("b", {}, title));
    if (objects.length) {
      const bands = [...GAP_BANDS, NOT_NEAR].map(({ colour, text }) => swatch(colour, text));
      rows.push(make("ul", {}, ...bands));
    }
    for (const { solid, leastGap, rests } of objects) {
      const least = leastGap === null ? "" : `least gap ${leastGap.toFixed(2)} mm`;
      const words = [least, rests ? "rests on the part" : ""].filter(Boolean).join("; ");
      if (words) rows.push(make("p", {}, `${solid.name}: ${words}`));
    }
  }
  if (on.overhangs) {
    const hangs = `hangs over by more than ${overhang_deg}°`;
    rows.push(
      make("b", {}, "as printed"),
      make(
        "ul",
        {},
        swatch(TRIANGLE_COLOURS[OVERHANG], hangs),
        swatch(TRIANGLE_COLOURS[ON_BED], "lies on the bed"),
      ),
    );
  }
  return rows;
}
