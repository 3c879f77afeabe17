// The plane that cuts the part open, and the hatched faces that close it.
import { Plane, type Scene, type Texture, Vector3 } from "three";
import type { Shape } from "./shapes";

export type Axis = "x" | "y" | "z";

export class Cut {
  axis: Axis | null = null;
  at = 0; // mm
  share = 0.5; // of the way through the part
  back = false; // the other side is shown
  readonly plane = new Plane(new Vector3(0, 0, -1), 0);

  move(share: number): void {
    this.share = Math.max(0.002, Math.min(0.998, share));
  }

  // Cut all that is seen between two corners; tell where, in words.
  apply(shapes: Shape[], scene: Scene, low: Vector3, high: Vector3, hatch: Texture): string {
    const { axis, share, back, plane } = this;
    const normal = new Vector3();
    let where = "";
    if (axis) {
      const sign = back ? 1 : -1;
      // Away from the eye of the corner view, so that the open side is seen.
      const facing = axis === "y" ? -sign : sign;
      normal[axis] = facing;
      const at = low[axis] + (high[axis] - low[axis]) * share;
      plane.normal.copy(normal);
      plane.constant = -facing * at;
      this.at = at;
      where = `${axis} = ${at.toFixed(1)} mm`;
    }
    const size = 2 * low.distanceTo(high);
    for (const shape of shapes) {
      const { mesh, edge, through, behind, before, cap } = shape;
      const cutting = axis !== null && shape.group.visible;
      const planes = cutting ? [plane] : [];
      for (const part of [mesh, edge, through]) part.material.clippingPlanes = planes;
      behind.visible = before.visible = cutting;
      cap.removeFromParent();
      if (!cutting) continue;
      plane.coplanarPoint(cap.position);
      const middle = new Vector3().addVectors(low, high).multiplyScalar(0.5);
      cap.position.add(middle.projectOnPlane(normal));
      cap.lookAt(cap.position.clone().sub(normal));
      cap.scale.setScalar(size);
      hatch.repeat.setScalar(size / 3);
      scene.add(cap);
    }
    return where;
  }
}
