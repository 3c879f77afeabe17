// The picture as a file, and the still one that stands in where there is no WebGL.
import { make } from "../dom";

// Save what is seen, with the words over it, as PNG.
export async function savePicture(
  title: string,
  stage: HTMLElement,
  image: CanvasImageSource | null,
  words: SVGSVGElement | null,
  scale: number,
): Promise<void> {
  const { clientWidth: w, clientHeight: h } = stage;
  const page = make("canvas");
  page.width = w * scale;
  page.height = h * scale;
  const ink = page.getContext("2d")!;
  ink.fillStyle = getComputedStyle(stage).backgroundColor;
  ink.fillRect(0, 0, page.width, page.height);
  if (image) ink.drawImage(image, 0, 0, page.width, page.height);
  if (words) {
    const svg = new XMLSerializer().serializeToString(words);
    const overlay = new Image();
    overlay.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
    await overlay.decode();
    ink.drawImage(overlay, 0, 0, page.width, page.height);
  }
  make("a", { download: fileName(title), href: page.toDataURL("image/png") }).click();
}

export const fileName = (title: string): string =>
  `${(title || "part").replace(/[^\p{L}\p{N}]+/gu, "-")}.png`;

export class Still {
  readonly image = make("img", { alt: "still picture of the part" });
  private url = "";

  show(png: DataView): void {
    this.dispose();
    const bytes = new Uint8Array(png.buffer, png.byteOffset, png.byteLength).slice();
    this.url = URL.createObjectURL(new Blob([bytes], { type: "image/png" }));
    this.image.src = this.url;
  }

  dispose(): void {
    if (this.url) URL.revokeObjectURL(this.url);
    this.url = "";
  }
}
