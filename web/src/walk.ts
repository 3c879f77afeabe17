// Where the cursor of the readings grid goes; knows rows and columns, no page.

export interface Spot {
  row: number;
  col: number;
}

// How a grid is laid out: `taken` is the number of readings of each row. The row behind the last is
// the one in which a new feature is typed; it has one cell.
export interface Layout {
  heads: number;
  asked: number;
  taken: readonly number[];
}

export const columns = ({ asked, taken }: Layout): number =>
  Math.max(asked, ...taken.map((count) => count + 1));

export const width = (layout: Layout): number => layout.heads + columns(layout);

export function within(layout: Layout, { row, col }: Spot): Spot {
  const at = Math.max(0, Math.min(row, layout.taken.length));
  return {
    row: at,
    col: at === layout.taken.length ? 0 : Math.max(0, Math.min(col, width(layout) - 1)),
  };
}

// Where the next reading belongs: the first feature that wants one.
export function nextWanted({ heads, asked, taken }: Layout): Spot {
  const row = Math.max(
    0,
    taken.findIndex((count) => count < asked),
  );
  const count = taken[row] ?? 0;
  return { row, col: heads + (count < asked ? count : 0) };
}

// Tab reads on as lines of a page do; null where there is no cell that way.
export function tab(layout: Layout, here: Spot, back: boolean): Spot | null {
  if (back && here.row === 0 && here.col === 0) return null;
  if (!back && here.row === layout.taken.length) return null;
  if (back && here.col === 0) return { row: here.row - 1, col: width(layout) - 1 };
  if (!back && here.col === width(layout) - 1) return { row: here.row + 1, col: 0 };
  return { row: here.row, col: here.col + (back ? -1 : 1) };
}

// After Enter: the next repeat, and after the last wanted one the next feature.
export function advance({ heads, asked, taken }: Layout, here: Spot, back: boolean): Spot {
  const repeat = here.col - heads;
  if (repeat < 0) {
    if (here.col === 0 && here.row < taken.length) return { row: here.row, col: heads };
    return { row: here.row + 1, col: here.col };
  }
  if (back) {
    if (repeat) return { row: here.row, col: here.col - 1 };
    return { row: Math.max(0, here.row - 1), col: heads + asked - 1 };
  }
  if (repeat + 1 < asked) return { row: here.row, col: here.col + 1 };
  return { row: here.row + 1, col: heads };
}
