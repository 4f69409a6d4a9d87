import type { Catalog } from '../catalog/catalog.js';
import { planningContext } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import type { Feature, Job } from '../job/types.js';
import type { Shortfall } from '../route/chain-demand.js';
import type { RouteModel } from '../route/model.js';
import { type RoutePlanning, routePlanning } from '../route/planning.js';
import { solveRouteModel } from '../route/solver/solve.js';
import type { SolvedJob } from './solve-job.js';
import type { Refusal } from './stack-loop.js';
import type { Conflict } from './types.js';

export interface ConflictReport {
  readonly conflicts: readonly Conflict[];
  /** Requirements to set aside so that the rest can be planned; undefined when nothing can. */
  readonly setAside:
    | readonly { readonly feature: string; readonly requirement: string }[]
    | undefined;
}

const everySide = ['+x', '-x', '+y', '-y', '+z', '-z'] as const;

/** Why nothing is feasible: the requirement, the best the catalogue reaches, and what would help. */
export function findConflicts(solved: SolvedJob, job: Job, catalog: Catalog): ConflictReport {
  const { planning } = solved;
  if (planning.choice.plans.length === 0)
    return {
      conflicts: planning.choice.obstacles.map((text) => ({
        requirement: 'the part as a whole',
        best: text,
        help: partHelp(text),
      })),
      setAside: undefined,
    };
  const stuck = job.features.filter((feature) => isStuck(planning, feature.id));
  if (stuck.length > 0) return featureConflicts(stuck, planning, job, catalog);
  const refused = refusedSizes(solved);
  if (refused.length > 0) return refusedConflicts(refused, job);
  return jointConflict(solved, job);
}

function isStuck(planning: RoutePlanning, feature: string): boolean {
  return (planning.features.get(feature) ?? []).every((result) => result.chains.length === 0);
}

function partHelp(obstacle: string): readonly string[] {
  if (obstacle.includes('powder'))
    return [
      'open an escape hole for the powder',
      'prove the channels empty (weight, scan) and say so in the job',
    ];
  if (obstacle.includes('on the plate') || obstacle.includes('on a plate'))
    return [
      "print on a plate of the part's own metal",
      'take the parts off the plate before this treatment',
    ];
  if (obstacle.includes('drawing asks'))
    return [
      'ask the customer for one of the conditions that the routes end in',
      "add a route to the shop's tables",
    ];
  if (obstacle.includes('work centre'))
    return ['allow outside work', "add the work centre to the shop's tables"];
  return ['relax the policy', "add what is missing to the shop's tables"];
}

function featureConflicts(
  stuck: readonly Feature[],
  planning: RoutePlanning,
  job: Job,
  catalog: Catalog,
): ConflictReport {
  const conflicts: Conflict[] = [];
  const setAside: { feature: string; requirement: string }[] = [];
  for (const feature of stuck) {
    const nearest = nearestShortfalls(planning, feature.id);
    const help = helpFor(feature, job, catalog);
    if (nearest.length === 0) {
      conflicts.push({
        feature: feature.id,
        requirement: feature.size?.text ?? feature.thread?.designation ?? feature.kind,
        best: help.includes(otherFinishes)
          ? 'the part-wide finishes of the job may not act on it and cannot be kept off it'
          : 'no process in the catalogue reaches or makes this feature',
        help,
      });
      continue;
    }
    for (const shortfall of nearest) {
      conflicts.push({
        feature: feature.id,
        requirement: shortfall.requirement.text,
        best: shortfall.best(),
        help: [`relax it to ${shortfall.best()}`, ...help],
      });
      setAside.push({ feature: feature.id, requirement: shortfall.requirement.id });
    }
  }
  return { conflicts, setAside: conflicts.length === setAside.length ? setAside : undefined };
}

/** Sizes for which the exact stack left no chain. */
function refusedSizes({ planning, refusals }: SolvedJob): readonly Refusal[] {
  return refusals.filter(
    ({ feature, datum }) =>
      datum === undefined &&
      planning.model.features.some(({ id, chains }) => id === feature && chains.length === 0),
  );
}

function refusedConflicts(refused: readonly Refusal[], { policy }: Job): ConflictReport {
  const percent = (share: number): string => `${(100 * share).toFixed(2)} %`;
  return {
    conflicts: refused.map(({ feature, requirement, best }) => ({
      feature,
      requirement: requirement.text,
      best: `${percent(best)} of parts by its stack, ${percent(policy.minimumProbability)} wanted`,
      help: ['relax it', 'lower the probability that the policy asks for'],
    })),
    setAside: refused.map(({ feature, requirement }) => ({ feature, requirement: requirement.id })),
  };
}

/** The requirements that alone fail on every chain, each with the nearest miss over all contexts. */
function nearestShortfalls(planning: RoutePlanning, feature: string): readonly Shortfall[] {
  const nearest = new Map<string, Shortfall>();
  for (const result of planning.features.get(feature) ?? [])
    for (const shortfall of result.shortfalls) {
      const known = nearest.get(shortfall.requirement.id);
      if (known === undefined || shortfall.distance < known.distance)
        nearest.set(shortfall.requirement.id, shortfall);
    }
  const met = new Set<string>();
  for (const shortfall of nearest.values()) if (isMet(shortfall)) met.add(shortfall.requirement.id);
  return [...nearest.values()].filter((shortfall) => !met.has(shortfall.requirement.id));
}

/** A nearest miss that itself lies within the requirement was refused for another one. */
function isMet(shortfall: Shortfall): boolean {
  const { requirement } = shortfall;
  return requirement.kind === 'roughness' && shortfall.distance <= requirement.raMaxUm;
}

const otherFinishes = 'allow other part-wide finishes on this feature';

/** Tries what the user could change, and names what works. */
function helpFor(feature: Feature, job: Job, catalog: Catalog): readonly string[] {
  const solves = (change: Partial<Job>): boolean => {
    const changed: Job = { ...job, features: [feature], chains: [], ...change };
    return !isStuck(
      routePlanning(planningContext(changed, catalog, job.order.quantity)),
      feature.id,
    );
  };
  const help: string[] = [];
  if (!job.policy.outsideWork && solves({ policy: { ...job.policy, outsideWork: true } }))
    help.push('allow outside work');
  for (const id of job.policy.forbidden)
    if (
      solves({
        policy: { ...job.policy, forbidden: job.policy.forbidden.filter((entry) => entry !== id) },
      })
    )
      help.push(`allow ${id}`);
  if (feature.kind !== 'channel' && solves({ features: [{ ...feature, access: [...everySide] }] }))
    help.push('give the tool access from another side');
  if (feature.allowedFinishes !== undefined) {
    const { allowedFinishes: _finishes, ...open } = feature;
    if (solves({ features: [open] })) help.push(otherFinishes);
  }
  return help;
}

/** Most nodes spent on asking whether the rest works without one feature. */
const feasibilityNodes = 400;

/** Every feature works alone, not all together: names the features without which the rest works. */
function jointConflict({ planning }: SolvedJob, job: Job): ConflictReport {
  const culprits = job.features.filter(
    (feature) =>
      solveRouteModel(withoutFeature(planning.model, feature.id), { nodeLimit: feasibilityNodes })
        .partPlan !== undefined,
  );
  return {
    conflicts:
      culprits.length === 0
        ? [
            {
              requirement: 'all features together',
              best: 'each feature works alone, no combination does',
              help: ['split the requirements over two parts', 'relax the located tolerances'],
            },
          ]
        : culprits.map((feature) => ({
            feature: feature.id,
            requirement:
              feature.geometric.map((tolerance) => tolerance.text).join('; ') || feature.id,
            best: 'works alone, not with the other features: no common set-up or part-wide finish suits all',
            help: [
              'relax its located tolerance',
              'give access from the side of its datum',
              'allow it to be masked',
            ],
          })),
    setAside: undefined,
  };
}

function withoutFeature(model: RouteModel, feature: string): RouteModel {
  const gone = new Set(
    model.features.find((entry) => entry.id === feature)?.chains.map((chain) => chain.id),
  );
  return {
    ...model,
    features: model.features.filter((entry) => entry.id !== feature),
    pairs: model.pairs.filter((pair) => !gone.has(pair.a) && !gone.has(pair.b)),
  };
}

/** The job without some requirements, so that the rest can still be planned. */
export function withoutRequirements(
  job: Job,
  setAside: readonly { readonly feature: string; readonly requirement: string }[],
  requirementsOfFeature: (feature: Feature) => readonly FeatureRequirement[],
): Job {
  return {
    ...job,
    features: job.features.map((feature) => {
      const dropped = setAside
        .filter((entry) => entry.feature === feature.id)
        .map((entry) => entry.requirement);
      if (dropped.length === 0) return feature;
      const gone = requirementsOfFeature(feature).filter((entry) => dropped.includes(entry.id));
      const { raMaxUm, rzMaxUm, size, ...rest } = feature;
      return {
        ...rest,
        ...(size === undefined
          ? {}
          : {
              size: gone.some((entry) => entry.kind === 'size')
                ? { ...size, origin: 'untoleranced' as const }
                : size,
            }),
        ...(raMaxUm === undefined || dropped.includes(`${feature.id}.ra`) ? {} : { raMaxUm }),
        ...(rzMaxUm === undefined || dropped.includes(`${feature.id}.rz`) ? {} : { rzMaxUm }),
        geometric: feature.geometric.filter(
          (tolerance) =>
            !gone.some((entry) => entry.kind === 'geometric' && entry.tolerance === tolerance),
        ),
      };
    }),
  };
}
