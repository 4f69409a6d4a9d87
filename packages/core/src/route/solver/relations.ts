import type { PairCost } from '../model.js';

/**
 * All pair costs between the chains of two features, as a matrix. Chains of a feature that have the
 * same costs against every chain of the other share a row (or a column), which keeps the matrix
 * small: a single forbidden pair is a 2 x 2 matrix.
 */
export interface Relation {
  /** The two features, one < other. */
  readonly one: number;
  readonly other: number;
  /** First chain of each. */
  readonly oneStart: number;
  readonly otherStart: number;
  readonly rows: number;
  readonly columns: number;
  /** Row of each chain of `one`, column of each chain of `other`, counted from their first chain. */
  readonly rowOf: Int32Array;
  readonly columnOf: Int32Array;
  /** Cost at [row * columns + column]; Infinity forbids. */
  readonly costs: Float64Array;
  /** 1 at [a * rows + b] if row a costs no more than row b against every column; columns alike. */
  readonly rowBeats: Uint8Array;
  readonly columnBeats: Uint8Array;
  /** Where the multipliers of the rows and of the columns stand among all messages of the model. */
  readonly rowMessage: number;
  readonly columnMessage: number;
}

/** Gathers the pairs of a model by couples of features, in the order of the features. */
export function indexRelations(
  pairs: readonly PairCost[],
  chainNumber: ReadonlyMap<string, number>,
  chainFeature: Int32Array,
  featureStart: Int32Array,
): Relation[] {
  const features = featureStart.length - 1;
  const gathered = new Map<number, Map<number, number[]>>();
  for (const pair of pairs) {
    const one = chainNumber.get(pair.a) ?? 0;
    const other = chainNumber.get(pair.b) ?? 0;
    const a = Math.min(one, other);
    const b = Math.max(one, other);
    // Two chains of one feature are never chosen together.
    if (chainFeature[a] === chainFeature[b]) continue;
    const key = (chainFeature[a] as number) * features + (chainFeature[b] as number);
    const entries = gathered.get(key) ?? new Map<number, number[]>();
    gathered.set(key, entries);
    const entry = a * chainFeature.length + b;
    entries.set(entry, [...(entries.get(entry) ?? []), pair.cost ?? Number.POSITIVE_INFINITY]);
  }
  const relations: Relation[] = [];
  let messages = 0;
  for (const [key, entries] of [...gathered].sort((a, b) => a[0] - b[0])) {
    const one = Math.floor(key / features);
    const other = key % features;
    const oneStart = featureStart[one] as number;
    const otherStart = featureStart[other] as number;
    const height = (featureStart[one + 1] as number) - oneStart;
    const width = (featureStart[other + 1] as number) - otherStart;
    const full = new Float64Array(height * width);
    for (const [entry, costs] of entries) {
      const a = Math.floor(entry / chainFeature.length) - oneStart;
      const b = (entry % chainFeature.length) - otherStart;
      // Sorted before they are added: the sum must not depend on the order of rows.
      full[a * width + b] = costs.sort((x, y) => x - y).reduce((sum, cost) => sum + cost, 0);
    }
    if (full.every((cost) => cost === 0)) continue;
    const line = (length: number, cell: (index: number) => number): string =>
      Array.from({ length }, (_, index) => full[cell(index)]).join();
    const rowOf = classify(height, (a) => line(width, (b) => a * width + b));
    const columnOf = classify(width, (b) => line(height, (a) => a * width + b));
    const rows = Math.max(...rowOf) + 1;
    const columns = Math.max(...columnOf) + 1;
    const costs = new Float64Array(rows * columns);
    rowOf.forEach((row, a) => {
      columnOf.forEach((column, b) => {
        costs[row * columns + column] = full[a * width + b] as number;
      });
    });
    relations.push({
      one,
      other,
      oneStart,
      otherStart,
      rows,
      columns,
      rowOf,
      columnOf,
      costs,
      rowBeats: compare(rows, columns, (row, column) => costs[row * columns + column] as number),
      columnBeats: compare(columns, rows, (column, row) => costs[row * columns + column] as number),
      rowMessage: messages,
      columnMessage: messages + rows,
    });
    messages += rows + columns;
  }
  return relations;
}

/** Numbers equal keys alike, in the order in which they appear. */
function classify(count: number, keyOf: (index: number) => string): Int32Array {
  const known = new Map<string, number>();
  return Int32Array.from({ length: count }, (_, index) => {
    const key = keyOf(index);
    const number = known.get(key) ?? known.size;
    known.set(key, number);
    return number;
  });
}

function compare(
  lines: number,
  length: number,
  cost: (line: number, index: number) => number,
): Uint8Array {
  const beats = new Uint8Array(lines * lines);
  for (let a = 0; a < lines; a += 1) {
    for (let b = 0; b < lines; b += 1) {
      let better = 1;
      for (let i = 0; i < length && better === 1; i += 1) if (cost(a, i) > cost(b, i)) better = 0;
      beats[a * lines + b] = better;
    }
  }
  return beats;
}
