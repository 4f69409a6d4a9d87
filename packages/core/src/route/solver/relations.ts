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

/** Cost of two chains together, counted from the first chain of their features. */
interface Cell {
  readonly row: number;
  readonly column: number;
  readonly cost: number;
}

/** Gathers the pairs of a model by couples of features, in the order of the features. */
export function indexRelations(
  pairs: readonly PairCost[],
  chainNumber: ReadonlyMap<string, number>,
  chainFeature: Int32Array,
  featureStart: Int32Array,
): Relation[] {
  const features = featureStart.length - 1;
  const gathered = new Map<number, Cell[]>();
  for (const pair of pairs) {
    const a = chainNumber.get(pair.a) ?? 0;
    const b = chainNumber.get(pair.b) ?? 0;
    const one = chainFeature[Math.min(a, b)] as number;
    const other = chainFeature[Math.max(a, b)] as number;
    // Two chains of one feature are never chosen together.
    if (one === other) continue;
    const cell = {
      row: Math.min(a, b) - (featureStart[one] as number),
      column: Math.max(a, b) - (featureStart[other] as number),
      cost: pair.cost ?? Number.POSITIVE_INFINITY,
    };
    const cells = gathered.get(one * features + other);
    if (cells === undefined) gathered.set(one * features + other, [cell]);
    else cells.push(cell);
  }
  const relations: Relation[] = [];
  let messages = 0;
  for (const [key, listed] of [...gathered].sort((a, b) => a[0] - b[0])) {
    const cells = addUp(listed);
    if (cells.length === 0) continue;
    const one = Math.floor(key / features);
    const other = key % features;
    const oneStart = featureStart[one] as number;
    const otherStart = featureStart[other] as number;
    const rowOf = classify((featureStart[one + 1] as number) - oneStart, cells, 'row', 'column');
    const columnOf = classify(
      (featureStart[other + 1] as number) - otherStart,
      cells,
      'column',
      'row',
    );
    const rows = count(rowOf);
    const columns = count(columnOf);
    const costs = new Float64Array(rows * columns);
    for (const { row, column, cost } of cells) {
      costs[(rowOf[row] as number) * columns + (columnOf[column] as number)] = cost;
    }
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

/**
 * One cell a couple of chains, in order, those that cost nothing left out. Costs of one couple are
 * added in order of size: the sum must not depend on the order of the pairs.
 */
function addUp(listed: Cell[]): Cell[] {
  listed.sort((a, b) => a.row - b.row || a.column - b.column || (a.cost < b.cost ? -1 : 1));
  const cells: Cell[] = [];
  for (let i = 0; i < listed.length; ) {
    const { row, column } = listed[i] as Cell;
    let cost = 0;
    for (; listed[i]?.row === row && listed[i]?.column === column; i += 1) {
      cost += (listed[i] as Cell).cost;
    }
    if (cost !== 0) cells.push({ row, column, cost });
  }
  return cells;
}

/** Numbers lines with the same cells alike, in the order in which they appear. */
function classify(
  lines: number,
  cells: readonly Cell[],
  along: 'row' | 'column',
  across: 'row' | 'column',
): Int32Array {
  const keys = Array.from({ length: lines }, () => '');
  for (const cell of cells) keys[cell[along]] += `${cell[across]}:${cell.cost} `;
  const known = new Map<string, number>();
  return Int32Array.from(keys, (key) => {
    const number = known.get(key) ?? known.size;
    known.set(key, number);
    return number;
  });
}

function count(classes: Int32Array): number {
  return classes.reduce((most, number) => Math.max(most, number + 1), 0);
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
