/** What a column asks for, points without its padding. */
export interface ColumnNeed {
  /** Nothing is broken at this width. */
  readonly natural: number;
  /** No word is broken at this width. */
  readonly least: number;
  /** Given by the sheet; the column neither grows nor shrinks. */
  readonly set?: number;
  /** Takes a share of the space that is left over. */
  readonly grows: boolean;
}

/** A long note must not squeeze the other columns to one word a line. */
const mostNaturalShare = 0.55;

/**
 * Widths that add up to `total`: the natural widths if they fit, else between least and natural in
 * proportion to what each column lacks, else, when not even the longest words fit, in proportion.
 */
export function columnWidths(needs: readonly ColumnNeed[], total: number): readonly number[] {
  const natural = needs.map((need) => need.set ?? need.natural);
  const spare = total - sum(natural);
  if (spare >= 0) return grow(needs, natural, spare);
  const capped = needs.map(
    (need) => need.set ?? Math.max(need.least, Math.min(need.natural, total * mostNaturalShare)),
  );
  const least = needs.map((need) => need.set ?? need.least);
  const beyond = total - sum(least);
  if (beyond < 0) return shrink(needs, least, total);
  const lacking = sum(capped) - sum(least);
  if (lacking <= beyond) return grow(needs, capped, beyond - lacking);
  return least.map(
    (width, index) => width + (beyond * ((capped[index] ?? width) - width)) / lacking,
  );
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
  if (share <= 0) return widths.map((width) => width + spare / widths.length);
  return widths.map((width, index) => (takers[index] ? width + (spare * width) / share : width));
}

function shrink(
  needs: readonly ColumnNeed[],
  widths: readonly number[],
  total: number,
): readonly number[] {
  const set = sum(needs.map((need) => need.set ?? 0));
  const scale = Math.max(0, total - set) / (sum(widths) - set);
  // columns set by the sheet give way only when they alone are too wide
  if (set >= total) return widths.map((width) => (width * total) / sum(widths));
  return widths.map((width, index) => (needs[index]?.set === undefined ? width * scale : width));
}

function sum(values: readonly number[]): number {
  return values.reduce((total, value) => total + value, 0);
}
