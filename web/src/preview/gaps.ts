// Gaps round the measured objects: taken in, shown on a finer mesh, read under the pointer.
import { type Camera, Raycaster, Vector2 } from "three";
import { type GapsOf, NOT_NEAR } from "../protocol";
import { type Arrays, fill, numbersOf, type Shape } from "./shapes";

export function takeGaps(shapes: Shape[], gaps: GapsOf[], buffers: DataView[]): void {
  let next = 0;
  for (const { name, least_gap, rests, arrays } of gaps) {
    const near: Arrays = {};
    for (const kind of arrays) near[kind] = numbersOf(kind, buffers[next++]);
    const count = (near.corners?.length ?? 0) / 3;
    near.triangles = Uint32Array.from({ length: count }, (_, n) => n);
    const shape = shapes.find((each) => each.solid.name === name);
    if (shape) Object.assign(shape, { near, leastGap: least_gap, rests });
  }
}

// The finer mesh of an object takes the place of the plain one while gaps are shown.
export function showNear(shapes: Shape[], on: boolean): void {
  for (const shape of shapes)
    if (shape.near) fill(shape, { ...shape.arrays, ...(on ? shape.near : {}) });
}

// What stands under a spot of the picture (-1 to 1 each way), in words; empty beside the objects.
export function gapUnder(shapes: Shape[], camera: Camera, x: number, y: number): string {
  const ray = new Raycaster();
  ray.setFromCamera(new Vector2(x, y), camera);
  const objects = shapes.filter((shape) => shape.ghost && shape.group.visible);
  const [hit] = ray.intersectObjects(
    objects.map((shape) => shape.mesh),
    false,
  );
  if (!hit?.face) return "";
  const gap = objects.find((shape) => shape.mesh === hit.object)?.near?.gap?.[hit.face.a];
  return gap !== undefined && Number.isFinite(gap) ? `gap ${gap.toFixed(2)} mm` : NOT_NEAR.text;
}
