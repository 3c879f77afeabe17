// The least gap on each side of an object where a cut goes through it, as figures in the picture.
import type { Axis } from "./cutting";
import type { Shape } from "./shapes";

export interface Figure {
  at: [number, number, number];
  text: string;
}

// How near to the plane a corner of the object counts, mm.
const BESIDE = 1.5;

export function gapFigures(shapes: Shape[], axis: Axis | null, place: number): Figure[] {
  if (!axis) return [];
  const cut = "xyz".indexOf(axis);
  return shapes.flatMap(({ ghost, group, near }) => {
    const { corners, normals, gap } = near ?? {};
    if (!ghost || !group.visible || !corners || !normals || !gap) return [];
    const least = new Map<string, { gap: number; corner: number }>();
    for (let corner = 0; corner < gap.length; corner++) {
      if (!Number.isFinite(gap[corner])) continue;
      if (Math.abs(corners[3 * corner + cut] - place) > BESIDE) continue;
      const way = [0, 1, 2].find((k) => k !== cut && Math.abs(normals[3 * corner + k]) > 118);
      if (way === undefined) continue;
      const side = `${way}${normals[3 * corner + way] > 0 ? "+" : "-"}`;
      const known = least.get(side);
      if (!known || gap[corner] < known.gap) least.set(side, { gap: gap[corner], corner });
    }
    return [...least.values()].map(({ gap: size, corner }) => {
      const at = [0, 1, 2].map((k) => corners[3 * corner + k]) as [number, number, number];
      at[cut] = place;
      return { at, text: size < 0.005 ? "touches" : `gap ${size.toFixed(2)} mm` };
    });
  });
}
