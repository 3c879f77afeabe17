// Small helpers to make elements; texts go in as text, never as HTML.

export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "class") element.className = value;
    else if (name === "value" || name === "checked" || name === "disabled") element[name] = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}

// A root in which JupyterLab's own shortcuts stay silent, so that letters and Enter reach us.
export function root(el, style, kind) {
  const element = make("div", { class: `fitkit ${kind}`, "data-lm-suppress-shortcuts": "true" });
  el.append(make("style", {}, style), element);
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
export function hideStill(id) {
  const rule = make("style", {}, `[data-fitkit-still="${CSS.escape(id)}"] { display: none; }`);
  document.head.append(rule);
  return () => rule.remove();
}

export const MARKS = { stop: "■", warn: "▲", note: "○" };
