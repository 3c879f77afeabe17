// The printer's bed as a grid of 10 mm, with its rim and an arrow at the front edge.
import {
  BufferAttribute,
  BufferGeometry,
  type Group,
  LineBasicMaterial,
  LineSegments,
} from "three";

export function drawBed(group: Group, [wide, deep]: number[]): void {
  group.clear();
  const points: number[] = [];
  const line = (a: number, b: number, c: number, d: number) => points.push(a, b, 0, c, d, 0);
  for (let x = 0; x <= wide + 1e-6; x += 10) line(x, 0, x, deep);
  for (let y = 0; y <= deep + 1e-6; y += 10) line(0, y, wide, y);
  const faint = new LineBasicMaterial({ color: 0x7d8f8a, transparent: true, opacity: 0.28 });
  group.add(new LineSegments(flat(points), faint));
  const rim: number[] = [];
  const edge = (a: number, b: number, c: number, d: number) => rim.push(a, b, 0, c, d, 0);
  edge(0, 0, wide, 0);
  edge(wide, 0, wide, deep);
  edge(wide, deep, 0, deep);
  edge(0, deep, 0, 0);
  const middle = wide / 2;
  edge(middle - 8, -4, middle, -12);
  edge(middle, -12, middle + 8, -4);
  edge(middle + 8, -4, middle - 8, -4);
  group.add(new LineSegments(flat(rim), new LineBasicMaterial({ color: 0x2f8f86 })));
}

function flat(points: number[]): BufferGeometry {
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(new Float32Array(points), 3));
  return geometry;
}
