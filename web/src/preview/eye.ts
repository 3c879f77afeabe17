// From where the part is seen: the views, turning, nearer and farther, and points on the screen.
import { OrthographicCamera, Vector3 } from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { VIEWS } from "../protocol";

export interface Size {
  w: number;
  h: number;
}

// Direction from the part to the eye. A camera that looks straight down or up has no upright: a
// lean that nobody sees turns it so that the front edge lies below.
export function direction(view: number): Vector3 {
  const [x, y, z] = VIEWS[Math.max(view, 0)].eye;
  return new Vector3(x, x === 0 && y === 0 ? -1e-4 : y, z).normalize();
}

export class Eye {
  readonly camera = new OrthographicCamera(-1, 1, 1, -1, -5000, 5000);
  private readonly controls: OrbitControls;
  private half = 50; // of what is seen from top to bottom, mm
  private steady = false; // while we move it ourselves

  constructor(canvas: HTMLElement, moved: (byHand: boolean) => void) {
    this.camera.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener("change", () => moved(!this.steady));
  }

  aim(centre: Vector3, from: Vector3): void {
    this.steady = true;
    this.camera.position.copy(centre).addScaledVector(from, 500);
    this.controls.target.copy(centre);
    this.controls.update();
    this.steady = false;
  }

  // Direction from what is looked at to the eye.
  from(): Vector3 {
    return new Vector3().subVectors(this.camera.position, this.controls.target).normalize();
  }

  // Show all corners with a margin at the sides.
  frame(corners: Vector3[], margin: number, { w, h }: Size): void {
    this.camera.updateMatrixWorld();
    const inverse = this.camera.matrixWorldInverse.copy(this.camera.matrixWorld).invert();
    let across = 1;
    let up = 1;
    for (const corner of corners) {
      corner.applyMatrix4(inverse);
      across = Math.max(across, Math.abs(corner.x));
      up = Math.max(up, Math.abs(corner.y));
    }
    this.half = Math.max(up * 1.25, (across * margin * h) / Math.max(w, 1));
    this.camera.zoom = 1;
    this.fitTo({ w, h });
  }

  fitTo({ w, h }: Size): void {
    const { half } = this;
    const right = (half * w) / h;
    Object.assign(this.camera, { left: -right, right, top: half, bottom: -half });
    this.camera.updateProjectionMatrix();
  }

  zoom(factor: number): void {
    this.camera.zoom *= factor;
    this.camera.updateProjectionMatrix();
  }

  // Turn by degrees, about the upright and about the level.
  turn(aboutUp: number, aboutSide: number): void {
    const offset = new Vector3().subVectors(this.camera.position, this.controls.target);
    const far = offset.length();
    const radians = Math.PI / 180;
    const flat = Math.atan2(offset.y, offset.x) + aboutUp * radians;
    const rise = Math.asin(offset.z / far) + aboutSide * radians;
    const limited = Math.max(-1.5706, Math.min(1.5706, rise));
    const level = Math.cos(limited);
    const to = new Vector3(Math.cos(flat) * level, Math.sin(flat) * level, Math.sin(limited));
    this.camera.position.copy(this.controls.target).addScaledVector(to, far);
    this.controls.update();
  }

  // How many px a mm across the line of sight is long.
  perMm({ h }: Size): number {
    return (h * this.camera.zoom) / (2 * this.half);
  }

  // Which of the views along an axis this is; -1 if none.
  along(): number {
    const from = this.from();
    return VIEWS.findIndex(({ name }, n) => name !== "iso" && from.dot(direction(n)) > 1 - 1e-6);
  }

  // Draw a mm so many px long, what is in the middle now lying beside it by px, right and down.
  settle(perMm: number, [right, down]: [number, number], size: Size): void {
    this.camera.updateMatrixWorld();
    const [x, y] = [new Vector3(), new Vector3()];
    this.camera.matrixWorld.extractBasis(x, y, new Vector3());
    const target = this.controls.target.clone();
    target.addScaledVector(x, -right / perMm).addScaledVector(y, down / perMm);
    this.half = size.h / (2 * perMm);
    this.camera.zoom = 1;
    this.aim(target, this.from());
    this.fitTo(size);
  }

  // Where a point of the part lies in a picture of a size, px.
  screen(point: readonly number[], { w, h }: Size): [number, number] {
    const p = new Vector3(point[0], point[1], point[2]).project(this.camera);
    return [((p.x + 1) / 2) * w, ((1 - p.y) / 2) * h];
  }

  dispose(): void {
    this.controls.dispose();
  }
}
