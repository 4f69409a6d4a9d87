import { InputError, type Problem, type ProblemCode } from '../problems/problem.js';
import type { AllocationChain, CostedContributor, FixedContributor } from './allocation-types.js';

/** Range of tolerances, limits and cost scales. */
const smallest = 1e-12;
const largest = 1e12;

/** Collects the problems of one input; `finish` throws them all at once. */
export interface Checker {
  readonly problems: readonly Problem[];
  readonly add: (
    code: ProblemCode,
    path: string,
    message: string,
    value?: unknown,
    accept?: string,
  ) => void;
  /** A positive number of a size that can be reckoned with; 0 and infinity only where allowed. */
  readonly number: (
    value: unknown,
    path: string,
    rule?: {
      readonly zero?: boolean;
      readonly infinite?: boolean;
      readonly least?: number;
      readonly most?: number;
    },
  ) => void;
  readonly finish: () => void;
}

export function startCheck(): Checker {
  const problems: Problem[] = [];
  const add: Checker['add'] = (code, path, message, value, accept) => {
    problems.push({
      code,
      place: { path },
      message,
      ...(value === undefined ? {} : { value: String(value) }),
      ...(accept === undefined ? {} : { accept }),
    });
  };
  return {
    problems,
    add,
    number: (value, path, rule = {}) => {
      const { least = smallest, most = largest } = rule;
      const from = rule.zero === true ? '0 or ' : '';
      const to = rule.infinite === true ? ' or infinity' : '';
      const accept = `${from}a number from ${least} to ${most}${to}`;
      if (typeof value !== 'number' || Number.isNaN(value)) {
        add('wrong-type', path, 'not a number', value, accept);
        return;
      }
      if (value >= least && value <= most) return;
      if (value === 0 && rule.zero === true) return;
      if (value === Number.POSITIVE_INFINITY && rule.infinite === true) return;
      add('out-of-range', path, 'number out of range', value, accept);
    },
    finish: () => {
      if (problems.length > 0) throw new InputError(problems);
    },
  };
}

export function checkIds(
  check: Checker,
  list: readonly { readonly id: string }[],
  path: string,
): void {
  if (list.length === 0)
    check.add('missing-field', path, 'the list is empty', undefined, 'at least one entry');
  const seen = new Map<string, number>();
  list.forEach(({ id }, index) => {
    const first = seen.get(id);
    if (first !== undefined)
      check.add('duplicate-id', `${path}[${index}].id`, `same id as ${path}[${first}]`, id);
    else seen.set(id, index);
  });
}

export function checkChains(
  check: Checker,
  chains: readonly AllocationChain[],
  contributors: readonly { readonly id: string }[],
): void {
  checkIds(check, chains, 'chains');
  const known = new Set(contributors.map(({ id }) => id));
  chains.forEach((chain, index) => {
    const path = `chains[${index}]`;
    check.number(chain.limit, `${path}.limit`);
    if (chain.inflation !== undefined) check.number(chain.inflation, `${path}.inflation`);
    if (chain.rule !== undefined && chain.rule !== 'worst-case' && chain.rule !== 'rss')
      check.add('not-one-of', `${path}.rule`, 'unknown rule', chain.rule, 'worst-case, rss');
    const seen = new Set<string>();
    chain.terms?.forEach(({ contributor, sensitivity }, at) => {
      const place = `${path}.terms[${at}]`;
      if (!known.has(contributor))
        check.add('unknown-id', `${place}.contributor`, 'no such contributor', contributor);
      if (seen.has(contributor))
        check.add('duplicate-id', `${place}.contributor`, 'twice in one chain', contributor);
      seen.add(contributor);
      if (sensitivity !== undefined) {
        const size = Math.abs(sensitivity);
        check.number(size, `${place}.sensitivity`, { zero: true, least: 1e-9, most: 1e9 });
      }
    });
  });
}

export function checkBounds(
  check: Checker,
  bounds: { readonly lower?: number | undefined; readonly upper?: number | undefined },
  path: string,
): void {
  const { lower, upper } = bounds;
  if (lower !== undefined) check.number(lower, `${path}.lower`, { zero: true });
  if (upper !== undefined) check.number(upper, `${path}.upper`, { infinite: true });
  if (lower !== undefined && upper !== undefined && lower > upper)
    check.add('inconsistent', path, 'lower bound above upper bound', `${lower} > ${upper}`);
}

/** A fixed tolerance, or a cost curve with bounds. */
export function checkCosted(
  check: Checker,
  one: CostedContributor | FixedContributor,
  path: string,
): void {
  if ('tolerance' in one) {
    check.number(one.tolerance, `${path}.tolerance`);
    return;
  }
  const { fixed, scale, power } = one.cost;
  if (fixed !== undefined && !Number.isFinite(fixed))
    check.add('out-of-range', `${path}.cost.fixed`, 'not finite', fixed, 'a number');
  check.number(scale, `${path}.cost.scale`);
  check.number(power, `${path}.cost.power`, { least: 0.01, most: 20 });
  checkBounds(check, one, path);
}

/** A free tolerance needs a chain or an upper bound, or it would grow without end. */
export function checkLimited(
  check: Checker,
  chains: readonly AllocationChain[],
  contributors: readonly {
    readonly id: string;
    readonly free: boolean;
    readonly upper?: number | undefined;
  }[],
): void {
  if (chains.some(({ terms }) => terms === undefined)) return;
  const limited = new Set(
    chains.flatMap(({ terms }) =>
      (terms ?? []).filter((term) => term.sensitivity !== 0).map((term) => term.contributor),
    ),
  );
  contributors.forEach(({ id, free, upper }, index) => {
    if (free && !Number.isFinite(upper ?? Number.POSITIVE_INFINITY) && !limited.has(id))
      check.add(
        'inconsistent',
        `contributors[${index}]`,
        'in no chain and without an upper bound, so nothing limits its tolerance',
        id,
        'a chain that names it, or an upper bound',
      );
  });
}
