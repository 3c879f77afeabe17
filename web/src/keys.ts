// Keys by where they lie. Calipers with a data cable press the digit keys of a keyboard, unshifted;
// under a French or Czech layout the page would hear "&" or "š" there. In a cell for readings these
// places mean what the display shows, whatever is printed on the keys.
// Other cables press the keys of the number block, which are arrows while NumLock is off: they too
// mean their digits there, and the arrows have keys of their own.
// Common practice of such cables, no source: keys of the upper row, as a US keyboard has them.

const PLACES: Record<string, string> = { Period: ".", Comma: ",", Minus: "-" };
const BLOCK: Record<string, string> = { Decimal: ".", Comma: ",", Subtract: "-" };

// What an unshifted key means in a reading; null if it means what it says.
export function byPlace(event: KeyboardEvent): string | null {
  if (event.shiftKey || event.ctrlKey || event.altKey || event.metaKey) return null;
  const block = /^Numpad(.+)$/.exec(event.code)?.[1];
  // With NumLock on such a key says its sign itself, as the layout has it.
  if (block && event.key.length > 1) return /^\d$/.test(block) ? block : (BLOCK[block] ?? null);
  const digit = /^Digit(\d)$/.exec(event.code)?.[1];
  const meant = digit ?? PLACES[event.code];
  return meant ?? null;
}

// Put a character where the cursor stands in a field, over what is marked.
export function insert(input: HTMLInputElement, text: string): void {
  const from = input.selectionStart ?? input.value.length;
  const to = input.selectionEnd ?? from;
  input.value = input.value.slice(0, from) + text + input.value.slice(to);
  input.setSelectionRange(from + text.length, from + text.length);
}
