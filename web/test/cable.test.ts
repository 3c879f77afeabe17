import { describe, expect, it } from "vitest";
import { bitsShown, Cable, lineShown, listen, type Sent, sentText } from "../src/cable";

const bits = (size: number, flags = 0) =>
  Array.from({ length: 24 }, (_, n) => String(((size + flags * 2 ** 20) >> n) & 1)).join("");
const text = (sent: Sent | null) => (sent ? sentText(sent) : null);

describe("what calipers send", () => {
  it("is read as the display shows it", () => {
    expect(text(bitsShown(bits(150)))).toBe("1.50 mm");
    expect(text(bitsShown(bits(150, 1)))).toBe("-1.50 mm");
    expect(text(bitsShown(bits(2001, 8)))).toBe("1.0005 in");
    expect(text(lineShown("+012.34 mm"))).toBe("12.34 mm");
    expect(text(lineShown("-0,58"))).toBe("-0.58");
    expect(text(lineShown('1.0005"'))).toBe("1.0005 in");
  });

  it("is refused where it cannot be right", () => {
    for (const frame of [bits(150).slice(1), `${bits(150)}0`, bits(150, 2), bits(150, 4)])
      expect(bitsShown(frame)).toBeNull();
    for (const line of ["ERR", "12.34.5 mm", "12.34 kg"]) expect(lineShown(line)).toBeNull();
  });

  it("is never misread where one bit in a hundred slips, of ten thousand pairs", () => {
    let seed = 7;
    const chance = () => {
      seed = (seed * 48271) % 2147483647;
      return seed / 2147483647;
    };
    const slipped = (frame: string) =>
      [...frame]
        .map((bit) => {
          const one = chance();
          return one < 0.005 ? "" : one < 0.01 ? bit + bit : bit;
        })
        .join("");
    let [right, wrong] = [0, 0];
    for (let n = 0; n < 10_000; n++) {
      const frame = bits(Math.floor(chance() * 15_000));
      const [one, two] = [text(bitsShown(slipped(frame))), text(bitsShown(slipped(frame)))];
      if (one === null || one !== two) continue;
      if (one === text(bitsShown(frame))) right++;
      else wrong++;
    }
    expect(wrong).toBe(0);
    expect(right).toBeGreaterThan(5_000);
  });

  it("is taken once where a display rests, and again after the jaws have moved", () => {
    const cable = new Cable();
    let at = 0;
    const send = (...frames: string[]) =>
      frames.flatMap((frame) => {
        at += 100;
        return cable.feed(`${frame}\n`, at).map(sentText);
      });
    const rest = (size: number) => Array.from({ length: 12 }, () => bits(size));
    expect(send(bits(100), bits(2000), ...rest(5801))).toEqual(["58.01 mm"]);
    expect(send(...rest(5801))).toEqual([]);
    expect(send(bits(6500), bits(6600), bits(6300), ...rest(5803))).toEqual(["58.03 mm"]);
    expect(send(bits(6500), bits(6600), bits(6300), ...rest(0))).toEqual([]);
  });

  it("comes from a port until that is taken away", async () => {
    const chunks = ["58.0", "1 mm\r\n12.3", "4\r\n"].map((part) => new TextEncoder().encode(part));
    const readable = new ReadableStream<Uint8Array>({
      start(stream) {
        for (const chunk of chunks) stream.enqueue(chunk);
        stream.close();
      },
    });
    const port = { open: async () => undefined, close: async () => undefined, readable };
    const seen: string[] = [];
    const said = await listen(
      { requestPort: async () => port },
      (sent) => seen.push(sentText(sent)),
      () => undefined,
    );
    expect(seen).toEqual(["58.01 mm", "12.34"]);
    expect(said).toContain("closed");
    const none = { requestPort: () => Promise.reject(new Error("no")) };
    const nothing = () => undefined;
    expect(await listen(none, nothing, nothing)).toBe("No port was picked.");
  });
});
