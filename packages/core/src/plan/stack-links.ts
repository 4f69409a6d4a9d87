import type { PlanningContext, Process } from '../job/planning-context.js';
import type { GeometricTolerance } from '../job/types.js';
import type { Confidence } from '../problems/finding.js';
import { type ChainContext, type FoundChain, isInternal } from '../route/chain.js';
import { bendsInHeat, nominalOf, sides } from '../route/chain-demand.js';
import { ageBendingMm } from '../route/chain-search.js';
import { type PlannedFinish, sizeShift } from '../route/finishes.js';
import {
  formSigmaMm,
  isRadial,
  leverOf,
  orientations,
  placeTerms,
  relationOf,
} from '../route/location.js';
import { reaches } from '../route/masking.js';
import type { PartPlan } from '../route/part-plans.js';
import { titleOf } from '../route/thermal-work.js';
import type { Contributor, Distribution } from '../stack/types.js';
import { treatmentChange } from '../thermal/dimension-change.js';
import type { ThermalStep } from '../thermal/route-types.js';

/** A contributor of a requirement's stack with where its numbers come from. Lengths in mm. */
export interface StackLink {
  readonly contributor: Contributor;
  readonly source: string;
  readonly confidence: Confidence;
  /** Set-up, or process of the operation that brings it in; none for printing. */
  readonly at?: string;
  /** Set for what a treatment does to a length: the length that it acts on, mm. */
  readonly heat?: { readonly ofMm: number };
}

/** What a stack needs to know of a part plan. */
export type PlanOfStack = Pick<PartPlan, 'chains' | 'route'>;

/**
 * The links of a size, from the cut (or the print) that makes it through heat, polishing and part-wide
 * finishes to the finished part. The mean of the sum is what the plan aims at; every spread is the one
 * with which the chain was allowed.
 */
export function sizeLinks(
  chain: FoundChain,
  plan: PlanOfStack,
  context: PlanningContext,
): readonly StackLink[] {
  const { steps, start, geometry, feature } = chain;
  const last = steps.findLastIndex((step) => step.toleranceMm > 0);
  const maker = steps[last];
  const nominal = chain.targetMm ?? nominalOf(feature, geometry);
  const outward = isInternal(feature) ? -1 : 1;
  const removal = (process: Process, at: string): readonly StackLink[] =>
    removalLinks(process, at, -outward * sides(geometry));
  return [
    maker === undefined
      ? {
          contributor: {
            id: 'printing',
            nominal:
              steps.length === 0 && chain.printedSizeMm !== undefined
                ? chain.printedSizeMm + start.sizeMeanMm
                : nominal,
            distribution: { kind: 'normal', sigma: start.sizeSigmaMm },
          },
          source: start.source,
          confidence: start.confidence,
        }
      : {
          contributor: {
            id: maker.process.row.name,
            nominal,
            plus: maker.toleranceMm / 2,
            minus: maker.toleranceMm / 2,
            distribution: { kind: 'normal', cp: 1 },
          },
          source: maker.process.row.itSource ?? 'process catalogue',
          confidence: maker.process.row.itConfidence ?? 'practice',
          at: maker.setUp.id,
        },
    ...heatAfter(plan, maker?.stage).flatMap((step) =>
      heatLinks(step, context, nominal, nominalOf(feature, geometry)),
    ),
    ...steps.slice(last + 1).flatMap((step) => removal(step.process, step.setUp.id)),
    ...actingFinishes(chain, plan).flatMap(({ process }) => removal(process, process.id)),
  ];
}

/**
 * The links of a place or direction against a datum, per direction: print, machine, re-location, tool,
 * form, and what heat changes of the distance. Means are allowed for in the build model and in the
 * machine's program, so each link varies about 0.
 */
export function zoneLinks(
  tolerance: GeometricTolerance,
  chain: FoundChain,
  base: FoundChain,
  letter: string,
  plan: PlanOfStack,
  context: PlanningContext,
): readonly StackLink[] {
  const { locating } = chain;
  const relation = relationOf(locating, base.locating);
  const turned = orientations.includes(tolerance.kind);
  const lever = turned ? leverOf(locating, base.locating, relation) : 1;
  const at = locating.setUp?.id;
  const here = at === undefined ? {} : { at };
  const form = isRadial(tolerance) ? 0 : formSigmaMm(locating);
  const maker = locating.process?.row.name.toLowerCase() ?? 'printing';
  return [
    ...(lever === 0 ? [] : placeTerms(locating, base.locating, letter, relation)).map(
      (term): StackLink => ({
        contributor: {
          id: term.name,
          nominal: 0,
          coefficient: lever,
          distribution: { kind: 'normal', sigma: term.sigmaMm },
        },
        source: term.source,
        confidence: term.confidence,
        ...here,
      }),
    ),
    ...(form > 0
      ? [
          {
            contributor: {
              id: `form left by ${maker}`,
              nominal: 0,
              distribution: { kind: 'normal' as const, sigma: form },
            },
            source: locating.process?.needs.source ?? chain.start.source,
            confidence: locating.process?.needs.confidence ?? chain.start.confidence,
            ...here,
          },
        ]
      : []),
    ...ageBendingLinks(tolerance, chain, plan, context),
    ...(movesWithDistance.includes(tolerance.kind)
      ? heatAfter(plan, locating.setUp?.stage).flatMap((step) =>
          heatLinks(step, context, 0, distanceMm(chain, context)),
        )
      : []),
  ];
}

/**
 * Bending by the age of a feature that has its place before it; counted like a form error, six sigma.
 * Later finishing and the form as printed carry theirs already.
 */
function ageBendingLinks(
  { kind }: GeometricTolerance,
  { locating, geometry }: FoundChain,
  { chains, route }: PlanOfStack,
  { catalog }: PlanningContext,
): readonly StackLink[] {
  const bending = ageBendingMm(chains, geometry);
  if (locating.setUp?.stage !== 'soft' || bending <= 0 || !bendsInHeat(kind)) return [];
  const row = catalog.planningDefaults.find(({ id }) => id === 'distortion-age');
  const age = route.steps.at(-1);
  return [
    {
      contributor: {
        id: 'bending in the age',
        nominal: 0,
        distribution: { kind: 'normal', sigma: bending / 6 },
      },
      source: row?.source ?? 'planning defaults',
      confidence: row?.confidence ?? 'practice',
      ...(age === undefined ? {} : { at: age.treatment }),
    },
  ];
}

/** Kinds whose distance from the datum changes in heat; a coaxial or symmetrical feature stays where it is. */
const movesWithDistance: readonly string[] = ['position', 'profile-line', 'profile-surface'];

/** Distance of a feature from its datums: as drawn, or the longest side of the part. */
function distanceMm({ feature, geometry }: FoundChain, { job }: PlanningContext): number {
  const box = job.geometry.boxMm;
  return feature.locationMm ?? (box === undefined ? geometry.acrossMm : Math.max(...box));
}

/** Heat after the step that makes a size or gives a place: all for a print, the age for soft metal. */
function heatAfter(
  { route }: PlanOfStack,
  stage: 'soft' | 'datum' | 'hard' | undefined,
): readonly ThermalStep[] {
  if (stage === undefined) return route.steps;
  return stage === 'soft' ? route.steps.slice(-1) : [];
}

/** Change of a length in one treatment about `meanOfMm` times the mean change. */
function heatLinks(
  step: ThermalStep,
  { catalog, material }: PlanningContext,
  meanOfMm: number,
  spreadOfMm: number,
): readonly StackLink[] {
  const row = treatmentChange(catalog, material.id, step.treatment, step.schedule.condition);
  if (row === undefined) return [];
  const { lowPerMm, changePerMm, highPerMm, source, confidence } = row;
  const contributor = ranged(
    `change of size, ${titleOf(step).toLowerCase()}`,
    (lowPerMm - changePerMm) * spreadOfMm,
    changePerMm * meanOfMm,
    (highPerMm - changePerMm) * spreadOfMm,
    1,
  );
  return contributor === undefined
    ? []
    : [{ contributor, source, confidence, at: step.treatment, heat: { ofMm: spreadOfMm } }];
}

/** The same contributor per mm, which all lengths of the part share. */
export function heatRate(link: StackLink): StackLink {
  const { contributor, heat } = link;
  if (heat === undefined) return link;
  const { nominal, plus = 0, minus = 0, distribution } = contributor;
  const per = 1 / heat.ofMm;
  return {
    ...link,
    contributor: {
      ...contributor,
      nominal: per * nominal,
      plus: per * plus,
      minus: per * minus,
      ...(distribution?.kind === 'normal' && distribution.sigma !== undefined
        ? { distribution: { kind: 'normal', sigma: per * distribution.sigma } }
        : {}),
    },
  };
}

/** Part-wide finishes that act on the finished surface of a chain. */
export function actingFinishes(
  { feature, steps, masks }: FoundChain,
  { chains }: { readonly chains: Pick<ChainContext, 'finishes'> },
): readonly PlannedFinish[] {
  const asPrinted = steps.length === 0;
  return chains.finishes.filter(
    (finish) =>
      (asPrinted || finish.placement !== 'before-machining') &&
      !masks.some((mask) => mask.finish.process.id === finish.process.id) &&
      reaches(finish, feature, asPrinted),
  );
}

/** What a step or finish takes per side (a coat adds): `coefficient` turns it into the size. */
function removalLinks(process: Process, at: string, coefficient: number): readonly StackLink[] {
  const { meanMm } = sizeShift(process);
  const { effect, effectTypicalUm = 0, effectLowUm = 0, effectHighUm = 0, name } = process.row;
  const below = (effectTypicalUm - effectLowUm) / 1000;
  const above = (effectHighUm - effectTypicalUm) / 1000;
  const contributor = ranged(
    effect === 'growth' ? `growth of ${name.toLowerCase()}` : `removal by ${name.toLowerCase()}`,
    effect === 'growth' ? -above : -below,
    meanMm,
    effect === 'growth' ? below : above,
    coefficient,
  );
  return contributor === undefined
    ? []
    : [
        {
          contributor,
          source: process.row.effectSource ?? 'process catalogue',
          confidence: process.row.effectConfidence ?? 'practice',
          at,
        },
      ];
}

/**
 * A contributor known by low, usual and high value. Its mean is the usual value and its standard
 * deviation a sixth of the range, as the route counts it; the shape is the beta distribution with these
 * two that ends at low and high. Undefined when it changes nothing.
 *
 * @param below low end less the mean; likewise `above`
 */
function ranged(
  id: string,
  below: number,
  mean: number,
  above: number,
  coefficient: number,
): Contributor | undefined {
  const range = above - below;
  if (!(range > 0))
    return mean === 0
      ? undefined
      : { id, nominal: mean, plus: 0, minus: 0, coefficient, distribution: { kind: 'uniform' } };
  return {
    id,
    nominal: mean,
    plus: above,
    minus: -below,
    coefficient,
    distribution: betaOf(-below / range) ?? { kind: 'normal', sigma: range / 6 },
  };
}

/** Least shape number for which the density still falls off towards both ends, or nearly so. */
const leastShape = 0.5;

/** Beta distribution on 0 to 1 with a mean and a standard deviation of 1/6. */
function betaOf(mean: number): Distribution | undefined {
  const size = 36 * mean * (1 - mean) - 1;
  const alpha = mean * size;
  const beta = (1 - mean) * size;
  return Math.min(alpha, beta) < leastShape ? undefined : { kind: 'beta', alpha, beta };
}
