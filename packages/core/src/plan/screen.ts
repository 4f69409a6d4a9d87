import type { Catalog } from '../catalog/catalog.js';
import { pairOf } from '../catalog/check-print-limits.js';
import type { PrintLimitsRow } from '../catalog/generated/print-limits.js';
import type { PartMeasures } from '../geometry/measure-part.js';
import { featureGeometry } from '../job/feature-geometry.js';
import { type PlanningContext, planningContext } from '../job/planning-context.js';
import type { Job } from '../job/types.js';
import { formatShort } from '../quantity/format.js';
import { screenRoute } from './screen-route.js';
import { type Seen, screenSubjects } from './screen-subjects.js';
import { screenTalk } from './screen-talk.js';
import { madeFromSolid, toleranceRealities } from './screen-tolerances.js';
import type {
  PrintScreen,
  ScreenCheck,
  ScreenCheckId,
  ScreenLimit,
  ScreenSubject,
  ScreenVerdict,
} from './screen-types.js';
import { tidy } from './tidy.js';

/** In the order in which they are shown; `sense` says which side of the limit is bad. */
const limited: readonly (readonly [check: PrintLimitsRow['check'], sense: ScreenLimit['sense']])[] =
  [
    ['wall', 'least'],
    ['pin', 'least'],
    ['hole', 'least'],
    ['gap', 'least'],
    ['lying-hole', 'most'],
    ['overhang', 'least'],
    ['span', 'most'],
    ['slenderness', 'most'],
    ['free-standing', 'most'],
    ['escape-hole', 'least'],
    ['channel-length', 'most'],
  ];

const worstFirst: readonly ScreenVerdict[] = ['outside', 'care', 'unknown', 'within', 'none'];

/**
 * Holds a part against what its printing process can make of its alloy family: walls, pins, holes,
 * gaps, overhang, spans, slenderness, powder, supports, and each size and roughness of the drawing
 * against the printed one. Limits are rows of the table `print-limits`, mm, deg or a ratio, each with
 * source and confidence; the row of the alloy family comes before that for any. Holes and slots that
 * the planner prints solid are not held against limits of open ones.
 *
 * @param measures of the job's mesh, when it names one
 * @throws RangeError when the catalogue lacks the alloy or a limit
 * @example
 * screenLimit(defaultCatalog(), 'pbf-lb', 'titanium', 'wall').firm // -> 0.2
 */
export function screenJob(job: Job, catalog: Catalog, measures?: PartMeasures): PrintScreen {
  const context = planningContext(job, catalog, job.order.quantity);
  const { id, name, family } = context.material;
  const tolerances = toleranceRealities(context);
  const cut = new Set(tolerances.filter((each) => !each.asPrinted).map((each) => each.feature));
  const solid = new Set(
    job.features
      .filter((feature) => cut.has(feature.id))
      .filter((feature) =>
        madeFromSolid(feature, featureGeometry(feature, context).acrossMm, context),
      )
      .map((feature) => feature.id),
  );
  const subjects = screenSubjects(context, solid, measures);
  const checks = [
    ...limited.map(([check, sense]) => {
      const limit = screenLimit(catalog, job.part.printer, family, check, sense);
      return withRoute(check, limitedCheck(check, limit, subjects[check] ?? [], context));
    }),
    withRoute('trapped-powder', { subjects: powderSubjects(job, measures) }),
    withRoute('support-access', { subjects: supportSubjects(context) }),
  ];
  return tidy({
    schema: 'screen/1' as const,
    part: job.part.name,
    number: job.part.number,
    revision: job.part.revision,
    printer: job.part.printer,
    material: { id, name, family },
    checks,
    tolerances,
    talk: screenTalk(context, checks, tolerances, solid.size),
  });
}

/**
 * The limit of shape for a printing process and an alloy family, the family's own row first. mm, deg
 * or a ratio, as `unit` says.
 *
 * @throws RangeError when the catalogue has no row
 * @example
 * screenLimit(defaultCatalog(), 'pbf-eb', 'titanium', 'overhang').wanted // -> 30
 */
export function screenLimit(
  catalog: Catalog,
  printer: PrintLimitsRow['printer'],
  family: PrintLimitsRow['family'],
  check: PrintLimitsRow['check'],
  sense: ScreenLimit['sense'] = limited.find(([id]) => id === check)?.[1] ?? 'least',
): ScreenLimit {
  const rows = catalog.printLimits.filter((row) => row.printer === printer && row.check === check);
  const row =
    rows.find((each) => each.family === family) ?? rows.find((each) => each.family === 'any');
  if (row === undefined) throw new RangeError(`print-limits has no row ${printer} / ${check}`);
  const { what, source, confidence } = row;
  const [unit, firm, wanted] = pairOf(row);
  if (firm !== undefined && wanted !== undefined)
    return { sense, firm, wanted, unit, what, source, confidence };
  throw new RangeError(`print-limits gives no pair of limits for ${printer} / ${check}`);
}

function verdictOf(seen: number, { sense, firm, wanted }: ScreenLimit): ScreenVerdict {
  const sign = sense === 'least' ? 1 : -1;
  if (sign * (seen - firm) < -1e-9) return 'outside';
  return sign * (seen - wanted) < -1e-9 ? 'care' : 'within';
}

type Unrouted = Pick<ScreenCheck, 'limit' | 'subjects'>;

function withRoute(check: ScreenCheckId, { limit, subjects }: Unrouted): ScreenCheck {
  const sorted = [...subjects].sort(
    (a, b) =>
      worstFirst.indexOf(a.verdict) - worstFirst.indexOf(b.verdict) ||
      (limit?.sense === 'most' ? -1 : 1) * ((a.seen ?? 0) - (b.seen ?? 0)),
  );
  const verdict = sorted[0]?.verdict ?? 'none';
  const route = screenRoute(check, verdict);
  return {
    check,
    verdict,
    ...(limit === undefined ? {} : { limit }),
    subjects: sorted,
    ...(route === undefined ? {} : { route }),
  };
}

function limitedCheck(
  check: PrintLimitsRow['check'],
  limit: ScreenLimit,
  seen: readonly Seen[],
  { job }: PlanningContext,
): Unrouted {
  if (seen.length > 0)
    return {
      limit,
      subjects: seen.map(({ mild, ...each }) => {
        const verdict = verdictOf(each.seen, limit);
        return { ...each, verdict: mild === true && verdict === 'outside' ? 'care' : verdict };
      }),
    };
  const unsaid =
    check === 'wall' ||
    check === 'slenderness' ||
    ((check === 'escape-hole' || check === 'channel-length') &&
      job.geometry.trappedPowder !== 'none');
  return { limit, subjects: unsaid ? [{ about: 'part', verdict: 'unknown' }] : [] };
}

function powderSubjects({ geometry }: Job, measures?: PartMeasures): readonly ScreenSubject[] {
  const cavities = measures?.cavities ?? [];
  const closed = cavities.reduce((sum, { volumeMm3 }) => sum + volumeMm3, 0);
  const found: readonly ScreenSubject[] =
    cavities.length === 0
      ? []
      : [
          {
            about: 'mesh',
            verdict: 'outside',
            note: `${cavities.length} closed ${cavities.length === 1 ? 'cavity' : 'cavities'}, ${formatShort(closed / 1000, 2)} cm³`,
          },
        ];
  const about = 'part';
  switch (geometry.trappedPowder) {
    case 'closed-cavity':
      return [...found, { about, verdict: 'outside', note: 'closed cavity' }];
    case 'unknown':
      return [...found, { about, verdict: 'unknown', note: 'the job does not say' }];
    case 'open-channels':
      return [
        ...found,
        geometry.powderProof
          ? { about, verdict: 'within', note: 'open channels, shown to be empty' }
          : { about, verdict: 'care', note: 'open channels, no proof that they are empty' },
      ];
    default:
      return found;
  }
}

/** Where supports stand, can they be reached? */
function supportSubjects({ job }: PlanningContext): readonly ScreenSubject[] {
  const { supports } = job.geometry;
  const subjects: ScreenSubject[] = [];
  if (supports.latticeAreaMm2 > 0)
    subjects.push(
      supports.latticeAccess === 'internal'
        ? { about: 'part', verdict: 'outside', note: 'lattice inside the part' }
        : { about: 'part', verdict: 'within', note: 'lattice in the open' },
    );
  if (supports.solidAreaMm2 > 0)
    subjects.push({ about: 'part', verdict: 'care', note: 'solid supports: machined off' });
  for (const { id, kind, supported } of job.features)
    if (supported && (kind === 'channel' || kind === 'bore'))
      subjects.push({ about: id, verdict: 'care', note: 'supports inside' });
  if (!supports.stated && subjects.length === 0)
    subjects.push({ about: 'part', verdict: 'unknown', note: 'the job does not say' });
  return subjects;
}
