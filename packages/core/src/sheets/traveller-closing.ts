import type { PartRevision } from '../job/types.js';
import type { Plan } from '../plan/types.js';
import { assumptionTable } from './assumption-table.js';
import type { Block } from './types.js';

const deviationRows = 9;
const reworkRows = 6;
const laterRevisions = 2;

/**
 * Open points, the page for what goes otherwise than planned with the release of the lot, and as an
 * annex the revisions of the drawing and what must be confirmed.
 */
export function closingBlocks(plan: Plan, revisions: readonly PartRevision[]): readonly Block[] {
  return [
    ...findingBlocks(plan),
    ...deviationBlocks(),
    ...revisionBlocks(plan, revisions),
    ...assumptionBlocks(plan),
  ];
}

/** Revisions of the drawing, with room for those that come while the lot is in the shop. */
function revisionBlocks(plan: Plan, revisions: readonly PartRevision[]): readonly Block[] {
  const known = revisions.length > 0 ? revisions : [{ revision: plan.job.revision, change: '' }];
  return [
    { type: 'heading', text: 'Revisions' },
    {
      type: 'table',
      title: 'Work to the revision in the head of this traveller; a later one stops the lot',
      columns: [
        { title: 'Revision', align: 'left' },
        { title: 'Day', align: 'left' },
        { title: 'Change', align: 'left' },
        { title: 'Approved by', align: 'left' },
        { title: 'Lot clear, by and date', align: 'left', entryWidthMm: 40 },
      ],
      rows: [
        ...known.map(({ revision, on = '', change, approvedBy = '' }: PartRevision) => [
          revision,
          on,
          change,
          approvedBy,
          '',
        ]),
        ...Array.from({ length: laterRevisions }, () => ['', '', '', '', '']),
      ],
    },
  ];
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
    { type: 'heading', text: 'Deviations and rework', newPage: true },
    emptyTable(
      'Write down every departure from this traveller before the lot moves on',
      [
        ['No.', 9],
        ['Op', 11],
        ['Feature, what was found', 62],
        ['Parts', 14],
        ['Use, rework, scrap', 32],
        ['Decided by, date', 50],
      ],
      deviationRows,
    ),
    emptyTable(
      'Rework; parts come back to the operation they left, and what it makes is measured again',
      [
        ['Of no.', 11],
        ['Operations', 24],
        ['What to do', 62],
        ['Parts', 14],
        ['Done by, date', 33],
        ['Measured, good', 34],
      ],
      reworkRows,
    ),
    { type: 'heading', text: 'Release of the lot' },
    {
      type: 'sign-off',
      boxes: ['Good parts', 'Scrapped parts', 'Deviations closed', 'Released by', 'Date'],
    },
  ];
}

/** A form: all of it is filled in by hand. */
function emptyTable(
  title: string,
  columns: readonly (readonly [title: string, widthMm: number])[],
  rows: number,
): Block {
  return {
    type: 'table',
    form: true,
    title,
    columns: columns.map(([head, entryWidthMm]) => ({ title: head, align: 'left', entryWidthMm })),
    rows: Array.from({ length: rows }, () => columns.map(() => '')),
  };
}
