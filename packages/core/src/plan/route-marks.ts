import type { SequencedWork } from '../route/sequence.js';

/** Operations by what is done and where, for telling one route from another. */
export function routeMarks(works: readonly SequencedWork[]): ReadonlySet<string> {
  return new Set(
    works.map((work) => {
      if (work.kind === 'part') return `${work.work.title} (${work.work.centre.name})`;
      const { centre, holding, stage } = work.setUp;
      const when = { soft: ', before the age', datum: ', datums', hard: '' }[stage];
      return `${centre.name}, ${holding}${when}`;
    }),
  );
}

/** `in:` and `out:` by operation, sorted; empty when the routes visit the same places. */
export function routeChanges(
  before: readonly SequencedWork[],
  after: readonly SequencedWork[],
): readonly string[] {
  const [old, now] = [routeMarks(before), routeMarks(after)];
  return [
    ...[...now].filter((mark) => !old.has(mark)).map((mark) => `in: ${mark}`),
    ...[...old].filter((mark) => !now.has(mark)).map((mark) => `out: ${mark}`),
  ].sort();
}
