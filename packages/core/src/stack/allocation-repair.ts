import type { ChoiceModel, Priced } from './allocation-bound.js';
import { partOf, roundingShare } from './allocation-model.js';

/**
 * A permitted choice near the cheapest at the prices of a node: while a row is over its budget, the
 * switch to a finer process that costs least per unit of relief. Undefined when the open choices do
 * not get there.
 */
export function repairChoice(
  { rows, choices, first, rowsOf }: ChoiceModel,
  { open, values, cheapest }: Priced,
): Int32Array | undefined {
  const at = cheapest.slice();
  const lowerOf = (c: number): number => choices[c]?.lower ?? 0;
  const excess = Float64Array.from(rows, (row) => {
    let use = -row.budget * (1 + roundingShare);
    at.forEach((c, i) => {
      use += partOf(row, i, lowerOf(c));
    });
    return use;
  });
  while (excess.some((over) => over > 0)) {
    let bestPrice = Number.POSITIVE_INFINITY;
    let bestAt = -1;
    let bestChoice = -1;
    at.forEach((now, i) => {
      for (let c = first[i] ?? 0; c < (first[i + 1] ?? 0); c++) {
        if (open[c] !== 1 || lowerOf(c) >= lowerOf(now)) continue;
        let relief = 0;
        for (const { row } of rowsOf[i] ?? []) {
          const over = excess[row] ?? 0;
          const of = rows[row];
          if (over <= 0 || of === undefined) continue;
          const less = partOf(of, i, lowerOf(now)) - partOf(of, i, lowerOf(c));
          relief += Math.min(over, less) / of.budget;
        }
        const price = ((values[c] ?? 0) - (values[now] ?? 0)) / relief;
        if (relief > 0 && price < bestPrice) {
          bestPrice = price;
          bestAt = i;
          bestChoice = c;
        }
      }
    });
    if (bestAt === -1) return undefined;
    const from = lowerOf(at[bestAt] ?? 0);
    rows.forEach((row, j) => {
      const less = partOf(row, bestAt, from) - partOf(row, bestAt, lowerOf(bestChoice));
      excess[j] = (excess[j] ?? 0) - less;
    });
    at[bestAt] = bestChoice;
  }
  return at;
}
