import type { PlanningContext } from './planning-context.js';

/** Extents of the whole part with what was missing filled in and said so. */
export interface PartGeometry {
  readonly boxMm: readonly [number, number, number];
  readonly surfaceAreaMm2: number;
  /** Metal cut at the plate: the part's foot and the roots of its supports, mm2. */
  readonly cutAreaMm2: number;
  readonly partsPerPlate: number;
  readonly massKg: number | undefined;
}

export function partGeometry(context: PlanningContext): PartGeometry {
  const { geometry, order } = context.job;
  const boxMm = geometry.boxMm ?? assumedBox(context);
  const [x, y] = boxMm;
  const surfaceAreaMm2 = geometry.surfaceAreaMm2 ?? assumedArea(context, boxMm);
  const foot = geometry.plateSectionMm2 ?? assumedFoot(context, x * y);
  if (!geometry.supports.stated)
    note(
      context,
      'supports-assumed',
      'supports',
      'none: the job says nothing of supports',
      'warning',
    );
  const roots =
    geometry.supports.latticeAreaMm2 *
      (geometry.supports.latticeAreaMm2 > 0 ? context.defaultValue('support-density-lattice') : 0) +
    geometry.supports.solidAreaMm2;
  return {
    boxMm,
    surfaceAreaMm2,
    cutAreaMm2: foot + roots,
    partsPerPlate: order.partsPerPlate ?? partsOnPlate(context, x, y),
    massKg:
      geometry.volumeMm3 === undefined
        ? undefined
        : (geometry.volumeMm3 * context.material.densityKgM3) / 1e9,
  };
}

function note(
  context: PlanningContext,
  id: string,
  what: string,
  value: string,
  severity: 'note' | 'warning',
): void {
  context.assume({ what, value, source: 'rule of the planner, no source', confidence: 'practice' });
  context.find({ id, severity, message: `${what}: ${value}` });
}

function assumedBox(context: PlanningContext): readonly [number, number, number] {
  const features = context.job.features;
  const reach = Math.max(
    10,
    ...features.map((feature) =>
      Math.max(
        feature.size?.nominalMm ?? 0,
        feature.lengthMm ?? 0,
        feature.widthMm ?? 0,
        feature.depthMm ?? 0,
      ),
    ),
  );
  const volume = context.job.geometry.volumeMm3;
  const side = Math.round(Math.max(reach, volume === undefined ? 0 : Math.cbrt(3 * volume)));
  note(
    context,
    'box-assumed',
    'box of the part',
    `${side} x ${side} x ${side} mm from the largest feature and the volume`,
    'warning',
  );
  return [side, side, side];
}

function assumedArea(
  context: PlanningContext,
  [x, y, z]: readonly [number, number, number],
): number {
  const area = Math.round(2 * (x * y + y * z + x * z));
  note(context, 'surface-assumed', 'surface area', `${area} mm2, that of the box`, 'warning');
  return area;
}

function assumedFoot(context: PlanningContext, footprint: number): number {
  const foot = Math.round(footprint / 2);
  note(
    context,
    'foot-assumed',
    'area of the foot on the plate',
    `${foot} mm2, half of the footprint`,
    'warning',
  );
  return foot;
}

function partsOnPlate(context: PlanningContext, x: number, y: number): number {
  const side = context.defaultValue('plate-side');
  const gap = context.defaultValue('part-gap');
  const fit = (a: number, b: number): number =>
    Math.floor((side + gap) / (a + gap)) * Math.floor((side + gap) / (b + gap));
  const count = Math.max(1, fit(x, y));
  note(
    context,
    'parts-per-plate-assumed',
    'parts on a plate',
    `${count}, by box and gap on a ${side} mm plate`,
    'note',
  );
  return count;
}
