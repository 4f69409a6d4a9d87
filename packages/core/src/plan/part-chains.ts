import { compileExpression } from '../expression/compile.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { PartChain } from '../job/types.js';
import type { Chain } from '../route/chain.js';
import { chainSummary } from '../stack/chain-summary.js';
import {
  applyTree,
  constantTree,
  type FunctionTree,
  linearTree,
  substituteTree,
  treeVariables,
  variableTree,
} from '../stack/function-tree.js';
import { stackUp } from '../stack/stack-up.js';
import { treeFunction } from '../stack/tree-function.js';
import { linearFunction } from '../stack/tree-linear.js';
import type { Contributor } from '../stack/types.js';
import { operationOf } from './requirement-stacks.js';
import type { SolvedJob } from './solve-job.js';
import { heatRate, type PlanOfStack, type StackLink, sizeLinks } from './stack-links.js';
import type { Operation, RequirementStack } from './types.js';

/**
 * The dimension chains of the job on the planned route: every size enters with what its own chain of
 * operations does to it. Heat changes all sizes of a part at one rate, so each treatment is one
 * contributor; everything else is taken as independent. Chains that fall short are a finding.
 */
export function partChainStacks(
  { chosen, context }: SolvedJob,
  operations: readonly Operation[],
): readonly RequirementStack[] {
  const { plan, chains } = chosen;
  if (plan === undefined) return [];
  return context.job.chains.flatMap((chain): readonly RequirementStack[] => {
    const tree = treeOf(chain, context);
    const made = tree === undefined ? undefined : spread(tree, chains, plan, context);
    return made === undefined ? [] : [stackOf(chain, made, operations, context)];
  });
}

/** The chain as a function of feature ids; an expression that cannot be read is a finding. */
function treeOf(
  { id, terms, expression }: PartChain,
  context: PlanningContext,
): FunctionTree | undefined {
  if (expression === undefined)
    return linearTree(
      terms.map(({ feature, sign }) => ({ name: feature, coefficient: sign })),
      0,
    );
  const compiled = compileExpression(expression);
  if (compiled.ok) return compiled.tree;
  for (const { message, place, value } of compiled.problems)
    context.find({
      id: 'chain-unreadable',
      severity: 'warning',
      message: `the expression of chain ${id} cannot be read: column ${place.column ?? 1}: ${message}${value === undefined ? '' : ` (${value})`}`,
      about: id,
    });
  return undefined;
}

/** The function of the links in place of that of the sizes. */
interface Spread {
  readonly tree: FunctionTree;
  readonly links: readonly StackLink[];
  readonly features: readonly string[];
}

function spread(
  tree: FunctionTree,
  chains: readonly Chain[],
  plan: PlanOfStack,
  context: PlanningContext,
): Spread | undefined {
  const links = new Map<string, StackLink>();
  const sizes = new Map<string, FunctionTree>();
  const features = treeVariables(tree);
  for (const feature of features) {
    const chain = chains.find((entry) => entry.feature.id === feature);
    if (chain === undefined) return undefined;
    const parts = sizeLinks(chain, plan, context).map((link): FunctionTree => {
      const { contributor, heat } = link;
      const id = heat === undefined ? `${feature}: ${contributor.id}` : contributor.id;
      const { coefficient = 1, ...own } = contributor;
      links.set(id, heat === undefined ? { ...link, contributor: { ...own, id } } : heatRate(link));
      const factor = heat === undefined ? coefficient : heat.ofMm;
      return factor === 1
        ? variableTree(id)
        : applyTree('multiply', constantTree(factor), variableTree(id));
    });
    sizes.set(
      feature,
      parts.reduce((sum, part) => applyTree('add', sum, part)),
    );
  }
  return { tree: substituteTree(tree, sizes), links: [...links.values()], features };
}

function stackOf(
  { id, expression, lowerMm: lower, upperMm: upper }: PartChain,
  { tree, links, features }: Spread,
  operations: readonly Operation[],
  context: PlanningContext,
): RequirementStack {
  const requirement = { lower, upper };
  const contributors = links.map(({ contributor }) => contributor);
  const linear = linearFunction(tree);
  const figures =
    linear === undefined
      ? byMoments(tree, expression ?? id, contributors, requirement)
      : chainSummary({
          contributors: contributors.map((entry) => ({
            ...entry,
            coefficient: linear.coefficients.get(entry.id) ?? 0,
          })),
          constant: linear.constant,
          requirement,
        });
  const { inLimits = 1, tightenFirst } = figures;
  const { minimumProbability } = context.job.policy;
  if (inLimits < minimumProbability - 1e-6)
    context.find({
      id: 'chain-short',
      severity: 'warning',
      message: `chain ${id} lies in its limits with ${(100 * inLimits).toFixed(2)} %, ${(100 * minimumProbability).toFixed(2)} % wanted; largest share: ${tightenFirst?.id ?? 'none'}`,
      about: id,
    });
  return {
    requirement: id,
    feature: features.join(', '),
    unit: 'mm',
    shape: 'interval',
    lower,
    upper,
    mean: figures.mean,
    sigma: figures.sigma,
    worstLower: figures.worst.lower,
    worstUpper: figures.worst.upper,
    inLimits,
    method: figures.by,
    contributors: links.map(({ contributor, source, confidence, at }, index) => {
      const share = figures.contributions[index];
      return {
        name: contributor.id,
        ...operationOf(at, operations),
        mean: contributor.nominal,
        sensitivity: share?.sensitivity ?? 0,
        sigma: share?.sigma ?? 0,
        distribution: contributor.distribution?.kind ?? 'normal',
        sharePercent: share?.sharePercent ?? 0,
        source,
        confidence,
      };
    }),
    ...(tightenFirst === undefined
      ? {}
      : {
          tightenFirst: {
            contributor: tightenFirst.id,
            inLimits: tightenFirst.inLimits ?? inLimits,
          },
        }),
  };
}

/** A function that is not linear: second-order moments with the Pearson curve that has them. */
function byMoments(
  tree: FunctionTree,
  text: string,
  contributors: readonly Contributor[],
  requirement: { readonly lower: number; readonly upper: number },
): ReturnType<typeof chainSummary> {
  const { moments, worst, contributions, tightenFirst } = stackUp({
    contributors,
    requirement,
    function: treeFunction(tree, { text }),
  });
  const [first] = tightenFirst;
  return {
    mean: moments.mean,
    sigma: moments.sigma,
    worst: { lower: worst.lower, upper: worst.upper },
    inLimits: moments.conformity?.inLimits ?? 1,
    by: 'second-order moments',
    contributions,
    ...(first === undefined
      ? {}
      : {
          tightenFirst: {
            id: first.id,
            ...(first.inLimits === undefined ? {} : { inLimits: first.inLimits }),
          },
        }),
  };
}
