// Colours of the faces: each body its own, gaps by band, overhangs as printed.
import { Color } from "three";
import { GAP_BANDS, NOT_NEAR, TRIANGLE_COLOURS } from "../protocol";
import { hex, type Shape } from "./shapes";

export interface Shown {
  object: boolean;
  gaps: boolean;
  sizes: boolean;
  overhangs: boolean;
  bed: boolean;
}

const BANDS = GAP_BANDS.map(({ below, colour }) => [below, hex(colour)] as const);
const FAR = hex(NOT_NEAR.colour);
const MARKED: Record<number, number> = Object.fromEntries(
  Object.entries(TRIANGLE_COLOURS).map(([mark, colour]) => [mark, hex(colour)]),
);

// The colour of a gap in mm; NaN and none at all mean that nothing is near.
export function bandColour(gap: number | undefined): number {
  if (gap === undefined || !Number.isFinite(gap)) return FAR;
  return (BANDS.find(([below]) => gap < below) ?? BANDS[BANDS.length - 1])[1];
}

// Faces that a picked size drives, by body; colour is not their only sign, the line stands out too.
export const PICKED = 0x3a2fd0;
export type Picked = { body: string; faces: Set<number> } | null;

export function paint(shapes: Shape[], on: Shown, dark: boolean, picked: Picked = null): void {
  const line = new Color(dark ? 0xdfe8e5 : 0x1f2b28);
  const colour = new Color();
  for (const shape of shapes) {
    const { mesh, edge, through, arrays, ghost, near } = shape;
    const faces = mesh.geometry.getAttribute("color");
    const seeThrough = !ghost && on.gaps && !on.bed;
    let colourAt = (_corner: number) => shape.colour;
    if (ghost && on.gaps) colourAt = (corner) => bandColour(near?.gap?.[corner]);
    else if (!ghost && on.overhangs)
      colourAt = (corner) => MARKED[arrays.marks?.[(corner / 3) | 0] ?? 0] ?? shape.colour;
    if (picked && !ghost && shape.solid.name === picked.body) {
      const plain = colourAt;
      colourAt = (corner) => (picked.faces.has((corner / 3) | 0) ? PICKED : plain(corner));
    }
    let last: number | null = null;
    for (let corner = 0; corner < faces.count; corner++) {
      const value = colourAt(corner);
      if (value !== last) {
        last = value;
        colour.setHex(value);
      }
      faces.setXYZ(corner, colour.r, colour.g, colour.b);
    }
    faces.needsUpdate = true;
    const glass = ghost && !on.gaps;
    mesh.material.transparent = seeThrough || glass;
    mesh.material.opacity = seeThrough ? 0.16 : glass ? 0.45 : 1;
    mesh.material.depthWrite = !mesh.material.transparent;
    edge.material.color = line;
    edge.material.opacity = seeThrough ? 0.45 : 1;
    through.material.color = new Color(dark ? 0x9cc3ea : 0x2f5f92);
    through.material.opacity = 0.35;
    shape.cap.material.color.setHex(shape.colour).multiplyScalar(dark ? 0.95 : 1.1);
  }
}
