import type { Assumption, Confidence } from '../problems/finding.js';
import type { TableBlock } from './types.js';

/** How far a value may be trusted, in words. */
export const confidenceWords: Readonly<Record<Confidence, string>> = {
  read: 'read in the source',
  memory: 'from memory',
  practice: 'common practice',
  computed: 'computed',
  invented: 'invented',
  given: 'given with the job',
};

/** Nobody has seen the value in a source. */
export function needsConfirming(confidence: Confidence): boolean {
  return confidence === 'memory' || confidence === 'practice' || confidence === 'invented';
}

/** What was assumed, with source and confidence; the doubtful values come first and are marked. */
export function assumptionTable(
  assumptions: readonly Assumption[],
  lastColumn: TableBlock['columns'],
): TableBlock {
  const doubtful = assumptions.filter(({ confidence }) => needsConfirming(confidence));
  const rest = assumptions.filter(({ confidence }) => !needsConfirming(confidence));
  return {
    type: 'table',
    title: `${doubtful.length} of ${assumptions.length} values rest on memory, common practice or invention (marked ◆)`,
    columns: [
      { title: '', align: 'centre' },
      { title: 'What', align: 'left' },
      { title: 'Value', align: 'left' },
      { title: 'Confidence', align: 'left' },
      { title: 'Source', align: 'left' },
      ...lastColumn,
    ],
    rows: [...doubtful, ...rest].map((assumption) => [
      needsConfirming(assumption.confidence) ? '◆' : '',
      assumption.what,
      assumption.value,
      confidenceWords[assumption.confidence],
      assumption.source,
      ...lastColumn.map(() => ''),
    ]),
  };
}
