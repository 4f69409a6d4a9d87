import type { InspectedCharacteristic } from '../inspection/choose-methods.js';
import type { SolvedJob } from './solve-job.js';
import type { Caution, InspectionItem, Operation } from './types.js';

/** Numbered characteristics with method and acceptance limits (ISO 14253-1 guard band, 95 %). */
export function inspectionItems(solved: SolvedJob): readonly InspectionItem[] {
  const { context, inspection } = solved;
  const k = context.defaultValue('confidence-guard-band');
  for (const { feature, requirement } of inspection.unmeasurable)
    context.find({
      id: 'no-method',
      severity: 'warning',
      message: `no method in the catalogue measures ${requirement.text}; agree a witness part or a test`,
      about: feature.id,
    });
  return inspection.characteristics.map((entry, index): InspectionItem => {
    if (!entry.capable)
      context.find({
        id: 'method-ratio',
        severity: 'warning',
        message: `${entry.requirement.text} is tighter than ${entry.method.name.toLowerCase()} measures at the wanted ratio; the guard band eats into the tolerance`,
        about: entry.feature.id,
        source: entry.method.source,
      });
    return {
      number: index + 1,
      feature: entry.feature.id,
      requirement: entry.requirement.id,
      text: entry.requirement.text,
      method: entry.method.id,
      methodName: entry.method.name,
      ...acceptance(entry, k),
      sample: entry.sampleParts,
      minutesPerPart: entry.minutes / context.quantity,
    };
  });
}

function acceptance(
  entry: InspectedCharacteristic,
  k: number,
): Pick<
  InspectionItem,
  'uncertaintyUm' | 'lower' | 'upper' | 'acceptLower' | 'acceptUpper' | 'unit'
> {
  const guard = (k * entry.uncertainty) / 2;
  const { requirement } = entry;
  switch (requirement.kind) {
    case 'size':
      return {
        uncertaintyUm: entry.uncertainty * 1000,
        lower: requirement.lowerMm,
        upper: requirement.upperMm,
        acceptLower: requirement.lowerMm + guard,
        acceptUpper: requirement.upperMm - guard,
        unit: 'mm',
      };
    case 'roughness':
      return {
        uncertaintyUm: entry.uncertainty * requirement.perRa,
        upper: requirement.raMaxUm * requirement.perRa,
        acceptUpper: (requirement.raMaxUm - guard) * requirement.perRa,
        unit: 'um',
      };
    case 'geometric':
      return {
        uncertaintyUm: entry.uncertainty * 1000,
        upper: requirement.tolerance.valueMm,
        acceptUpper: requirement.tolerance.valueMm - guard,
        unit: 'mm',
      };
    case 'thread':
      return {};
  }
}

/** Cautions of the operations, and those that hold for the alloy or for all work. */
export function cautionList(
  solved: SolvedJob,
  operations: readonly Operation[],
): readonly Caution[] {
  const { catalog, material, job } = solved.context;
  const general = new Set(['any', material.family, material.id]);
  const list = catalog.cautions.flatMap((row): Caution[] => {
    const named = operations
      .filter((operation) => operation.cautions.includes(row.id))
      .map((operation) => operation.seq);
    if (named.length === 0 && !row.appliesTo.some((name) => general.has(name))) return [];
    return [{ id: row.id, text: row.text, source: row.source, operations: named }];
  });
  const hazards = job.part.hazards.map(
    (text, index): Caution => ({
      id: `job-hazard-${index + 1}`,
      text,
      source: 'the job',
      operations: [],
    }),
  );
  const regulated: Caution[] = job.part.regulated
    ? [
        {
          id: 'regulated',
          text: 'Regulated part: work only to an approved procedure; this plan is a proposal and does not replace it.',
          source: 'the job',
          operations: [],
        },
      ]
    : [];
  return [
    ...regulated,
    ...hazards,
    ...list.sort((a, b) => Number(b.id === 'local-rules') - Number(a.id === 'local-rules')),
  ];
}
