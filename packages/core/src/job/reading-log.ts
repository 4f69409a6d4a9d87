import type { Finding } from '../problems/finding.js';
import type { Place, Problem, ProblemCode } from '../problems/problem.js';

/** Collects what is wrong and what is worth saying, so that the reader can go on. */
export interface ReadingLog {
  readonly problems: Problem[];
  readonly findings: Finding[];
  problem(code: ProblemCode, place: Place, message: string, value?: unknown, accept?: string): void;
}

export function readingLog(): ReadingLog {
  const problems: Problem[] = [];
  return {
    problems,
    findings: [],
    problem(code, place, message, value, accept) {
      problems.push({
        code,
        place,
        message,
        ...(value === undefined ? {} : { value: shortened(String(value)) }),
        ...(accept === undefined ? {} : { accept }),
      });
    },
  };
}

/** A value is there to be recognised, not to be repeated whole. */
function shortened(text: string): string {
  return text.length > 200 ? `${text.slice(0, 197)}...` : text;
}

/** Problems in the order of the input, each once. */
export function inReadingOrder(problems: readonly Problem[]): readonly Problem[] {
  const seen = new Set<string>();
  const once = problems.filter((problem) => {
    const key = JSON.stringify(problem);
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
  const rank = (problem: Problem): readonly number[] => [
    problem.place.line ?? 0,
    typeof problem.place.column === 'number' ? problem.place.column : 0,
  ];
  const files = [...new Set(once.map(({ place }) => place.file ?? ''))];
  return once
    .map((problem, index) => ({ problem, index }))
    .sort((a, b) => {
      const byFile =
        files.indexOf(a.problem.place.file ?? '') - files.indexOf(b.problem.place.file ?? '');
      if (byFile !== 0) return byFile;
      const [lineA = 0, columnA = 0] = rank(a.problem);
      const [lineB = 0, columnB = 0] = rank(b.problem);
      return lineA - lineB || columnA - columnB || a.index - b.index;
    })
    .map(({ problem }) => problem);
}
