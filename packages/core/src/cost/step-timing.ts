import type { PlanningContext, Process } from '../job/planning-context.js';
import type { Confidence } from '../problems/finding.js';
import {
  type CostInput,
  type CostReckoning,
  defaultInput,
  givenInput,
  reckonedInput,
} from './inputs.js';
import { learningOf } from './learning.js';
import {
  coverMinutes,
  coverRateId,
  removedMm3,
  stepMinutes,
  type WorkAmount,
} from './process-time.js';

/** Run time of one step for the whole lot, minutes, with how it came about. */
export interface Timing {
  readonly minutes: number;
  readonly from: CostReckoning;
}

/** Where a time factor comes from. */
export interface FactorSource {
  readonly source: string;
  readonly confidence: Confidence;
}

const finer: FactorSource = {
  source: 'finer than the process gives at no extra cost, or cut after the age',
  confidence: 'practice',
};

/** The same minutes as `stepMinutes`, with formula and inputs. */
export function stepTiming(
  process: Process,
  context: PlanningContext,
  amount: WorkAmount,
  factor: number,
  factorSource: FactorSource = finer,
): Timing {
  const { timeBasis } = process.needs;
  const minutes = stepMinutes(process, context, amount, factor);
  const times: CostInput[] =
    factor === 1 ? [] : [{ name: 'time factor', value: factor, unit: '1', ...factorSource }];
  const named = (inputs: readonly CostInput[]): string =>
    inputs.map(({ name }) => name).join(' x ');
  if (timeBasis === 'batch') {
    const inBatch = process.needs.batchParts ?? 1;
    const batches = reckonedInput('batches', Math.ceil(context.quantity / inBatch), '1', {
      formula: 'parts / parts in a batch, rounded up',
      inputs: [partsOf(context), needInput(process, 'parts in a batch', inBatch, 'parts')],
    });
    const inputs = [batches, ...times, rateOf(process, 'time of a batch', context)];
    return { minutes, from: { formula: named(inputs), inputs } };
  }
  const learning = learningOf(process.id, context);
  const pieces: CostInput[] = [
    partsOf(context),
    ...(timeBasis === 'part' || amount.count === 1
      ? []
      : [givenInput('alike on a part', amount.count, '1')]),
    ...(learning === 1
      ? []
      : [reckonedInput('learning', learning, '1', learningReckoning(context))]),
  ];
  const handled = timeBasis !== 'part' && timeBasis !== 'depth';
  const handling = handled ? [defaultInput('handling-per-step', 'handling', context)] : [];
  const { formula, inputs } = eachOf(process, context, amount);
  const one = [...times.map(({ name }) => name), formula].join(' x ');
  return {
    minutes,
    from: {
      formula: `${named(pieces)} x ${handled ? `(handling + ${one})` : one}`,
      inputs: [...pieces, ...handling, ...times, ...inputs],
    },
  };
}

/** Time of one piece at a time factor of 1. */
function eachOf(process: Process, context: PlanningContext, amount: WorkAmount): CostReckoning {
  const area = (unit: 'mm2' | 'cm2'): CostInput =>
    givenInput('area', amount.areaMm2 / (unit === 'cm2' ? 100 : 1), unit);
  const stock = (unit: 'mm' | 'um'): CostInput => ({
    name: 'stock',
    value: amount.stockMm * (unit === 'um' ? 1000 : 1),
    unit,
    source: 'stock of the plan, nominal per side',
    confidence: 'computed',
  });
  const rate = rateOf(process, 'rate', context);
  switch (process.needs.timeBasis) {
    case 'volume': {
      const volume = removedMm3(amount);
      if (coverMinutes(process, context, amount) > volume / 1000 / process.rate) {
        const cover = defaultInput(coverRateId(process), 'rate over a curved face', context);
        return { formula: `area / ${cover.name}`, inputs: [area('cm2'), cover] };
      }
      const removed = reckonedInput('volume', volume / 1000, 'cm3', {
        ...(amount.solidVolumeMm3 > 0
          ? { formula: 'area x depth of the hole, from solid', inputs: [] }
          : { formula: 'area x stock', inputs: [area('mm2'), stock('mm')] }),
      });
      return { formula: 'volume / rate', inputs: [removed, rate] };
    }
    case 'area':
      return { formula: 'area / rate', inputs: [area('cm2'), rate] };
    case 'cut-area':
      return { formula: 'area / rate', inputs: [area('mm2'), rate] };
    case 'depth':
      return { formula: 'stock / rate', inputs: [stock('um'), rate] };
    default: {
      const time = rateOf(process, 'time each', context);
      return { formula: time.name, inputs: [time] };
    }
  }
}

function partsOf({ quantity }: PlanningContext): CostInput {
  return givenInput('parts', quantity, 'parts');
}

function needInput({ id, needs }: Process, name: string, value: number, unit: string): CostInput {
  const { source, confidence } = needs;
  return { name, value, unit, source: `process ${id}: ${source}`, confidence };
}

/** The rate of a process: the alloy family's own, else the general one. */
function rateOf(process: Process, name: string, context: PlanningContext): CostInput {
  const { id, needs, rate } = process;
  const { family } = context.material;
  const own = context.catalog.removalRates.find(
    (entry) => entry.process === id && entry.family === family,
  );
  const [low, high] = [own?.rateLow ?? needs.rateLow, own?.rateHigh ?? needs.rateHigh];
  const range = low === high ? '' : `, middle of ${low} to ${high}`;
  return {
    name,
    value: rate,
    unit: needs.rateUnit.replace(/^min\/.*/, 'min'),
    source: `process ${id}${own === undefined ? '' : `, ${family}`}${range}: ${own?.source ?? needs.rateSource}`,
    confidence: own?.confidence ?? needs.rateConfidence,
  };
}

function learningReckoning(context: PlanningContext): CostReckoning {
  return {
    formula: 'parts ^ log2(learning rate), cumulative average of Wright 1936',
    inputs: [
      partsOf(context),
      givenInput('learning rate', context.job.policy.learning?.percent ?? 100, '%'),
    ],
  };
}
