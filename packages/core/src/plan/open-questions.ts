import type { Feature, Job } from '../job/types.js';
import { generalTolerance2768 } from '../limits/general-tolerance.js';
import { accessOf } from '../route/set-ups.js';
import { thermalRoutes } from '../thermal/routes.js';
import type { SolvedJob } from './solve-job.js';

/** Something the job does not say, with the answers that are plausible. */
export interface OpenQuestion {
  /** Field of the job, or of a feature. */
  readonly id: string;
  readonly feature?: string;
  /** As it may stand in a mail. */
  readonly question: string;
  /** What the plan goes by meanwhile. */
  readonly assumed: string;
  readonly answers: readonly PlausibleAnswer[];
}

export interface PlausibleAnswer {
  readonly answer: string;
  /** The job with this answer. */
  readonly job: Job;
  /** Only features differ. */
  readonly featuresOnly: boolean;
}

/**
 * What the job leaves open and the plan had to assume. Plausible answers are common practice, no
 * source: half and double of an assumed extent, the neighbouring conditions of the alloy, the other
 * sides of a feature.
 */
export function openQuestions(solved: SolvedJob): readonly OpenQuestion[] {
  const { job } = solved.context;
  return [
    ...conditionQuestion(solved),
    ...powderQuestion(job),
    ...supportQuestion(solved),
    ...extentQuestions(solved),
    ...toleranceQuestion(job),
    ...roughnessQuestion(job),
    ...job.features.flatMap((feature) => featureQuestions(feature, job, solved)),
  ].filter(({ answers }) => answers.length > 0);
}

function conditionQuestion({ context, chosen }: SolvedJob): readonly OpenQuestion[] {
  const { job } = context;
  if (job.part.condition !== undefined) return [];
  const taken = chosen.plan?.route.condition;
  const served = new Set(thermalRoutes(context).accepted.map((route) => route.condition));
  return [
    {
      id: 'part.condition',
      question: 'In which heat-treated condition do you want the part?',
      assumed: taken ?? 'none',
      answers: [...served]
        .filter((condition) => condition !== taken)
        .sort()
        .map((condition) => ({
          answer: condition,
          job: { ...job, part: { ...job.part, condition } },
          featuresOnly: false,
        })),
    },
  ];
}

function powderQuestion(job: Job): readonly OpenQuestion[] {
  if (job.geometry.trappedPowder !== 'unknown') return [];
  const withPowder = (trappedPowder: 'none' | 'open-channels'): Job => ({
    ...job,
    geometry: { ...job.geometry, trappedPowder },
  });
  return [
    {
      id: 'geometry.trappedPowder',
      question: 'Does the part have channels or cavities in which powder can stay?',
      assumed: 'unknown, cleared as if it had long ones',
      answers: [
        { answer: 'no', job: withPowder('none'), featuresOnly: false },
        { answer: 'open channels', job: withPowder('open-channels'), featuresOnly: false },
      ],
    },
  ];
}

function supportQuestion({ context, planning }: SolvedJob): readonly OpenQuestion[] {
  const { job } = context;
  const { supports } = job.geometry;
  if (supports.stated) return [];
  const area = Math.max(10, Math.round(planning.part.surfaceAreaMm2 / 1000) * 10);
  const withSupports = (latticeAreaMm2: number, solidAreaMm2: number): Job => ({
    ...job,
    geometry: {
      ...job.geometry,
      supports: { ...supports, latticeAreaMm2, solidAreaMm2, stated: true },
    },
  });
  return [
    {
      id: 'geometry.supports',
      question: 'Which supports does the build carry, and over what area?',
      assumed: 'none',
      answers: [
        { answer: `lattice over ${area} mm2`, job: withSupports(area, 0), featuresOnly: false },
        { answer: `solid over ${area} mm2`, job: withSupports(0, area), featuresOnly: false },
      ],
    },
  ];
}

/** Extents of the whole part: half and double of what was assumed. */
function extentQuestions({ context, planning }: SolvedJob): readonly OpenQuestion[] {
  const { job } = context;
  const { geometry, order } = job;
  const { part } = planning;
  const list: OpenQuestion[] = [];
  const ask = (
    id: string,
    question: string,
    value: number,
    unit: string,
    change: (value: number) => Job,
  ): void => {
    list.push({
      id,
      question,
      assumed: `${value} ${unit}`,
      answers: [value / 2, value * 2].map((other) => ({
        answer: `${Math.round(other)} ${unit}`,
        job: change(Math.round(other)),
        featuresOnly: false,
      })),
    });
  };
  if (geometry.surfaceAreaMm2 === undefined)
    ask(
      'geometry.surfaceArea',
      'How large is the surface of the whole part?',
      Math.round(part.surfaceAreaMm2),
      'mm2',
      (surfaceAreaMm2) => ({ ...job, geometry: { ...geometry, surfaceAreaMm2 } }),
    );
  if (geometry.plateSectionMm2 === undefined)
    ask(
      'geometry.plateSection',
      'How large is the area in which the part stands on the build plate?',
      Math.round(part.cutAreaMm2),
      'mm2',
      (plateSectionMm2) => ({ ...job, geometry: { ...geometry, plateSectionMm2 } }),
    );
  if (geometry.thickestSectionMm === undefined)
    list.push({
      id: 'geometry.thickestSection',
      question: 'How thick is the thickest section of the part?',
      assumed: 'no more than the schedule of the furnace allows for',
      answers: [50, 100].map((thickestSectionMm) => ({
        answer: `${thickestSectionMm} mm`,
        job: { ...job, geometry: { ...geometry, thickestSectionMm } },
        featuresOnly: false,
      })),
    });
  if (order.partsPerPlate === undefined && part.partsPerPlate > 1)
    ask(
      'order.partsPerPlate',
      'How many parts are printed on one build plate?',
      part.partsPerPlate,
      'parts',
      (partsPerPlate) => ({ ...job, order: { ...order, partsPerPlate } }),
    );
  return list;
}

/** Sizes without limits when no general tolerance is named. */
function toleranceQuestion(job: Job): readonly OpenQuestion[] {
  const bare = job.features.filter(({ size }) => size?.origin === 'untoleranced');
  if (bare.length === 0 || job.generalTolerance?.linear !== undefined) return [];
  const withClass = (letter: 'm' | 'f'): Job => ({
    ...job,
    features: job.features.map((feature): Feature => {
      const { size } = feature;
      if (size?.origin !== 'untoleranced') return feature;
      const half = generalTolerance2768('linear', letter, size.nominalMm)?.value;
      if (half === undefined) return feature;
      return {
        ...feature,
        size: {
          ...size,
          origin: 'general',
          lowerMm: size.nominalMm - half,
          upperMm: size.nominalMm + half,
          lowerDeviationUm: -1000 * half,
          upperDeviationUm: 1000 * half,
          text: `${size.text} ±${half}`,
        },
      };
    }),
  });
  return [
    {
      id: 'generalTolerance',
      question: `Which general tolerance holds for sizes without limits (${bare.map(({ id }) => id).join(', ')})?`,
      assumed: 'none: as printed',
      answers: (['m', 'f'] as const).map((letter) => ({
        answer: `ISO 2768-${letter}`,
        job: withClass(letter),
        featuresOnly: true,
      })),
    },
  ];
}

/** Values that a drawing usually gives for all surfaces, um (common practice, no source). */
const generalRaUm = [12.5, 6.3, 3.2] as const;

function roughnessQuestion(job: Job): readonly OpenQuestion[] {
  const silent = job.features.filter(
    ({ raMaxUm, rzMaxUm, thread }) =>
      raMaxUm === undefined && rzMaxUm === undefined && thread === undefined,
  );
  if (silent.length === 0) return [];
  const ids = new Set(silent.map(({ id }) => id));
  return [
    {
      id: 'roughness',
      question: `Which roughness holds for surfaces without a value (${[...ids].join(', ')})?`,
      assumed: 'none: as printed',
      answers: generalRaUm.map((raMaxUm) => ({
        answer: `Ra ${raMaxUm}`,
        job: {
          ...job,
          features: job.features.map((feature) =>
            ids.has(feature.id) ? { ...feature, raMaxUm } : feature,
          ),
        },
        featuresOnly: true,
      })),
    },
  ];
}

const everySide = ['+x', '-x', '+y', '-y', '+z', '-z'] as const;

function featureQuestions(
  feature: Feature,
  job: Job,
  { chosen, planning }: SolvedJob,
): readonly OpenQuestion[] {
  const called = `${feature.name ?? feature.kind} ${feature.id}`;
  const answer = (text: string, change: Partial<Feature>): PlausibleAnswer => ({
    answer: text,
    job: {
      ...job,
      features: job.features.map((entry) =>
        entry.id === feature.id ? { ...entry, ...change } : entry,
      ),
    },
    featuresOnly: true,
  });
  const list: OpenQuestion[] = [];
  const ask = (
    field: string,
    rest: Pick<OpenQuestion, 'question' | 'assumed' | 'answers'>,
  ): void => {
    list.push({ id: `${feature.id}.${field}`, feature: feature.id, ...rest });
  };
  const worked = chosen.chains.some(
    (chain) => chain.feature.id === feature.id && chain.steps.length > 0,
  );
  if (feature.access.length === 0 && feature.kind !== 'channel' && worked) {
    const assumed = accessOf(feature);
    const [side = '+z'] = assumed;
    const opposite = side.startsWith('+') ? `-${side.slice(1)}` : `+${side.slice(1)}`;
    ask('access', {
      question: `From which sides can a tool reach the ${called}?`,
      assumed: assumed.join(', '),
      answers: [
        answer('any side', { access: everySide }),
        answer(`${opposite} only`, { access: everySide.filter((entry) => entry === opposite) }),
      ],
    });
  }
  const round = feature.kind === 'bore' || feature.kind === 'shaft' || feature.kind === 'thread';
  const across = feature.size?.nominalMm ?? feature.thread?.majorMm;
  if (
    round &&
    across !== undefined &&
    feature.depthMm === undefined &&
    feature.lengthMm === undefined
  )
    ask('depth', {
      question: `How deep is the ${called}?`,
      assumed: `${across} mm, its diameter`,
      answers: [2, 4]
        .map((times) => times * across)
        .filter((depthMm) => depthMm <= Math.max(...planning.part.boxMm))
        .map((depthMm) => answer(`${depthMm} mm`, { depthMm })),
    });
  if (
    (feature.kind === 'bore' || feature.kind === 'shaft') &&
    feature.onAxis === undefined &&
    worked
  )
    ask('onAxis', {
      question: `Does the ${called} lie on an axis about which the part can be turned?`,
      assumed: 'no',
      answers: [answer('yes', { onAxis: true })],
    });
  if (feature.facing === undefined && feature.angleDeg === undefined)
    ask('facing', {
      question: `Which way does the ${called} look in the build?`,
      assumed: 'not known',
      answers: (['up', 'side', 'down'] as const).map((facing) => answer(facing, { facing })),
    });
  return list;
}
