import type { PlanningContext } from '../job/planning-context.js';
import { formatShort } from '../quantity/format.js';
import type { ScreenCheck, ScreenCheckId, ToleranceReality } from './screen-types.js';

/**
 * What to talk about with a customer who is new to additive design: whole sentences for a mail, those
 * that this part gives rise to among them.
 */
export function screenTalk(
  { job }: PlanningContext,
  checks: readonly ScreenCheck[],
  tolerances: readonly ToleranceReality[],
  fromSolid: number,
): readonly string[] {
  const cut = tolerances.filter(({ asPrinted }) => !asPrinted);
  const sorted = tolerances
    .filter(({ toleranceMm }) => toleranceMm !== undefined)
    .sort((a, b) => a.printedMm - b.printedMm);
  const closest = sorted[0];
  const widest = sorted.at(-1);
  const range =
    closest === undefined || widest === undefined
      ? ''
      : ` On this part printing alone holds about ${span(closest.printedMm / 2, widest.printedMm / 2, '±')} mm on a size.`;
  const about = (id: ScreenCheckId): string =>
    (checks.find((check) => check.check === id)?.subjects ?? [])
      .filter(({ verdict }) => verdict === 'outside' || verdict === 'care')
      .map((subject) => (subject.about === 'mesh' ? 'seen on the model' : subject.about))
      .join(', ');
  const doubtful = (ids: readonly ScreenCheckId[]): readonly ScreenCheckId[] =>
    ids.filter((id) => about(id) !== '');
  const lines = [
    `A printed surface is a blank, much like a casting.${range} ${cut.length === 0 ? 'Nothing on your drawing asks for more.' : `${cut.length} of ${tolerances.length} features on your drawing ask for more and need work after printing: whatever is machined needs extra metal and a free way in for a tool.`}`,
    'Which of the sizes and surfaces does the part need for its work, and which were carried over from an older drawing? Whatever may stay as printed costs nothing after the printer.',
    'Which faces locate the part in its assembly? We would machine those first and measure from them, so they should be flat, easy to clamp on and not in need of supports.',
    'May we choose how the part stands in the printer? Faces that look down come out rougher and may need supports; please mark faces on which no trace of a support may be left.',
  ];
  if (fromSolid > 0)
    lines.push(
      `Small holes, threads and slots with close limits are better cut than printed (${fromSolid} of the features of this part): please leave them out of the printed model and keep them on the drawing.`,
    );
  const small = doubtful(['wall', 'pin', 'hole', 'gap', 'free-standing']);
  if (small.length > 0)
    lines.push(
      `Some details are near or below what can be printed (${small.map((id) => `${words[id]}: ${about(id)}`).join('; ')}). Can they grow, or go?`,
    );
  const hanging = doubtful(['lying-hole', 'overhang', 'span']);
  if (hanging.length > 0)
    lines.push(
      `Some shapes hang over nothing while they are printed (${hanging.map((id) => `${words[id]}: ${about(id)}`).join('; ')}). A slope of 45 degrees, an arch or a drop-shaped hole would save supports and rework.`,
    );
  if (job.geometry.trappedPowder !== 'none')
    lines.push(
      'Loose powder fills every hollow after printing and must come out before the part sees a furnace. Are there two openings to each hollow, may we add some and plug them later, and how shall we show that it is empty?',
    );
  if (doubtful(['slenderness']).length > 0)
    lines.push(
      'The part is tall for its foot and may lean or shake while it is printed and cut. Would a wider foot or temporary props, removed at the end, be acceptable?',
    );
  if (hiddenSupports(checks))
    lines.push(
      'Some supports are hard to reach. What cannot be reached stays in the part: may the shape change there?',
    );
  lines.push(
    `${job.part.printer === 'pbf-lb' ? 'Printed metal is under stress and is relieved by heat on its plate; other treatments set its strength.' : 'Printed metal is not in the state of wrought metal; heat treatments set its strength.'} Which condition and which proof (test pieces, certificate, scan) do you need?`,
    'Please send the model in the state to be printed and the drawing with all limits, and say which of the two counts when they differ.',
  );
  return lines;
}

function hiddenSupports(checks: readonly ScreenCheck[]): boolean {
  return checks.some(
    ({ check, subjects }) =>
      check === 'support-access' &&
      subjects.some(
        ({ verdict, about }) => verdict === 'outside' || (verdict === 'care' && about !== 'part'),
      ),
  );
}

const words: Readonly<Partial<Record<ScreenCheckId, string>>> = {
  wall: 'walls',
  pin: 'pins',
  hole: 'holes',
  gap: 'slots and gaps',
  'free-standing': 'slender features',
  'lying-hole': 'holes and channels that lie flat',
  overhang: 'flat undersides',
  span: 'ceilings',
};

function span(low: number, high: number, sign: string): string {
  const [from, to] = [formatShort(low, 2), formatShort(high, 2)];
  return from === to ? `${sign}${from}` : `${sign}${from} to ${sign}${to}`;
}
