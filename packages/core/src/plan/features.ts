import { totalOf } from '../cost/charges.js';
import { perPart } from '../cost/money.js';
import { datumFeature, type FeatureRequirement } from '../job/requirements.js';
import { equivalentGrade } from '../limits/grades.js';
import { normalBetween } from '../numeric/normal.js';
import type { Chain } from '../route/chain.js';
import { probabilityInZone, relationOf, zoneSpread } from '../route/location.js';
import type { SolvedJob } from './solve-job.js';
import type { Operation, PlannedFeature, Requirement, RequirementStack } from './types.js';

/** Each feature with its chain, stock, printed size and what is to be expected. */
export function plannedFeatures(
  solved: SolvedJob,
  operations: readonly Operation[],
  stacks: readonly RequirementStack[],
): readonly PlannedFeature[] {
  return solved.chosen.chains.map((chain): PlannedFeature => {
    const { feature } = chain;
    const inLimits = stacks
      .filter((stack) => stack.feature === feature.id)
      .reduce((product, stack) => product * stack.inLimits, 1);
    return {
      id: feature.id,
      ...(feature.name === undefined ? {} : { name: feature.name }),
      kind: feature.kind,
      count: feature.count,
      ...(feature.datum === undefined ? {} : { datum: feature.datum }),
      requirements: chain.requirements.map((requirement) => requirementOf(requirement, feature.id)),
      chain: chain.steps.map((step) => ({
        operation: operations.find((operation) => operation.setup === step.setUp.id)?.seq ?? 0,
        process: step.process.id,
        title: step.process.row.name,
      })),
      stockPerSideMm: chain.stockPerSideMm,
      printedSizeMm: chain.printedSizeMm ?? null,
      printedSolid: chain.printedSolid,
      ...printedNote(chain),
      predicted: {
        ...(chain.demand.predictedGrade === undefined
          ? {}
          : { grade: chain.demand.predictedGrade }),
        raUm: chain.demand.predictedRaUm,
        inLimits,
      },
      costPerPart: perPart(totalOf(chain.cost.charges), solved.context.quantity),
    };
  });
}

function printedNote(chain: Chain): { printedNote?: string } {
  if (chain.printedSolid)
    return {
      printedNote: chain.feature.kind === 'slot' ? 'print closed, mill' : 'print solid, drill',
    };
  if (chain.steps.length === 0) return { printedNote: 'left as printed' };
  if (chain.printedSizeMm === undefined) return { printedNote: 'add the stock on the face' };
  return {};
}

export function requirementOf(requirement: FeatureRequirement, feature: string): Requirement {
  return {
    id: requirement.id,
    feature,
    kind: requirement.kind,
    text: requirement.text,
    source: requirement.source,
    ...(requirement.kind === 'size' && requirement.nominalMm > 0 && requirement.nominalMm <= 3150
      ? {
          equivalentGrade: equivalentGrade(
            requirement.nominalMm,
            (requirement.upperMm - requirement.lowerMm) * 1000,
          ),
        }
      : {}),
  };
}

/** How each size and located requirement adds up over the planned operations. */
export function requirementStacks(
  solved: SolvedJob,
  operations: readonly Operation[],
): readonly RequirementStack[] {
  return solved.chosen.chains.flatMap((chain) =>
    chain.requirements.flatMap((requirement): RequirementStack[] => {
      if (requirement.kind === 'size') return [sizeStack(chain, requirement, operations)];
      if (requirement.kind === 'geometric' && requirement.tolerance.datums.length > 0)
        return locationStacks(chain, requirement, solved, operations);
      return [];
    }),
  );
}

type Contributor = RequirementStack['contributors'][number];

function stackOf(
  base: Pick<RequirementStack, 'requirement' | 'feature' | 'lower' | 'upper' | 'mean'>,
  contributors: readonly Omit<Contributor, 'sharePercent'>[],
  inLimits: number,
): RequirementStack {
  const variance = contributors.reduce((sum, entry) => sum + entry.sigma ** 2, 0);
  const reach = contributors.reduce((sum, entry) => sum + 3 * entry.sigma, 0);
  return {
    ...base,
    unit: 'mm',
    sigma: Math.sqrt(variance),
    worstLower: base.mean - reach,
    worstUpper: base.mean + reach,
    inLimits,
    contributors: contributors.map((entry) => ({
      ...entry,
      sharePercent: variance > 0 ? (100 * entry.sigma ** 2) / variance : 0,
    })),
  };
}

function sizeStack(
  chain: Chain,
  requirement: Extract<FeatureRequirement, { kind: 'size' }>,
  operations: readonly Operation[],
): RequirementStack {
  const maker = chain.steps.findLast((step) => step.toleranceMm > 0);
  const operation = operations.find((entry) => entry.setup === maker?.setUp.id)?.seq;
  const own =
    maker === undefined
      ? {
          name: 'printing',
          mean: 0,
          sigma: chain.start.sizeSigmaMm,
          source: chain.start.source,
          confidence: chain.start.confidence,
        }
      : {
          name: maker.process.row.name,
          ...(operation === undefined ? {} : { operation }),
          mean: 0,
          sigma: maker.toleranceMm / 6,
          source: maker.process.row.itSource ?? 'process catalogue',
          confidence: maker.process.row.itConfidence ?? 'practice',
        };
  const mean = (requirement.lowerMm + requirement.upperMm) / 2;
  const sigma = Math.hypot(own.sigma, ...chain.demand.spread.map((term) => term.sigmaMm));
  return stackOf(
    {
      requirement: requirement.id,
      feature: chain.feature.id,
      lower: requirement.lowerMm,
      upper: requirement.upperMm,
      mean,
    },
    [
      own,
      ...chain.demand.spread.map((term) => ({
        name: term.name,
        mean: 0,
        sigma: term.sigmaMm,
        source: term.source,
        confidence: term.confidence,
      })),
    ],
    normalBetween((requirement.lowerMm - mean) / sigma, (requirement.upperMm - mean) / sigma),
  );
}

function locationStacks(
  chain: Chain,
  requirement: Extract<FeatureRequirement, { kind: 'geometric' }>,
  solved: SolvedJob,
  operations: readonly Operation[],
): RequirementStack[] {
  const { tolerance } = requirement;
  const bases = tolerance.datums.flatMap(({ letter }) => {
    const datum = datumFeature(solved.context.job, letter);
    const base = solved.chosen.chains.find((entry) => entry.feature.id === datum?.id);
    return base === undefined || base.feature.id === chain.feature.id ? [] : [{ letter, base }];
  });
  const worst = bases
    .map((entry) => ({
      ...entry,
      inLimits: probabilityInZone(tolerance, chain.locating, entry.base.locating),
    }))
    .sort((a, b) => a.inLimits - b.inLimits)[0];
  if (worst === undefined) return [];
  const operation = operations.find((entry) => entry.setup === chain.locating.setUp?.id)?.seq;
  const relation = relationOf(chain.locating, worst.base.locating);
  const spread = zoneSpread(tolerance, chain.locating, worst.base.locating);
  const maker = chain.locating.process?.row.name.toLowerCase() ?? 'printing';
  const at = operation === undefined ? {} : { operation };
  return [
    stackOf(
      {
        requirement: requirement.id,
        feature: chain.feature.id,
        lower: 0,
        upper: tolerance.valueMm,
        mean: 0,
      },
      [
        ...(spread.placeMm > 0
          ? [
              {
                name: `place against datum ${worst.letter}, ${relation}`,
                ...at,
                mean: 0,
                sigma: spread.placeMm,
                source: chain.locating.setUp?.centre.source ?? chain.start.source,
                confidence:
                  chain.locating.setUp === undefined
                    ? chain.start.confidence
                    : ('practice' as const),
              },
            ]
          : []),
        ...(spread.formMm > 0
          ? [
              {
                name: `form left by ${maker}`,
                ...at,
                mean: 0,
                sigma: spread.formMm,
                source: chain.locating.process?.needs.source ?? chain.start.source,
                confidence: 'practice' as const,
              },
            ]
          : []),
      ],
      worst.inLimits,
    ),
  ];
}
