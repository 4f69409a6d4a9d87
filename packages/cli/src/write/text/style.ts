import type { Io } from '../../io.js';

/** How a text is set: its width and whether escape sequences may stand in it. */
export interface Style {
  readonly width: number;
  bold(text: string): string;
  faint(text: string): string;
  warning(text: string): string;
}

/** Width that the layout is made for; also what files and pipes get. */
const fullWidth = 100;
const leastWidth = 72;

const asIs = (text: string): string => text;

/** Plain text: for files, pipes and tests. */
export const plainStyle: Style = { width: fullWidth, bold: asIs, faint: asIs, warning: asIs };

function sgr(start: number, end: number): (text: string) => string {
  return (text) => `\u001b[${start}m${text}\u001b[${end}m`;
}

/** Colour only on a terminal that wants it: NO_COLOR (no-color.org), TERM=dumb, --no-color. */
export function styleFor({ stdout, env }: Io, noColor: boolean): Style {
  if (!stdout.isTerminal) return plainStyle;
  const width = Math.max(leastWidth, Math.min(fullWidth, stdout.columns ?? fullWidth));
  const unwanted = noColor || (env.NO_COLOR ?? '') !== '' || env.TERM === 'dumb';
  if (unwanted) return { ...plainStyle, width };
  return { width, bold: sgr(1, 22), faint: sgr(2, 22), warning: sgr(33, 39) };
}
