import { normalCdf, normalQuantile } from '../numeric/normal.js';
import { streamKey } from '../numeric/random.js';
import { brentRoot } from '../numeric/roots.js';
import { fillSobol, sobolDimension } from '../numeric/sobol.js';

/** A normal error with its name. */
export interface CleanUpTerm {
  readonly name: string;
  readonly meanMm: number;
  readonly sigmaMm: number;
}

/** What decides whether a cut takes all of the old skin off. */
export interface CleanUpInput {
  /** 1 for a face, 2 for a diameter or width that is cut on both sides. */
  readonly sides: 1 | 2;
  /**
   * Errors of the size before the cut and of the size that the cut makes, mm of size; + is more
   * material to cut: print error, growth in heat, tolerance of the cut.
   */
  readonly size: readonly CleanUpTerm[];
  /** Displacement of the blank against the cut, mm: datum, set-up, place of the feature. */
  readonly shift: readonly CleanUpTerm[];
  /** Depth of the deepest hollow of a side below its mean plane, mm, never less than 0: form, curl. */
  readonly form: readonly CleanUpTerm[];
  /** Roughness and defect layer that must come off, mm; evenly spread between the two. */
  readonly skinLowMm: number;
  readonly skinHighMm: number;
}

export interface CleanUpOptions {
  readonly seed: number;
  /** Blanks drawn, 100 to 1,000,000; 16384 when absent. */
  readonly blanks?: number;
}

export interface ProbableStock {
  /** Mean stock per side, mm. */
  readonly stockMm: number;
  /** Probability that it cleans up, at that stock. */
  readonly probability: number;
}

const usualBlanks = 8192;

/**
 * Probability that a blank with this mean stock per side cleans up on every side: seeded Monte Carlo
 * (scrambled Sobol points) over the displacement, form and skin of each blank; the errors of size,
 * which all sides share, are integrated exactly.
 *
 * @param stockMm mean stock per side, mm
 * @throws RangeError for a spread below 0 or a count of blanks outside its range
 * @example
 * cleanUpProbability({ sides: 1, size: [{ name: 'print', meanMm: 0, sigmaMm: 0.1 }], shift: [], form: [], skinLowMm: 0, skinHighMm: 0 }, 0.1, { seed: 1 }) // -> ~0.8413447
 */
export function cleanUpProbability(
  input: CleanUpInput,
  stockMm: number,
  options: CleanUpOptions,
): number {
  return probabilityAt(drawNeeds(input, options), stockMm);
}

/**
 * The least mean stock per side that cleans up with the wanted probability.
 *
 * @param target wanted probability, 0.5 to 0.999999
 * @throws RangeError for a target outside its range, a spread below 0 or a bad count of blanks
 * @example
 * stockForProbability({ sides: 1, size: [{ name: 'print', meanMm: 0, sigmaMm: 0.1 }], shift: [], form: [], skinLowMm: 0.2, skinHighMm: 0.2 }, 0.9987, { seed: 1 }).stockMm // -> ~0.5011
 */
export function stockForProbability(
  input: CleanUpInput,
  target: number,
  options: CleanUpOptions,
): ProbableStock {
  if (!(target >= 0.5 && target <= 0.999999))
    throw new RangeError(`target ${target}: from 0.5 to 0.999999`);
  const needs = drawNeeds(input, options);
  const reach = 8 * needs.sigmaMm;
  const least = Math.max(0, needs.smallestMm - reach);
  const most = Math.max(0, needs.largestMm + reach);
  const lacking = (stockMm: number): number => probabilityAt(needs, stockMm) - target;
  const stockMm =
    lacking(least) >= 0
      ? least
      : needs.sigmaMm === 0
        ? orderStatistic(needs, target)
        : brentRoot(lacking, least, most, 1e-9);
  return { stockMm, probability: probabilityAt(needs, stockMm) };
}

/** Stock that each drawn blank needs on its worst side, before the errors of size. */
interface Needs {
  /** Rising. */
  readonly perBlankMm: Float64Array;
  readonly sigmaMm: number;
  readonly smallestMm: number;
  readonly largestMm: number;
}

function drawNeeds(input: CleanUpInput, options: CleanUpOptions): Needs {
  const blanks = options.blanks ?? usualBlanks;
  if (!Number.isInteger(blanks) || blanks < 100 || blanks > 1_000_000)
    throw new RangeError(`blanks ${blanks}: a whole number from 100 to 1,000,000`);
  for (const term of [...input.size, ...input.shift, ...input.form])
    if (!(term.sigmaMm >= 0))
      throw new RangeError(`${term.name}: spread ${term.sigmaMm}, 0 or more`);
  const { sides, skinLowMm, skinHighMm } = input;
  const size = sumOf(input.size);
  const shift = sumOf(input.shift);
  const form = sumOf(input.form);
  const draws = draw(1 + 2 * sides, blanks, options.seed);
  const at = (dimension: number, blank: number): number => draws[dimension]?.[blank] ?? 0.5;
  const perBlankMm = new Float64Array(blanks);
  for (let blank = 0; blank < blanks; blank++) {
    const displaced = shift.meanMm + shift.sigmaMm * normalQuantile(at(0, blank));
    let worst = Number.NEGATIVE_INFINITY;
    for (let side = 0; side < sides; side++) {
      const deviate = normalQuantile(at(1 + side, blank));
      const hollow = Math.max(0, form.meanMm + form.sigmaMm * deviate);
      const skin = skinLowMm + (skinHighMm - skinLowMm) * at(1 + sides + side, blank);
      worst = Math.max(worst, hollow + skin + (side === 0 ? displaced : -displaced));
    }
    perBlankMm[blank] = worst - size.meanMm / sides;
  }
  perBlankMm.sort();
  return {
    perBlankMm,
    sigmaMm: size.sigmaMm / sides,
    smallestMm: perBlankMm[0] ?? 0,
    largestMm: perBlankMm[blanks - 1] ?? 0,
  };
}

/** Points inside 0 to 1, one array a dimension. */
function draw(dimensions: number, count: number, seed: number): readonly Float64Array[] {
  const words = new Int32Array(count);
  return Array.from({ length: dimensions }, (_, dimension) => {
    const points = new Float64Array(count);
    fillSobol(sobolDimension(dimension), words, points, 0, streamKey([seed, dimension])[0] ?? 0);
    return points;
  });
}

/** Means add, spreads add in quadrature. */
function sumOf(terms: readonly CleanUpTerm[]): {
  readonly meanMm: number;
  readonly sigmaMm: number;
} {
  return {
    meanMm: terms.reduce((sum, term) => sum + term.meanMm, 0),
    sigmaMm: Math.hypot(...terms.map((term) => term.sigmaMm)),
  };
}

function probabilityAt(needs: Needs, stockMm: number): number {
  const { perBlankMm, sigmaMm } = needs;
  let sum = 0;
  for (const need of perBlankMm)
    sum += sigmaMm === 0 ? Number(need <= stockMm) : normalCdf((stockMm - need) / sigmaMm);
  return sum / perBlankMm.length;
}

/** The smallest need that so many of the blanks do not pass. */
function orderStatistic({ perBlankMm }: Needs, target: number): number {
  const index = Math.min(perBlankMm.length - 1, Math.ceil(target * perBlankMm.length) - 1);
  return Math.max(0, perBlankMm[index] ?? 0);
}
