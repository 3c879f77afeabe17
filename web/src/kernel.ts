// The kernel's side of a view, as anywidget hands it over.

import { make } from "./dom";

export interface Model<State, Message, Answer> {
  get<K extends keyof State & string>(name: K): State[K];
  send(message: Message): void;
  on(event: "msg:custom", listener: (content: Answer, buffers: DataView[]) => void): void;
  on(event: `change:${keyof State & string}` | "comm_live_update", listener: () => void): void;
  off(event: "msg:custom", listener: (content: Answer, buffers: DataView[]) => void): void;
  off(event: `change:${keyof State & string}` | "comm_live_update", listener: () => void): void;
}

export interface Mount<State, Message, Answer> {
  model: Model<State, Message, Answer>;
  el: HTMLElement;
}

export const GONE = "The kernel is gone: run this cell again.";

// A way to send that tells whether the message left. Once the kernel is gone the model throws,
// which must not break off what a key was doing: the key would go on to the notebook.
export function sender<Message>(
  model: { send(message: Message): void },
  gone: () => void,
): (message: Message) => boolean {
  return (message) => {
    try {
      model.send(message);
      return true;
    } catch {
      gone();
      return false;
    }
  };
}

// Say on top of a view that the kernel is gone; once.
export function alarm(frame: HTMLElement): () => void {
  const told = make("p", { class: "message gone", role: "alert" }, `▲ ${GONE}`);
  return () => {
    if (!told.isConnected) frame.prepend(told);
  };
}
