import { selectProcesses } from '@offplate/core';
import highsModule from 'highs';
import { expect, test } from 'vitest';

// a CommonJS package whose types are written as for an ES module
const loadHighs = highsModule as unknown as typeof highsModule.default;

/** mulberry32 */
function randomFrom(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), 1 | state);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4294967296;
  };
}

// With single grades both rules are linear in "contributor i takes grade p", so an integer program
// of another solver must find the same optimum.
test('choice of grades equals an independent integer programming solver on 60 problems', async () => {
  const highs = await loadHighs();
  const random = randomFrom(20261127);
  let solved = 0;
  for (let problem = 0; problem < 60; problem++) {
    const links = 8 + (problem % 10);
    const contributors = Array.from({ length: links }, (_v, index) => ({
      id: `link ${index}`,
      processes: Array.from({ length: 3 + (index % 4) }, (_w, grade) => {
        const tolerance = 0.005 * 1.7 ** grade * (0.8 + 0.4 * random());
        const cost = 1 + random() + (0.05 + 0.2 * random()) / tolerance;
        return { id: `grade ${grade}`, tolerance, cost };
      }),
    }));
    const chains = Array.from({ length: 1 + (problem % 4) }, (_v, index) => ({
      id: `chain ${index}`,
      limit: 0.008 * links * (0.4 + random()),
      rule: random() < 0.5 ? ('rss' as const) : ('worst-case' as const),
      terms: contributors
        .filter(() => random() < 0.6)
        .map(({ id }) => ({ contributor: id, sensitivity: 0.5 + random() })),
    })).filter(({ terms }) => terms.length > 0);

    const name = (i: number, p: number): string => `x_${i}_${p}`;
    const sum = (terms: readonly string[]): string => terms.join(' + ');
    const all = contributors.flatMap(({ processes }, i) =>
      processes.map((process, p) => ({ i, p, ...process })),
    );
    const rows = chains.map(({ limit, rule, terms }) => {
      const power = rule === 'rss' ? 2 : 1;
      const parts = all.flatMap(({ i, p, tolerance }) => {
        const term = terms.find(({ contributor }) => contributor === `link ${i}`);
        return term === undefined
          ? []
          : [`${1e4 * (term.sensitivity * tolerance) ** power} ${name(i, p)}`];
      });
      return `${sum(parts)} <= ${1e4 * limit ** power}`;
    });
    const once = contributors.map(
      ({ processes }, i) => `${sum(processes.map((_process, p) => name(i, p)))} = 1`,
    );
    const model = [
      'Minimize',
      sum(all.map(({ i, p, cost }) => `${cost} ${name(i, p)}`)),
      'Subject To',
      ...rows,
      ...once,
      'Binary',
      ...all.map(({ i, p }) => name(i, p)),
      'End',
    ].join('\n');
    const other = highs.solve(model, { mip_rel_gap: 0, mip_abs_gap: 1e-9 });
    const own = selectProcesses({ contributors, chains });
    expect(own.feasible).toBe(other.Status === 'Optimal');
    if (!own.feasible) continue;
    solved++;
    expect(own.status).toBe('optimal');
    expect(own.cost).toBeCloseTo(other.ObjectiveValue, 5);
  }
  expect(solved).toBeGreaterThan(40);
});
