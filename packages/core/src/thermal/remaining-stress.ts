import type { Catalog } from '../catalog/catalog.js';
import type { ReliefRow } from '../catalog/generated/relief.js';
import type { ReliefLawsRow } from '../catalog/generated/relief-laws.js';
import type { Confidence } from '../problems/finding.js';
import { equivalentMinutes, type ReliefLaw, reliefParameter, shareLeft } from './relief-laws.js';

/** A hold, and the heating curve round it when that is known. */
export interface ReliefCycle {
  readonly temperatureC: number;
  readonly minutes: number;
  /** Minutes from the start against temperature in C; counts in full when the alloy has a law. */
  readonly curve?: readonly (readonly [minutes: number, celsius: number])[];
}

/** Share of the stress that is left, as a range; 1 is all of it. */
export interface RemainingStress {
  readonly known: true;
  readonly low: number;
  readonly typical: number;
  readonly high: number;
  readonly method: 'relaxation law' | 'measured cycles' | 'planning range';
  readonly note: string;
  readonly source: string;
  readonly confidence: Confidence;
}

/** There is neither a law nor a measured or usual cycle to go by. */
export interface UnknownStress {
  readonly known: false;
  readonly reason: string;
}

/**
 * How much of the residual stress a cycle leaves: by the alloy's relaxation law when it has one,
 * else between measured cycles of the alloy, else the planning range of the strongest usual cycle
 * that this one equals in temperature and time. Hotter or longer never leaves more.
 *
 * @returns shares of the stress before, or why no figure is given
 * @example
 * remainingStress(defaultCatalog(), 's31603', { temperatureC: 650, minutes: 120 }).typical // -> ~0.608
 */
export function remainingStress(
  catalog: Catalog,
  materialId: string,
  cycle: ReliefCycle,
): RemainingStress | UnknownStress {
  const law = catalog.reliefLaws.find((row) => row.material === materialId);
  if (law !== undefined) return byLaw(law, cycle);
  const rows = catalog.relief.filter((row) => row.material === materialId);
  const measured = rows.filter((row) => row.kind === 'measured' && isComplete(row));
  if (measured.length > 0) return betweenMeasured(measured.filter(isComplete), cycle);
  return byUsualCycle(rows.filter((row) => row.kind === 'usual').filter(isComplete), cycle);
}

type CompleteRow = ReliefRow & {
  readonly minutes: number;
  readonly leftLow: number;
  readonly leftTypical: number;
  readonly leftHigh: number;
};

function isComplete(row: ReliefRow): row is CompleteRow {
  return (
    row.minutes !== undefined &&
    row.leftLow !== undefined &&
    row.leftTypical !== undefined &&
    row.leftHigh !== undefined
  );
}

function byLaw(row: ReliefLawsRow, cycle: ReliefCycle): RemainingStress | UnknownStress {
  if (cycle.temperatureC < row.fromC)
    return {
      known: false,
      reason: `no relaxation law below ${row.fromC} °C for this alloy: take it that the stress stays`,
    };
  const law: ReliefLaw = {
    activationKJPerMol: row.activationKjMol,
    exponent: row.exponent,
    lnRatePerHour: row.lnRatePerH,
  };
  const countedC = Math.min(cycle.temperatureC, row.toC);
  const minutes =
    cycle.curve === undefined
      ? cycle.minutes
      : equivalentMinutes(
          law,
          cycle.curve.map(([at, celsius]) => [at, Math.min(celsius, row.toC)]),
          countedC,
        );
  const typical = shareLeft(law, countedC, minutes);
  const band = Math.exp(row.spread);
  return {
    known: true,
    low: typical ** band,
    typical,
    high: typical ** (1 / band),
    method: 'relaxation law',
    note: `band of +-${row.spread} on ln(-ln(share))${
      cycle.temperatureC > row.toC ? `; counted as ${row.toC} °C, where the law ends` : ''
    }`,
    source: row.source,
    confidence: row.confidence,
  };
}

/** A move of more than 50 C from a proven cycle is no longer covered by the parameter. */
const parameterReachC = 50;

function betweenMeasured(
  rows: readonly CompleteRow[],
  cycle: ReliefCycle,
): RemainingStress | UnknownStress {
  const parameter = reliefParameter(cycle.temperatureC, Math.max(cycle.minutes, 1e-6));
  const steps = isotonicSteps(rows);
  const first = steps[0];
  const last = steps[steps.length - 1];
  if (first === undefined || last === undefined || parameter < first.parameter - 1e-9)
    return {
      known: false,
      reason: 'weaker than every measured cycle of this alloy: take it that the stress stays',
    };
  const above = steps.find((step) => step.parameter >= parameter - 1e-9) ?? last;
  const below = steps.findLast((step) => step.parameter <= parameter + 1e-9) ?? first;
  const coldest = Math.min(below.coldestC, above.coldestC) - parameterReachC;
  if (cycle.temperatureC < coldest)
    return {
      known: false,
      reason: `more than ${parameterReachC} °C below the measured cycles that it lies between`,
    };
  const beyond = above.parameter < parameter;
  const weight =
    above.parameter === below.parameter
      ? 0
      : (parameter - below.parameter) / (above.parameter - below.parameter);
  const mix = (a: number, b: number): number => a + (b - a) * Math.min(1, Math.max(0, weight));
  return {
    known: true,
    low: beyond ? 0 : mix(below.low, above.low),
    typical: mix(below.typical, above.typical),
    high: mix(below.high, above.high),
    method: 'measured cycles',
    note: beyond
      ? 'stronger than the strongest measured cycle, which is the upper bound'
      : 'between measured cycles by the time-temperature parameter with constant 20',
    source: [...new Set(rows.map((row) => row.source))].join('; '),
    confidence: rows.every((row) => row.confidence === 'read' || row.confidence === 'given')
      ? 'computed'
      : 'practice',
  };
}

interface MeasuredStep {
  readonly parameter: number;
  readonly coldestC: number;
  readonly low: number;
  readonly typical: number;
  readonly high: number;
}

/** Measured cycles by strength; scatter that would make a stronger one leave more is levelled. */
function isotonicSteps(rows: readonly CompleteRow[]): readonly MeasuredStep[] {
  const byParameter = new Map<number, CompleteRow[]>();
  for (const row of rows) {
    const parameter = reliefParameter(row.temperatureC, row.minutes);
    const same = byParameter.get(parameter);
    if (same === undefined) byParameter.set(parameter, [row]);
    else same.push(row);
  }
  const raw = [...byParameter]
    .sort(([a], [b]) => a - b)
    .map(([parameter, same]) => ({
      parameter,
      coldestC: Math.min(...same.map((row) => row.temperatureC)),
      low: Math.min(...same.map((row) => row.leftLow)),
      typical: same.reduce((sum, row) => sum + row.leftTypical, 0) / same.length,
      high: Math.max(...same.map((row) => row.leftHigh)),
    }));
  // A weaker cycle leaves no less than any stronger one did.
  return raw.map((step, index) => ({
    ...step,
    low: Math.max(...raw.slice(index).map((each) => each.low)),
    typical: Math.max(...raw.slice(index).map((each) => each.typical)),
    high: Math.max(...raw.slice(index).map((each) => each.high)),
  }));
}

function byUsualCycle(
  rows: readonly CompleteRow[],
  cycle: ReliefCycle,
): RemainingStress | UnknownStress {
  const reached = rows.filter(
    (row) => cycle.temperatureC >= row.temperatureC && cycle.minutes >= row.minutes,
  );
  const strongest = [...reached].sort(
    (a, b) => a.leftHigh - b.leftHigh || (a.id < b.id ? -1 : 1),
  )[0];
  if (strongest === undefined)
    return {
      known: false,
      reason:
        rows.length === 0
          ? 'no relaxation law and no cycle of this alloy in the catalogue'
          : `no law for this alloy, and weaker than its usual cycles (from ${rows.map((row) => `${row.temperatureC} °C ${row.minutes} min`).join(', ')}): take it that the stress stays`,
    };
  return {
    known: true,
    low: Math.min(...reached.map((row) => row.leftLow)),
    typical: Math.min(...reached.map((row) => row.leftTypical)),
    high: strongest.leftHigh,
    method: 'planning range',
    note: strongest.finding,
    source: strongest.source,
    confidence: strongest.confidence,
  };
}

/**
 * What several holds leave of the curl together: the least of what each leaves alone, so that a weak
 * hold after a strong one takes no further credit. Holds of which nothing is known are left out.
 *
 * @example
 * remainingAfter(defaultCatalog(), 's31603', [{ temperatureC: 650, minutes: 120 }, { temperatureC: 900, minutes: 60 }]).typical // -> 0.3
 */
export function remainingAfter(
  catalog: Catalog,
  materialId: string,
  cycles: readonly ReliefCycle[],
): RemainingStress | UnknownStress {
  const answers = cycles.map((cycle) => remainingCurl(catalog, materialId, cycle));
  const known = answers.filter((answer): answer is RemainingStress => answer.known);
  const best = [...known].sort((a, b) => a.typical - b.typical)[0];
  if (best !== undefined) return best;
  const refused = answers.find((answer): answer is UnknownStress => !answer.known);
  return refused ?? { known: false, reason: 'no heat before it: all of the stress is there' };
}

/**
 * Share of the curl at cut-off that is left: never taken as less than the planning range of the
 * alloy at that temperature, because published cycles on the plate that took more than 90 % of the
 * surface stress left a third or more of the distortion.
 *
 * @example
 * remainingCurl(defaultCatalog(), 's31603', { temperatureC: 900, minutes: 60 }).typical // -> 0.3
 */
export function remainingCurl(
  catalog: Catalog,
  materialId: string,
  cycle: ReliefCycle,
): RemainingStress | UnknownStress {
  const stress = remainingStress(catalog, materialId, cycle);
  if (!stress.known || stress.method === 'planning range') return stress;
  const usual = catalog.relief
    .filter((row) => row.material === materialId && row.kind === 'usual')
    .filter(isComplete)
    .sort((a, b) => a.temperatureC - b.temperatureC);
  const range = usual.findLast((row) => row.temperatureC <= cycle.temperatureC) ?? usual[0];
  if (range === undefined || (range.leftTypical <= stress.typical && range.leftHigh <= stress.high))
    return stress;
  return {
    ...stress,
    typical: Math.max(stress.typical, range.leftTypical),
    high: Math.max(stress.high, range.leftHigh),
    note: `${stress.note}; curl not taken below the planning range (${range.leftTypical} left, up to ${range.leftHigh})`,
    source: `${stress.source}; ${range.source}`,
    confidence: range.confidence,
  };
}
