// What calipers send over a serial port, read in the page where the browser has Web Serial. The
// rules are those of fitkit/readings/cable.py, which says where they come from.

export interface Sent {
  number: string;
  unit: "mm" | "in" | "";
}

const BITS = 24;
const REST_MS = 500;
const AWAY_MM = 0.5;
const AWAY_FRAMES = 3;
const CLOSED_MM = 0.1;
const LINE = /^\s*([+\-−]?)\s*(\d+(?:[.,]\d+)?)\s*(mm|in|inch|")?\s*$/i;

export const sentText = ({ number, unit }: Sent): string => `${number} ${unit}`.trim();
const inMm = ({ number, unit }: Sent): number => Number(number) * (unit === "in" ? 25.4 : 1);

// A frame of bits, the lowest first; null if it cannot be one.
export function bitsShown(bits: string): Sent | null {
  if (bits.length !== BITS || !/^[01]*$/.test(bits) || bits[21] === "1" || bits[22] === "1")
    return null;
  const size = Number.parseInt([...bits.slice(0, 20)].reverse().join(""), 2);
  const sign = bits[20] === "1" && size ? "-" : "";
  if (bits[23] === "1") return { number: sign + (size / 2000).toFixed(4), unit: "in" };
  return { number: sign + (size / 100).toFixed(2), unit: "mm" };
}

// A line of text or of bits; null if it is neither.
export function lineShown(line: string): Sent | null {
  const plain = line.trim();
  if (plain.length >= BITS - 4 && /^[01]+$/.test(plain)) return bitsShown(plain);
  const found = LINE.exec(plain);
  if (!found) return null;
  const [, sign, digits, unit] = found;
  const [whole, part] = digits.replace(",", ".").split(".");
  const number = String(Number(whole)) + (part ? `.${part}` : "");
  const minus = (sign === "-" || sign === "−") && Number(number) !== 0;
  const inches = ["in", "inch", '"'].includes((unit ?? "").toLowerCase());
  return { number: (minus ? "-" : "") + number, unit: inches ? "in" : unit ? "mm" : "" };
}

export class Cable {
  private held = "";
  private last: Sent | null = null;
  private rests: Sent | null = null;
  private since = 0;
  private taken: Sent | null = null;
  private armed = true;
  private away = 0;

  // Give the readings that are complete once some text has come, at a time in ms.
  feed(text: string, at: number): Sent[] {
    const lines = (this.held + text).split(/[\r\n]/);
    this.held = lines.pop()!.slice(-4096);
    return lines
      .filter((line) => line.trim())
      .flatMap((line) => {
        const sent = this.frame(line, at);
        return sent ? [sent] : [];
      });
  }

  private frame(line: string, at: number): Sent | null {
    const sent = lineShown(line);
    if (!sent) {
      this.last = null;
      return null;
    }
    if (!/^[01]+$/.test(line.trim())) return sent; // a line at a press
    const agrees = this.last !== null && sentText(sent) === sentText(this.last);
    this.last = sent;
    const moved = this.taken !== null && Math.abs(inMm(sent) - inMm(this.taken)) > AWAY_MM;
    this.away = moved ? this.away + 1 : 0;
    if (this.away >= AWAY_FRAMES) this.armed = true;
    return agrees ? this.rested(sent, at) : null;
  }

  private rested(sent: Sent, at: number): Sent | null {
    if (!this.rests || sentText(sent) !== sentText(this.rests)) {
      this.rests = sent;
      this.since = at;
    }
    if (!this.armed || at - this.since < REST_MS || Math.abs(inMm(sent)) < CLOSED_MM) return null;
    this.armed = false;
    this.taken = sent;
    return sent;
  }
}

// What is used of Web Serial, which not every browser has.
interface Port {
  open(options: { baudRate: number }): Promise<void>;
  close(): Promise<void>;
  readable: ReadableStream<Uint8Array> | null;
}
interface Serial {
  requestPort(): Promise<Port>;
}

export const serialOf = (browser: Navigator): Serial | null =>
  (browser as Navigator & { serial?: Serial }).serial ?? null;

// Read a port that the user picks, until it is taken away or `ended` is called; tells why it ended.
export async function listen(
  serial: Serial,
  take: (sent: Sent) => void,
  begun: (end: () => void) => void,
): Promise<string> {
  let port: Port;
  try {
    port = await serial.requestPort();
  } catch {
    return "No port was picked.";
  }
  try {
    await port.open({ baudRate: 9600 });
  } catch {
    return "The port cannot be read: another program may have it.";
  }
  const reader = port.readable!.getReader();
  begun(() => void reader.cancel());
  const [cable, letters] = [new Cable(), new TextDecoder("latin1")];
  try {
    for (;;) {
      const { value, done } = await reader.read();
      if (done) return "The calipers' port is closed.";
      for (const sent of cable.feed(letters.decode(value, { stream: true }), performance.now()))
        take(sent);
    }
  } catch {
    return "The calipers' port was taken away.";
  } finally {
    reader.releaseLock();
    await port.close().catch(() => undefined);
  }
}
