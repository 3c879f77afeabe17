// A search among the fields: what does not match is put away while something is typed here.
import { make } from "./dom";

interface Found {
  focus(): void;
}

export class SearchBox {
  readonly element: HTMLElement;
  private readonly input: HTMLInputElement;
  private readonly count = make("span", { class: "soft", role: "status" });
  private first: Found | null = null;

  constructor(private readonly changed: () => void) {
    this.input = make("input", {
      type: "text",
      class: "search",
      "aria-label": "Find a field",
      placeholder: "Find a field",
      autocomplete: "off",
      spellcheck: "false",
      "data-key": "search",
      oninput: () => this.changed(),
      onkeydown: (event: KeyboardEvent) => {
        if (event.key === "Enter") {
          event.preventDefault();
          this.first?.focus();
        }
        if (event.key === "Escape") this.clear();
      },
    });
    this.element = make("div", { class: "find" }, this.input, this.count);
  }

  get wanted(): string {
    return this.input.value.trim().toLowerCase();
  }

  clear(): void {
    if (!this.input.value) return;
    this.input.value = "";
    this.changed();
  }

  found(fields: Found[]): void {
    this.first = fields[0] ?? null;
    this.count.textContent = this.wanted ? `${fields.length || "none"} found` : "";
  }
}
