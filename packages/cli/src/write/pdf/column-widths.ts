/** What a column asks for, points with its padding. */
export interface ColumnNeed {
  /** Nothing is broken at this width. */
  readonly natural: number;
  /** How much text there is: root mean square of the cells' natural widths. */
  readonly amount: number;
  /** No word is broken at this width. */
  readonly least: number;
  /** Given by the sheet; the column neither grows nor shrinks. */
  readonly set?: number;
  /** Takes a share of the space that is left over. */
  readonly grows: boolean;
}

/**
 * Widths that add up to `total`: the natural widths if they fit, else a share that grows with the
 * square root of the amount of text in the column, else, when not even the longest words fit, in proportion
 * to these.
 */
export function columnWidths(needs: readonly ColumnNeed[], total: number): readonly number[] {
  const natural = needs.map((need) => need.set ?? need.natural);
  if (sum(natural) <= total) return grow(needs, natural, total - sum(natural));
  const least = needs.map((need) => need.set ?? need.least);
  if (sum(least) >= total) return shrink(needs, least, total);
  return compress(needs, total);
}

/** Finds the one factor on the square roots with which the widths add up to the total. */
function compress(needs: readonly ColumnNeed[], total: number): readonly number[] {
  const at = (factor: number): readonly number[] =>
    needs.map(
      (need) =>
        need.set ?? Math.min(need.natural, Math.max(need.least, factor * Math.sqrt(need.amount))),
    );
  let low = 0;
  // with this factor every column has its natural width, which is more than there is room for
  let high = Math.max(...needs.map((need) => need.natural / Math.sqrt(need.amount)));
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2;
    if (sum(at(middle)) > total) high = middle;
    else low = middle;
  }
  return at(low);
}

/** Spare space goes to the growing columns; to all when none grows. */
function grow(
  needs: readonly ColumnNeed[],
  widths: readonly number[],
  spare: number,
): readonly number[] {
  const growing = needs.map((need) => need.grows && need.set === undefined);
  const takers = growing.includes(true) ? growing : widths.map(() => true);
  const share = sum(widths.filter((_, index) => takers[index]));
  return widths.map((width, index) => (takers[index] ? width + (spare * width) / share : width));
}

/** Columns set by the sheet give way only when they alone are too wide. */
function shrink(
  needs: readonly ColumnNeed[],
  widths: readonly number[],
  total: number,
): readonly number[] {
  const set = sum(needs.map((need) => need.set ?? 0));
  if (set >= total) return widths.map((width) => (width * total) / sum(widths));
  const scale = (total - set) / (sum(widths) - set);
  return widths.map((width, index) => (needs[index]?.set === undefined ? width * scale : width));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
