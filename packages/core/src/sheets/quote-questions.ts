import type { Relaxation, RelaxReport } from '../plan/relax.js';
import type { Plan } from '../plan/types.js';
import { drawingText } from './drawing-text.js';
import { shortest } from './print-numbers.js';
import { money } from './quote-cost.js';
import type { Block } from './types.js';

/** More questions than these tire a customer. */
const mostQuestions = 10;
/** Less than this share of the price, or this part of a day, is not worth a question. */
const leastShare = 0.002;
const leastDays = 0.05;

/** What to ask the customer, most saving first; from the report when there is one. */
export function questionBlocks(plan: Plan, relax: RelaxReport | undefined): readonly Block[] {
  const rows = relax === undefined ? planned(plan) : reported(relax);
  if (rows.length === 0) return [];
  return [
    { type: 'heading', text: 'Questions that would save money or days' },
    {
      type: 'table',
      title: 'Each planned anew with the change; savings do not simply add up',
      columns: [
        { title: 'Question', align: 'left' },
        { title: 'Off each part', align: 'decimal' },
        { title: 'Working days sooner', align: 'decimal' },
      ],
      rows,
    },
  ];
}

function planned({ questions, cost }: Plan): readonly (readonly string[])[] {
  return questions
    .slice(0, mostQuestions)
    .map((question) => [
      `${question.feature}: ${question.change}`,
      money(question.savesPerPart, cost),
      days(question.savesDays),
    ]);
}

function reported(relax: RelaxReport): readonly (readonly string[])[] {
  const entries = [...bestOfEach(relax.single), ...relax.together];
  return entries
    .filter(
      ({ savesPerPart, savesDays }) =>
        savesPerPart >= relax.base.perPart * leastShare || savesDays >= leastDays,
    )
    .sort((a, b) => b.savesPerLot - a.savesPerLot || b.savesDays - a.savesDays)
    .slice(0, mostQuestions)
    .map((entry) => [asked(entry), money(entry.savesPerPart, relax), days(entry.savesDays)]);
}

/** The class of each requirement that saves most. */
function bestOfEach(entries: readonly Relaxation[]): readonly Relaxation[] {
  const seen = new Set<string>();
  return entries.filter(({ changes }) => {
    const key = changes.map((change) => change.requirement).join('+');
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

function asked({ changes }: Relaxation): string {
  const list = changes.map(
    ({ feature, from, to }) => `${feature} from ${symbols(from)} to ${symbols(to)}`,
  );
  return `May we change ${list.join(', and ')}?`;
}

/** Geometric tolerances with their symbols, however they were written; the rest as it stands. */
function symbols(text: string): string {
  return drawingText({ kind: 'geometric', text }, '');
}

function days(saved: number): string {
  return Math.abs(saved) < leastDays ? '' : shortest(saved, 1);
}
