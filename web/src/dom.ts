// Small helpers to make elements; texts go in as text, never as HTML.

type Value = string | number | boolean | null | undefined;
// Never: each listener names the event that it takes.
type Listener = (event: never) => void;
export type Child = Node | string | null | undefined;

export function make<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Record<string, Value | Listener> = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (typeof value === "function")
      element.addEventListener(name.slice(2), value as EventListener);
    else if (name === "class") element.className = String(value);
    else if (name === "value" || name === "checked" || name === "disabled")
      Object.assign(element, { [name]: value });
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export const svgRoot = (): SVGSVGElement => document.createElementNS(SVG, "svg");

export function drawIn<K extends keyof SVGElementTagNameMap>(
  svg: SVGElement,
  tag: K,
  attributes: Record<string, string | number>,
  text?: string,
): SVGElementTagNameMap[K] {
  const element = document.createElementNS(SVG, tag);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  if (text) element.textContent = text;
  svg.append(element);
  return element;
}

// A root in which JupyterLab's own shortcuts stay silent, so that letters and Enter reach us.
export function root(el: HTMLElement, kind: string): [HTMLDivElement, () => void] {
  const element = make("div", { class: `fitkit ${kind}`, "data-lm-suppress-shortcuts": "true" });
  el.append(element);
  const theme = () => {
    const mark = document.body.dataset.jpThemeLight;
    const dark = mark ? mark === "false" : matchMedia("(prefers-color-scheme: dark)").matches;
    element.dataset.theme = dark ? "dark" : "light";
  };
  theme();
  const watch = new MutationObserver(theme);
  watch.observe(document.body, { attributes: true, attributeFilter: ["data-jp-theme-light"] });
  return [element, () => watch.disconnect()];
}

// The still picture below a live view is for readers without a kernel; hide it while we live.
export function hideStill(id: string): () => void {
  const rule = make("style", {}, `[data-fitkit-still="${CSS.escape(id)}"] { display: none; }`);
  document.head.append(rule);
  return () => rule.remove();
}
