import { totalOf } from '../cost/charges.js';
import { perPart } from '../cost/money.js';
import type { FeatureRequirement } from '../job/requirements.js';
import { equivalentGrade } from '../limits/grades.js';
import type { Chain } from '../route/chain.js';
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
