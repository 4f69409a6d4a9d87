import type { Plan } from '../plan/types.js';
import { assumptionTable } from './assumption-table.js';
import type { Block } from './types.js';

const deviationRows = 8;

/** What must be confirmed, what went otherwise than planned, and the release of the lot. */
export function closingBlocks(plan: Plan): readonly Block[] {
  return [...assumptionBlocks(plan), ...findingBlocks(plan), ...deviationBlocks()];
}

/** Each has a box to tick when somebody has confirmed it. */
function assumptionBlocks(plan: Plan): readonly Block[] {
  if (plan.assumptions.length === 0) return [];
  return [
    { type: 'heading', text: 'Assumptions to be confirmed', newPage: true },
    assumptionTable(plan.assumptions, [{ title: 'Confirmed by', align: 'left', entryWidthMm: 22 }]),
  ];
}

function findingBlocks(plan: Plan): readonly Block[] {
  const open = plan.findings.filter((finding) => finding.severity !== 'note');
  if (open.length === 0) return [];
  return [
    { type: 'heading', text: 'Open points of the plan' },
    {
      type: 'table',
      title: 'Clear before release',
      columns: [
        { title: 'About', align: 'left' },
        { title: 'Finding', align: 'left' },
        { title: 'Cleared by', align: 'left', entryWidthMm: 22 },
      ],
      rows: open.map((finding) => [finding.about ?? 'plan', finding.message, '']),
    },
  ];
}

function deviationBlocks(): readonly Block[] {
  return [
    { type: 'heading', text: 'Deviations and rework' },
    {
      type: 'table',
      title: 'Write down every departure from this traveller before the lot moves on',
      columns: [
        { title: 'Op', align: 'left', entryWidthMm: 12 },
        { title: 'Feature, what was found', align: 'left', entryWidthMm: 58 },
        { title: 'Parts', align: 'left', entryWidthMm: 14 },
        { title: 'Use, rework or scrap', align: 'left', entryWidthMm: 30 },
        { title: 'Rework operations', align: 'left', entryWidthMm: 32 },
        { title: 'Decided by, date', align: 'left', entryWidthMm: 28 },
      ],
      rows: Array.from({ length: deviationRows }, () => ['', '', '', '', '', '']),
    },
    { type: 'heading', text: 'Release of the lot' },
    { type: 'sign-off', boxes: ['Good parts', 'Scrapped parts', 'Released by', 'Date'] },
  ];
}
