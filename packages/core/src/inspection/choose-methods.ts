import type { MethodsRow } from '../catalog/generated/methods.js';
import { type Charge, objectiveOf, type WorkCost } from '../cost/charges.js';
import { type CostInput, givenInput } from '../cost/inputs.js';
import { charge } from '../cost/money.js';
import { featureGeometry } from '../job/feature-geometry.js';
import type { PlanningContext } from '../job/planning-context.js';
import type { FeatureRequirement } from '../job/requirements.js';
import type { Feature } from '../job/types.js';
import type { RouteModel } from '../route/model.js';
import { solveRouteModel } from '../route/solver/solve.js';

/** One characteristic to be measured, with the method chosen for it. */
export interface InspectedCharacteristic {
  readonly feature: Feature;
  readonly requirement: FeatureRequirement;
  readonly method: MethodsRow;
  /** Expanded uncertainty (k = 2) for this characteristic, mm; um for roughness. */
  readonly uncertainty: number;
  /** Least ratio of tolerance to uncertainty is met. */
  readonly capable: boolean;
  /** Parts of the lot that are measured. */
  readonly sampleParts: number;
  readonly minutes: number;
  readonly cost: WorkCost;
}

export interface InspectionChoice {
  readonly characteristics: readonly InspectedCharacteristic[];
  readonly stations: readonly { readonly method: MethodsRow; readonly cost: WorkCost }[];
  /** Requirements that no method in the catalogue can measure. */
  readonly unmeasurable: readonly {
    readonly feature: Feature;
    readonly requirement: FeatureRequirement;
  }[];
}

/**
 * Chooses a measuring method for every requirement so that the whole costs least: set-up of a method
 * is paid once and shared, which makes it a route model of its own and is solved as one. A method is
 * capable when the tolerance is at least the wanted ratio times its expanded uncertainty; where none
 * is, the most certain method is taken and the plan says so. Roughness and general tolerances are
 * measured on a few parts and on one of several alike, every other requirement on every part.
 */
export function chooseMethods(
  items: readonly { readonly feature: Feature; readonly requirement: FeatureRequirement }[],
  context: PlanningContext,
): InspectionChoice {
  const ratio = context.defaultValue('test-uncertainty-ratio');
  const options = items.map((item) => ({
    ...item,
    methods: capableMethods(item.feature, item.requirement, context, ratio),
  }));
  const unmeasurable = options.filter((entry) => entry.methods.length === 0);
  const measurable = options.filter((entry) => entry.methods.length > 0);
  const used = new Map(
    measurable.flatMap((entry) => entry.methods.map(({ method }) => [method.id, method] as const)),
  );
  const stationCost = new Map([...used].map(([id, method]) => [id, stationOf(method, context)]));
  const model: RouteModel = {
    schema: 'route-model/1',
    partPlans: [{ id: 'inspection', cost: 0 }],
    setups: [...stationCost].map(([id, cost]) => ({ id, cost: objectiveOf(cost, context) })),
    features: measurable.map((entry) => ({
      id: entry.requirement.id,
      chains: entry.methods.map(({ method }) => ({
        id: `${entry.requirement.id}:${method.id}`,
        cost: objectiveOf(measuring(entry.feature, entry.requirement, method, context), context),
        setups: [method.id],
        partPlans: ['inspection'],
      })),
    })),
    pairs: [],
  };
  const solution = solveRouteModel(model);
  const characteristics = measurable.map((entry): InspectedCharacteristic => {
    const chosen = solution.chains[entry.requirement.id]?.slice(entry.requirement.id.length + 1);
    const option = entry.methods.find(({ method }) => method.id === chosen) ?? entry.methods[0];
    if (option === undefined) throw new RangeError(`no method for ${entry.requirement.id}`);
    return {
      feature: entry.feature,
      requirement: entry.requirement,
      method: option.method,
      uncertainty: option.uncertainty,
      capable: option.capable,
      sampleParts: sampleOf(entry.feature, entry.requirement, option.method, context).parts,
      minutes: minutesOf(entry.feature, entry.requirement, option.method, context),
      cost: measuring(entry.feature, entry.requirement, option.method, context),
    };
  });
  const stations = [...new Set(characteristics.map((entry) => entry.method.id))]
    .sort()
    .map((id) => ({
      method: used.get(id) as MethodsRow,
      cost: stationCost.get(id) as WorkCost,
    }));
  return { characteristics, stations, unmeasurable };
}

interface MethodOption {
  readonly method: MethodsRow;
  readonly uncertainty: number;
  readonly capable: boolean;
}

function capableMethods(
  feature: Feature,
  requirement: FeatureRequirement,
  context: PlanningContext,
  ratio: number,
): readonly MethodOption[] {
  const wanted = characteristicOf(requirement);
  const size = feature.size?.nominalMm ?? featureGeometry(feature, context).extentMm;
  const hidden = feature.kind === 'channel';
  const fits = context.catalog.methods
    .filter(
      (method) =>
        method.measures.includes(wanted) &&
        method.kinds.includes(feature.kind) &&
        (method.sizeMaxMm === undefined || size <= method.sizeMaxMm) &&
        !(hidden && method.needsAccess),
    )
    .map((method): MethodOption => {
      const uncertainty =
        requirement.kind === 'roughness'
          ? (method.uncertaintyUm / 100) * requirement.raMaxUm
          : (method.uncertaintyUm + (method.uncertaintyUmM * size) / 1000) / 1000;
      const half = halfTolerance(requirement);
      return {
        method,
        uncertainty,
        capable: half === undefined || 2 * half >= ratio * uncertainty * (1 - 1e-9),
      };
    });
  const capable = fits.filter((option) => option.capable);
  if (capable.length > 0) return capable.sort((a, b) => (a.method.id < b.method.id ? -1 : 1));
  return fits
    .sort((a, b) => a.uncertainty - b.uncertainty || (a.method.id < b.method.id ? -1 : 1))
    .slice(0, 1);
}

function characteristicOf(requirement: FeatureRequirement): MethodsRow['measures'][number] {
  if (
    requirement.kind === 'size' ||
    requirement.kind === 'roughness' ||
    requirement.kind === 'thread'
  )
    return requirement.kind;
  switch (requirement.tolerance.kind) {
    case 'flatness':
    case 'straightness':
    case 'roundness':
    case 'cylindricity':
      return 'form';
    case 'perpendicularity':
    case 'parallelism':
    case 'angularity':
      return 'orientation';
    case 'profile-line':
    case 'profile-surface':
      return 'profile';
    case 'runout':
    case 'total-runout':
      return 'runout';
    default:
      return 'position';
  }
}

/** Half of the tolerance in mm; roughness and threads are judged by the method's own rule. */
function halfTolerance(requirement: FeatureRequirement): number | undefined {
  if (requirement.kind === 'size') return (requirement.upperMm - requirement.lowerMm) / 2;
  if (requirement.kind === 'geometric') return requirement.tolerance.valueMm / 2;
  return undefined;
}

/** How many parts, and how many of several alike, are measured. */
function sampleOf(
  feature: Feature,
  requirement: FeatureRequirement,
  method: MethodsRow,
  context: PlanningContext,
): { readonly parts: number; readonly alike: number } {
  if (method.destructive) return { parts: 1, alike: 1 };
  const minor =
    requirement.kind === 'roughness' ||
    (requirement.kind === 'size' && requirement.source === 'general-tolerance');
  return minor
    ? { parts: Math.min(context.quantity, context.defaultValue('sample-minor')), alike: 1 }
    : { parts: context.quantity, alike: feature.count };
}

function minutesOf(
  feature: Feature,
  requirement: FeatureRequirement,
  method: MethodsRow,
  context: PlanningContext,
): number {
  const { parts, alike } = sampleOf(feature, requirement, method, context);
  return method.minutesEach * alike * parts;
}

function measuring(
  feature: Feature,
  requirement: FeatureRequirement,
  method: MethodsRow,
  context: PlanningContext,
): WorkCost {
  const minutes = minutesOf(feature, requirement, method, context);
  const { parts, alike } = sampleOf(feature, requirement, method, context);
  return lineOf(
    requirement.id,
    `${method.name}: ${requirement.id}`,
    minutes,
    `${method.minutesEach} min x ${alike} x ${parts} part${parts === 1 ? '' : 's'}`,
    [
      methodInput(method, 'time of a measurement', method.minutesEach, 'min'),
      ...(alike === 1 ? [] : [givenInput('alike on a part', alike, '1')]),
      {
        name: 'parts measured',
        value: parts,
        unit: 'parts',
        source: 'sampling of the plan',
        confidence: 'computed',
      },
    ],
    method,
    context,
    0,
  );
}

function stationOf(method: MethodsRow, context: PlanningContext): WorkCost {
  return lineOf(
    `set-up.${method.id}`,
    `set up: ${method.name}`,
    method.setupMin,
    `${method.setupMin} min`,
    [methodInput(method, 'set-up time', method.setupMin, 'min')],
    method,
    context,
    method.setupMin,
  );
}

function methodInput(method: MethodsRow, name: string, value: number, unit: string): CostInput {
  const { source, confidence } = method;
  return { name, value, unit, source: `method ${method.id}: ${source}`, confidence };
}

function lineOf(
  id: string,
  label: string,
  minutes: number,
  how: string,
  inputs: readonly CostInput[],
  method: MethodsRow,
  context: PlanningContext,
  setupMinutes: number,
): WorkCost {
  const amount = charge(minutes, method.ratePerH, context.minorPerMajor);
  const charges: Charge[] =
    amount === 0
      ? []
      : [
          {
            id,
            kind: 'inspection',
            label,
            amount,
            formula: `${how} x ${method.ratePerH}/h`,
            inputs: [
              ...inputs,
              methodInput(
                method,
                'hourly rate',
                method.ratePerH,
                `${context.job.order.currency}/h`,
              ),
            ],
            source: method.source,
          },
        ];
  return { charges, setupMinutes, runMinutes: minutes - setupMinutes, leadMinutes: minutes };
}
