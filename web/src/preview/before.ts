// Another shape below the picture: its edges, so that what differs is seen.
import {
  BufferAttribute,
  BufferGeometry,
  Group,
  LineBasicMaterial,
  LineSegments,
  type Plane,
} from "three";
import type { Numbers, Shape } from "./shapes";

export const BEFORE = "#c2410c";
export const OVER = "#6d28d9";

export class Before {
  readonly group = new Group();
  what = ""; // empty if there is none
  private readonly material: LineBasicMaterial;

  constructor(color = BEFORE) {
    this.material = new LineBasicMaterial({ color, transparent: true, depthTest: false });
    this.group.renderOrder = 80;
  }

  // Lay edges below; each array has the ends of one body's.
  take(edges: Numbers[], what: string): void {
    this.clear();
    for (const ends of edges) {
      const lines = new BufferGeometry();
      lines.setAttribute("position", new BufferAttribute(Float32Array.from(ends), 3));
      const drawn = new LineSegments(lines, this.material);
      drawn.renderOrder = 80;
      this.group.add(drawn);
    }
    this.what = what;
  }

  // Hold the shapes that are drawn now.
  hold(shapes: Shape[]): void {
    const bodies = shapes.filter(({ ghost }) => !ghost);
    this.take(
      bodies.map(({ edge }) => edge.geometry.getAttribute("position").array as Float32Array),
      "as it was when Compare was pressed",
    );
  }

  clear(): void {
    for (const drawn of [...this.group.children] as LineSegments[]) {
      drawn.geometry.dispose();
      drawn.removeFromParent();
    }
    this.what = "";
  }

  // What a cut takes away is taken from the lines too.
  cutBy(planes: Plane[]): void {
    this.material.clippingPlanes = planes;
  }

  dispose(): void {
    this.clear();
    this.material.dispose();
  }
}
