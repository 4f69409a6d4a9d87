import { threads } from '../catalog/generated/threads.js';
import type { Finding } from '../problems/finding.js';
import { type Fault, fault, type NumberOptions } from '../quantity/reading.js';
import { atEnd, faultHere, peek, type Scanner, take, takeDecimal } from '../quantity/scanner.js';
import type { Thread } from './types.js';

const accept = 'an ISO metric thread such as M8, M8-6H or M10x1-6g';

const otherSystems = /(?:UN[CFRJ]?[CFJ]?|UNEF|NPTF?|BSPT?|BSW|MJ|Tr|Rp|Rc|G)(?=[\s\d.-]|$)/y;

/** A thread of another system at the position, which this library has no sizes for. */
export function otherThread(scanner: Scanner): Fault | undefined {
  return peek(scanner, otherSystems) === undefined
    ? undefined
    : faultHere(scanner, 'this thread system is not read', accept);
}

export function startsThread(scanner: Scanner): boolean {
  return peek(scanner, /M\s?\d/y) !== undefined;
}

interface ThreadClass {
  readonly text: string;
  readonly internal: boolean;
}

/** `6H`, `6g`, or pitch and crest class `4g6g`; undefined when none stands here. */
function takeClass(scanner: Scanner): ThreadClass | Fault | undefined {
  const column = scanner.at + 1;
  const separated = take(scanner, /-/y) !== undefined;
  const found = take(scanner, /(?:[3-9]([a-hGH]))(?:[3-9]([a-hGH]))?(?![A-Za-z0-9])/y);
  if (found === undefined)
    return separated && peek(scanner, /LH/y) === undefined
      ? faultHere(scanner, 'the tolerance class of the thread is not understood', '6H, 6g, 4g6g')
      : undefined;
  const internal = /[GH]/.test(found[1] ?? '');
  if (found[2] !== undefined && /[GH]/.test(found[2]) !== internal)
    return fault(
      column,
      'a thread class is either internal (capital letter) or external (small letter)',
      '6H, 6g, 4g6g',
    );
  if (peek(scanner, /\/\s*\d[a-hGH]/y) !== undefined)
    return faultHere(
      scanner,
      'a pair of thread classes is about two parts',
      'the class of this part alone: 6H for the nut thread or 6g for the bolt thread',
    );
  return { text: found[0], internal };
}

/** Pitch of the coarse series, mm; undefined when the table has no such thread. */
function coarsePitch(majorMm: number): number | undefined {
  return threads.find((row) => row.coarse && row.majorMm === majorMm)?.pitchMm;
}

const listed = (majorMm: number, pitchMm: number): boolean =>
  threads.some((row) => row.majorMm === majorMm && row.pitchMm === pitchMm);

/** Reads a thread designation to the end of the text (ISO 965-1 form). */
export function readThread(
  scanner: Scanner,
  options: NumberOptions & { readonly externalThread?: boolean },
): { readonly thread: Thread; readonly findings: readonly Finding[] } | Fault {
  const column = scanner.at + 1;
  take(scanner, /M/y);
  const major = takeDecimal(scanner, options);
  if ('ok' in major) return major;
  let pitchMm = coarsePitch(major.value);
  let designation = `M${major.value}`;
  const findings: Finding[] = [];
  if (take(scanner, /[xX*]/y)) {
    const pitchColumn = scanner.at + 1;
    const pitch = takeDecimal(scanner, options);
    if ('ok' in pitch) return { ...pitch, accept: `a pitch in mm; ${accept}` };
    pitchMm = pitch.value;
    designation += `x${pitch.value}`;
    if (pitchMm <= 0 || pitchMm > major.value / 2)
      return fault(
        pitchColumn,
        'the pitch does not suit the diameter',
        'a pitch over 0 mm, at most half the diameter',
      );
    if (!listed(major.value, pitchMm))
      findings.push({
        id: 'thread-not-listed',
        severity: 'warning',
        message: `${designation} is not in the thread table: taken as written`,
        source: 'ISO 261',
      });
  }
  if (pitchMm === undefined)
    return fault(
      column,
      `the thread table has no coarse pitch for M${major.value}`,
      'a thread of the coarse series, or the pitch written out: M9x1',
    );
  const written = takeClass(scanner);
  if (written !== undefined && 'ok' in written) return written;
  const leftHand = take(scanner, /-?\s*LH(?![A-Za-z])/y) !== undefined;
  if (!atEnd(scanner))
    return faultHere(
      scanner,
      'something stands after the thread',
      `${accept}; the depth has a field of its own`,
    );
  const internal = written?.internal ?? options.externalThread !== true;
  const toleranceClass = written?.text ?? (internal ? '6H' : '6g');
  if (written === undefined)
    findings.push({
      id: 'thread-class-assumed',
      severity: 'note',
      message: `${designation} has no tolerance class: ${toleranceClass} assumed`,
      source: 'ISO 965-1, tolerance quality medium',
    });
  else designation += `-${written.text}`;
  return {
    thread: {
      designation: leftHand ? `${designation}-LH` : designation,
      majorMm: major.value,
      pitchMm,
      toleranceClass,
      internal,
    },
    findings,
  };
}
