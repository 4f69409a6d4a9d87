export type Matrix = readonly (readonly number[])[];

/**
 * Lower triangular L with L L' = A for a symmetric positive semidefinite A: pivots that are zero
 * within rounding give a zero column. Returns undefined when A is not positive semidefinite.
 */
export function choleskySemidefinite(matrix: Matrix): number[][] | undefined {
  const n = matrix.length;
  let scale = 0;
  for (let i = 0; i < n; i++) scale = Math.max(scale, Math.abs(matrix[i]?.[i] ?? 0));
  const rounding = n * scale * 1e-12;
  const factor = matrix.map((row) => row.map(() => 0));
  for (let j = 0; j < n; j++) {
    const rowJ = factor[j] ?? [];
    let pivot = matrix[j]?.[j] ?? 0;
    for (let k = 0; k < j; k++) pivot -= (rowJ[k] ?? 0) ** 2;
    if (!(pivot >= -rounding)) return undefined;
    const root = pivot > rounding ? Math.sqrt(pivot) : 0;
    rowJ[j] = root;
    for (let i = j + 1; i < n; i++) {
      const rowI = factor[i] ?? [];
      let value = matrix[i]?.[j] ?? 0;
      for (let k = 0; k < j; k++) value -= (rowI[k] ?? 0) * (rowJ[k] ?? 0);
      // below a zero pivot a semidefinite matrix has nothing left in the column
      if (root === 0 && Math.abs(value) > Math.sqrt(rounding * scale)) return undefined;
      rowI[j] = root === 0 ? 0 : value / root;
    }
  }
  return factor;
}

/** True when the symmetric matrix has no negative eigenvalue beyond rounding. */
export function isPositiveSemidefinite(matrix: Matrix): boolean {
  return choleskySemidefinite(matrix) !== undefined;
}

/**
 * Solution of A x = b by Gaussian elimination with scaled partial pivoting; undefined when A is
 * singular within rounding.
 */
export function solveLinear(matrix: Matrix, right: readonly number[]): number[] | undefined {
  const n = right.length;
  const rows = matrix.map((row, i) => {
    const scale = row.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
    return { values: [...row, right[i] ?? 0], scale };
  });
  for (let j = 0; j < n; j++) {
    let best = j;
    let bestSize = 0;
    for (let i = j; i < n; i++) {
      const row = rows[i];
      if (row === undefined || row.scale === 0) return undefined;
      const size = Math.abs(row.values[j] ?? 0) / row.scale;
      if (size > bestSize) {
        bestSize = size;
        best = i;
      }
    }
    if (bestSize < n * Number.EPSILON) return undefined;
    const pivotRow = rows[best];
    const swapped = rows[j];
    if (pivotRow === undefined || swapped === undefined) return undefined;
    rows[best] = swapped;
    rows[j] = pivotRow;
    const pivot = pivotRow.values[j] ?? 0;
    for (let i = j + 1; i < n; i++) {
      const values = rows[i]?.values ?? [];
      const factor = (values[j] ?? 0) / pivot;
      if (factor === 0) continue;
      for (let k = j; k <= n; k++)
        values[k] = (values[k] ?? 0) - factor * (pivotRow.values[k] ?? 0);
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    const values = rows[i]?.values ?? [];
    let sum = values[n] ?? 0;
    for (let k = i + 1; k < n; k++) sum -= (values[k] ?? 0) * (x[k] ?? 0);
    x[i] = sum / (values[i] ?? 1);
  }
  return x;
}
