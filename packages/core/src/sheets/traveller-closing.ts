import type { Plan } from '../plan/types.js';
import type { Confidence } from '../problems/finding.js';
import type { Block } from './types.js';

const deviationRows = 8;

const confidenceWords: Readonly<Record<Confidence, string>> = {
  read: 'read in the source',
  memory: 'from memory',
  practice: 'common practice',
  computed: 'computed',
  invented: 'invented',
  given: 'given with the job',
};

/** What must be confirmed, what went otherwise than planned, and the release of the lot. */
export function closingBlocks(plan: Plan): readonly Block[] {
  return [...assumptionBlocks(plan), ...findingBlocks(plan), ...deviationBlocks()];
}

/** The doubtful values come first; each has a box to tick when somebody has confirmed it. */
function assumptionBlocks(plan: Plan): readonly Block[] {
  if (plan.assumptions.length === 0) return [];
  const doubtful = plan.assumptions.filter(({ confidence }) => needsConfirming(confidence));
  const rest = plan.assumptions.filter(({ confidence }) => !needsConfirming(confidence));
  return [
    { type: 'heading', text: 'Assumptions to be confirmed', newPage: true },
    {
      type: 'table',
      title: `${doubtful.length} of ${plan.assumptions.length} values rest on memory, common practice or invention (marked ◆)`,
      columns: [
        { title: '', align: 'centre' },
        { title: 'What', align: 'left' },
        { title: 'Value', align: 'left' },
        { title: 'Confidence', align: 'left' },
        { title: 'Source', align: 'left' },
        { title: 'Confirmed by', align: 'left', entryWidthMm: 22 },
      ],
      rows: [...doubtful, ...rest].map((assumption) => [
        needsConfirming(assumption.confidence) ? '◆' : '',
        assumption.what,
        assumption.value,
        confidenceWords[assumption.confidence],
        assumption.source,
        '',
      ]),
    },
  ];
}

function needsConfirming(confidence: Confidence): boolean {
  return confidence === 'memory' || confidence === 'practice' || confidence === 'invented';
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
