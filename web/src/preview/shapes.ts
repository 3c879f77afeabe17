// Each body and object as what three draws: faces, edges, and the means to close a cut.
import {
  AlwaysStencilFunc,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  CanvasTexture,
  DecrementWrapStencilOp,
  DoubleSide,
  FrontSide,
  Group,
  IncrementWrapStencilOp,
  LineBasicMaterial,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  NotEqualStencilFunc,
  type Plane,
  PlaneGeometry,
  RepeatWrapping,
  ReplaceStencilOp,
  type Side,
  type StencilOp,
  type Texture,
} from "three";
import { make } from "../dom";
import { ARRAYS, type ArrayName, BODY_COLOURS, OBJECT_COLOUR, type Solid } from "../protocol";

const NUMBERS = { f4: Float32Array, u4: Uint32Array, i1: Int8Array, u1: Uint8Array };

export type Numbers = Float32Array | Uint32Array | Int8Array | Uint8Array;
export type Arrays = Partial<Record<ArrayName, Numbers>>;

export interface Shape {
  key: string;
  ghost: boolean; // an object that the part is for
  group: Group;
  mesh: Mesh<BufferGeometry, MeshLambertMaterial>;
  edge: LineSegments<BufferGeometry, LineBasicMaterial>;
  through: LineSegments<BufferGeometry, LineBasicMaterial>;
  behind: Mesh<BufferGeometry, MeshBasicMaterial>;
  before: Mesh<BufferGeometry, MeshBasicMaterial>;
  cap: Mesh<PlaneGeometry, MeshBasicMaterial>;
  solid: Solid;
  arrays: Arrays;
  colour: number;
  near: Arrays | null; // a finer mesh, with the gap at each corner
  leastGap: number | null; // without the faces that it rests on
  rests: boolean; // it lies on the part where it goes in
}

export const hex = (colour: string): number => Number.parseInt(colour.slice(1), 16);

// The numbers of one array of a message.
export function numbersOf(name: ArrayName, view: DataView): Numbers {
  // A copy, because the message's bytes may lie at any offset.
  const bytes = new Uint8Array(view.buffer, view.byteOffset, view.byteLength).slice();
  return new NUMBERS[ARRAYS[name]](bytes.buffer);
}

// Give the solids of a scene their shapes. A body that was there before keeps its materials: a
// browser takes far longer to make a shader ready than to draw with it.
export function shapesOf(
  solids: Solid[],
  buffers: DataView[],
  before: Shape[],
  plane: Plane,
  hatch: Texture,
): Shape[] {
  const known = new Map(before.map((shape) => [shape.key, shape]));
  let next = 0;
  let bodies = 0;
  const shapes = solids.map((solid, order) => {
    const arrays: Arrays = {};
    for (const name of solid.arrays) arrays[name] = numbersOf(name, buffers[next++]);
    const own =
      solid.role === "body" ? BODY_COLOURS[bodies++ % BODY_COLOURS.length] : OBJECT_COLOUR;
    const key = `${order} ${solid.role}`;
    const parts = known.get(key) ?? newParts(key, solid.role === "object", order, plane, hatch);
    known.delete(key);
    const fresh = { solid, arrays, colour: hex(own), near: null, leastGap: null, rests: false };
    const shape: Shape = Object.assign(parts, fresh);
    fill(shape, arrays);
    return shape;
  });
  for (const shape of known.values()) dispose(shape);
  return shapes;
}

type Parts = Omit<Shape, "solid" | "arrays" | "colour" | "near" | "leastGap" | "rests">;

function newParts(key: string, ghost: boolean, order: number, plane: Plane, hatch: Texture): Parts {
  const geometry = new BufferGeometry();
  const lines = new BufferGeometry();
  const faces = new MeshLambertMaterial({
    vertexColors: true,
    side: DoubleSide,
    polygonOffset: true,
    polygonOffsetFactor: 1,
    polygonOffsetUnits: 1,
  });
  const mesh = new Mesh(geometry, faces);
  const edge = new LineSegments(lines, new LineBasicMaterial({ transparent: true }));
  const through = new LineSegments(
    lines,
    new LineBasicMaterial({ transparent: true, depthTest: false }),
  );
  mesh.renderOrder = ghost ? 60 : 50;
  edge.renderOrder = ghost ? 61 : 51;
  through.renderOrder = 62;
  through.visible = ghost;
  // What the cut opens is closed by counting faces behind and before the plane in the stencil.
  const counted = (side: Side, op: StencilOp) => {
    const material = new MeshBasicMaterial({
      side,
      depthWrite: false,
      depthTest: false,
      colorWrite: false,
      stencilWrite: true,
      stencilFunc: AlwaysStencilFunc,
      stencilFail: op,
      stencilZFail: op,
      stencilZPass: op,
      clippingPlanes: [plane],
    });
    return new Mesh(geometry, material);
  };
  const behind = counted(BackSide, IncrementWrapStencilOp);
  const before = counted(FrontSide, DecrementWrapStencilOp);
  behind.renderOrder = before.renderOrder = order + 1;
  const closed = new MeshBasicMaterial({
    map: hatch,
    side: DoubleSide,
    stencilWrite: true,
    stencilRef: 0,
    stencilFunc: NotEqualStencilFunc,
    stencilFail: ReplaceStencilOp,
    stencilZFail: ReplaceStencilOp,
    stencilZPass: ReplaceStencilOp,
  });
  const cap = new Mesh(new PlaneGeometry(1, 1), closed);
  cap.renderOrder = order + 1.1;
  cap.onAfterRender = (renderer) => renderer.clearStencil();
  const group = new Group();
  group.add(mesh, edge, through, behind, before);
  group.matrixAutoUpdate = false;
  return { key, ghost, group, mesh, edge, through, behind, before, cap };
}

// Give a shape its faces: corners spelt out for each triangle, so that edges can be sharp.
export function fill(shape: Shape, arrays: Arrays): void {
  const { corners, triangles, normals, edges } = arrays;
  if (!corners || !triangles || !normals || !edges) return;
  const position = new Float32Array(triangles.length * 3);
  for (let i = 0; i < triangles.length; i++) {
    const from = 3 * triangles[i];
    position[3 * i] = corners[from];
    position[3 * i + 1] = corners[from + 1];
    position[3 * i + 2] = corners[from + 2];
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute("position", new BufferAttribute(position, 3));
  geometry.setAttribute("normal", new BufferAttribute(normals, 3, true));
  geometry.setAttribute("color", new BufferAttribute(new Float32Array(position.length), 3));
  const lines = new BufferGeometry();
  lines.setAttribute("position", new BufferAttribute(edges, 3));
  const { mesh, edge, through, behind, before } = shape;
  mesh.geometry.dispose();
  edge.geometry.dispose();
  for (const part of [mesh, behind, before]) part.geometry = geometry;
  for (const part of [edge, through]) part.geometry = lines;
}

// Where a shape stands: as it is assembled, or turned and laid on the bed.
export function placed(shape: Shape, onBed: boolean): Matrix4 {
  const { turn: t, on_bed } = shape.solid;
  if (!onBed || shape.ghost || !t || !on_bed) return new Matrix4();
  const [x, y, z] = on_bed;
  // biome-ignore format: a matrix reads in rows
  return new Matrix4(
    t[0], t[1], t[2], x,
    t[3], t[4], t[5], y,
    t[6], t[7], t[8], z,
    0, 0, 0, 1,
  );
}

export function dispose(shape: Shape): void {
  const { mesh, edge, through, behind, before, cap } = shape;
  shape.group.removeFromParent();
  mesh.geometry.dispose();
  edge.geometry.dispose();
  cap.geometry.dispose();
  cap.removeFromParent();
  for (const part of [mesh, edge, through, behind, before, cap]) part.material.dispose();
}

// Slanted lines, as a draughtsman fills a cut face.
export function hatchTexture(): Texture {
  const tile = make("canvas", { width: "64", height: "64" });
  const ink = tile.getContext("2d")!;
  ink.fillStyle = "#f2f2ec";
  ink.fillRect(0, 0, 64, 64);
  ink.strokeStyle = "#4a5552";
  ink.lineWidth = 6;
  for (const shift of [-64, 0, 64]) {
    ink.beginPath();
    ink.moveTo(shift - 4, 68);
    ink.lineTo(shift + 68, -4);
    ink.stroke();
  }
  const texture = new CanvasTexture(tile);
  texture.wrapS = texture.wrapT = RepeatWrapping;
  return texture;
}
