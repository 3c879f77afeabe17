// Which faces a size drives, and which size drives a face: from the two ends of its dimension line.
import type { Dimension } from "../protocol";

type Vec = readonly [number, number, number];

const minus = (a: Vec, b: Vec): Vec => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
const dot = (a: Vec, b: Vec) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Vec, b: Vec): Vec => [
  a[1] * b[2] - a[2] * b[1],
  a[2] * b[0] - a[0] * b[2],
  a[0] * b[1] - a[1] * b[0],
];
const AXES: Vec[] = [
  [1, 0, 0],
  [0, 1, 0],
  [0, 0, 1],
];
// How far a face may lie from the end of a line, mm: meshes are that fine.
const CLOSE = 0.05;

interface Triangle {
  at: Vec; // its middle
  normal: Vec;
}

// Triangles of a mesh whose corners are spelt out, nine numbers for each.
export function trianglesOf(position: ArrayLike<number>): Triangle[] {
  const corner = (n: number): Vec => [position[3 * n], position[3 * n + 1], position[3 * n + 2]];
  return Array.from({ length: position.length / 9 }, (_, n) => {
    const [a, b, c] = [corner(3 * n), corner(3 * n + 1), corner(3 * n + 2)];
    const across = cross(minus(b, a), minus(c, a));
    const long = Math.hypot(...across) || 1;
    return {
      at: [(a[0] + b[0] + c[0]) / 3, (a[1] + b[1] + c[1]) / 3, (a[2] + b[2] + c[2]) / 3],
      normal: [across[0] / long, across[1] / long, across[2] / long],
    };
  });
}

// The triangles between which a size is measured: those in the planes at both ends of its line, or
// those of the round wall whose diameter it is.
export function facesOf(size: Dimension, triangles: Triangle[]): Set<number> {
  const along = minus(size.end, size.start);
  const long = Math.hypot(...along);
  if (!long) return new Set();
  const way: Vec = [along[0] / long, along[1] / long, along[2] / long];
  if (!size.round) {
    const found = triangles.map(
      ({ at, normal }) =>
        Math.abs(dot(normal, way)) > 0.999 &&
        [size.start, size.end].some((end) => Math.abs(dot(normal, minus(at, end))) < CLOSE),
    );
    return numbers(found);
  }
  const middle: Vec = [
    (size.start[0] + size.end[0]) / 2,
    (size.start[1] + size.end[1]) / 2,
    (size.start[2] + size.end[2]) / 2,
  ];
  const radius = long / 2;
  // The line lies across the hole, so the hole runs along one of the axes that stand upright on it.
  const walls = AXES.filter((axis) => Math.abs(dot(axis, way)) < 0.1).map((axis) => {
    const found = triangles.map(({ at, normal }) => {
      const from = minus(at, middle);
      const out = Math.hypot(
        ...minus(from, axis.map((k) => k * dot(from, axis)) as unknown as Vec),
      );
      return (
        Math.abs(dot(normal, axis)) < 0.02 &&
        Math.abs(Math.abs(dot(normal, from)) - radius) < Math.max(CLOSE, 0.02 * radius) &&
        out < 1.1 * radius + CLOSE
      );
    });
    return numbers(found);
  });
  return walls.sort((a, b) => b.size - a.size)[0] ?? new Set();
}

function numbers(found: boolean[]): Set<number> {
  return new Set(found.flatMap((is, n) => (is ? [n] : [])));
}

// The size that drives a triangle; of several the one whose line is nearest to a spot on it.
export function drivenBy(
  sizes: [Dimension, Set<number>][],
  triangle: number,
  spot: Vec,
): Dimension | null {
  const near = ({ start, end }: Dimension) => {
    const along = minus(end, start);
    const share = dot(minus(spot, start), along) / (dot(along, along) || 1);
    const k = Math.max(0, Math.min(1, share));
    const foot: Vec = [start[0] + k * along[0], start[1] + k * along[1], start[2] + k * along[2]];
    return Math.hypot(...minus(spot, foot));
  };
  const found = sizes.filter(([, faces]) => faces.has(triangle)).map(([size]) => size);
  return found.sort((a, b) => near(a) - near(b))[0] ?? null;
}

export interface Spot {
  at: Vec;
  normal: Vec;
}

// What lies between two spots: how far, along each axis, and how far apart the faces are.
export function between(a: Spot, b: Spot): string {
  const [x, y, z] = minus(b.at, a.at);
  const apart = `${Math.hypot(x, y, z).toFixed(2)} mm`;
  const parts = [x, y, z].map((d, n) => `${"xyz"[n]} ${Math.abs(d).toFixed(2)}`).join(", ");
  const parallel = Math.abs(dot(a.normal, b.normal)) > 0.999;
  const faces = parallel ? Math.abs(dot(a.normal, [x, y, z])) : 0;
  return faces > 0.005
    ? `faces ${faces.toFixed(2)} mm apart; points ${apart} (${parts})`
    : `${apart} (${parts})`;
}
