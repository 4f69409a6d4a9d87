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

/**
 * Gathers the pairs of a model by couples of features, in the order of the features. `ends` holds the
 * numbers of both chains of every pair.
 */
export function indexRelations(
  pairs: readonly PairCost[],
  ends: Int32Array,
  chainFeature: Int32Array,
  featureStart: Int32Array,
): Relation[] {
  const features = featureStart.length - 1;
  // Row, column, cost; row, column, cost ... of each couple, counted from the features' first chains.
  const gathered = new Map<number, number[]>();
  for (let i = 0; i < pairs.length; i += 1) {
    const a = Math.min(ends[2 * i] as number, ends[2 * i + 1] as number);
    const b = Math.max(ends[2 * i] as number, ends[2 * i + 1] as number);
    const one = chainFeature[a] as number;
    const other = chainFeature[b] as number;
    // Two chains of one feature are never chosen together.
    if (one === other) continue;
    const key = one * features + other;
    let cells = gathered.get(key);
    if (cells === undefined) {
      cells = [];
      gathered.set(key, cells);
    }
    const cost = pairs[i]?.cost ?? Number.POSITIVE_INFINITY;
    cells.push(a - (featureStart[one] as number), b - (featureStart[other] as number), cost);
  }
  const relations: Relation[] = [];
  let messages = 0;
  for (const [key, cells] of [...gathered].sort((a, b) => a[0] - b[0])) {
    const one = Math.floor(key / features);
    const other = key % features;
    const relation = makeRelation(cells, one, other, featureStart, messages);
    if (relation === undefined) continue;
    relations.push(relation);
    messages += relation.rows + relation.columns;
  }
  return relations;
}

function makeRelation(
  cells: readonly number[],
  one: number,
  other: number,
  featureStart: Int32Array,
  messages: number,
): Relation | undefined {
  const oneStart = featureStart[one] as number;
  const otherStart = featureStart[other] as number;
  const height = (featureStart[one + 1] as number) - oneStart;
  const width = (featureStart[other + 1] as number) - otherStart;
  const full = addUp(cells, height, width);
  const rowOf = classify(full, height, width, width, 1);
  const columnOf = classify(full, width, height, 1, width);
  const rows = count(rowOf);
  const columns = count(columnOf);
  if (rows === 1 && columns === 1 && full[0] === 0) return undefined;
  const costs = new Float64Array(rows * columns);
  for (let row = 0; row < height; row += 1) {
    for (let column = 0; column < width; column += 1) {
      const cell = (rowOf[row] as number) * columns + (columnOf[column] as number);
      costs[cell] = full[row * width + column] as number;
    }
  }
  return {
    one,
    other,
    oneStart,
    otherStart,
    rows,
    columns,
    rowOf,
    columnOf,
    costs,
    rowBeats: compare(costs, rows, columns, columns, 1),
    columnBeats: compare(costs, columns, rows, 1, columns),
    rowMessage: messages,
    columnMessage: messages + rows,
  };
}

/**
 * The matrix of all chains of two features from cells (row, column, cost, row ...). Costs of one
 * couple are added in order of size: the sum must not depend on the order of the pairs.
 */
function addUp(cells: readonly number[], height: number, width: number): Float64Array {
  const full = new Float64Array(height * width);
  const again = new Map<number, number[]>();
  for (let i = 0; i < cells.length; i += 3) {
    const cell = (cells[i] as number) * width + (cells[i + 1] as number);
    const cost = cells[i + 2] as number;
    const before = full[cell] as number;
    if (before === 0) full[cell] = cost;
    else again.set(cell, [...(again.get(cell) ?? [before]), cost]);
  }
  for (const [cell, costs] of again) {
    full[cell] = costs.sort((a, b) => a - b).reduce((sum, cost) => sum + cost, 0);
  }
  return full;
}

/**
 * Numbers equal lines of a matrix alike, in the order in which they appear. Entry i of line l stands
 * at l * lineStep + i * step.
 */
function classify(
  full: Float64Array,
  lines: number,
  length: number,
  lineStep: number,
  step: number,
): Int32Array {
  const same = (a: number, b: number): boolean => {
    for (let i = 0; i < length; i += 1) {
      if (full[a * lineStep + i * step] !== full[b * lineStep + i * step]) return false;
    }
    return true;
  };
  // The first line of every class, by hash.
  const firsts = new Map<number, number[]>();
  const classOf = new Int32Array(lines);
  let classes = 0;
  for (let line = 0; line < lines; line += 1) {
    let hash = 0;
    for (let i = 0; i < length; i += 1) {
      const cost = full[line * lineStep + i * step] as number;
      if (cost === 0) continue;
      hash = Math.imul(hash ^ i, 0x01000193) + (cost === Number.POSITIVE_INFINITY ? 7 : cost | 0);
    }
    const candidates = firsts.get(hash) ?? [];
    const first = candidates.find((candidate) => same(candidate, line));
    if (first !== undefined) {
      classOf[line] = classOf[first] as number;
      continue;
    }
    firsts.set(hash, [...candidates, line]);
    classOf[line] = classes;
    classes += 1;
  }
  return classOf;
}

function count(classes: Int32Array): number {
  return classes.reduce((most, number) => Math.max(most, number + 1), 0);
}

/** 1 at [a * lines + b] if line a costs no more than line b at every entry. */
function compare(
  costs: Float64Array,
  lines: number,
  length: number,
  lineStep: number,
  step: number,
): Uint8Array {
  const beats = new Uint8Array(lines * lines);
  for (let a = 0; a < lines; a += 1) {
    for (let b = 0; b < lines; b += 1) {
      let better = 1;
      for (let i = 0; i < length && better === 1; i += 1) {
        const one = costs[a * lineStep + i * step] as number;
        if (one > (costs[b * lineStep + i * step] as number)) better = 0;
      }
      beats[a * lines + b] = better;
    }
  }
  return beats;
}
