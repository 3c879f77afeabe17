// What the tests share: a stand-in for the kernel, which keeps what it is told.
import { afterEach, expect } from "vitest";
import type { Mount } from "../src/kernel";
import { DESCRIBED } from "../src/protocol";

// A view catches what goes wrong at sending, so messages that no kernel knows are told here.
const unknown: string[] = [];
afterEach(() => expect(unknown.splice(0)).toEqual([]));

type Listener = (...said: never[]) => void;
type Sent = { kind: string } & Record<string, unknown>;

export class Kernel<State extends object> {
  readonly sent: Sent[] = [];
  gone = false;
  private readonly listeners = new Map<string, Listener[]>();

  constructor(
    private readonly state: State,
    private readonly view: keyof typeof DESCRIBED,
  ) {}

  // As anywidget mounts a view, here in an empty page.
  mount<Message, Answer>(render: (into: Mount<State, Message, Answer>) => () => void): HTMLElement {
    const el = document.createElement("div");
    document.body.replaceChildren(el);
    const model = {
      get: <K extends keyof State & string>(name: K) => this.state[name],
      send: (message: Message) => this.take(message as Sent),
      on: (event: string, listener: Listener) => {
        this.listeners.set(event, [...(this.listeners.get(event) ?? []), listener]);
      },
      off: (event: string, listener: Listener) => {
        const kept = (this.listeners.get(event) ?? []).filter((each) => each !== listener);
        this.listeners.set(event, kept);
      },
    };
    render({ model, el });
    return el;
  }

  // Each message that any test has a view send must be one that the kernel knows.
  private take(message: Sent) {
    if (this.gone) throw new Error("Kernel is dead");
    const fields = DESCRIBED[this.view][message.kind];
    if (!fields) {
      unknown.push(`${this.view} sends '${message.kind}', which is not described`);
      return;
    }
    const must = fields.filter((name) => !name.endsWith("?"));
    const may = fields.map((name) => name.replace("?", ""));
    const sent = Object.keys(message);
    if (!must.every((name) => sent.includes(name)) || !sent.every((name) => may.includes(name)))
      unknown.push(`'${message.kind}' has the fields ${sent}, but ${fields} are described`);
    this.sent.push(message);
  }

  say(event: string, ...content: unknown[]) {
    for (const listener of this.listeners.get(event) ?? []) listener(...(content as never[]));
  }

  set<K extends keyof State & string>(name: K, value: State[K]) {
    this.state[name] = value;
    this.say(`change:${name}`);
  }

  // What was sent since the last look.
  news(): Sent[] {
    return this.sent.splice(0);
  }
}

// Press a key where the focus is; tell whether the page around the view would hear it.
export function press(key: string, extra: KeyboardEventInit = {}): boolean {
  let heard = false;
  const hear = () => {
    heard = true;
  };
  document.addEventListener("keydown", hear);
  const options = { key, bubbles: true, cancelable: true, ...extra };
  document.activeElement?.dispatchEvent(new KeyboardEvent("keydown", options));
  document.removeEventListener("keydown", hear);
  return heard;
}

// Type into the field that has the focus, as a browser would.
export function type(text: string) {
  const field = document.activeElement as HTMLInputElement | HTMLSelectElement;
  field.value = text;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

// Type and leave the field, at which a browser tells of the change.
export function leaveWith(text: string) {
  type(text);
  document.activeElement?.dispatchEvent(new Event("change", { bubbles: true }));
  (document.activeElement as HTMLElement).blur();
}
