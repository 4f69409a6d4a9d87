import {
  type AllocationChain,
  allocateLeastCost,
  allocateProportional,
  type CostedContributor,
  type ProcessContributor,
  type ProcessOption,
  selectProcesses,
} from '@offplate/core';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';

const seed = 20261125;

const between = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

const contributor = (id: string): fc.Arbitrary<CostedContributor> =>
  fc
    .record({
      scale: between(-3, 1).map((power) => 10 ** power),
      power: between(0.3, 2.5),
      lower: fc.option(between(0.001, 0.02), { nil: 0 }),
      span: between(0.005, 0.3),
    })
    .map(({ scale, power, lower, span }) => ({
      id,
      cost: { scale, power },
      ...(lower > 0 ? { lower } : {}),
      upper: lower + span,
    }));

const chainOf = (id: string, ids: readonly string[]): fc.Arbitrary<AllocationChain> =>
  fc
    .record({
      limit: between(0.05, 0.4),
      rule: fc.constantFrom('worst-case' as const, 'rss' as const),
      inflation: fc.constantFrom(1, 1, 1.5),
      members: fc.subarray([...ids], { minLength: 1 }),
      sensitivities: fc.array(
        fc.integer({ min: -20, max: 20 }).map((tenths) => tenths / 10),
        { minLength: ids.length, maxLength: ids.length },
      ),
    })
    .map(({ limit, rule, inflation, members, sensitivities }) => ({
      id,
      limit,
      rule,
      inflation,
      terms: members.map((name, index) => ({
        contributor: name,
        sensitivity: sensitivities[index] ?? 1,
      })),
    }));

interface Problem {
  readonly contributors: readonly CostedContributor[];
  readonly chains: readonly AllocationChain[];
}

const problem: fc.Arbitrary<Problem> = fc
  .record({ links: fc.integer({ min: 2, max: 8 }), chains: fc.integer({ min: 1, max: 5 }) })
  .chain(({ links, chains }) => {
    const ids = Array.from({ length: links }, (_v, index) => `T${index}`);
    return fc.record({
      contributors: fc.tuple(...ids.map(contributor)),
      chains: fc.tuple(
        ...Array.from({ length: chains }, (_v, index) => chainOf(`chain ${index}`, ids)),
      ),
    });
  });

const usedBy = (chain: AllocationChain, tolerance: (id: string) => number): number => {
  const parts = (chain.terms ?? []).map(
    (term) => Math.abs(term.sensitivity ?? 1) * tolerance(term.contributor),
  );
  const sum =
    chain.rule === 'rss' ? Math.hypot(...parts) : parts.reduce((total, part) => total + part, 0);
  return (chain.inflation ?? 1) * sum;
};
const costAt = (contributors: readonly CostedContributor[], tolerance: (id: string) => number) =>
  contributors.reduce((sum, { id, cost }) => sum + cost.scale / tolerance(id) ** cost.power, 0);

describe('least cost', () => {
  test('is feasible, is proven, and no sampled feasible allocation is cheaper', () => {
    let solved = 0;
    fc.assert(
      fc.property(
        problem,
        fc.array(fc.array(between(0, 1), { minLength: 8, maxLength: 8 }), {
          minLength: 20,
          maxLength: 20,
        }),
        ({ contributors, chains }, samples) => {
          const result = allocateLeastCost({ contributors, chains });
          if (!result.feasible) {
            // infeasible means: over a limit with every tolerance at its smallest
            const least = (id: string) => contributors.find((one) => one.id === id)?.lower ?? 0;
            expect(chains.some((chain) => usedBy(chain, least) > chain.limit)).toBe(true);
            return;
          }
          solved++;
          const found = new Map(result.tolerances.map(({ id, tolerance }) => [id, tolerance]));
          const at = (id: string): number => found.get(id) ?? Number.NaN;
          for (const chain of chains)
            expect(usedBy(chain, at)).toBeLessThanOrEqual(chain.limit * (1 + 1e-12));
          for (const { id, lower = 0, upper = 0 } of contributors) {
            expect(at(id)).toBeGreaterThanOrEqual(lower);
            expect(at(id)).toBeLessThanOrEqual(upper);
          }
          expect(costAt(contributors, at) / result.cost).toBeCloseTo(1, 12);
          expect(result.certificate.gap).toBeLessThan(1e-10);
          expect(result.certificate.kktResidual).toBeLessThan(1e-10);
          // shrink a random point of the box until it is feasible, or take a step from the optimum
          samples.forEach((sample, index) => {
            const point = new Map(
              contributors.map(({ id, lower = 0, upper = 0 }, i) => {
                const share = sample[i] ?? 0;
                const wild = lower + share * (upper - lower);
                const near = at(id) * (1 + 0.1 * (share - 0.5));
                return [id, Math.min(upper, Math.max(lower, index % 2 === 0 ? wild : near))];
              }),
            );
            const trial = (id: string): number => point.get(id) ?? 0;
            const worst = Math.max(...chains.map((chain) => usedBy(chain, trial) / chain.limit));
            const scaled = (id: string): number => (worst > 1 ? trial(id) / worst : trial(id));
            const inBox = contributors.every(({ id, lower = 0 }) => scaled(id) >= lower);
            if (inBox && contributors.every(({ id }) => scaled(id) > 0))
              expect(costAt(contributors, scaled)).toBeGreaterThanOrEqual(
                result.cost * (1 - 1e-12),
              );
          });
        },
      ),
      { seed, numRuns: 400 },
    );
    expect(solved).toBeGreaterThan(200);
  });

  test('every tolerance is stopped by a tight chain of its own or by its upper bound', () => {
    fc.assert(
      fc.property(problem, ({ contributors, chains }) => {
        const result = allocateLeastCost({ contributors, chains });
        if (!result.feasible) return;
        for (const { id, at } of result.tolerances) {
          const tight = chains.some(
            (chain, index) =>
              result.chains[index]?.tight === true &&
              chain.terms?.some((term) => term.contributor === id && term.sensitivity !== 0),
          );
          expect(at === 'upper' || tight).toBe(true);
        }
      }),
      { seed, numRuns: 300 },
    );
  });

  test('the order of contributors and chains changes no digit', () => {
    fc.assert(
      fc.property(problem, fc.nat(), ({ contributors, chains }, turn) => {
        const straight = allocateLeastCost({ contributors, chains });
        const turned = allocateLeastCost({
          contributors: rotate([...contributors].reverse(), turn),
          chains: chains.map((chain) => ({ ...chain, terms: [...(chain.terms ?? [])].reverse() })),
        });
        if (!straight.feasible || !turned.feasible) {
          expect(turned).toEqual(straight);
          return;
        }
        expect(turned.cost).toBe(straight.cost);
        expect([...turned.tolerances].sort(byId)).toEqual([...straight.tolerances].sort(byId));
        expect(turned.chains).toEqual(straight.chains);
      }),
      { seed, numRuns: 200 },
    );
  });

  test('a tighter limit never lowers the cost, and the multiplier is its price', () => {
    fc.assert(
      fc.property(problem, fc.nat(), between(0.7, 0.999), ({ contributors, chains }, pick, by) => {
        const index = pick % chains.length;
        const wide = allocateLeastCost({ contributors, chains });
        const narrow = allocateLeastCost({
          contributors,
          chains: chains.map((chain, j) =>
            j === index ? { ...chain, limit: chain.limit * by } : chain,
          ),
        });
        if (!narrow.feasible) return;
        if (!wide.feasible) throw new Error('a wider limit cannot be harder');
        expect(narrow.cost).toBeGreaterThanOrEqual(wide.cost * (1 - 1e-12));
        // cost is convex in the limit under worst case, so the tangent lies below
        if ((chains[index]?.rule ?? 'worst-case') === 'worst-case') {
          const limit = chains[index]?.limit ?? 0;
          const tangent = (wide.chains[index]?.savingPerUnit ?? 0) * limit * (1 - by);
          expect(narrow.cost - wide.cost).toBeGreaterThanOrEqual(tangent * (1 - 1e-6) - 1e-9);
        }
      }),
      { seed, numRuns: 300 },
    );
  });

  test('agrees with a fine grid on two contributors and two chains', () => {
    const two = fc.record({
      contributors: fc.tuple(contributor('a'), contributor('b')),
      chains: fc.tuple(chainOf('one', ['a', 'b']), chainOf('two', ['a', 'b'])),
    });
    fc.assert(
      fc.property(two, ({ contributors, chains }) => {
        const result = allocateLeastCost({ contributors, chains });
        if (!result.feasible) return;
        const [a, b] = contributors;
        const steps = 400;
        let best = Number.POSITIVE_INFINITY;
        for (let i = 0; i <= steps; i++) {
          const t = (a.lower ?? 0) + (i / steps) * ((a.upper ?? 0) - (a.lower ?? 0));
          if (t <= 0) continue;
          // for a fixed a, the largest b that every chain allows is the cheapest
          let most = b.upper ?? 0;
          for (const chain of chains) {
            const sensitivity = (id: string): number =>
              Math.abs(chain.terms?.find((term) => term.contributor === id)?.sensitivity ?? 0);
            const limit = chain.limit / (chain.inflation ?? 1);
            const mine = sensitivity('a') * t;
            const left = chain.rule === 'rss' ? Math.sqrt(limit ** 2 - mine ** 2) : limit - mine;
            if (!(left >= 0)) most = -1;
            else if (sensitivity('b') > 0) most = Math.min(most, left / sensitivity('b'));
          }
          if (most < (b.lower ?? 0) || most <= 0) continue;
          best = Math.min(
            best,
            costAt(contributors, (id) => (id === 'a' ? t : most)),
          );
        }
        expect(result.cost).toBeLessThanOrEqual(best * (1 + 1e-12));
        if (Number.isFinite(best)) expect(result.cost).toBeGreaterThan(best * 0.8);
      }),
      { seed, numRuns: 200 },
    );
  });
});

describe('proportional scaling', () => {
  test('no tolerance can grow without one of equal or smaller factor shrinking', () => {
    fc.assert(
      fc.property(problem, ({ contributors, chains }) => {
        const given = contributors.map(({ id, upper = 1 }) => ({ id, tolerance: upper / 2 }));
        const inChains = given.filter(({ id }) =>
          chains.some((chain) =>
            chain.terms?.some((term) => term.contributor === id && term.sensitivity !== 0),
          ),
        );
        const known = new Set(inChains.map(({ id }) => id));
        const kept = chains.map((chain) => ({
          ...chain,
          terms: (chain.terms ?? []).filter((term) => known.has(term.contributor)),
        }));
        if (inChains.length === 0) return;
        const result = allocateProportional({ contributors: inChains, chains: kept });
        if (!result.feasible) throw new Error('scaling to 0 is always possible');
        const found = new Map(result.tolerances.map(({ id, tolerance }) => [id, tolerance]));
        const at = (id: string): number => found.get(id) ?? 0;
        const factorOf = (id: string): number =>
          at(id) / (inChains.find((one) => one.id === id)?.tolerance ?? 1);
        for (const chain of kept)
          expect(usedBy(chain, at)).toBeLessThanOrEqual(chain.limit * (1 + 1e-12));
        for (const { id } of inChains) {
          // some tight chain in which no other link has a larger factor
          const stopped = kept.some((chain, index) => {
            const links = (chain.terms ?? []).filter((term) => term.sensitivity !== 0);
            return (
              result.chains[index]?.tight === true &&
              links.some((term) => term.contributor === id) &&
              links.every((term) => factorOf(term.contributor) <= factorOf(id) * (1 + 1e-9))
            );
          });
          expect(stopped).toBe(true);
        }
      }),
      { seed, numRuns: 300 },
    );
  });
});

const option = (id: string): fc.Arbitrary<ProcessOption> =>
  fc.oneof(
    fc.record({ id: fc.constant(id), cost: between(0, 20), tolerance: between(0.005, 0.15) }),
    fc
      .record({
        fixed: between(0, 10),
        scale: between(0.01, 0.5),
        power: between(0.5, 2),
        lower: between(0.005, 0.05),
        span: between(0.01, 0.2),
      })
      .map(({ fixed, scale, power, lower, span }) => ({
        id,
        cost: { fixed, scale, power },
        lower,
        upper: lower + span,
      })),
  );

const selection = fc
  .record({
    sizes: fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 2, maxLength: 4 }),
    chains: fc.integer({ min: 1, max: 3 }),
  })
  .chain(({ sizes, chains }) => {
    const ids = sizes.map((_size, index) => `link ${index}`);
    return fc.record({
      contributors: fc.tuple(
        ...sizes.map((size, index) =>
          fc
            .tuple(...Array.from({ length: size }, (_v, p) => option(`process ${p}`)))
            .map((processes): ProcessContributor => ({ id: `link ${index}`, processes })),
        ),
      ),
      chains: fc.tuple(
        ...Array.from({ length: chains }, (_v, index) => chainOf(`chain ${index}`, ids)),
      ),
    });
  });

describe('choice of processes', () => {
  test('equals the best of all combinations, and adding a process never costs more', () => {
    let solved = 0;
    fc.assert(
      fc.property(selection, ({ contributors, chains }) => {
        const all = contributors.reduce<ProcessContributor[][]>(
          (before, { id, processes }) =>
            before.flatMap((start) =>
              processes.map((process) => [...start, { id, processes: [process] }]),
            ),
          [[]],
        );
        const costs = all.map((one) => {
          const single = selectProcesses({ contributors: one, chains });
          return single.feasible ? single.cost : Number.POSITIVE_INFINITY;
        });
        const best = Math.min(...costs);
        const result = selectProcesses({ contributors, chains });
        expect(result.feasible).toBe(best < Number.POSITIVE_INFINITY);
        if (!result.feasible) return;
        solved++;
        expect(result.cost / best).toBeCloseTo(1, 10);
        expect(result.status).toBe('optimal');
        expect(result.certificate.gap).toBeLessThan(1e-10);
        expect(result.certificate.lowerBound).toBeLessThanOrEqual(best * (1 + 1e-12));
        // one process less
        const fewer = contributors.map((one, index) =>
          index === 0 && one.processes.length > 1
            ? { ...one, processes: one.processes.slice(1) }
            : one,
        );
        const without = selectProcesses({ contributors: fewer, chains });
        if (without.feasible)
          expect(without.cost).toBeGreaterThanOrEqual(result.cost * (1 - 1e-10));
      }),
      { seed, numRuns: 150 },
    );
    expect(solved).toBeGreaterThan(75);
  });

  test('the order of contributors, processes and chains changes no digit', () => {
    fc.assert(
      fc.property(selection, fc.nat(), ({ contributors, chains }, turn) => {
        const straight = selectProcesses({ contributors, chains });
        const turned = selectProcesses({
          contributors: rotate(
            contributors.map((one) => ({ ...one, processes: [...one.processes].reverse() })),
            turn,
          ),
          chains,
        });
        if (!straight.feasible || !turned.feasible) {
          expect(turned).toEqual(straight);
          return;
        }
        expect(turned.cost).toBe(straight.cost);
        expect([...turned.tolerances].sort(byId)).toEqual([...straight.tolerances].sort(byId));
        expect(turned.certificate).toEqual(straight.certificate);
      }),
      { seed, numRuns: 150 },
    );
  });
});

function rotate<T>(list: readonly T[], by: number): T[] {
  const at = by % list.length;
  return [...list.slice(at), ...list.slice(0, at)];
}

function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : 1;
}
