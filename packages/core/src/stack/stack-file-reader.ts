import type { Loose } from '../job/check-schema.js';
import type { ReadingLog } from '../job/reading-log.js';
import type { PathStep } from '../job/text-position.js';
import { parseSize } from '../limits/parse-size.js';
import type { SizeLimits } from '../limits/types.js';
import type { Place } from '../problems/problem.js';
import type {
  ContributorInFile,
  DistributionInFile,
  StackFile,
  StackFormula,
} from './stack-file.js';
import type { Contributor, Distribution, RequirementLimits, StackInput } from './types.js';

/** Parts of a stack file as a stack; each function logs the problems that it meets. */
export interface StackFileReader {
  /** Without its function. */
  readonly stack: () => StackInput;
  readonly formula: () => StackFormula | undefined;
}

/** Numbers that belong to each kind of distribution. */
const numbersOf: Readonly<
  Record<DistributionInFile['kind'], readonly (keyof DistributionInFile)[]>
> = {
  normal: ['sigma', 'cp', 'cpk'],
  'truncated-normal': ['sigma', 'cp'],
  uniform: [],
  triangular: ['mode'],
  trapezoidal: ['topFraction'],
  arcsine: [],
  beta: ['alpha', 'beta'],
  'semi-elliptical': [],
  'student-t': ['sigma', 'degreesOfFreedom'],
  empirical: ['values'],
};

export function stackFileReader(
  input: Loose<StackFile>,
  placeAt: (path: readonly PathStep[]) => Place,
  log: ReadingLog,
): StackFileReader {
  const unit = input.units ?? 'mm';
  const perUnitUm = unit === 'in' ? 25_400 : 1000;
  const list = input.contributors ?? [];

  const sizeOf = (text: string, path: readonly PathStep[]): SizeLimits | undefined => {
    const reading = parseSize(text, { defaultUnit: unit });
    if (!reading.ok) {
      const message = `${reading.message} (character ${reading.column})`;
      log.problem('bad-size', placeAt(path), message, text, reading.accept);
      return undefined;
    }
    log.findings.push(...reading.findings);
    if (reading.value.form === 'size' && reading.value.size.origin !== 'reference')
      return reading.value.size;
    const message = reading.value.form === 'size' ? 'a reference size' : 'a thread has no one size';
    log.problem('bad-size', placeAt(path), message, text, 'a size: "25 H7", "12 ±0.05"');
    return undefined;
  };

  const both = (path: readonly PathStep[], what: string, id: unknown, accept: string): void =>
    log.problem('inconsistent', placeAt(path), `${what} both given`, id, accept);

  /** Nominal and limits as the contributor gives them; absent when they could not be read. */
  const limitsOf = (
    one: Loose<ContributorInFile>,
    path: readonly PathStep[],
  ): Pick<Contributor, 'nominal' | 'lower' | 'upper' | 'plus' | 'minus'> | undefined => {
    const { size: text, tolerance, plus, minus, lower, upper } = one;
    const limits = present({ plus, minus, lower, upper });
    const hasLimits = Object.keys(limits).length > 0;
    if (text !== undefined) {
      if (one.nominal !== undefined || tolerance !== undefined || hasLimits)
        both(path, 'a size and other limits', one.id, 'size alone, or nominal and limits');
      const size = sizeOf(text, [...path, 'size']);
      if (size === undefined) return undefined;
      const nominal = (size.nominalMm * 1000) / perUnitUm;
      if (size.origin === 'untoleranced') return { nominal };
      if (size.open !== undefined) {
        const accept = 'a size with two limits: "12 ±0.05", "12 0/-0.043"';
        log.problem('bad-size', placeAt([...path, 'size']), 'one limit is open', text, accept);
        return undefined;
      }
      const deviation = (um: number): number => um / perUnitUm + 0;
      return {
        nominal,
        plus: deviation(size.upperDeviationUm),
        minus: deviation(-size.lowerDeviationUm),
      };
    }
    if (tolerance !== undefined && hasLimits)
      both(path, 'a tolerance and other limits', one.id, 'tolerance, or plus and minus, or limits');
    const middle =
      lower === undefined || upper === undefined ? undefined : lower + 0.5 * (upper - lower);
    const nominal = one.nominal ?? middle;
    if (nominal === undefined) {
      const accept = 'size, or nominal, or lower and upper';
      log.problem('missing-field', placeAt(path), 'no nominal', one.id, accept);
      return undefined;
    }
    if (tolerance === undefined) return { nominal, ...limits };
    return { nominal, plus: tolerance, minus: tolerance };
  };

  const distributionOf = (
    written: Loose<DistributionInFile>,
    path: readonly PathStep[],
  ): Distribution | undefined => {
    const { kind, ...numbers } = written;
    if (kind === undefined) return undefined;
    const known = numbersOf[kind];
    for (const field of Object.keys(numbers) as (keyof DistributionInFile)[]) {
      if (written[field] === undefined || known.includes(field)) continue;
      const accept = known.length === 0 ? 'no numbers' : known.join(', ');
      const message = `${field} does not belong to the distribution ${kind}`;
      log.problem('unknown-field', placeAt([...path, field]), message, written[field], accept);
    }
    const values = numbers.values?.flatMap((value) => value ?? []);
    // the numbers are of this kind; missing ones are found with the rest of the contributor
    return { kind, ...present({ ...numbers, values }) } as Distribution;
  };

  const contributorOf = (one: Loose<ContributorInFile>, index: number): Contributor => {
    const path = ['contributors', index];
    const distribution =
      one.distribution && distributionOf(one.distribution, [...path, 'distribution']);
    return {
      id: one.id ?? '',
      ...(limitsOf(one, path) ?? { nominal: Number.NaN }),
      ...present({
        coefficient: one.coefficient,
        distribution,
        meanShift: one.meanShift,
        shiftFactor: one.shiftFactor,
        source: one.source,
      }),
    };
  };

  const requirementOf = (): RequirementLimits | undefined => {
    const { requirement } = input;
    if (requirement === undefined) return undefined;
    const { size: text, lower, upper } = requirement;
    if (text === undefined) return present({ lower, upper });
    const path = ['requirement', 'size'];
    if (lower !== undefined || upper !== undefined)
      both(['requirement'], 'a size and limits', text, 'size, or lower and upper');
    const size = sizeOf(text, path);
    if (size === undefined) return undefined;
    if (size.origin === 'untoleranced' || size.origin === 'theoretical') {
      const accept = 'a size with limits: "0.3 ±0.1", "max 0.5"';
      log.problem('bad-size', placeAt(path), 'the size has no limits', text, accept);
    }
    return {
      ...(size.open === 'below' ? {} : { lower: (size.lowerMm * 1000) / perUnitUm }),
      ...(size.open === 'above' ? {} : { upper: (size.upperMm * 1000) / perUnitUm }),
    };
  };

  const correlationOf = (): number[][] | undefined => {
    if (input.correlations === undefined) return undefined;
    const ids = list.map((one) => one?.id);
    const matrix: number[][] = ids.map((_id, i) => ids.map((_other, j) => (i === j ? 1 : 0)));
    const seen = new Set<string>();
    input.correlations.forEach((pair, index) => {
      if (pair?.a === undefined || pair.b === undefined || pair.value === undefined) return;
      const path = ['correlations', index];
      const [i, j] = (['a', 'b'] as const).map((field) => {
        const at = ids.indexOf(pair[field]);
        if (at < 0)
          log.problem(
            'unknown-id',
            placeAt([...path, field]),
            'no such contributor',
            pair[field],
            ids.slice(0, 12).join(', '),
          );
        return at;
      });
      if (i === undefined || j === undefined || i < 0 || j < 0) return;
      const key = `${Math.min(i, j)} ${Math.max(i, j)}`;
      if (i === j || seen.has(key)) {
        const message = i === j ? 'a contributor with itself' : 'this pair is given twice';
        log.problem('inconsistent', placeAt(path), message, `${pair.a}, ${pair.b}`, 'another pair');
      }
      seen.add(key);
      for (const [row, column] of [
        [i, j],
        [j, i],
      ] as const) {
        const cells = matrix[row];
        if (cells !== undefined && row !== column) cells[column] = pair.value;
      }
    });
    return matrix;
  };

  return {
    stack: () => {
      const resultUnit = input.resultUnit ?? unit;
      return {
        unit: resultUnit,
        contributors: list.map((one, index) => contributorOf(one ?? {}, index)),
        ...present({
          name: input.name,
          requirement: requirementOf(),
          correlation: correlationOf(),
          constant: input.constant,
          coverage: input.coverage,
          quantiles: input.quantiles?.flatMap((value) => value ?? []),
        }),
      };
    },
    formula: () => {
      const { function: text, loop } = input;
      if (text !== undefined && loop !== undefined)
        both(['loop'], 'a function and a loop', text, 'one of the two');
      if (text === undefined && loop === undefined) return undefined;
      const unused = list.filter((one) => one?.coefficient !== undefined).length;
      if (unused > 0 || input.constant !== undefined)
        log.findings.push({
          id: 'coefficients-unused',
          severity: 'warning',
          message: 'the stack has a function: coefficients and the constant are not used',
          about: 'function',
        });
      if (text !== undefined) return { kind: 'expression', text };
      // sound as a whole, or a problem has been logged and nobody asks for it
      return { kind: 'loop', loop: loop as Extract<StackFormula, { kind: 'loop' }>['loop'] };
    },
  };
}

type Present<T> = { readonly [Key in keyof T]?: Exclude<T[Key], undefined> };

/** Leaves out what is undefined, as optional fields want it. */
function present<T extends object>(fields: T): Present<T> {
  return Object.fromEntries(
    Object.entries(fields).filter(([, value]) => value !== undefined),
  ) as Present<T>;
}
