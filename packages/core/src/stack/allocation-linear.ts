/**
 * Cholesky solution of a small symmetric system, given by the rows of its lower triangle; undefined
 * when the system is not positive definite.
 *
 * @param ridge added to the diagonal, relative to each entry
 */
export function solveSymmetric(
  triangle: readonly Float64Array[],
  right: readonly number[],
  ridge: number,
): number[] | undefined {
  const size = triangle.length;
  const factor = triangle.map((row) => row.slice());
  const at = (j: number, l: number): number => factor[j]?.[l] ?? 0;
  for (let j = 0; j < size; j++) {
    const row = factor[j];
    if (row === undefined) return undefined;
    for (let l = 0; l <= j; l++) {
      let sum = at(j, l) * (l === j ? 1 + ridge : 1);
      for (let q = 0; q < l; q++) sum -= at(j, q) * at(l, q);
      if (l < j) row[l] = sum / at(l, l);
      else if (sum > 0) row[l] = Math.sqrt(sum);
      else return undefined;
    }
  }
  const result = [...right];
  for (let j = 0; j < size; j++) {
    let sum = result[j] ?? 0;
    for (let l = 0; l < j; l++) sum -= at(j, l) * (result[l] ?? 0);
    result[j] = sum / at(j, j);
  }
  for (let j = size - 1; j >= 0; j--) {
    let sum = result[j] ?? 0;
    for (let l = j + 1; l < size; l++) sum -= at(l, j) * (result[l] ?? 0);
    result[j] = sum / at(j, j);
  }
  return result;
}
