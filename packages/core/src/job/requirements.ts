import type { Feature, GeometricTolerance, Job } from './types.js';

/** One thing that the drawing (or its general tolerance) asks of a feature. */
export type FeatureRequirement =
  | {
      readonly id: string;
      readonly kind: 'size';
      readonly text: string;
      readonly source: 'drawing' | 'general-tolerance';
      readonly nominalMm: number;
      readonly lowerMm: number;
      readonly upperMm: number;
    }
  | {
      readonly id: string;
      readonly kind: 'roughness';
      readonly text: string;
      readonly source: 'drawing';
      readonly raMaxUm: number;
      readonly parameter: 'Ra' | 'Rz';
      /** What the parameter is for an Ra of 1: 1, or the planning ratio Rz/Ra. */
      readonly perRa: number;
    }
  | {
      readonly id: string;
      readonly kind: 'thread';
      readonly text: string;
      readonly source: 'drawing';
    }
  | {
      readonly id: string;
      readonly kind: 'geometric';
      readonly text: string;
      readonly source: 'drawing';
      readonly tolerance: GeometricTolerance;
    };

/** Origins of a size that set no limits: bare, theoretically exact, and reference sizes. */
const unlimited: readonly string[] = ['untoleranced', 'theoretical', 'reference'];

/**
 * The requirements of one feature. An Rz limit counts as the Ra limit Rz / rzPerRa, which is the
 * safe direction because a process is known by its Ra.
 */
export function requirementsOf(
  feature: Feature,
  rzPerRa: () => number,
): readonly FeatureRequirement[] {
  const list: FeatureRequirement[] = [];
  const { size } = feature;
  if (size !== undefined && feature.thread === undefined && !unlimited.includes(size.origin)) {
    list.push({
      id: `${feature.id}.size`,
      kind: 'size',
      text: size.text,
      source: size.origin === 'general' ? 'general-tolerance' : 'drawing',
      nominalMm: size.nominalMm,
      lowerMm: size.lowerMm,
      upperMm: size.upperMm,
    });
  }
  if (feature.thread !== undefined)
    list.push({
      id: `${feature.id}.thread`,
      kind: 'thread',
      text: feature.thread.designation,
      source: 'drawing',
    });
  const limits = [
    ...(feature.raMaxUm === undefined
      ? []
      : [{ parameter: 'Ra' as const, limit: feature.raMaxUm, perRa: 1 }]),
    ...(feature.rzMaxUm === undefined
      ? []
      : [{ parameter: 'Rz' as const, limit: feature.rzMaxUm, perRa: rzPerRa() }]),
  ];
  for (const { parameter, limit, perRa } of limits)
    list.push({
      id: `${feature.id}.${parameter.toLowerCase()}`,
      kind: 'roughness',
      text: `${parameter} ${limit}`,
      source: 'drawing',
      raMaxUm: limit / perRa,
      parameter,
      perRa,
    });
  feature.geometric.forEach((tolerance, index) => {
    list.push({
      id: `${feature.id}.${tolerance.kind}${index === 0 ? '' : `-${index + 1}`}`,
      kind: 'geometric',
      text: tolerance.text,
      source: 'drawing',
      tolerance,
    });
  });
  return list;
}

/** Finds the feature that carries a datum letter. */
export function datumFeature(job: Job, letter: string): Feature | undefined {
  return job.features.find((feature) => feature.datum === letter);
}
