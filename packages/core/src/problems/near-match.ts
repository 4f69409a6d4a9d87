/**
 * The known word that a mistyped one most likely stands for, or undefined when none is near. Case,
 * spaces, hyphens and underscores do not count; otherwise one slip (a letter too many, missing,
 * wrong, or two swapped) is allowed in every three letters. Ties go to the word that sorts first.
 *
 * @example
 * nearMatch('lenght', ['width', 'length', 'depth']) // -> "length"
 */
export function nearMatch(word: string, known: readonly string[]): string | undefined {
  const wanted = bare(word.slice(0, 60));
  if (wanted === '') return undefined;
  let best: string | undefined;
  let bestSlips = Number.POSITIVE_INFINITY;
  for (const candidate of [...known].sort()) {
    const bareCandidate = bare(candidate);
    const allowed = Math.max(1, Math.floor(Math.max(wanted.length, bareCandidate.length) / 3));
    if (Math.abs(wanted.length - bareCandidate.length) > allowed) continue;
    const slips = slipsBetween(wanted, bareCandidate);
    // a single letter is near to every other one
    if (slips > allowed || slips >= bareCandidate.length || slips >= bestSlips) continue;
    best = candidate;
    bestSlips = slips;
  }
  return best;
}

function bare(word: string): string {
  return word.toLowerCase().replace(/[\s_-]/g, '');
}

/** Optimal string alignment distance (Damerau 1964, without repeated edits of one part). */
function slipsBetween(a: string, b: string): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, column) => column);
  for (let row = 1; row <= a.length; row++) {
    const current = [row];
    for (let column = 1; column <= b.length; column++) {
      const same = a[row - 1] === b[column - 1];
      let slips = Math.min(
        (last[column] ?? 0) + 1,
        (current[column - 1] ?? 0) + 1,
        (last[column - 1] ?? 0) + (same ? 0 : 1),
      );
      if (row > 1 && column > 1 && a[row - 1] === b[column - 2] && a[row - 2] === b[column - 1])
        slips = Math.min(slips, (beforeLast[column - 2] ?? 0) + 1);
      current.push(slips);
    }
    beforeLast = last;
    last = current;
  }
  return last[b.length] ?? 0;
}
