import type { PlanningContext } from './planning-context.js';
import type { Feature } from './types.js';

/** What timing and stock need to know of one feature (of one of them when it counts several). */
export interface FeatureGeometry {
  /** Area of the worked surface, mm2. */
  readonly areaMm2: number;
  /** Size across (diameter, width) or the largest extent of a face, mm. */
  readonly acrossMm: number;
  readonly depthMm: number;
  /** Length over which its direction shows: depth of a round feature, largest extent of a face, mm. */
  readonly extentMm: number;
  /** Volume inside a hole, mm3; 0 for outer surfaces. */
  readonly holeVolumeMm3: number;
  readonly round: boolean;
  /** Stock lies on both sides of the size: a diameter or the width of a slot. */
  readonly twoSided: boolean;
}

/**
 * Working area and extents of a feature from the sizes the job gives. What is missing is taken from a
 * stated rule and written down as an assumption.
 */
export function featureGeometry(feature: Feature, context: PlanningContext): FeatureGeometry {
  const across = threadBlank(feature) ?? feature.size?.nominalMm ?? feature.widthMm ?? 0;
  const depth = (): number => {
    if (feature.depthMm !== undefined) return feature.depthMm;
    if (feature.lengthMm !== undefined) return feature.lengthMm;
    const ratio = context.defaultValue('depth-to-diameter');
    context.find({
      id: 'depth-assumed',
      severity: 'note',
      message: `no depth or length given: ${ratio} x ${across} mm assumed`,
      about: feature.id,
    });
    return ratio * across;
  };
  switch (feature.kind) {
    case 'bore':
    case 'thread':
    case 'shaft': {
      const depthMm = depth();
      const internal = feature.kind === 'bore' || feature.thread?.internal === true;
      return {
        areaMm2: feature.areaMm2 ?? Math.PI * across * depthMm,
        acrossMm: across,
        depthMm,
        extentMm: depthMm,
        holeVolumeMm3: internal ? (Math.PI / 4) * across * across * depthMm : 0,
        round: true,
        twoSided: true,
      };
    }
    case 'channel': {
      const length = feature.lengthMm ?? (feature.areaMm2 ?? 0) / (Math.PI * Math.max(across, 1));
      return {
        areaMm2: feature.areaMm2 ?? Math.PI * across * length,
        acrossMm: across > 0 ? across : (feature.areaMm2 ?? 0) / (Math.PI * length),
        depthMm: length,
        extentMm: length,
        holeVolumeMm3: 0,
        round: true,
        twoSided: true,
      };
    }
    case 'slot': {
      const width = across > 0 ? across : (feature.widthMm ?? 0);
      const length = feature.lengthMm ?? width;
      const depthMm = feature.depthMm ?? width;
      return {
        areaMm2: feature.areaMm2 ?? 2 * depthMm * length + width * length,
        acrossMm: width,
        depthMm,
        extentMm: length,
        holeVolumeMm3: width * length * depthMm,
        round: false,
        twoSided: true,
      };
    }
    case 'radius': {
      const length = feature.lengthMm ?? 2 * Math.PI * across;
      return {
        areaMm2: feature.areaMm2 ?? (Math.PI / 2) * across * length,
        acrossMm: across,
        depthMm: 0,
        extentMm: length,
        holeVolumeMm3: 0,
        round: false,
        twoSided: false,
      };
    }
    default: {
      const length = feature.lengthMm ?? Math.sqrt(feature.areaMm2 ?? 0);
      const width = feature.widthMm ?? length;
      return {
        areaMm2: feature.areaMm2 ?? length * width,
        acrossMm: Math.max(length, width),
        extentMm: Math.max(length, width),
        depthMm: feature.depthMm ?? 0,
        holeVolumeMm3: 0,
        round: false,
        twoSided: false,
      };
    }
  }
}

/** Diameter worked before threading: the core hole (major - pitch) or the blank of an outside thread. */
function threadBlank({ thread }: Feature): number | undefined {
  if (thread === undefined) return undefined;
  return thread.internal ? thread.majorMm - thread.pitchMm : thread.majorMm;
}
